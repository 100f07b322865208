"""A pair on a pulsed source with its circuit closed: the form of its contact, and the march with the pulses' means.

Compiled. The flow is steady, so that a train of pulses adds its mean force and heat, spread over the pair's length.
"""

from typing import Final

import numpy as np

from explorer.physics.compiled import compiled
from explorer.stage.channel import Passage
from explorer.stage.columns import ARC, COIL, DIFFUSE, NO_CONTACT, OK, SPARK, Row, Rows
from explorer.stage.contact import Contact, Striking, striking_drive
from explorer.stage.gas.flow import FlowState
from explorer.stage.march import NOTHING, Marched, Track, march
from explorer.stage.pair_current import COLUMN, MOST_VOLTAGE, Drive, Picture, threshold_voltage
from explorer.stage.pulsed.train import Train, capacitor_train, coil_train
from explorer.stage.stations import Segment

#: Rounds in which the back EMF that pulses meet is that of the flow that they push.
_ROUNDS: Final[int] = 12


@compiled
def write_train(train: Train, pair: Row, velocity: float, result: Row) -> None:
    """Write down what the pulses come to, in a row of `columns.PAIR_OUTPUTS`.

    Parameters
    ----------
    velocity : float
        [m/s] at the pair's middle.
    """
    pulse, share, rate = train.pulse, train.plasma_share, train.rate
    result.pulse_rate, result.pulse_charge = rate, share * pulse.charge
    result.pulse_duration, result.pulse_peak_current = pulse.duration, share * pulse.peak_current
    in_gas = share * pulse.gas_heat * train.gas_share
    result.pulse_gas_heat = in_gas
    result.pulse_electrode_energy = share * (pulse.electrode_energy + pulse.gas_heat) - in_gas
    spent = pulse.gas_heat + pulse.electrode_energy + pulse.work + pulse.circuit_heat
    result.source_power = rate * spent
    result.end_voltage = pulse.end_voltage
    result.discharge_voltage = train.discharge_voltage
    result.pulses_in_passage = rate * pair.length / velocity
    result.moved_current = rate * share * pulse.charge_moved
    result.leak_current = rate * (1.0 - share) * pulse.charge


@compiled
def drive_of(train: Train, length: float, gap: float) -> Drive:
    """The means of a train as a column: its current per length, its field and what falls at its roots."""
    pulse = train.pulse
    heat = pulse.gas_heat * train.gas_share
    fall = (pulse.electrode_energy + pulse.gas_heat - heat) / pulse.charge
    current = train.rate * train.plasma_share * pulse.charge
    return Drive(COLUMN, 0.0, current / length, heat / (pulse.charge * gap), fall)


@compiled
def pulsed_pair(
    passage: Passage,
    segment: Segment,
    kind: int,
    pair: Row,
    striking: Striking,
    ignited: bool,
    burn_time: float,
    velocity: float,
    frozen: Rows,
    state: FlowState,
    track: Track,
    result: Row,
) -> Contact:
    """In what form a pair on a coil or a capacitor conducts, and the march with the means of its pulses.

    Parameters
    ----------
    kind : int
        [-] COIL or CAPACITOR.
    velocity : float
        [m/s] at the pair's middle.
    result : row
        Receives what the pulses come to.
    """
    picture, middle = Picture(frozen, segment.electrodes, track.curve), frozen[frozen.size // 2]
    emf, length = middle.back_emf, segment.end - segment.start
    drive = striking_drive(striking, middle.gap_resistance, segment.electrodes, track.curve)
    peak = pair.source_peak_voltage if kind == COIL else pair.source_voltage
    struck_from = emf + drive if drive < MOST_VOLTAGE else np.inf
    threshold = threshold_voltage(picture, pair.contact_current)
    marched = Marched(NO_CONTACT, state, NOTHING)
    voltage, met = 0.0, emf
    train = coil_or_capacitor(kind, pair, picture, ignited, burn_time, velocity, met, struck_from)
    for _ in range(_ROUNDS):
        if not train.plasma_share * train.pulse.charge > 0.0:
            break
        means = drive_of(train, length, middle.gap)
        marched = march(passage, segment, means, state, track)
        if marched.outcome != OK:
            break
        current = marched.integrals.plasma_current
        before, met = met, marched.integrals.force_work / current
        voltage = means.fall + (marched.integrals.joule_heating + marched.integrals.force_work) / current
        if abs(met - before) <= 1e-10 * max(abs(voltage), 1.0):
            break
        train = coil_or_capacitor(kind, pair, picture, ignited, burn_time, velocity, met, struck_from)
    write_train(train, pair, velocity, result)
    present = abs(peak - emf)
    margin = present / min(drive, threshold - emf) if train.form != DIFFUSE else present / drive
    if train.form == SPARK or train.form == ARC:
        margin = np.nan
    return Contact(train.form, voltage, marched, margin, threshold, struck_from, True)


@compiled
def coil_or_capacitor(
    kind: int,
    pair: Row,
    picture: Picture,
    ignited: bool,
    burn_time: float,
    velocity: float,
    back_emf: float,
    struck_from: float,
) -> Train:
    """The train of the pair's source against a back EMF [V]; `struck_from` [V] at the terminals it breaks down."""
    if kind == COIL:  # which needs nothing else to strike
        return coil_train(pair, picture, velocity, back_emf, struck_from)
    struck = ignited or pair.source_voltage >= struck_from
    return capacitor_train(pair, picture, velocity, back_emf, struck, burn_time)
