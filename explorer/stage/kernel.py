"""Complete operating points, one after another: the compiled loop over a chunk.

A point is nozzle, channel with every pair open, channel with every circuit closed and, on request, the plain heater
twin. Points of one mixture follow each other, for a third of a point's time goes into the gas of its mixture and a
tenth into the nozzle: what is the same as for the point before is not computed again. The loop holds no interpreter
lock and shares nothing with other chunks, so these may run in threads.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import allocating, compiled
from explorer.stage.channel import Channel, Passage, with_relaxation
from explorer.stage.columns import (
    CHOKED,
    INPUTS,
    NO_CONTACT,
    NOT_CONVERGED,
    OK,
    OUTPUTS,
    OUTSIDE_TABLE,
    PAIR_INPUTS,
    PAIR_OUTPUTS,
    Row,
    Rows,
    rows,
)
from explorer.stage.findings import write_preionizer
from explorer.stage.gas.expansion import chamber, exit_state, heated_chamber, mach_number, supersonic
from explorer.stage.gas.flow import FlowState
from explorer.stage.gas.freezing import STEPS, electrons_at_inlet
from explorer.stage.gas.lookup import (
    Gas,
    contract,
    electrical,
    entropy,
    gas_space,
    inside,
    temperature,
    thermo,
    wall_enthalpy,
)
from explorer.stage.gas.relaxation import EQUILIBRIUM, NO_DRIFT, Drift, in_equilibrium
from explorer.stage.gas.table import SHEAR
from explorer.stage.segments import Setting, Workspace, pairs_within, relaxation_of, spread, workspace
from explorer.stage.twins import all_open, heated, powered

#: Where Newton's search for the adiabatic flame begins [K].
FLAME_GUESS: Final[float] = 3200.0


class Inlet(NamedTuple):
    """The flow from the flame to the channel's inlet."""

    outcome: int
    xi_flame: float  #: [-] ξ of the adiabatic flame
    xi_chamber: float  #: [-] ξ of the chamber
    z_chamber: float  #: [-] ln of the chamber pressure
    characteristic_velocity: float  #: [m/s] c*_h
    mass_flow: float  #: [kg/s] of gas, as hot as the seeded streamtube
    total_enthalpy: float  #: [J/kg]
    xi: float  #: [-] ξ at the inlet
    z: float  #: [-] ln p at the inlet
    velocity: float  #: [m/s] at the inlet


class Exit(NamedTuple):
    """The flow behind the exit nozzle."""

    outcome: int
    thrust: float  #: [N]
    xi: float  #: [-]
    z: float  #: [-]
    velocity: float  #: [m/s]


@compiled
def no_inlet(outcome: int) -> Inlet:
    """What stands for an inlet that isn't reached."""
    return Inlet(outcome, np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, np.nan)


@compiled
def mixture_of(point: Row) -> tuple[float, float, float]:
    """A point's coordinates on the composition axes of a gas table."""
    return point.mixture_ratio, point.ln_alkali, point.carrier_water


@compiled
def heated_to(point: Row) -> float:
    """Temperature [K] that a gas is heated to without a flame, 0 where one burns."""
    return point.stagnation_temperature if point.stagnation_temperature > 0.0 else 0.0


@compiled
def hot_efficiency(point: Row) -> float:
    """c*_h/c*_ad of the seeded streamtube [-]: what of the deficit is poor mixing leaves it hot."""
    return float(1.0 - point.heat_loss_share * (1.0 - point.combustion_efficiency))


@compiled
def _nozzle_of(point: Row) -> tuple[float, float, float, float, float, float, float]:
    """All that the flow into the channel hangs on besides the mixture."""
    expansion = point.chamber_pressure, hot_efficiency(point), point.throat_flow_area
    return (*expansion, point.reactant_enthalpy, heated_to(point), point.gap_in, point.width_in)


