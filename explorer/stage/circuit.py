"""The electrical circuit of one electrode pair: the terminal voltage at which source and plasma agree. Compiled.

A trial voltage is marched; between trials the pair's frozen picture (flow as with the pair open, plus what the marches
so far have shown to differ) proposes the next one. The residual rises with V; trials that choke or grow too hot for the
gas only bound the search
(MODEL.md, section 4).
"""

from typing import Final, NamedTuple

import numpy as np

from explorer.physics.compiled import compiled
from explorer.stage.channel import Passage
from explorer.stage.columns import NO_CONTACT, NOT_CONVERGED, OK, Rows
from explorer.stage.gas.flow import FlowState
from explorer.stage.march import NOTHING, Marched, Track, march
from explorer.stage.pair_current import (
    Picture,
    back_emf_range,
    frozen_current,
    powered_at,
)
from explorer.stage.stations import Segment

#: Relative tolerance of the terminal voltage.
TOLERANCE: Final[float] = 1e-8
_MOST_TRIALS: Final[int] = 60


class Source(NamedTuple):
    """What a pair's terminals are connected to. A load is a source of no voltage and no limit."""

    supplies: bool
    voltage: float  #: [V] V_s
    current_limit: float  #: [A]
    resistance: float  #: [ohm] R
    leak_conductance: float  #: [S] G


class Excess(NamedTuple):
    """What a pair's marched current has shown to be more than its frozen one, linear about a voltage."""

    current: float  #: [A]
    slope: float  #: [A/V]
    at: float  #: [V]
    marched: bool  #: whether it is known at all


@compiled
def excess_from(before: Excess, voltage: float, current: float) -> Excess:
    """The excess current [A] that a march at a voltage [V] shows, with the slope from the march before."""
    slope = before.slope
    if before.marched and voltage != before.at:
        slope = (current - before.current) / (voltage - before.at)
    return Excess(current, slope, voltage, True)


@compiled
def residual(source: Source, voltage: float, plasma_current: float) -> float:
    """How far a terminal voltage lies above what source and limit allow; rises with it, zero where all agree [V].

    Parameters
    ----------
    voltage : float
        [V] at the terminals.
    plasma_current : float
        [A] at that voltage.
    """
    current = plasma_current + source.leak_conductance * voltage
    by_voltage = voltage - source.voltage + source.resistance * current
    if not (source.supplies and np.isfinite(source.current_limit)):
        return by_voltage
    by_limit = (current / source.current_limit - 1.0) * abs(source.voltage)
    return max(by_voltage, by_limit)


@compiled
def residual_slope(source: Source, voltage: float, plasma_current: float, slope: float) -> float:
    """Slope of `residual` along the voltage [-], where the plasma current has one of its own.

    Parameters
    ----------
    slope : float
        [A/V] of the plasma current, not below zero.
    """
    total = slope + source.leak_conductance
    if source.supplies and np.isfinite(source.current_limit):
        current = plasma_current + source.leak_conductance * voltage
        by_limit = (current / source.current_limit - 1.0) * abs(source.voltage)
        if by_limit >= residual(source, voltage, plasma_current):
            return max(total / source.current_limit * abs(source.voltage), 1e-300)
    return 1.0 + source.resistance * total


@compiled
def open_voltage(source: Source) -> float:
    """Terminal voltage of a pair through which no plasma current flows [V]."""
    if not source.supplies:
        return 0.0
    G = source.leak_conductance
    voltage = source.voltage / (1.0 + source.resistance * G)
    if G > 0.0:
        voltage = min(voltage, source.current_limit / G)
    return voltage


@compiled
def proposed_voltage(picture: Picture, source: Source, low: float, high: float, excess: Excess) -> float:
    """Root of the residual with the frozen current and its excess [V].

    Parameters
    ----------
    low, high : float
        [V] bounds of the root.
    """
    a, b = low, high
    voltage = min(max(excess.at, a), b)
    for _ in range(80):
        current, slope = frozen_current(picture, voltage)
        current += excess.current + excess.slope * (voltage - excess.at)
        value = residual(source, voltage, current)
        if abs(value) <= 1e-12 * high:
            return voltage
        if value > 0.0:
            b = voltage
        else:
            a = voltage
        following = voltage - value / residual_slope(source, voltage, current, max(slope + excess.slope, 0.0))
        if not (a < following < b):
            following = 0.5 * (a + b)
        if abs(following - voltage) <= 1e-12 * high:
            return following
        voltage = following
    return voltage


@compiled
def first_bounds(source: Source, frozen: Rows, voltage_drop: float) -> tuple[float, float]:
    """Terminal voltages [V] between which the operating point lies, if the pair is in contact."""
    smallest, largest = back_emf_range(frozen)
    if source.supplies:
        idle = open_voltage(source)
        return 0.9 * min(smallest + voltage_drop, idle), idle  # below it nothing flows forward
    return 0.0, largest


@compiled
def in_contact(source: Source, plasma_current: float) -> bool:
    """Whether the plasma current [A] flows the way in which this circuit drives it or is driven."""
    return plasma_current > 0.0 if source.supplies else plasma_current < 0.0


@compiled
def operating_voltage(
    passage: Passage, segment: Segment, source: Source, frozen: Rows, state: FlowState, track: Track
) -> tuple[float, Marched]:
    """Terminal voltage [V] on which a pair's circuit and the plasma agree, and the march at it.

    The outcome is NO_CONTACT where the pair stays open: the stations are then worth nothing.
    """
    picture, idle = Picture(frozen, segment.electrodes, track.curve), open_voltage(source)
    no_contact = Marched(NO_CONTACT, state, NOTHING)
    if not in_contact(source, frozen_current(picture, idle)[0]):
        return idle, no_contact
    low, high = first_bounds(source, frozen, segment.electrodes.voltage_drop)
    scale = max(abs(source.voltage), high)
    excess = Excess(0.0, 0.0, high if source.supplies else 0.5 * high, False)
    failed = OK  # how a trial failed, if one did
    voltage = proposed_voltage(picture, source, low, high, excess)
    for tried in range(_MOST_TRIALS):
        marched = march(passage, segment, powered_at(voltage), state, track)
        if marched.outcome != OK:  # too much current: it only bounds the search
            failed = marched.outcome
            low, high = (low, voltage) if source.supplies else (voltage, high)
            if high - low <= 1e-7 * scale:
                return voltage, marched
            voltage = 0.5 * (low + high)
            continue
        current = marched.integrals.plasma_current
        value = residual(source, voltage, current)
        low, high = (low, min(high, voltage)) if value > 0.0 else (max(low, voltage), high)
        found = abs(value) <= TOLERANCE * scale
        if found or high - low <= 1e-12 * scale:
            if not in_contact(source, current):
                return idle, no_contact
            outcome = OK if found else failed
            return voltage, Marched(outcome, marched.state, marched.integrals)
        frozen_now = frozen_current(picture, voltage)[0]
        excess = excess_from(excess, voltage, current - frozen_now)
        following = proposed_voltage(picture, source, low, high, excess)
        voltage = following if low < following < high and tried < 12 else 0.5 * (low + high)
    return voltage, Marched(NOT_CONVERGED, state, NOTHING)
