"""An operating point in the project's own blocks: gas, inlet, electrical, thrust, mass, limits.

In each block first what went in, and whose each value is, then what came out, with its symbol.
"""

from typing import Final

from explorer import registry
from explorer.page.document import Section, Table
from explorer.page.inputs import who_says
from explorer.questions.solve.point import Point

Row = tuple[str, ...]

#: Block: where its inputs' addresses begin, and its outputs.
BLOCKS: Final[dict[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "Gas": (
        ("gas.",),
        ("mass_flow", "gas_flow", "flame_temperature", "chamber_temperature", "characteristic_velocity"),
    ),
    "Inlet": (
        ("nozzle.", "channel."),
        (
            "inlet_pressure",
            "inlet_temperature",
            "inlet_velocity",
            "inlet_mach",
            "inlet_conductivity",
            "inlet_electron_density",
            "pressure_gap",
            "reynolds_number",
        ),
    ),
    "Electrical": (
        ("magnet.", "electrodes."),
        (
            "field",
            "back_emf",
            "threshold_voltage",
            "terminal_voltage",
            "load_factor",
            "current",
            "plasma_current",
            "leak_current",
            "electrical_power",
            "electrode_drop_power",
            "gas_power",
            "joule_heating",
            "lorentz_force",
            "interaction_parameter",
            "inlet_hall_parameter",
            "voltage_drop_share",
            "magnetic_reynolds_number",
        ),
    ),
    "Thrust": (
        ("exit.", "ambient."),
        (
            "outlet_pressure",
            "outlet_temperature",
            "outlet_velocity",
            "outlet_mach",
            "wall_heat",
            "wall_heat_share",
            "friction_force",
            "wall_pressure_force",
            "exit_pressure",
            "exit_temperature",
            "exit_velocity",
            "exit_mach",
            "exit_pressure_change",
            "jet_power",
            "thrust_open_circuit",
            "thrust",
            "thrust_gain",
            "relative_thrust_gain",
            "thrust_gain_heating",
            "thrust_per_power",
        ),
    ),
    "Mass": (
        ("mass.",),
        (
            "magnet_mass",
            "yoke_mass",
            "electrode_mass",
            "channel_mass",
            "supply_mass",
            "store_mass",
            "stage_mass",
            "thrust_gain_per_mass",
        ),
    ),
}

_NOT_SHOWN: Final = ("mode", "magnet.kind")  # said in the heading, and by what the magnet's table holds


def blocks(point: Point) -> tuple[Section, ...]:
    """Return the blocks of an operating point; the limits stand in `limits`."""
    return tuple(
        Section(title, tuple(_tables(point, beginnings, outputs)))
        for title, (beginnings, outputs) in BLOCKS.items()
    )


def _tables(point: Point, beginnings: tuple[str, ...], outputs: tuple[str, ...]) -> list[Table]:
    given = _given(point, beginnings)
    if len(point.study.pairs) == 1 or not any(registry.quantity(name).per_pair for name in outputs):
        return [Table((*given, ("", "", ""), *(_found(point, name) for name in outputs)))]
    return [Table(given), _by_pair(point, outputs)]


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
    return tuple((address, text, who_says(study, address)) for address, text in {**words, **values}.items())


def _found(point: Point, address: str) -> Row:
    quantity = registry.quantity(address)
    return address, quantity.shown(point.quantities[address]), f"= {quantity.symbol}"


def _by_pair(point: Point, outputs: tuple[str, ...]) -> Table:
    pairs = point.study.pairs
    rows = []
    for name in outputs:
        quantity = registry.quantity(name)
        each = [quantity.shown(point.quantities[f"electrodes.{pair}.{name}"]) for pair in pairs]
        together = quantity.shown(point.quantities[name]) if quantity.adds else ""
        rows.append((name, *each, together, f"= {quantity.symbol}"))
    return Table(tuple(rows), ("", *pairs, "together", ""))