@compiled
def inlet_of(gas: Gas, point: Row) -> Inlet:
    """Chamber, throat and isentropic supersonic flow into the channel."""
    z_c = np.log(point.chamber_pressure)
    T = heated_to(point)
    if T > 0.0:
        xi_flame, xi_c, xi_t, z_t, flux, c_star = heated_chamber(gas, z=z_c, xi=np.log(T) - SHEAR * z_c)
    else:
        xi_flame, xi_c, xi_t, z_t, flux, c_star = chamber(
            gas,
            enthalpy=point.reactant_enthalpy,
            z=z_c,
            efficiency=hot_efficiency(point),
            xi=np.log(FLAME_GUESS) - SHEAR * z_c,
        )
    if np.isnan(c_star):
        return no_inlet(NOT_CONVERGED)
    if not (inside(gas, xi_flame, z_c) and inside(gas, xi_c, z_c)):
        return no_inlet(OUTSIDE_TABLE)
    mass_flow = flux * point.throat_flow_area
    area = point.gap_in * point.width_in
    area_ratio = area / point.throat_flow_area
    if not area_ratio > 1.0:
        return no_inlet(CHOKED)
    s, _, _ = entropy(gas, xi_c, z_c)
    total_enthalpy, _, _, _, _, _ = thermo(gas, xi_c, z_c)
    lower = min(1.2 * np.log(area_ratio) + 0.6 * np.sqrt(min(area_ratio - 1.0, 1.0)), 5.0)
    xi, z, u = supersonic(
        gas, s=s, total_enthalpy=total_enthalpy, flux=mass_flow / area, z=z_t - lower, xi=xi_t
    )
    if np.isnan(u):
        return no_inlet(CHOKED)
    if not inside(gas, xi, z):
        return no_inlet(OUTSIDE_TABLE)
    return Inlet(OK, xi_flame, xi_c, z_c, c_star, mass_flow, total_enthalpy, xi, z, u)


@compiled
def channel_of(gas: Gas, point: Row, inlet: Inlet) -> Channel:
    """The channel of a point."""
    return Channel(
        length=point.length,
        gap_in=point.gap_in,
        gap_out=point.gap_out,
        width_in=point.width_in,
        width_out=point.width_out,
        friction_coefficient=point.friction_coefficient,
        heat_transfer_factor=point.heat_transfer_factor,
        wall_enthalpy=wall_enthalpy(gas, point.wall_temperature, inlet.z),
        mass_flow=inlet.mass_flow,
        conductivity_factor=point.conductivity_factor,
        nozzle_lag=point.nozzle_lag,
        relaxation=EQUILIBRIUM,
    )


@compiled
def inlet_electrons(
    gas: Gas, channel: Channel, point: Row, inlet: Inlet, equilibrium: float
) -> tuple[Drift, float]:
    """Electrons that enter the channel, and their density over that of equilibrium [-].

    The latter is NaN where the nozzle's length isn't stated: they are in equilibrium then.

    Parameters
    ----------
    equilibrium : float
        [1/m³] of them at the inlet, without the nozzle's lag.
    """
    if not channel.relaxation.on:
        return NO_DRIFT, np.nan
    density = channel.mass_flow / (channel.gap_in * channel.width_in * inlet.velocity)
    lagging = equilibrium * channel.nozzle_lag
    if not point.nozzle_length > 0.0:
        return in_equilibrium(density, lagging), np.nan
    there, settled = electrons_at_inlet(
        gas,
        channel.relaxation,
        inlet.xi_chamber,
        inlet.z_chamber,
        inlet.z,
        point.nozzle_length,
        channel.nozzle_lag,
        STEPS,
    )
    freezing = there / settled
    return in_equilibrium(density, lagging * freezing), freezing


@compiled
def outlet_velocity(point: Row, mass_flow: float, state: FlowState) -> float:
    """Velocity [m/s] at the channel's outlet, from the momentum flux."""
    return float((state.momentum_flux - np.exp(state.z) * point.gap_out * point.width_out) / mass_flow)


@compiled
def exit_of(gas: Gas, point: Row, mass_flow: float, state: FlowState) -> Exit:
    """The flow behind the exit nozzle and its thrust ṁ u_e + (p_e − p_a) A_e, from the state at the outlet."""
    area = point.gap_out * point.width_out
    xi, z, u = exit_state(
        gas,
        total_enthalpy=state.total_enthalpy,
        xi=state.xi,
        z=state.z,
        velocity=outlet_velocity(point, mass_flow, state),
        flux=mass_flow / area,
        area_ratio=point.area_ratio,
    )
    if np.isnan(u):
        return Exit(CHOKED, np.nan, xi, z, u)
    if not (inside(gas, xi, z) and inside(gas, state.xi, state.z)):
        return Exit(OUTSIDE_TABLE, np.nan, xi, z, u)
    thrust = mass_flow * u + (np.exp(z) - point.ambient_pressure) * area * point.area_ratio
    return Exit(OK, thrust, xi, z, u)


