"""What to feed: mass and volume flows of fuel, oxidizer and seed solution, and amounts for a burn."""

from typing import Final

from explorer import units
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.physics.streams import stream_flows
from explorer.questions.solve.point import Point
from explorer.studyfile import fuel_of, oxidizer_of, seed_of

_FLOW: Final = units.Scale("kg/s", "g/s")
_MASS: Final = units.Scale("kg", "g")
_VOLUME_FLOW: Final = units.Scale("m^3/s", "mL/min")
_VOLUME: Final = units.Scale("m^3", "mL")


def streams(point: Point, burn: float | None = None) -> Section:
    """Return the streams into the chamber."""
    study, values = point.study, point.study.central()
    seed = seed_of(study.choices)
    water = values["gas.seed_water"]
    flows = stream_flows(
        point.quantities["mass_flow"],
        mixture_ratio=values["gas.mixture_ratio"],
        seed_fraction=values["gas.seed_fraction"],
        seed_water=water,
        fuel=fuel_of(study.choices, values),
        oxidizer=oxidizer_of(study.choices, values),
        seed=seed,
    )
    rows = []
    for stream in flows:
        mass, volume = float(stream.mass_flow), stream.volume_flow
        row = [stream.name, _FLOW.text(mass), "" if volume is None else _VOLUME_FLOW.text(float(volume), 3)]
        if burn is not None:
            row += [_MASS.text(mass * burn), "" if volume is None else _VOLUME.text(float(volume) * burn, 3)]
        rows.append(tuple(row))
    head: tuple[str, ...] = ("stream", "mass flow", "volume flow")
    if burn is not None:
        duration = units.Scale("s", "s").text(burn)
        head = (*head, f"in {duration}", f"in {duration}")
    parts: list[Part] = [Table(tuple(rows), head)]
    if burn is not None and seed is not None and water > 0.0:
        solution = float(flows[-1].mass_flow) * burn
        parts.append(
            Paragraph(
                f"The solution is {_MASS.text(solution / (1 + water))} of {seed.name} in"
                f" {_MASS.text(solution * water / (1 + water))} of water."
            )
        )
    parts.append(
        Paragraph(
            "Flows at the operating point, without start-up, purge or reserve. Volumes of liquids at 20 °C; densities"
            " of solutions are estimates to 3 %: weigh before they decide a test."
        )
    )
    return Section("Streams", tuple(parts))
