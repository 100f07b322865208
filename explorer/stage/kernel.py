"""Complete operating points, one after another: the compiled loop over a chunk.

A point is nozzle, channel with every pair open, channel with every circuit closed and, on request, the plain heater
twin. The loop holds no interpreter lock and shares nothing between points, so chunks may run in threads.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.stage import columns
from explorer.stage.circuit import EMF as FROZEN_EMF
from explorer.stage.circuit import (
    FROZEN_COLUMNS,
    Source,
    freeze,
    open_voltage,
    operating_voltage,
    threshold_voltage,
)
from explorer.stage.expansion import chamber, exit_state, mach_number, supersonic
from explorer.stage.findings import pair_findings
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
from explorer.stage.march import (
    CHOKED,
    COLUMNS,
    DROP_POWER,
    EMF,
    FIELD,
    FRICTION,
    GAS_POWER,
    HEATER,
    INTEGRALS,
    JOULE,
    LORENTZ,
    NO_CONTACT,
    NOT_CONVERGED,
    OK,
    OPEN,
    OUTSIDE_TABLE,
    PLASMA_CURRENT,
    WALL_HEAT,
    WALL_PRESSURE,
    Channel,
    Electrodes,
    FlowState,
    march,
)
from explorer.stage.table import SHEAR

(
    MIXTURE_RATIO,
    LN_ALKALI,
    CARRIER_WATER,
    REACTANT_ENTHALPY,
    CONDENSED_FRACTION,
    CHAMBER_PRESSURE,
    COMBUSTION_EFFICIENCY,
    CONDUCTIVITY_FACTOR,
    THROAT_FLOW_AREA,
    LENGTH,
    GAP_IN,
    GAP_OUT,
    WIDTH_IN,
    WIDTH_OUT,
    WALL_TEMPERATURE,
    FRICTION_COEFFICIENT,
    HEAT_TRANSFER_FACTOR,
    AREA_RATIO,
    AMBIENT_PRESSURE,
) = range(len(columns.INPUTS))

(
    PAIR_START,
    PAIR_LENGTH,
    VOLTAGE_DROP,
    DROP_RESISTANCE,
    ARC_VOLTAGE,
    LEAK_CONDUCTANCE,
    SOURCE_VOLTAGE,
    SOURCE_CURRENT_LIMIT,
    SOURCE_RESISTANCE,
) = range(len(columns.PAIR_INPUTS))

#: The wall's enthalpy is not taken below this temperature [K] (model, section 3).
COLDEST_WALL: Final[float] = 500.0


class Setting(NamedTuple):
    """What all points of a chunk have in common.

    Attributes
    ----------
    segmented, supplies : NDArray
        Whether each pair is segmented, and whether it has a supply (else a load); shape (pairs,).
    order : NDArray
        Pairs from inlet to outlet.
    gap_steps, pair_steps : int
        Steps between and within pairs.
    heater : bool
        Whether the plain heater twin is wanted.
    """

    segmented: NDArray[np.bool_]
    supplies: NDArray[np.bool_]
    gap_steps: int
    pair_steps: int
    heater: bool


class Workspace(NamedTuple):
    """Arrays that are used again for every point of a chunk."""

    rate: NDArray[np.float64]
    open_integrals: NDArray[np.float64]
    before_pairs: NDArray[np.float64]
    integrals: NDArray[np.float64]
    pair_integrals: NDArray[np.float64]
    heater: NDArray[np.float64]
    frozen: NDArray[np.float64]
    open_stations: NDArray[np.float64]
    stations: NDArray[np.float64]


@compiled
def workspace(pairs: int, gap_steps: int, pair_steps: int) -> Workspace:
    """A workspace for points with so many pairs and steps.

    Parameters
    ----------
    pairs, gap_steps, pair_steps : int
        [-] Sizes. Segments alternate: gap, pair, gap, …, gap.
    """
    rows = 2 * max(gap_steps, pair_steps) + 1
    segments = 2 * pairs + 1
    return Workspace(
        np.empty(INTEGRALS),
        np.empty(INTEGRALS),
        np.empty(INTEGRALS),
        np.empty(INTEGRALS),
        np.empty((pairs, INTEGRALS)),
        np.zeros((pairs, 4 * pair_steps)),
        np.empty((pairs, 2 * pair_steps + 1, FROZEN_COLUMNS)),
        np.zeros((segments, rows, COLUMNS)),
        np.zeros((segments, rows, COLUMNS)),
    )


#: Where Newton's search for the adiabatic flame begins [K].
FLAME_GUESS: Final[float] = 3200.0


@compiled
def electrodes_of(pair: NDArray[np.float64], segmented: bool) -> Electrodes:
    """The pair's electrodes from its row of `columns.PAIR_INPUTS`."""
    return Electrodes(pair[VOLTAGE_DROP], pair[DROP_RESISTANCE], pair[ARC_VOLTAGE], segmented)


