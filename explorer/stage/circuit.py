"""The electrical circuit of one electrode pair: the terminal voltage at which source and plasma agree. Compiled.

A trial voltage is marched; between trials a frozen picture of the pair (flow as with the pair open, plus what the
marches so far have shown to differ) proposes the next one. The residual rises with V, trials that choke only bound
the search.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.frozen import EMF, frozen_current, threshold_voltage
from explorer.stage.lookup import Gas
from explorer.stage.march import march
from explorer.stage.stations import (
    CHOKED,
    NO_CONTACT,
    NOT_CONVERGED,
    OK,
    PLASMA_CURRENT,
    POWERED,
    Channel,
    Electrodes,
    FlowState,
)

#: Relative tolerance of the terminal voltage.
TOLERANCE: Final[float] = 1e-8
_MOST_TRIALS: Final[int] = 60


class Source(NamedTuple):
    """What a pair's terminals are connected to, SI. A load is a source of no voltage and no limit."""

    supplies: bool
    voltage: float
    current_limit: float
    resistance: float
    leak_conductance: float


@compiled
def residual(source: Source, voltage: float, plasma_current: float) -> float:
    """How far a terminal voltage lies above what source and limit allow; rises with the voltage.

    Parameters
    ----------
    source : Source
        The circuit.
    voltage : float
        [V] at the terminals.
    plasma_current : float
        [A] at that voltage.

    Returns
    -------
    float
        [V] zero at the operating point.
    """
    current = plasma_current + source.leak_conductance * voltage
    by_voltage = voltage - source.voltage + source.resistance * current
    if not (source.supplies and np.isfinite(source.current_limit)):
        return by_voltage
    by_limit = (current / source.current_limit - 1.0) * abs(source.voltage)
    return max(by_voltage, by_limit)


@compiled
def open_voltage(source: Source) -> float:
    """Terminal voltage of a pair through which no plasma current flows.

    Parameters
    ----------
    source : Source
        The circuit.

    Returns
    -------
    float
        [V]
    """
    if not source.supplies:
        return 0.0
    G = source.leak_conductance
    voltage = source.voltage / (1.0 + source.resistance * G)
    if G > 0.0:
        voltage = min(voltage, source.current_limit / G)
    return voltage


@compiled
def proposed_voltage(
    frozen: NDArray[np.float64],
    electrodes: Electrodes,
    source: Source,
    low: float,
    high: float,
    excess: float,
    excess_slope: float,
    at: float,
) -> float:
    """Root of the residual with the frozen picture's current plus what the marches have shown to differ.

    Parameters
    ----------
    frozen, electrodes, source
        The pair and its circuit.
    low, high : float
        [V] bounds of the root.
    excess, excess_slope : float
        [A], [A/V] marched less frozen current, linear about `at`.
    at : float
        [V]

    Returns
    -------
    float
        [V]
    """
    a, b = low, high
    voltage = min(max(at, a), b)
    for _ in range(80):
        I0, slope = frozen_current(frozen, electrodes, voltage)
        value = residual(source, voltage, I0 + excess + excess_slope * (voltage - at))
        if abs(value) <= 1e-12 * high:
            return voltage
        if value > 0.0:
            b = voltage
        else:
            a = voltage
        total = max(slope + excess_slope, 0.0) + source.leak_conductance
        gradient = 1.0 + source.resistance * total
        if source.supplies and np.isfinite(source.current_limit):
            current = I0 + excess + excess_slope * (voltage - at) + source.leak_conductance * voltage
            by_limit = (current / source.current_limit - 1.0) * abs(source.voltage)
            if by_limit >= value:
                gradient = max(total / source.current_limit * abs(source.voltage), 1e-300)
        following = voltage - value / gradient
        if not (a < following < b):
            following = 0.5 * (a + b)
        if abs(following - voltage) <= 1e-12 * high:
            return following
        voltage = following
    return voltage


@compiled
def operating_voltage(
    gas: Gas,
    channel: Channel,
    electrodes: Electrodes,
    source: Source,
    field: NDArray[np.float64],
    frozen: NDArray[np.float64],
    start: float,
    end: float,
    steps: int,
    state: FlowState,
    integrals: NDArray[np.float64],
    heater: NDArray[np.float64],
    stations: NDArray[np.float64],
    rate: NDArray[np.float64],
) -> tuple[int, float, FlowState]:
    """March a pair at the terminal voltage on which its circuit and the plasma agree.

    Parameters
    ----------
    gas, channel, electrodes, source, field
        The point's gas, channel, pair, circuit and magnetic field [T].
    frozen : NDArray
        From `freeze`.
    start, end, steps, state, heater, stations, rate
        As in `march`.
    integrals : NDArray
        Receives this pair's integrals, shape (INTEGRALS,).

    Returns
    -------
    tuple
        Outcome (NO_CONTACT where the pair stays open: nothing was marched), terminal voltage [V], state behind the
        pair.
    """
    idle = open_voltage(source)
    sign = 1.0 if source.supplies else -1.0
    if not sign * frozen_current(frozen, electrodes, idle)[0] > 0.0:
        return NO_CONTACT, idle, state
    if source.supplies:
        low, high = 0.9 * min(threshold_voltage(frozen, electrodes), idle), idle
    else:
        low, high = 0.0, np.max(frozen[:, EMF])
    scale = max(abs(source.voltage), high)
    excess, excess_slope, at = 0.0, 0.0, high if source.supplies else 0.5 * high
    tried, choked_trial = 0, False
    before_voltage, before_excess = np.nan, 0.0
    voltage = proposed_voltage(
        frozen, electrodes, source, low=low, high=high, excess=0.0, excess_slope=0.0, at=at
    )
    while tried < _MOST_TRIALS:
        tried += 1
        integrals[:] = 0.0
        outcome, behind = march(
            gas,
            channel,
            electrodes,
            field,
            start=start,
            end=end,
            steps=steps,
            mode=POWERED,
            voltage=voltage,
            within_pair=True,
            state=state,
            integrals=integrals,
            heater=heater,
            stations=stations,
            rate=rate,
        )
        if outcome == CHOKED:
            choked_trial = True
            if source.supplies:
                high = voltage
            else:
                low = voltage
            if high - low <= 1e-7 * scale:
                return CHOKED, voltage, behind
            voltage = 0.5 * (low + high)
            continue
        if outcome != OK:
            return outcome, voltage, behind
        plasma_current = integrals[PLASMA_CURRENT]
        value = residual(source, voltage, plasma_current)
        if abs(value) <= TOLERANCE * scale:
            if not sign * plasma_current > 0.0:
                return NO_CONTACT, idle, state
            return OK, voltage, behind
        if value > 0.0:
            high = min(high, voltage)
        else:
            low = max(low, voltage)
        if high - low <= 1e-12 * scale:
            if not sign * plasma_current > 0.0:
                return NO_CONTACT, idle, state
            return (CHOKED if choked_trial else OK), voltage, behind
        excess = plasma_current - frozen_current(frozen, electrodes, voltage)[0]
        if not np.isnan(before_voltage) and voltage != before_voltage:
            excess_slope = (excess - before_excess) / (voltage - before_voltage)
        before_voltage, before_excess, at = voltage, excess, voltage
        proposal = proposed_voltage(
            frozen, electrodes, source, low=low, high=high, excess=excess, excess_slope=excess_slope, at=at
        )
        if not (low < proposal < high) or tried > 12:
            proposal = 0.5 * (low + high)
        voltage = proposal
    return NOT_CONVERGED, voltage, state
