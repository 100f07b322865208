"""An operating point as tables: the project's own blocks, how near limits it comes, and what to feed.

In each block first what went in, and whose each value is, then what came out, with its symbol.
"""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from explorer import registry, units
from explorer.page.document import Table
from explorer.page.inputs import who_says
from explorer.physics.magnet import GRADES
from explorer.questions.solve.point import Point
from explorer.stage.design import ambient_pressure, magnet_temperature
from explorer.stage.outputs import limits as limit

Row = tuple[str, ...]


#: What stands among the outputs only where it has a number: with computed layers; of pulses; where electrons relax;
#: with a material, a burn time, an arc.
_LAYERS: Final = ("contact_margin", "striking_voltage", "layer_thickness", "layer_resistance")
_PULSES: Final = (
    *("pulse_charge", "pulse_impulse", "pulse_duration", "pulse_peak_current", "pulse_gas_heat"),
    *("pulse_electrode_energy", "pulses_in_passage", "discharge_voltage", "end_voltage", "source_power"),
    *("charger_use", "force_per_source_power", "pulsed_force_per_power"),
)
_ELECTRONS: Final = (
    "freezing",
    *(f"preionizer_{what}" for what in ("electron_density", "unaided_density")),
    *(f"preionizer_{what}" for what in ("conductivity", "unaided_conductivity")),
    "decay_length",
)
_AT_START: Final = (
    "start_electron_density",
    "start_unaided_density",
    "start_conductivity",
    "start_unaided_conductivity",
)
ELECTRODES: Final = ("electrode_temperature", "allowed_burn_time", "erosion_depth", "firings_lasted")

#: Block: what its inputs' addresses begin with, and its outputs.
BLOCKS: Final = {
    "Gas": (
        "gas.",
        "mass_flow gas_flow channel_flow flame_temperature chamber_temperature characteristic_velocity",
    ),
    "Inlet": (
        "nozzle. channel. preionizer.",
        "inlet_pressure inlet_temperature inlet_velocity inlet_mach inlet_conductivity inlet_electron_density"
        " pressure_gap reynolds_number " + " ".join(_ELECTRONS),
    ),
    "Electrical": (
        "magnet. electrodes.",
        "field final_magnet_temperature back_emf threshold_voltage terminal_voltage load_factor current"
        " plasma_current leak_current electrical_power electrode_drop_power gas_power joule_heating"
        " lorentz_force interaction_parameter inlet_hall_parameter voltage_drop_share magnetic_reynolds_number "
        + " ".join((*_LAYERS, *_PULSES, *_AT_START, *ELECTRODES)),
    ),
    "Thrust": (
        "exit. ambient.",
        "outlet_pressure outlet_temperature outlet_velocity outlet_mach wall_heat wall_heat_share friction_force"
        " wall_pressure_force exit_pressure exit_temperature exit_velocity exit_mach exit_pressure_change jet_power"
        " thrust_open_circuit thrust thrust_gain relative_thrust_gain thrust_gain_heating thrust_per_power",
    ),
    "Mass": (
        "mass.",
        "magnet_mass yoke_mass electrode_mass channel_mass supply_mass store_mass stage_mass thrust_gain_per_mass",
    ),
}

#: What the gas sees of the streams.
GAS_OF_STREAMS: Final = ("mixture_ratio", "seed_fraction", "chamber_pressure", "chamber_temperature")

_NOT_SHOWN: Final = (
    "mode",
    "magnet.kind",
    "gas.kind",
)  # said in the heading, and by what the magnet's table holds


def block_tables(point: Point, block: str) -> tuple[Table, ...]:
    """Return a block's inputs and outputs, in two tables where outputs stand pair by pair."""
    beginnings, outputs = (tuple(names.split()) for names in BLOCKS[block])
    maybe = ("final_magnet_temperature", *_LAYERS, *_PULSES, *_ELECTRONS, *_AT_START, *ELECTRODES)
    outputs = tuple(name for name in outputs if name not in maybe or _has_number(point, name))
    given = _given(point, beginnings)
    several = len(point.study.pairs) > 1
    by_pair = tuple(name for name in outputs if several and registry.quantity(name).per_pair)
    found = tuple(_found(point, name) for name in outputs if name not in by_pair)
    table = Table((*given, ("", "", ""), *found) if found else given)
    return (table, _by_pair(point, by_pair)) if by_pair else (table,)


def _has_number(point: Point, name: str) -> bool:
    pairs = point.study.pairs if registry.quantity(name).per_pair else ()
    addresses = [f"electrodes.{pair}.{name}" for pair in pairs] or [name]
    return any(math.isfinite(point.quantities[address]) for address in addresses)


