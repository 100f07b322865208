"""Inputs of a study that concern one pair of electrodes and its circuit."""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity

_input = partial(Quantity, kind="input", may_be_uncertain=True)
_size = partial(_input, unit="m", shown_unit="mm", low=0.0)  # a length above zero

_ELECTRODES: Final = "explorer.physics.electrodes"

PAIR_INPUTS: Final[tuple[Quantity, ...]] = (
    # one pair of electrodes and its circuit
    _size(
        address="electrodes.*.start",
        symbol="x_0",
        sentence="Where the pair's upstream edge lies, counted from the channel's inlet.",
        low_open=False,
        per_pair=True,
        formula=_ELECTRODES,
    ),
    _size(
        address="electrodes.*.length",
        symbol="l_e",
        sentence="Length of the pair along the flow.",
        per_pair=True,
        formula=_ELECTRODES,
    ),
    _input(
        address="electrodes.*.voltage_drop",
        unit="V",
        shown_unit="V",
        symbol="V_0",
        sentence="Voltage lost at both electrodes together before any current flows (sheaths, work "
        "functions).",
        low=0.0,
        low_open=False,
        per_pair=True,
        formula=_ELECTRODES,
    ),
    _input(
        address="electrodes.*.drop_resistance",
        unit="ohm m^2",
        shown_unit="ohm m^2",
        symbol="r_d",
        sentence="Resistance of the cool gas layers at both electrodes together, times area.",
        low=0.0,
        low_open=False,
        per_pair=True,
        default=0.0,
        default_origin="assumed",
        formula=_ELECTRODES,
    ),
    _input(
        address="electrodes.*.arc_voltage",
        unit="V",
        shown_unit="V",
        symbol="V_arc",
        sentence="Plateau of the voltage drop once the discharge constricts; no plateau if absent.",
        low=0.0,
        low_open=False,
        high_open=False,
        per_pair=True,
        default=float("inf"),
        default_origin="assumed",
        formula=_ELECTRODES,
    ),
    _input(
        address="electrodes.*.leak_conductance",
        unit="S",
        shown_unit="S",
        symbol="G",
        sentence="Conductance of the seed film on the insulating walls, from electrode to electrode.",
        low=0.0,
        low_open=False,
        per_pair=True,
        default=0.0,
        default_origin="assumed",
        formula=_ELECTRODES,
    ),
    _input(
        address="electrodes.*.source.voltage",
        unit="V",
        shown_unit="V",
        symbol="V_s",
        sentence="Open-circuit voltage of the supply that feeds the pair.",
        sign="positive drives the current that pushes the gas forward",
        low=0.0,
        low_open=False,
        per_pair=True,
        formula=_ELECTRODES,
    ),
    _input(
        address="electrodes.*.source.current_limit",
        unit="A",
        shown_unit="A",
        symbol="I_max",
        sentence="Largest current that the supply lets through; no limit if absent.",
        low=0.0,
        high_open=False,
        per_pair=True,
        default=float("inf"),
        default_origin="assumed",
        formula=_ELECTRODES,
    ),
    _input(
        address="electrodes.*.source.resistance",
        unit="ohm",
        shown_unit="ohm",
        symbol="R",
        sentence="Resistance in series with a supply (its own and the leads'; 0 if absent), or the load's.",
        low=0.0,
        low_open=False,
        per_pair=True,
        default=0.0,
        default_origin="assumed",
        formula=_ELECTRODES,
    ),
)
