"""The twins of an operating point: every pair open, every circuit closed, and the plain heater. Compiled."""

import numpy as np

from explorer.physics.compiled import compiled
from explorer.stage.channel import Passage
from explorer.stage.circuit import Source, operating_voltage
from explorer.stage.columns import ARC, DIFFUSE, NO_CONTACT, NONE, OK, SPARK, STEADY, Row, Rows
from explorer.stage.contact import Contact, Striking, contact_of, striking_of
from explorer.stage.findings import write_pair
from explorer.stage.gas.flow import FlowState
from explorer.stage.layers import exposure, gap_breakdown, layers_of
from explorer.stage.march import NOTHING, Marched, Track, joined, march
from explorer.stage.pair_current import (
    AS_HEATER,
    OPEN_CIRCUIT,
    Electrodes,
    Picture,
    freeze,
    threshold_voltage,
)
from explorer.stage.pulsed.pair import pulsed_pair
from explorer.stage.segments import Setting, Workspace, alkali_share, segment_at, source_of
from explorer.stage.stations import Segment, with_electrodes


@compiled
def all_open(
    passage: Passage,
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
        track = Track(work.gas_power[0], work.curve[0], stations)
        here = march(passage, segment, OPEN_CIRCUIT, marched.state, track)
        marched = joined(marched, here)
        if here.outcome != OK:
            break
        if segment.within_pair:
            freeze(stations, segment.electrodes, segment.steps, work.frozen[number // 2])
    return before_pairs, marched


@compiled
def stated_pair(
    passage: Passage,
    segment: Segment,
    source: Source,
    frozen: Rows,
    state: FlowState,
    track: Track,
) -> Contact:
    """In what form a pair with stated layers conducts, striking taken for granted, and the march through it."""
    emf = frozen[frozen.size // 2].back_emf
    threshold = threshold_voltage(Picture(frozen, segment.electrodes, track.curve), 0.0)
    voltage, marched = operating_voltage(passage, segment, source, frozen, state, track)
    form, margin = DIFFUSE, np.nan
    if marched.outcome == NO_CONTACT:
        form, margin = NONE, abs(source.voltage - emf) / (threshold - emf)
    return Contact(form, voltage, marched, margin, threshold, np.nan, False)


@compiled
def no_pulses(result: Row) -> None:
    """Write down that a pair's source is always on."""
    result.pulse_rate = result.pulse_charge = result.pulse_duration = result.pulse_peak_current = np.nan
    result.pulse_gas_heat = result.pulse_electrode_energy = result.pulses_in_passage = np.nan
    result.discharge_voltage = result.end_voltage = result.source_power = np.nan


@compiled
def closed_pair(
    passage: Passage,
    point: Row,
    pairs: Rows,
    setting: Setting,
    number: int,
    segment: Segment,
    flow_is_open: bool,
    ignited: bool,
    state: FlowState,
    work: Workspace,
    result: Row,
) -> Contact:
    """A pair with its circuit closed: in what form it conducts, and the march through it.

    Parameters
    ----------
    number : int
        [-] of its segment.
    flow_is_open : bool
        Whether no pair before this one runs: the frozen picture is then that of this flow already.
    ignited : bool
        Whether a pair upstream strikes its arc.
    result : row
        Receives what its layers came to.
    """
    p = number // 2
    frozen, stations = work.frozen[p], work.stations[number]
    track = Track(work.gas_power[p], work.curve[p], stations)
    middle = work.open_stations[number][segment.steps]
    if not flow_is_open:
        marched = march(passage, segment, OPEN_CIRCUIT, state, track)
        if marched.outcome != OK:
            return Contact(NONE, np.nan, marched, np.nan, np.nan, np.nan, False)
        freeze(stations, segment.electrodes, segment.steps, frozen)
        middle = stations[segment.steps]
    source, pulsed = source_of(pairs[p], setting.supplies[p]), setting.pulsed[p] != STEADY
    result.layer_resistance, result.layer_thickness = np.nan, np.nan
    result.heat_transfer, result.recovery_temperature = np.nan, np.nan
    no_pulses(result)
    striking = Striking(np.inf, np.inf, np.inf, np.inf)
    wall, heat_flux, recovery = pairs[p].wall_temperature, np.nan, np.nan
    if setting.exposed[p] or setting.computed[p]:
        heat_flux, recovery = exposure(passage.gas, passage.channel, middle, wall)
        result.heat_transfer, result.recovery_temperature = heat_flux / (recovery - wall), recovery
    if setting.computed[p]:
        layers = layers_of(
            passage.gas,
            passage.channel,
            middle,
            pairs[p],
            heat_flux,
            recovery,
            point.recombination_factor,
            alkali_share(point, setting),
            track.curve,
        )
        result.layer_resistance, result.layer_thickness = layers.resistance, layers.thickness
        electrodes = Electrodes(
            pairs[p].voltage_drop,
            layers.resistance,
            np.inf,
            segment.electrodes.segmented,
            pairs[p].cathode_share,
        )
        segment = with_electrodes(segment, electrodes)
        striking = striking_of(layers, pairs[p])
    elif pulsed:
        striking = Striking(np.inf, np.inf, *gap_breakdown(middle, pairs[p]))
    if pulsed:
        contact = pulsed_pair(
            passage,
            segment,
            setting.pulsed[p],
            pairs[p],
            striking,
            ignited or setting.ignited[p],
            point.burn_time,
            middle.velocity,
            frozen,
            state,
            track,
            result,
        )
    elif setting.computed[p]:
        contact = contact_of(
            passage,
            segment,
            source,
            pairs[p],
            striking,
            setting.ignited[p],
            ignited,
            frozen,
            state,
            track,
        )
    else:
        contact = stated_pair(passage, segment, source, frozen, state, track)
    if not pulsed:
        current = contact.marched.integrals.plasma_current
        result.leak_current, result.moved_current = source.leak_conductance * contact.voltage, abs(current)
    if contact.marched.outcome != NO_CONTACT:
        return contact
    track.gas_power[:] = 0.0
    passed = march(passage, segment, OPEN_CIRCUIT, state, track)
    return Contact(
        contact.form, contact.voltage, passed, contact.margin, contact.threshold, contact.striking, False
    )


@compiled
def powered(
    passage: Passage,
    point: Row,
    pairs: Rows,
    setting: Setting,
    before_pairs: Marched,
    work: Workspace,
    pair_results: Rows,
) -> Marched:
    """The march to the outlet with every circuit closed; NO_CONTACT where no pair is in contact."""
    marched, in_contact, ignited = before_pairs, False, False
    for number in range(1, 2 * pairs.size + 1):
        segment = segment_at(point, pairs, setting, number)
        if segment.end <= segment.start:
            continue
        p, stations, state = number // 2, work.stations[number], marched.state
        if segment.within_pair:
            result = pair_results[p]
            result.back_emf = work.frozen[p][segment.steps].back_emf  # at the middle, with every pair open
            contact = closed_pair(
                passage,
                point,
                pairs,
                setting,
                number,
                segment,
                not in_contact,
                ignited,
                state,
                work,
                result,
            )
            here = contact.marched
            in_contact = in_contact or here.integrals.plasma_current != 0.0
            ignited = contact.form == ARC or contact.form == SPARK
            if here.outcome == OK:
                write_pair(passage, segment, stations, here, contact, result)
        else:
            track = Track(work.gas_power[0], work.curve[0], stations)
            here = march(passage, segment, OPEN_CIRCUIT, state, track)
        marched = joined(marched, here)
        if here.outcome != OK:
            return marched
    return Marched(OK if in_contact else NO_CONTACT, marched.state, marched.integrals)


@compiled
def heated(
    passage: Passage,
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
        drive = AS_HEATER if segment.within_pair else OPEN_CIRCUIT
        gas_power = work.gas_power[min(number // 2, pairs.size - 1)]
        track = Track(gas_power, work.curve[0], work.open_stations[number])
        here = march(passage, segment, drive, marched.state, track)
        marched = joined(marched, here)
        if here.outcome != OK:
            break
    return marched
