"""Outputs of one pair of electrodes and its circuit; at top level those of the only pair, or sums."""

from functools import partial
from typing import Final

from explorer.registry.flow_outputs import FLOW_ERROR, PLASMA_ERROR
from explorer.registry.quantity import Quantity

_pair = partial(
    Quantity, kind="output", per_pair=True, formula="explorer.stage.circuit", model_error=PLASMA_ERROR
)
_finding = partial(_pair, formula="explorer.stage.findings")
_bound = partial(_pair, formula="explorer.physics.hand_bounds")
_power = partial(_pair, unit="W", shown_unit="W", adds=True)

_WITH_GAS: Final = "positive when it pushes the gas forward"

PAIR_OUTPUTS: Final[tuple[Quantity, ...]] = (
    # the circuit
    _pair(
        address="field",
        unit="T",
        shown_unit="T",
        symbol="B",
        sentence="Magnetic flux density, mean along the pair.",
        formula="explorer.physics.magnet",
        model_error=FLOW_ERROR,
    ),
    _pair(
        address="back_emf",
        unit="V",
        shown_unit="V",
        symbol="u B g",
        sentence="Voltage that the moving gas induces at the pair's middle, circuit open.",
        sign="positive against a supply that pushes the gas forward",
        model_error=FLOW_ERROR,
    ),
    _pair(
        address="threshold_voltage",
        unit="V",
        shown_unit="V",
        symbol="V_th",
        sentence="Terminal voltage at which the net plasma current becomes positive.",
        model_error=FLOW_ERROR,
    ),
    _pair(
        address="terminal_voltage",
        unit="V",
        shown_unit="V",
        symbol="V",
        sentence="Voltage at the pair's terminals.",
        sign="positive in the sense of the back EMF, against which a supply drives its current",
    ),
    _pair(
        address="load_factor",
        unit="1",
        shown_unit="1",
        symbol="K",
        sentence="Terminal voltage × pair length over ∫ u B g dx along the pair.",
        sign="above 1 the pair accelerates, between 0 and 1 it generates",
    ),
    _pair(
        address="current",
        unit="A",
        shown_unit="A",
        symbol="I",
        sentence="Current at the terminals: plasma current and leak along the walls.",
        sign=_WITH_GAS,
        adds=True,
    ),
    _pair(
        address="plasma_current",
        unit="A",
        shown_unit="A",
        symbol="I_p",
        sentence="Current through the gas: ∫ j w dx along the pair.",
        sign=_WITH_GAS,
        adds=True,
    ),
    _pair(
        address="leak_current",
        unit="A",
        shown_unit="A",
        symbol="G V",
        sentence="Current along the seed film on the insulating walls: no force, its heat to the wall.",
        sign="that of the terminal voltage",
        adds=True,
    ),
    _power(
        address="electrical_power",
        symbol="V I",
        sentence="Terminal voltage × current.",
        sign="positive when the circuit feeds the stage",
    ),
    _power(
        address="power_delivered",
        symbol="−V I",
        sentence="Power that the stage gives to its load.",
        sign="positive when the stage feeds the circuit",
    ),
    _power(
        address="gas_power",
        symbol="∫ j E A dx",
        sentence="Power that the field gives to the gas, as work and as heat.",
        sign="positive into the gas",
    ),
    _power(
        address="joule_heating",
        symbol="∫ j²/σ_e A dx",
        sentence="Power that the current turns into heat of the gas.",
    ),
    _power(
        address="electrode_drop_power",
        symbol="∫ |j| V_d w dx",
        sentence="Power of the voltage drop: it heats the electrodes, not the gas.",
    ),
    _pair(
        unit="N",
        shown_unit="N",
        adds=True,
        address="lorentz_force",
        symbol="∫ j B A dx",
        sentence="Force of the field on the gas inside the pair.",
        sign=_WITH_GAS,
    ),
    _finding(
        address="max_current_density",
        unit="A/m^2",
        shown_unit="A/cm^2",
        symbol="j_max",
        sentence="Largest current density on the electrodes, without its sign.",
    ),
    _finding(
        address="max_hall_field",
        unit="V/m",
        shown_unit="kV/m",
        symbol="E_x",
        sentence="Largest axial field |j|B/(e n_e) of segmented electrodes; 0 for continuous ones.",
    ),
    _finding(
        address="max_reduced_field",
        unit="V m^2",
        shown_unit="Td",
        symbol="|E − uB|/n",
        sentence="Largest field that the electrons see, over the gas number density.",
    ),
    _finding(
        address="overheating_number",
        unit="1",
        shown_unit="1",
        symbol="N_oh",
        sentence="Largest (j²/σ)(∂ln σ/∂T) L/(ρ c_p u): above 0.5 the discharge tends to constrict.",
    ),
    _finding(
        address="interaction_parameter",
        unit="1",
        shown_unit="1",
        symbol="σB²L/ρu",
        sentence="σB² × pair length over ρu, at the pair's start.",
    ),
    # what an engineer works out by hand
    _bound(
        unit="N",
        shown_unit="N",
        adds=True,
        address="force_from_current",
        symbol="I B g",
        sentence="The most force that the plasma current can give: current × field × gap at the pair's "
        "middle.",
        sign=_WITH_GAS,
    ),
    _bound(
        unit="N",
        shown_unit="N",
        adds=True,
        address="force_from_diffuse_limit",
        symbol="j_d B V",
        sentence="Force at the diffuse limit of current density (1 A/cm²) over the volume between the "
        "electrodes.",
    ),
    _bound(
        address="force_per_power",
        unit="N/W",
        shown_unit="N/kW",
        symbol="B g/V",
        sentence="Force per electrical power that the terminal voltage allows at most.",
    ),
    _pair(
        formula="explorer.physics.conductivity",
        address="inlet_hall_parameter",
        unit="1",
        shown_unit="1",
        symbol="β_1",
        sentence="Electron mobility at the channel's inlet × field at the pair.",
    ),
)