@compiled
def source_of(pair: NDArray[np.float64], supplies: bool) -> Source:
    """The pair's circuit from its row of `columns.PAIR_INPUTS`."""
    return Source(
        supplies,
        pair[SOURCE_VOLTAGE] if supplies else 0.0,
        pair[SOURCE_CURRENT_LIMIT],
        pair[SOURCE_RESISTANCE],
        pair[LEAK_CONDUCTANCE],
    )


@compiled
def segment_edges(
    point: NDArray[np.float64], pairs: NDArray[np.float64], segment: int
) -> tuple[float, float]:
    """Start and end of a segment [m]; even segments lie between pairs, odd ones are pairs."""
    p = segment // 2
    if segment % 2 == 1:
        return pairs[p, PAIR_START], pairs[p, PAIR_START] + pairs[p, PAIR_LENGTH]
    start = 0.0 if p == 0 else pairs[p - 1, PAIR_START] + pairs[p - 1, PAIR_LENGTH]
    end = point[LENGTH] if p == pairs.shape[0] else pairs[p, PAIR_START]
    return start, end


@compiled
def pairs_within(point: NDArray[np.float64], pairs: NDArray[np.float64]) -> bool:
    """Whether every pair lies within the channel and behind the one before; sampled sizes may say otherwise."""
    behind = 0.0
    for p in range(pairs.shape[0]):
        if not (pairs[p, PAIR_START] >= behind * (1.0 - 1e-9) and pairs[p, PAIR_LENGTH] > 0.0):
            return False
        behind = pairs[p, PAIR_START] + pairs[p, PAIR_LENGTH]
    return bool(behind <= point[LENGTH] * (1.0 + 1e-9))


@compiled
def all_open(
    gas: Gas,
    channel: Channel,
    point: NDArray[np.float64],
    pairs: NDArray[np.float64],
    field: NDArray[np.float64],
    setting: Setting,
    state: FlowState,
    work: Workspace,
) -> tuple[int, FlowState, FlowState]:
    """March the whole channel with every pair open, and take each pair's frozen picture.

    Returns
    -------
    tuple
        Outcome, state before the first pair, state at the outlet. `work.open_integrals` holds the integrals.
    """
    work.open_integrals[:] = 0.0
    first = state
    outcome = OK
    for segment in range(2 * pairs.shape[0] + 1):
        start, end = segment_edges(point, pairs, segment)
        p = segment // 2
        if segment == 1:
            first = state
            work.before_pairs[:] = work.open_integrals
        if end <= start:
            continue
        within = segment % 2 == 1
        electrodes = electrodes_of(
            pairs[min(p, pairs.shape[0] - 1)], setting.segmented[min(p, pairs.shape[0] - 1)]
        )
        outcome, state = march(
            gas,
            channel,
            electrodes,
            field,
            start=start,
            end=end,
            steps=setting.pair_steps if within else setting.gap_steps,
            mode=OPEN,
            voltage=0.0,
            within_pair=within,
            state=state,
            integrals=work.open_integrals,
            heater=work.heater[0],
            stations=work.open_stations[segment],
            rate=work.rate,
        )
        if outcome != OK:
            return outcome, first, state
        if within:
            freeze(
                work.open_stations[segment],
                electrodes,
                length=end - start,
                steps=setting.pair_steps,
                frozen=work.frozen[p],
            )
    return OK, first, state


