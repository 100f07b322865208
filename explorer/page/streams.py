"""What to feed for a burn: the streams of propellants and seed solution, as a table."""

from collections.abc import Mapping, Sequence
from typing import Final

from explorer import registry, units
from explorer.page.document import Table
from explorer.physics.streams import Stream, stream_flows
from explorer.stage.gas.propellants import Propellants
from explorer.studyfile import STREAMS, Study, propellants_of, seed_of

_MASS: Final = units.Scale("kg", "g")
_VOLUME: Final = units.Scale("m^3", "mL")


def streams_table(study: Study, quantities: Mapping[str, float], burn: float | None) -> Table:
    """Return what to feed: mass and volume flows of fuel, oxidiser and seed solution, and amounts for a burn [s]."""
    mass_flow, volume_flow = units.Scale("kg/s", "g/s"), units.Scale("m^3/s", "mL/min")
    rows, upstream = [], _upstream(study)
    for stream, pressure in zip(_streams(study, quantities), upstream, strict=False):
        mass, volume = float(stream.mass_flow), stream.volume_flow
        row = [
            stream.name,
            mass_flow.text(mass),
            "" if volume is None else volume_flow.text(float(volume), 3),
        ]
        if any(upstream):
            row.append(pressure)
        if burn is not None:
            row += [_MASS.text(mass * burn), "" if volume is None else _VOLUME.text(float(volume) * burn, 3)]
        rows.append(tuple(row))
    amounts = () if burn is None else (f"in {units.number_text(burn)} s",) * 2
    set_up = ("pressure upstream",) if any(upstream) else ()
    return Table(tuple(rows), ("stream", "mass flow", "volume flow", *set_up, *amounts))


def _upstream(study: Study) -> tuple[str, str, str]:
    """What stands before the orifices of fuel, oxidiser and seed solution, "" where none is stated."""
    fuel, oxidizer, solution = (
        registry.quantity(address).shown(study.central()[address]) if address in study.central() else ""
        for address in (f"gas.flows.{stream}_orifice.upstream_pressure" for stream in STREAMS)
    )
    return fuel, oxidizer, solution


def solution_words(study: Study, quantities: Mapping[str, float], burn: float) -> str | None:
    """Return of what the seed's solution for a burn [s] is made; None where there is none."""
    seed, water = seed_of(study.choices), study.central()["gas.seed_water"]
    if seed is None or not water > 0.0:
        return None
    solution = float(_streams(study, quantities)[-1].mass_flow) * burn
    salt, rest = _MASS.spoken(solution / (1 + water)), _MASS.spoken(solution * water / (1 + water))
    return f"The solution is {salt} of {seed.name} in {rest} of water."


def _streams(study: Study, quantities: Mapping[str, float]) -> Sequence[Stream]:
    values = study.central()
    gas = propellants_of(study.choices, values)
    return stream_flows(
        quantities["mass_flow"],
        mixture_ratio=quantities["mixture_ratio"] if gas.burns else 0.0,
        seed_fraction=quantities["seed_fraction"],
        seed_water=values["gas.seed_water"],
        fuel=gas.fuel if isinstance(gas, Propellants) else gas.carrier,
        oxidizer=gas.oxidizer if isinstance(gas, Propellants) else None,
        seed=gas.seed,
        seed_solution_density=values.get("gas.flows.seed_solution_orifice.density"),
    )