@compiled
def write_flow(
    gas: Gas,
    point: Row,
    inlet: Inlet,
    conductivity: float,
    mobility: float,
    outlet: FlowState,
    exit_open: Exit,
    exit_on: Exit,
    result: Row,
) -> None:
    """Write down the flow from chamber to exit, with what the table says of the inlet's electrons [S/m], [m²/(V s)]."""
    u = outlet_velocity(point, inlet.mass_flow, outlet)
    poorer = point.combustion_efficiency / hot_efficiency(point)  # c* of all that flows over the streamtube's
    flow = inlet.mass_flow / poorer
    result.mass_flow, result.gas_flow = flow / (1.0 - point.condensed_fraction), flow
    result.channel_flow = inlet.mass_flow
    flame = temperature(inlet.xi_flame, inlet.z_chamber)
    result.flame_temperature = np.nan if heated_to(point) > 0.0 else flame
    result.chamber_temperature = temperature(inlet.xi_chamber, inlet.z_chamber)
    result.characteristic_velocity = inlet.characteristic_velocity * poorer
    result.inlet_pressure, result.inlet_temperature = np.exp(inlet.z), temperature(inlet.xi, inlet.z)
    result.inlet_velocity = inlet.velocity
    result.inlet_mach = mach_number(gas, inlet.xi, inlet.z, inlet.velocity)
    result.inlet_conductivity = conductivity * point.conductivity_factor * point.nozzle_lag
    result.inlet_mobility = mobility * point.conductivity_factor
    result.inlet_electron_density = conductivity / (c.e * mobility) * point.nozzle_lag
    result.outlet_pressure, result.outlet_temperature = np.exp(outlet.z), temperature(outlet.xi, outlet.z)
    result.outlet_velocity, result.outlet_mach = u, mach_number(gas, outlet.xi, outlet.z, u)
    result.exit_pressure, result.exit_temperature = np.exp(exit_on.z), temperature(exit_on.xi, exit_on.z)
    result.exit_velocity = exit_on.velocity
    result.exit_mach = mach_number(gas, exit_on.xi, exit_on.z, exit_on.velocity)
    result.exit_pressure_open_circuit = np.exp(exit_open.z)
    result.coldest_gas = min(result.inlet_temperature, result.outlet_temperature, result.exit_temperature)


@compiled
def operating_point(
    gas: Gas,
    inlet: Inlet,
    point: Row,
    pairs: Rows,
    field: NDArray[np.float64],
    setting: Setting,
    work: Workspace,
    result: Row,
    pair_results: Rows,
) -> int:
    """Solve one complete operating point and tell its outcome.

    Parameters
    ----------
    inlet : Inlet
        From `inlet_of`.
    point, pairs : row and rows
        `columns.INPUTS` and `columns.PAIR_INPUTS`.
    field : NDArray
        [T] as in `field_at`.
    result, pair_results : row and rows
        Receive `columns.OUTPUTS` and `columns.PAIR_OUTPUTS`.
    """
    if not pairs_within(point, pairs):
        return NOT_CONVERGED
    if inlet.outcome != OK:
        return inlet.outcome
    flow, channel = inlet.mass_flow, channel_of(gas, point, inlet)
    channel = with_relaxation(channel, relaxation_of(point, setting, channel))
    sigma, mobility = electrical(gas, inlet.xi, inlet.z, np.exp(inlet.z))
    electrons, freezing = inlet_electrons(gas, channel, point, inlet, sigma / (c.e * mobility))
    if not np.isnan(freezing):
        sigma *= freezing
    factor = point.conductivity_factor
    spread(
        channel, pairs, setting, field, sigma * factor * point.nozzle_lag, mobility * factor, work.conducting
    )
    pairs = work.conducting
    momentum_flux = flow * inlet.velocity + np.exp(inlet.z) * channel.gap_in * channel.width_in
    state = FlowState(momentum_flux, inlet.total_enthalpy, inlet.xi, inlet.z, electrons)
    passage = Passage(gas, channel, field)
    before_pairs, idle = all_open(passage, point, pairs, setting, state, work)
    if idle.outcome != OK:
        return idle.outcome
    exit_open = exit_of(gas, point, flow, idle.state)
    if exit_open.outcome != OK:
        return exit_open.outcome
    closed = powered(passage, point, pairs, setting, before_pairs, work, pair_results)
    if closed.outcome != OK and closed.outcome != NO_CONTACT:
        return closed.outcome
    outlet = closed.state if closed.outcome == OK else idle.state
    exit_on = exit_of(gas, point, flow, outlet)
    if exit_on.outcome != OK:
        return exit_on.outcome
    result.thrust_heating = exit_open.thrust if closed.outcome == NO_CONTACT else np.nan
    result.heater_outcome = OK
    if setting.heater and closed.outcome == OK:
        warm = heated(passage, point, pairs, setting, before_pairs, work)
        result.heater_outcome = warm.outcome
        if warm.outcome == OK:
            exit_warm = exit_of(gas, point, flow, warm.state)
            result.thrust_heating, result.heater_outcome = exit_warm.thrust, exit_warm.outcome
    write_flow(gas, point, inlet, sigma, mobility, outlet, exit_open, exit_on, result)
    result.freezing = freezing
    write_preionizer(channel, point, pairs, setting, work, result)
    result.thrust_open_circuit, result.thrust = exit_open.thrust, exit_on.thrust
    losses = closed.integrals
    result.wall_heat, result.friction_force = losses.wall_heat, losses.friction
    result.wall_pressure_force = losses.wall_pressure
    return closed.outcome


