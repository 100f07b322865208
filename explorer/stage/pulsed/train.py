"""What a train of pulses through a pair comes to, from the pair as it is with the circuit open. Compiled.

The closed forms of one pulse stand in `physics/contact/pulses`; the discharge's voltage goes with its current, and its
length with how long the pulse lasts, so that both are found in rounds (physics/contact/CONTACT.md, section 4).
"""

from typing import Final, NamedTuple

import numpy as np

from explorer.physics.compiled import compiled
from explorer.physics.contact.pulses import (
    Pulse,
    capacitor_pulse,
    coil_pulse,
    column_value,
    discharge_length,
)
from explorer.stage.columns import ARC, DIFFUSE, NONE, SPARK, Row
from explorer.stage.contact import LEAST_ARC
from explorer.stage.pair_current import Picture, frozen_current
from explorer.stage.pulsed.diffuse import ANY_VOLTAGE, diffuse_at, drawn_at

_ROUNDS: Final[int] = 40
#: Mean over the charge of a current that falls evenly, and of a half-wave, over its highest [-].
_OF_FALLING: Final[float] = 2.0 / 3.0
_OF_WAVE: Final[float] = np.pi / 4.0
#: Share of a pulse's energy that its circuit's heat, a difference, is told from [-].
_TOLD: Final[float] = 1e-9
#: No drop [V]: with none at all a circuit without resistance would ring for ever.
_LEAST_DROP: Final[float] = 1e-3


class Train(NamedTuple):
    """Pulses of one kind, one after the other."""

    form: int  #: NONE, SPARK, DIFFUSE or ARC
    pulse: Pulse  #: with what leaks
    rate: float  #: [Hz]
    plasma_share: float  #: [-] of the current, the rest leaks
    gas_share: float  #: [-] of what heats the pair's diffuse resistance, the core's
    discharge_voltage: float  #: [V] V_a = V_f + V_c of a spark or arc; of a diffuse pulse its drop


@compiled
def no_pulse() -> Pulse:
    """What stands where no pulse gets through."""
    return Pulse(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, np.nan, np.nan)


@compiled
def no_train(form: int, rate: float) -> Train:
    """No pulse gets through."""
    return Train(form, no_pulse(), rate, 1.0, 1.0, np.nan)


@compiled
def leaking(form: int, pulse: Pulse, rate: float, leak_conductance: float) -> Train:
    """No current that counts flows through the gas: the leak along the walls takes the pulse, if there is one."""
    if leak_conductance > 0.0:
        return Train(form, pulse, rate, 0.0, 1.0, np.nan)
    return no_train(form, rate)


@compiled
def rate_of(pair: Row, burn_time: float) -> float:
    """Pulses a second [Hz]; without a rate one lasts as long as the firing."""
    return pair.source_rate if pair.source_rate > 0.0 else 1.0 / burn_time


@compiled
def flowing(current: float, least: float) -> bool:
    """Whether a pulse's current [A] counts as contact."""
    return current > 0.0 and current >= least


@compiled
def without_leak(leak_conductance: float, voltage: float, current: float) -> float:
    """Share of a current [A] that the leak at its voltage [V] leaves to the plasma [-]."""
    if not current > 0.0:
        return 1.0
    return max(1.0 - leak_conductance * voltage / current, 0.0)