@compiled
def powered(
    gas: Gas,
    channel: Channel,
    point: NDArray[np.float64],
    pairs: NDArray[np.float64],
    field: NDArray[np.float64],
    setting: Setting,
    state: FlowState,
    work: Workspace,
    pair_results: NDArray[np.float64],
) -> tuple[int, FlowState]:
    """March the channel from its first pair with every circuit closed.

    Parameters
    ----------
    state : FlowState
        Before the first pair.
    pair_results : NDArray
        Receives `columns.PAIR_OUTPUTS`, shape (pairs, …).

    Returns
    -------
    tuple
        Outcome (OK if any pair is in contact, NO_CONTACT if none is) and the state at the outlet. `work.integrals`
        holds the integrals from inlet to outlet.
    """
    work.integrals[:] = work.before_pairs
    in_contact = False
    for segment in range(1, 2 * pairs.shape[0] + 1):
        start, end = segment_edges(point, pairs, segment)
        if end <= start:
            continue
        p = segment // 2
        if segment % 2 == 0:
            outcome, state = march(
                gas,
                channel,
                electrodes_of(pairs[p - 1], setting.segmented[p - 1]),
                field,
                start=start,
                end=end,
                steps=setting.gap_steps,
                mode=OPEN,
                voltage=0.0,
                within_pair=False,
                state=state,
                integrals=work.integrals,
                heater=work.heater[0],
                stations=work.stations[segment],
                rate=work.rate,
            )
            if outcome != OK:
                return outcome, state
            continue
        electrodes = electrodes_of(pairs[p], setting.segmented[p])
        source = source_of(pairs[p], setting.supplies[p])
        frozen, stations, integrals = work.frozen[p], work.stations[segment], work.pair_integrals[p]
        back_emf = frozen[setting.pair_steps, FROZEN_EMF]  # row of the pair's middle, with every pair open
        for attempt in range(2):
            # The pair open behind pairs that run is another flow than with all of them open; it is marched too
            # where a pair turns out not to be in contact.
            if attempt == 1 or in_contact:
                integrals[:] = 0.0
                outcome, behind = march(
                    gas,
                    channel,
                    electrodes,
                    field,
                    start=start,
                    end=end,
                    steps=setting.pair_steps,
                    mode=OPEN,
                    voltage=0.0,
                    within_pair=True,
                    state=state,
                    integrals=integrals,
                    heater=work.heater[p],
                    stations=stations,
                    rate=work.rate,
                )
                if outcome != OK:
                    return outcome, behind
                freeze(stations, electrodes, length=end - start, steps=setting.pair_steps, frozen=frozen)
            if attempt == 1:
                work.heater[p, :] = 0.0
                voltage = open_voltage(source)
                state = behind
                break
            outcome, voltage, behind = operating_voltage(
                gas,
                channel,
                electrodes,
                source,
                field,
                frozen,
                start=start,
                end=end,
                steps=setting.pair_steps,
                state=state,
                integrals=integrals,
                heater=work.heater[p],
                stations=stations,
                rate=work.rate,
            )
            if outcome == OK:
                in_contact = True
                state = behind
                break
            if outcome != NO_CONTACT:
                return outcome, behind
        for i in range(INTEGRALS):
            work.integrals[i] += integrals[i]
        found = pair_findings(
            gas,
            stations,
            segmented=setting.segmented[p],
            length=end - start,
            mass_flow=channel.mass_flow,
            steps=setting.pair_steps,
        )
        result = pair_results[p]
        result[0], result[1], result[2] = integrals[PLASMA_CURRENT], voltage, back_emf
        result[3], result[4] = threshold_voltage(frozen, electrodes), integrals[EMF]
        result[5], result[6], result[7] = (
            integrals[FIELD] / (end - start),
            integrals[LORENTZ],
            integrals[JOULE],
        )
        result[8], result[9] = integrals[DROP_POWER], integrals[GAS_POWER]
        result[10], result[11], result[12], result[13], result[14], result[15] = found
    return OK if in_contact else NO_CONTACT, state


@compiled
def heated(
    gas: Gas,
    channel: Channel,
    point: NDArray[np.float64],
    pairs: NDArray[np.float64],
    field: NDArray[np.float64],
    setting: Setting,
    state: FlowState,
    work: Workspace,
) -> tuple[int, FlowState]:
    """March the channel from its first pair as a plain heater: the powered twin's gas-side power, no force.

    Returns
    -------
    tuple
        Outcome and the state at the outlet. The open twin's stations are overwritten.
    """
    outcome = OK
    for segment in range(1, 2 * pairs.shape[0] + 1):
        start, end = segment_edges(point, pairs, segment)
        if end <= start:
            continue
        within = segment % 2 == 1
        p = min(segment // 2, pairs.shape[0] - 1)
        outcome, state = march(
            gas,
            channel,
            electrodes_of(pairs[p], setting.segmented[p]),
            field,
            start=start,
            end=end,
            steps=setting.pair_steps if within else setting.gap_steps,
            mode=HEATER if within else OPEN,
            voltage=0.0,
            within_pair=within,
            state=state,
            integrals=work.pair_integrals[p],
            heater=work.heater[p],
            stations=work.open_stations[segment],
            rate=work.rate,
        )
        if outcome != OK:
            return outcome, state
    return outcome, state


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
