"""The twins of an operating point: every pair open, every circuit closed, and the plain heater. Compiled."""

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.circuit import open_voltage, operating_voltage
from explorer.stage.findings import pair_findings
from explorer.stage.frozen import EMF as FROZEN_EMF
from explorer.stage.frozen import freeze, threshold_voltage
from explorer.stage.lookup import Gas
from explorer.stage.march import march
from explorer.stage.segments import Setting, Workspace, electrodes_of, segment_edges, source_of
from explorer.stage.stations import (
    DROP_POWER,
    EMF,
    FIELD,
    GAS_POWER,
    HEATER,
    INTEGRALS,
    JOULE,
    LORENTZ,
    NO_CONTACT,
    OK,
    OPEN,
    PLASMA_CURRENT,
    Channel,
    FlowState,
)


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