@compiled
def coil_train(
    pair: Row,
    picture: Picture,
    velocity: float,
    back_emf: float,
    breakdown_voltage: float,
) -> Train:
    """What a coil's pulses come to.

    Parameters
    ----------
    velocity : float
        [m/s] at the pair's middle.
    back_emf : float
        [V] u B g that the pulses meet.
    breakdown_voltage : float
        [V] at the terminals, infinite where nothing breaks down.
    """
    E, peak, L, R = (
        pair.source_energy,
        pair.source_peak_voltage,
        pair.source_inductance,
        pair.source_resistance,
    )
    G, rate, gap = pair.leak_conductance, pair.source_rate, picture.frozen[picture.frozen.size // 2].gap
    whole_current = np.sqrt(2.0 * E / L)
    reached = breakdown_voltage <= peak
    at_breakdown = 0.0
    if reached:
        at_breakdown, _ = drawn_at(picture, G, breakdown_voltage)
    if not (reached and whole_current > at_breakdown):
        loaded = diffuse_at(picture, G, ANY_VOLTAGE, 0.0, whole_current)
        most = min(whole_current * loaded.plasma_share, frozen_current(picture, peak)[0])
        pulse, _ = coil_pulse(
            E,
            peak,
            L,
            R,
            1.0 / rate,
            np.inf,
            0.0,
            loaded.resistance,
            picture.electrodes.voltage_drop,
            0.0,
            0.0,
            back_emf,
        )
        if not flowing(most, pair.contact_current):
            return leaking(NONE, pulse, rate, G)
        form = ARC if loaded.constricted else DIFFUSE
        return Train(
            form, pulse, rate, loaded.plasma_share, loaded.gas_share, picture.electrodes.voltage_drop
        )
    pulse, voltage, duration = no_pulse(), 0.0, 0.0
    current = _OF_FALLING * whole_current
    for _ in range(_ROUNDS):
        length = discharge_length(gap, velocity, duration, pair.length, pair.discharge_carried)
        fall = column_value(current, pair.glow_fall, pair.arc_fall)
        column = column_value(current, pair.glow_field, pair.arc_field) * length
        voltage = fall + column
        pulse, _ = coil_pulse(
            E, peak, L, R, 1.0 / rate, breakdown_voltage, at_breakdown, np.inf, 0.0, fall, column, back_emf
        )
        if abs(pulse.duration - duration) <= 1e-12 * duration:
            break
        duration = pulse.duration
    share = without_leak(G, voltage + back_emf, current)
    return Train(SPARK, pulse, rate, share, 1.0, voltage)


@compiled
def mean_current(pulse: Pulse, resistance: float) -> float:
    """Mean over a pulse's charge of its current, ∫ i² dt/∫|i| dt [A]; of half a wave where nothing damps it."""
    if not pulse.charge_moved > 0.0:
        return 0.0
    if pulse.circuit_heat > _TOLD * (pulse.gas_heat + pulse.electrode_energy):
        return pulse.circuit_heat / (resistance * pulse.charge_moved)
    return _OF_WAVE * pulse.peak_current


@compiled
def arc_of_capacitor(
    pair: Row, gap: float, velocity: float, back_emf: float, time: float
) -> tuple[Pulse, float, float]:
    """A struck capacitor's pulse, the mean current [A] of it and the discharge's voltage [V] V_f + V_c."""
    current, duration, voltage = 1e3, 0.0, 0.0  # an arc's, where one can burn
    pulse = no_pulse()
    for _ in range(_ROUNDS):
        length = discharge_length(gap, velocity, duration, pair.length, pair.discharge_carried)
        fall = column_value(current, pair.glow_fall, pair.arc_fall)
        column = column_value(current, pair.glow_field, pair.arc_field) * length
        voltage = fall + column
        pulse = capacitor_pulse(
            pair.source_capacitance,
            pair.source_voltage,
            pair.source_resistance,
            pair.source_inductance,
            time,
            fall,
            column,
            back_emf,
        )
        following = mean_current(pulse, pair.source_resistance)
        if not following > 0.0 or abs(following - current) <= 1e-12 * current:
            current = following
            break
        current, duration = following, min(pulse.charge_moved / following, pulse.duration)
    return pulse, current, voltage


@compiled
def capacitor_train(
    pair: Row,
    picture: Picture,
    velocity: float,
    back_emf: float,
    struck: bool,
    burn_time: float,
) -> Train:
    """What a capacitor's pulses come to.

    Parameters
    ----------
    velocity, back_emf : float
        [m/s], [V] as for a coil.
    struck : bool
        Whether the charged capacitor, or something else, strikes a discharge.
    burn_time : float
        [s] over which a capacitor without a rate discharges.
    """
    G, V, R = pair.leak_conductance, pair.source_voltage, pair.source_resistance
    rate = rate_of(pair, burn_time)
    time = min(1.0 / rate, pair.source_pulse_length)
    if struck:
        pulse, current, voltage = arc_of_capacitor(
            pair, picture.frozen[picture.frozen.size // 2].gap, velocity, back_emf, time
        )
        share = without_leak(G, voltage + back_emf, current)
        if pulse.charge > 0.0 and share * current >= LEAST_ARC:
            return Train(ARC, pulse, rate, share, 1.0, voltage)
    pair_as = diffuse_at(picture, G, V, R, np.inf)
    drop = max(picture.electrodes.voltage_drop, _LEAST_DROP)
    unheld = SPARK if struck else NONE
    if not np.isfinite(pair_as.resistance):
        return no_train(unheld, rate)
    pulse = capacitor_pulse(
        pair.source_capacitance,
        V,
        R + pair_as.resistance,
        pair.source_inductance,
        time,
        drop,
        0.0,
        back_emf,
    )
    pulse = parted(pulse, pair_as.resistance / (R + pair_as.resistance))
    if not flowing(pulse.peak_current * pair_as.plasma_share, pair.contact_current):
        return leaking(unheld, pulse, rate, G)
    form = ARC if pair_as.constricted else DIFFUSE
    return Train(SPARK if struck else form, pulse, rate, pair_as.plasma_share, pair_as.gas_share, drop)


@compiled
def parted(pulse: Pulse, share: float) -> Pulse:
    """The pulse with a share [-] of the circuit's heat counted as the gap's."""
    return Pulse(
        pulse.charge,
        pulse.charge_moved,
        pulse.duration,
        pulse.peak_current,
        pulse.gas_heat + share * pulse.circuit_heat,
        pulse.electrode_energy,
        pulse.work,
        pulse.circuit_heat - share * pulse.circuit_heat,
        pulse.remaining_energy,
        pulse.end_voltage,
    )
