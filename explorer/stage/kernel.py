"""Complete operating points, one after another: the compiled loop over a chunk.

A point is nozzle, channel with every pair open, channel with every circuit closed and, on request, the plain heater
twin. The loop holds no interpreter lock and shares nothing between points, so chunks may run in threads.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.stage.columns import (
    AMBIENT_PRESSURE,
    AREA_RATIO,
    CHAMBER_PRESSURE,
    COMBUSTION_EFFICIENCY,
    CONDENSED_FRACTION,
    CONDUCTIVITY_FACTOR,
    FRICTION_COEFFICIENT,
    GAP_IN,
    GAP_OUT,
    HEAT_TRANSFER_FACTOR,
    LENGTH,
    REACTANT_ENTHALPY,
    THROAT_FLOW_AREA,
    WALL_TEMPERATURE,
    WIDTH_IN,
    WIDTH_OUT,
)
from explorer.stage.expansion import chamber, exit_state, mach_number, supersonic
from explorer.stage.lookup import (
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
from explorer.stage.segments import Setting, Workspace, pairs_within, workspace
from explorer.stage.stations import (
    CHOKED,
    FRICTION,
    NO_CONTACT,
    NOT_CONVERGED,
    OK,
    OUTSIDE_TABLE,
    WALL_HEAT,
    WALL_PRESSURE,
    Channel,
    FlowState,
)
from explorer.stage.table import SHEAR
from explorer.stage.twins import all_open, heated, powered

#: The wall's enthalpy is not taken below this temperature [K] (model, section 3).
COLDEST_WALL: Final[float] = 500.0

#: Where Newton's search for the adiabatic flame begins [K].
FLAME_GUESS: Final[float] = 3200.0


@compiled
def thrust_at_exit(
    gas: Gas, channel: Channel, point: NDArray[np.float64], state: FlowState
) -> tuple[int, float, float, float, float]:
    """Thrust behind the exit nozzle, ṁ u_e + (p_e − p_a) A_e.

    Returns
    -------
    tuple
        Outcome, thrust [N], ξ [-], z [-], velocity [m/s] at the exit.
    """
    area = point[GAP_OUT] * point[WIDTH_OUT]
    velocity = (state.momentum_flux - np.exp(state.z) * area) / channel.mass_flow
    xi, z, u = exit_state(
        gas,
        total_enthalpy=state.total_enthalpy,
        xi=state.xi,
        z=state.z,
        velocity=velocity,
        flux=channel.mass_flow / area,
        area_ratio=point[AREA_RATIO],
    )
    if np.isnan(u):
        return CHOKED, np.nan, xi, z, u
    if not (inside(gas, xi, z) and inside(gas, state.xi, state.z)):
        return OUTSIDE_TABLE, np.nan, xi, z, u
    exit_area = area * point[AREA_RATIO]
    return OK, channel.mass_flow * u + (np.exp(z) - point[AMBIENT_PRESSURE]) * exit_area, xi, z, u


@compiled
def operating_point(
    gas: Gas,
    point: NDArray[np.float64],
    pairs: NDArray[np.float64],
    field: NDArray[np.float64],
    setting: Setting,
    work: Workspace,
    result: NDArray[np.float64],
    pair_results: NDArray[np.float64],
) -> int:
    """One complete operating point.

    Parameters
    ----------
    gas : Gas
        Of the point.
    point, pairs : NDArray
        Rows of `columns.INPUTS` and `columns.PAIR_INPUTS`.
    field : NDArray
        [T] as in `field_at`.
    setting : Setting
        What the chunk has in common.
    work : Workspace
        Used and overwritten.
    result, pair_results : NDArray
        Receive `columns.OUTPUTS` and `columns.PAIR_OUTPUTS`.

    Returns
    -------
    int
        Outcome.
    """
    if not pairs_within(point, pairs):
        return NOT_CONVERGED
    z_c = np.log(point[CHAMBER_PRESSURE])
    xi_guess = np.log(FLAME_GUESS) - SHEAR * z_c
    xi_flame, xi_c, xi_t, z_t, flux, c_star = chamber(
        gas,
        enthalpy=point[REACTANT_ENTHALPY],
        z=z_c,
        combustion_efficiency=point[COMBUSTION_EFFICIENCY],
        xi=xi_guess,
    )
    if np.isnan(c_star):
        return NOT_CONVERGED
    if not (inside(gas, xi_flame, z_c) and inside(gas, xi_c, z_c)):
        return OUTSIDE_TABLE
    mass_flow = flux * point[THROAT_FLOW_AREA]
    inlet_area = point[GAP_IN] * point[WIDTH_IN]
    area_ratio = inlet_area / point[THROAT_FLOW_AREA]
    if not area_ratio > 1.0:
        return CHOKED
    s, _, _ = entropy(gas, xi_c, z_c)
    total_enthalpy, _, _, _, _, _ = thermo(gas, xi_c, z_c)
    lower = min(1.2 * np.log(area_ratio) + 0.6 * np.sqrt(min(area_ratio - 1.0, 1.0)), 5.0)
    xi, z, u = supersonic(
        gas, s=s, total_enthalpy=total_enthalpy, flux=mass_flow / inlet_area, z=z_t - lower, xi=xi_t
    )
    if np.isnan(u):
        return CHOKED
    if not inside(gas, xi, z):
        return OUTSIDE_TABLE
    channel = Channel(
        point[LENGTH],
        point[GAP_IN],
        point[GAP_OUT],
        point[WIDTH_IN],
        point[WIDTH_OUT],
        point[FRICTION_COEFFICIENT],
        point[HEAT_TRANSFER_FACTOR],
        wall_enthalpy(gas, max(point[WALL_TEMPERATURE], COLDEST_WALL), z),
        mass_flow,
        point[CONDUCTIVITY_FACTOR],
    )
    inlet = FlowState(mass_flow * u + np.exp(z) * inlet_area, total_enthalpy, xi, z)
    outcome, first, outlet_open = all_open(gas, channel, point, pairs, field, setting, inlet, work)
    if outcome != OK:
        return outcome
    outcome, thrust_open, _, z_open, _ = thrust_at_exit(gas, channel, point, outlet_open)
    if outcome != OK:
        return outcome
    contact, outlet = powered(gas, channel, point, pairs, field, setting, first, work, pair_results)
    if contact != OK and contact != NO_CONTACT:
        return contact
    if contact == NO_CONTACT:
        outlet = outlet_open
    outcome, thrust, xi_e, z_e, u_e = thrust_at_exit(gas, channel, point, outlet)
    if outcome != OK:
        return outcome
    thrust_heating = thrust_open if contact == NO_CONTACT else np.nan
    if setting.heater and contact == OK:
        outcome, outlet_heated = heated(gas, channel, point, pairs, field, setting, first, work)
        if outcome == OK:
            outcome, thrust_heating, _, _, _ = thrust_at_exit(gas, channel, point, outlet_heated)
    sigma, mobility = electrical(gas, xi, z, np.exp(z))
    outlet_area = point[GAP_OUT] * point[WIDTH_OUT]
    outlet_velocity = (outlet.momentum_flux - np.exp(outlet.z) * outlet_area) / mass_flow
    result[0], result[1] = mass_flow / (1.0 - point[CONDENSED_FRACTION]), mass_flow
    result[2], result[3], result[4] = temperature(xi_flame, z_c), temperature(xi_c, z_c), c_star
    result[5], result[6], result[7] = np.exp(z), temperature(xi, z), u
    result[8] = mach_number(gas, xi, z, u)
    result[9] = sigma * point[CONDUCTIVITY_FACTOR]
    result[10] = mobility * point[CONDUCTIVITY_FACTOR]
    result[27] = sigma / (c.e * mobility)
    result[11], result[12], result[13] = np.exp(outlet.z), temperature(outlet.xi, outlet.z), outlet_velocity
    result[14] = mach_number(gas, outlet.xi, outlet.z, outlet_velocity)
    result[15], result[16], result[17] = np.exp(z_e), temperature(xi_e, z_e), u_e
    result[18], result[19] = mach_number(gas, xi_e, z_e, u_e), np.exp(z_open)
    result[20], result[21], result[22] = thrust_open, thrust, thrust_heating
    result[23], result[24] = work.integrals[WALL_HEAT], work.integrals[FRICTION]
    result[25] = work.integrals[WALL_PRESSURE]
    result[26] = min(result[6], result[12], result[16])
    return contact


@compiled
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
    """A chunk of complete operating points.

    Parameters
    ----------
    coefficients, axes : NDArray
        A `GasTable`.
    points : NDArray
        Shape (n, inputs), `columns.INPUTS`.
    pairs : NDArray
        Shape (n, pairs, inputs of a pair), `columns.PAIR_INPUTS`; pairs from inlet to outlet.
    field : NDArray
        [T] shape (n or 1, nodes), as in `field_at`.
    setting : Setting
        What the points have in common.
    results : NDArray
        Receives shape (n, outputs); NaN where the outcome carries no numbers.
    pair_results : NDArray
        Receives shape (n, pairs, outputs of a pair).
    outcomes : NDArray
        Receives shape (n,).
    """
    gas = gas_space(axes, coefficients.shape[3])
    work = workspace(pairs.shape[1], setting.gap_steps, setting.pair_steps)
    for n in range(points.shape[0]):
        results[n] = np.nan
        pair_results[n] = np.nan
        if not contract(coefficients, axes, points[n, :3], gas):
            outcomes[n] = OUTSIDE_TABLE
            continue
        outcome = operating_point(
            gas,
            points[n],
            pairs[n],
            field[n if field.shape[0] > 1 else 0],
            setting,
            work,
            results[n],
            pair_results[n],
        )
        outcomes[n] = outcome
        if outcome > NO_CONTACT:
            results[n] = np.nan
            pair_results[n] = np.nan