@allocating
def _each_point(
    coefficients: NDArray[np.float32],
    axes: NDArray[np.float64],
    order: NDArray[np.int64],
    points: Rows,
    pairs: Rows,
    field: NDArray[np.float64],
    setting: Setting,
    results: Rows,
    pair_results: Rows,
    outcomes: NDArray[np.int8],
) -> None:
    gas = gas_space(axes, coefficients.shape[3])
    work = workspace(pairs.shape[1], setting.gap_steps, setting.pair_steps)
    in_table, inlet = False, no_inlet(OUTSIDE_TABLE)
    for place, n in enumerate(order):
        point, last = points[n], points[order[max(place - 1, 0)]]
        another = place == 0 or mixture_of(point) != mixture_of(last)
        if another:
            in_table = contract(coefficients, axes, mixture_of(point), gas)
        if not in_table:
            outcomes[n] = OUTSIDE_TABLE
            continue
        if another or _nozzle_of(point) != _nozzle_of(last):
            inlet = inlet_of(gas, point)
        here = field[n if field.shape[0] > 1 else 0]
        outcomes[n] = operating_point(
            gas, inlet, point, pairs[n], here, setting, work, results[n], pair_results[n]
        )


def operating_points(
    coefficients: NDArray[np.float32],
    axes: NDArray[np.float64],
    points: NDArray[np.float64],
    pairs: NDArray[np.float64],
    field: NDArray[np.float64],
    setting: Setting,
    results: NDArray[np.float64],
    pair_results: NDArray[np.float64],
    outcomes: NDArray[np.int8],
) -> None:
    """Solve a chunk of complete operating points.

    Parameters
    ----------
    coefficients, axes : NDArray
        [SI] a `GasTable`.
    points : NDArray
        [SI] `columns.INPUTS`, shape (n, inputs).
    pairs : NDArray
        [SI] `columns.PAIR_INPUTS`, shape (n, pairs, inputs); pairs from inlet to outlet.
    field : NDArray
        [T] as in `field_at`, shape (n or 1, nodes).
    results : NDArray
        [SI] receives `columns.OUTPUTS`, shape (n, outputs); NaN where the outcome carries no numbers.
    pair_results : NDArray
        [SI] receives `columns.PAIR_OUTPUTS`, shape (n, pairs, outputs); NaN likewise.
    outcomes : NDArray
        [-] receives shape (n,).
    """
    # Points of one mixture have one enthalpy; a stable order keeps the plan's among them.
    order = np.argsort(points[:, INPUTS.index("reactant_enthalpy")], kind="stable")
    _each_point(
        coefficients,
        axes,
        order,
        rows(points, INPUTS),
        rows(pairs, PAIR_INPUTS),
        field,
        setting,
        rows(results, OUTPUTS),
        rows(pair_results, PAIR_OUTPUTS),
        outcomes,
    )
    numberless = outcomes > NO_CONTACT
    results[numberless] = np.nan
    pair_results[numberless] = np.nan