def _given(point: Point, beginnings: tuple[str, ...]) -> tuple[Row, ...]:
    study = point.study
    words = {
        address: word
        for address, word in study.as_resolved()["choices"].items()
        if address.startswith(beginnings) and address not in _NOT_SHOWN
    }
    values = {
        address: registry.quantity(address).shown(value)
        for address, value in study.central().items()
        if address.startswith(beginnings)
    }
    return tuple(
        (registry.words_of(address), text, who_says(study, address))
        for address, text in {**words, **values}.items()
    )


def _found(point: Point, address: str) -> Row:
    quantity = registry.quantity(address)
    return quantity.words, quantity.shown(point.quantities[address]), f"= {quantity.symbol}"


def _by_pair(point: Point, outputs: tuple[str, ...]) -> Table:
    pairs = point.study.pairs
    rows = []
    for name in outputs:
        quantity = registry.quantity(name)
        each = [quantity.shown(point.quantities[f"electrodes.{pair}.{name}"]) for pair in pairs]
        together = quantity.shown(point.quantities[name]) if quantity.adds else ""
        rows.append((quantity.words, *each, together, f"= {quantity.symbol}"))
    return Table(tuple(rows), ("", *pairs, "together", ""))


#: Limit [SI] of a pair's finding, and where it comes from.
_OF_PAIR: Final[dict[str, tuple[float, str]]] = {
    "max_current_density": (limit.DIFFUSE_LIMIT, "diffuse on cold metal, common practice"),
    "overheating_number": (limit.OVERHEATING_LIMIT, "above it discharges tend to constrict"),
    "max_hall_field": (limit.WALL_FIELD_LIMIT, "breakdown along the wall, DTIC ADA025949, 1975"),
    "electron_excess_share": (limit.ELECTRON_EXCESS_LIMIT, "above it the current is underestimated"),
}


def limits_table(point: Point) -> Table:
    """Return how near the point comes to what the model, the discharge and the hardware bear."""
    rows = [(*row, "BEYOND" if beyond else "within", why) for row, beyond, why in _limits(point)]
    return Table(tuple(rows), ("", "value", "limit", "", "what it is"))


def _limits(point: Point) -> Iterator[tuple[Row, bool, str]]:
    """What is looked at, its value and its limit; whether it is beyond; what it is."""
    pairs, values = point.study.pairs, point.study.central()
    for name, (most, why) in _OF_PAIR.items():
        quantity = registry.quantity(name)
        for pair in pairs:
            value = point.quantities[f"electrodes.{pair}.{name}"]
            label = quantity.words if len(pairs) == 1 else f"{pair}: {quantity.words}"
            yield (label, quantity.spoken(value), quantity.shown(most)), value > most, why
    for one, two in pairwise(pairs):
        behind = values[f"electrodes.{one}.start"] + values[f"electrodes.{one}.length"]
        first, second = (point.quantities[f"electrodes.{pair}.terminal_voltage"] for pair in (one, two))
        step, wall = abs(second - first), values[f"electrodes.{two}.start"] - behind
        field = registry.quantity("max_hall_field")
        along = field.spoken(step / wall) if wall > 0.0 else "they touch"
        row = (f"{one} to {two}", along, field.shown(limit.WALL_FIELD_LIMIT))
        yield row, step > limit.WALL_FIELD_LIMIT * wall, "voltage over the wall between them"
    ambient = float(ambient_pressure(values))
    if ambient > 0.0:
        ratio, least = point.quantities["exit_pressure"] / ambient, limit.SEPARATION_RATIO
        row = ("exit over ambient pressure", units.number_text(ratio, 3), f"{least:g} or more")
        yield row, ratio < least, "separation, common practice"
    grade = point.study.choices.get("magnet.blocks.grade")
    if grade is not None:
        quantity, value = registry.quantity("magnet.blocks.temperature"), float(magnet_temperature(values))
        most = GRADES[grade].limit_temperature
        yield ("magnet blocks", quantity.shown(value), quantity.shown(most)), value > most, f"grade {grade}"


def gas_table(point: Point) -> Table:
    """Return what the streams make of the gas."""
    found = [registry.quantity(name) for name in GAS_OF_STREAMS]
    rows = [(q.words, q.spoken(point.quantities[q.address]), f"= {q.symbol}") for q in found]
    return Table(
        tuple(row for row, q in zip(rows, found, strict=True) if math.isfinite(point.quantities[q.address]))
    )
