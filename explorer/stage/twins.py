"""The twins of an operating point: every pair open, every circuit closed, and the plain heater. Compiled."""

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.channel import Channel
from explorer.stage.circuit import Source, operating_voltage
from explorer.stage.columns import NO_CONTACT, OK, Row, Rows
from explorer.stage.findings import write_pair
from explorer.stage.gas.flow import FlowState
from explorer.stage.gas.lookup import Gas
from explorer.stage.march import NOTHING, Marched, Segment, joined, march
from explorer.stage.pair_current import HEATER, OPEN_CIRCUIT, Drive, freeze
from explorer.stage.segments import Setting, Workspace, segment_at, source_of


@compiled
def all_open(
    gas: Gas,
    channel: Channel,
    field: NDArray[np.float64],
    point: Row,
    pairs: Rows,
    setting: Setting,
    inlet: FlowState,
    work: Workspace,
) -> tuple[Marched, Marched]:
    """The march to the first pair and that to the outlet, every pair open; takes each pair's frozen picture."""
    marched = before_pairs = Marched(OK, inlet, NOTHING)
    for number in range(2 * pairs.size + 1):
        if number == 1:
            before_pairs = marched
        segment = segment_at(point, pairs, setting, number)
        if segment.end <= segment.start:
            continue
        stations = work.open_stations[number]
        here = march(gas, channel, field, segment, OPEN_CIRCUIT, marched.state, work.gas_power[0], stations)
        marched = joined(marched, here)
        if here.outcome != OK:
            break
        if segment.within_pair:
            freeze(stations, segment.electrodes, segment.steps, work.frozen[number // 2])
    return before_pairs, marched


@compiled
def closed_pair(
    gas: Gas,
    channel: Channel,
    field: NDArray[np.float64],
    segment: Segment,
    source: Source,
    flow_is_open: bool,
    state: FlowState,
    frozen: Rows,
    gas_power: NDArray[np.float64],
    stations: Rows,
) -> tuple[float, bool, Marched]:
    """Terminal voltage [V] of a pair with its circuit closed, whether it is in contact, and the march through it.

    Parameters
    ----------
    flow_is_open : bool
        Whether no pair before this one runs: the frozen picture is then that of this flow already.
    """
    if not flow_is_open:
        marched = march(gas, channel, field, segment, OPEN_CIRCUIT, state, gas_power, stations)
        if marched.outcome != OK:
            return np.nan, False, marched
        freeze(stations, segment.electrodes, segment.steps, frozen)
    voltage, marched = operating_voltage(
        gas, channel, field, segment, source, frozen, state, gas_power, stations
    )
    if marched.outcome != NO_CONTACT:
        return voltage, True, marched
    gas_power[:] = 0.0
    return voltage, False, march(gas, channel, field, segment, OPEN_CIRCUIT, state, gas_power, stations)


@compiled
def powered(
    gas: Gas,
    channel: Channel,
    field: NDArray[np.float64],
    point: Row,
    pairs: Rows,
    setting: Setting,
    before_pairs: Marched,
    work: Workspace,
    pair_results: Rows,
) -> Marched:
    """The march to the outlet with every circuit closed; NO_CONTACT where no pair is in contact."""
    marched, in_contact = before_pairs, False
    for number in range(1, 2 * pairs.size + 1):
        segment = segment_at(point, pairs, setting, number)
        if segment.end <= segment.start:
            continue
        p, stations, state = number // 2, work.stations[number], marched.state
        if segment.within_pair:
            frozen = work.frozen[p]
            source = source_of(pairs[p], setting.supplies[p])
            pair_results[p].back_emf = frozen[segment.steps].back_emf  # at the middle, with every pair open
            voltage, contact, here = closed_pair(
                gas,
                channel,
                field,
                segment,
                source,
                not in_contact,
                state,
                frozen,
                work.gas_power[p],
                stations,
            )
            in_contact = in_contact or contact
            if here.outcome == OK:
                write_pair(gas, segment, stations, frozen, channel, here, voltage, pair_results[p])
        else:
            here = march(gas, channel, field, segment, OPEN_CIRCUIT, state, work.gas_power[0], stations)
        marched = joined(marched, here)
        if here.outcome != OK:
            return marched
    return Marched(OK if in_contact else NO_CONTACT, marched.state, marched.integrals)


@compiled
def heated(
    gas: Gas,
    channel: Channel,
    field: NDArray[np.float64],
    point: Row,
    pairs: Rows,
    setting: Setting,
    before_pairs: Marched,
    work: Workspace,
) -> Marched:
    """The march to the outlet as a plain heater: the powered twin's gas-side power, no force.

    The open twin's stations are overwritten.
    """
    marched = before_pairs
    for number in range(1, 2 * pairs.size + 1):
        segment = segment_at(point, pairs, setting, number)
        if segment.end <= segment.start:
            continue
        drive = Drive(HEATER, 0.0) if segment.within_pair else OPEN_CIRCUIT
        gas_power = work.gas_power[min(number // 2, pairs.size - 1)]
        stations = work.open_stations[number]
        here = march(gas, channel, field, segment, drive, marched.state, gas_power, stations)
        marched = joined(marched, here)
        if here.outcome != OK:
            break
    return marched
