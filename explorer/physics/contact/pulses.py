"""One pulse of an ignition coil or of a capacitor through an electrode pair, each circuit in closed form.

Against the current stand the voltage of the column and of the electrodes, V_a = V_f + V_c, which turns with the
current, and the back EMF u B g, which does not. What a pulse delivers is parted into heat in the column, energy in the
electrodes, work on the gas (Q u B g), heat in the circuit and what is left: the sum is what was stored.
CONTACT.md, section 4.

All functions take numbers or arrays that broadcast.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

#: Below the first current a discharge is a glow, from the second an arc [A]; voltages between go with the logarithm of
#: the current; from memory.
GLOW_CURRENT: Final[float] = 0.1
ARC_CURRENT: Final[float] = 1.0

#: Share of a square by which a circuit is moved off critical damping, where the closed forms have 0/0.
_OFF_CRITICAL: Final[float] = 1e-12
_MOST_HALF_WAVES: Final[int] = 10_000
_LEAST: Final[float] = 1e-100  # [V] in place of zero, where it divides


@dataclass(frozen=True)
class Pulse:
    """What one pulse delivers; arrays."""

    charge: FloatArray  #: [C] net, which makes the impulse Q B g
    charge_moved: FloatArray  #: [C] ∫|i| dt, which heats and erodes
    duration: FloatArray  #: [s] until the current ends
    peak_current: FloatArray  #: [A]
    gas_heat: FloatArray  #: [J] in the column
    electrode_energy: FloatArray  #: [J] V_f ∫|i| dt, into the electrodes
    work: FloatArray  #: [J] Q u B g, done on the gas
    circuit_heat: FloatArray  #: [J] in the circuit's resistance
    remaining_energy: FloatArray  #: [J] in the source at the end
    end_voltage: FloatArray  #: [V] of a capacitor at the end; 0 of a coil


def column_value(current: ArrayLike, *, glow: ArrayLike, arc: ArrayLike) -> FloatArray:
    """Return V_f or E_a of a discharge at its current, in the unit of the two given.

    Parameters
    ----------
    current : array_like
        [A] not negative.
    glow, arc : array_like
        [V, V/m] at and below `GLOW_CURRENT`, at and above `ARC_CURRENT`; above zero.

    Returns
    -------
    NDArray
        [V, V/m] log-interpolated between.
    """
    i, low, high = (np.asarray(value, dtype=np.float64) for value in (current, glow, arc))
    inside = np.clip(i, GLOW_CURRENT, ARC_CURRENT)
    share = np.log(inside / GLOW_CURRENT) / np.log(ARC_CURRENT / GLOW_CURRENT)
    return np.asarray(low ** (1 - share) * high**share)


def discharge_length(
    *, gap: ArrayLike, velocity: ArrayLike, duration: ArrayLike, pair_length: ArrayLike, carried: ArrayLike
) -> FloatArray:
    """Return the length of a discharge that the flow carries along, g + 2 · carried · (u t, at most the pair's) [m].

    Parameters
    ----------
    gap, pair_length : array_like
        [m]
    velocity : array_like
        [m/s]
    duration : array_like
        [s] of the pulse.
    carried : array_like
        [-] 0 to 1: how much of the way the discharge goes with the flow.
    """
    way = np.minimum(np.asarray(velocity) * np.asarray(duration), np.asarray(pair_length))
    return np.asarray(gap + 2.0 * np.asarray(carried) * way)


def coil_pulse(
    *,
    energy: ArrayLike,
    peak_voltage: ArrayLike,
    inductance: ArrayLike,
    resistance: ArrayLike,
    time: ArrayLike,
    breakdown_voltage: ArrayLike,
    diffuse_current: ArrayLike,
    diffuse_resistance: ArrayLike,
    diffuse_drop: ArrayLike,
    electrode_voltage: ArrayLike,
    column_voltage: ArrayLike,
    back_emf: ArrayLike,
) -> tuple[Pulse, NDArray[np.bool_]]:
    """Return what a coil's pulse delivers, and whether as a spark.

    It sparks where its peak reaches the gap's breakdown and its current √(2E/L) exceeds what the pair draws diffusely
    at that voltage. Then the energy of its own capacitance, ½ C V_b² with C = 2E/V_peak², goes into the spark at once,
    and the rest decays as a current against V_t = V_f + V_c + u B g and R. Otherwise its current decays through the
    pair's diffuse resistance.

    Parameters
    ----------
    energy : array_like
        [J] stored, per pulse.
    peak_voltage, breakdown_voltage : array_like
        [V] unloaded, and of the gap.
    inductance, resistance : array_like
        [H, ohm] of the secondary; the resistance may be 0.
    time : array_like
        [s] 1/f, after which the next pulse begins: what is left then stays in the coil.
    diffuse_current : array_like
        [A] that the pair draws diffusely at `breakdown_voltage`; 0 where it draws none.
    diffuse_resistance, diffuse_drop : array_like
        [ohm, V] of gas and layers for the coil's current where it doesn't spark; infinite for a gap that insulates.
    electrode_voltage, column_voltage : array_like
        [V] V_f and V_c of the spark, together above zero.
    back_emf : array_like
        [V] u B g, not negative.
    """
    stored, peak, inductance_, breakdown, emf = (
        np.asarray(v, dtype=np.float64)
        for v in (energy, peak_voltage, inductance, breakdown_voltage, back_emf)
    )
    whole_current = np.sqrt(2.0 * stored / inductance_)
    sparks = (peak >= breakdown) & (whole_current > np.asarray(diffuse_current))
    at_once = np.where(sparks, stored * (breakdown / peak) ** 2, 0.0)
    capacitance = 2.0 * stored / peak**2
    spark_charge = np.where(sparks, capacitance * breakdown, 0.0)
    I_0 = np.sqrt(np.maximum(2.0 * (stored - at_once), 0.0) / inductance_)
    V_f = np.where(sparks, electrode_voltage, diffuse_drop)
    V_c = np.where(sparks, column_voltage, 0.0)
    gas_resistance = np.where(sparks, 0.0, diffuse_resistance)
    insulates = ~np.isfinite(gas_resistance)
    R = np.asarray(resistance) + np.where(insulates, 0.0, gas_resistance)
    V_t = np.maximum(V_f + V_c + emf, _LEAST)  # none stands against a coil loaded without a field
    I_0 = np.where(insulates, 0.0, I_0)
    t, decayed, I_1 = _decay(I_0, V_t, R, inductance_, np.asarray(time, dtype=np.float64))
    lost = np.maximum(0.5 * inductance_ * (I_0**2 - I_1**2) - V_t * decayed, 0.0)  # in R
    in_gas = lost * np.divide(gas_resistance, R, out=np.zeros_like(lost + R), where=(R > 0) & ~insulates)
    left = np.where(insulates, stored, 0.5 * inductance_ * I_1**2)
    spark_work = np.minimum(emf * spark_charge, at_once)
    spark_electrodes = np.minimum(V_f * spark_charge, at_once - spark_work)
    charge = decayed + spark_charge
    pulse = Pulse(
        charge=charge,
        charge_moved=charge,
        duration=t,
        peak_current=I_0 + 0.0 * charge,
        gas_heat=V_c * decayed + in_gas + (at_once - spark_work - spark_electrodes),
        electrode_energy=V_f * decayed + spark_electrodes,
        work=emf * decayed + spark_work,
        circuit_heat=lost - in_gas,
        remaining_energy=left + 0.0 * charge,
        end_voltage=np.zeros_like(charge),
    )
    return pulse, sparks & np.ones_like(charge, dtype=bool)


def _decay(
    I_0: FloatArray, V_t: FloatArray, R: FloatArray, L: FloatArray, time: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Duration, charge and last current of L di/dt = −V_t − R i, until the current ends or the time is over."""
    strength = R * I_0 / V_t
    small = strength < 1e-12
    safe = np.where(small, 1.0, strength)
    t = np.minimum(L * I_0 / V_t * np.where(small, 1.0, np.log1p(safe) / safe), time)
    x = R * t / L
    first, second = _phi(x)
    charge = I_0 * t * first - V_t / L * t**2 * second
    I_1 = np.maximum(I_0 * np.exp(-x) - V_t / L * t * first, 0.0)
    return t, charge, np.where(t < time, 0.0, I_1)


def _phi(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(1 − e^(−x))/x and (x − 1 + e^(−x))/x², by series where they cancel."""
    large = np.where(x > 1e-2, x, 1.0)
    first = np.where(x > 1e-2, -np.expm1(-large) / large, 1 - x / 2 + x**2 / 6 - x**3 / 24 + x**4 / 120)
    series = 0.5 - x / 6 + x**2 / 24 - x**3 / 120 + x**4 / 720 - x**5 / 5040
    return first, np.where(x > 1e-2, (large + np.expm1(-large)) / large**2, series)


def capacitor_pulse(
    *,
    capacitance: ArrayLike,
    voltage: ArrayLike,
    resistance: ArrayLike,
    inductance: ArrayLike,
    time: ArrayLike,
    electrode_voltage: ArrayLike,
    column_voltage: ArrayLike,
    back_emf: ArrayLike,
) -> Pulse:
    """Return what a capacitor discharged through the pair delivers, half-wave by half-wave.

    The back EMF keeps its sign when the current reverses, V_a turns with it; the pulse ends where neither sign of the
    current can go on, |v − u B g| ≤ V_a, or when the time is over. The same holds for the droop during a long burn.

    Parameters
    ----------
    capacitance, inductance, resistance : array_like
        [F, H, ohm] of the whole circuit; the resistance may be 0.
    voltage : array_like
        [V] at the start; above V_a + u B g, or nothing flows.
    time : array_like
        [s] 1/f or the burn's; infinite for a single pulse.
    electrode_voltage, column_voltage : array_like
        [V] V_f and V_c, together above zero.
    back_emf : array_like
        [V] u B g.

    Raises
    ------
    ValueError
        If a pulse has thousands of half-waves: V_a is then too small to be a discharge's.
    """
    C, V_0, R, L, limit, V_f, V_c, emf = np.broadcast_arrays(
        *(
            np.asarray(v, dtype=np.float64)
            for v in (
                capacitance,
                voltage,
                resistance,
                inductance,
                time,
                electrode_voltage,
                column_voltage,
                back_emf,
            )
        )
    )
    V_a, circuit = V_f + V_c, _Circuit(C, R, L)
    v, left, (moved, charge, duration, current, peak) = V_0.copy(), limit.copy(), np.zeros((5, *V_0.shape))
    for _ in range(_MOST_HALF_WAVES):
        drive = np.abs(v - emf) - V_a
        flows = (drive > 0.0) & (left > 0.0)
        if not flows.any():
            break
        sign, drive = np.sign(v - emf), np.where(flows, drive, 0.0)
        t = np.where(flows, np.minimum(circuit.half_wave, left), 0.0)
        cut = flows & (circuit.half_wave > left)
        passed = C * drive * circuit.passed(t)
        peak = np.maximum(peak, drive * circuit.highest(t))
        current = np.where(cut, drive * circuit.current(t), np.where(flows, 0.0, current))
        v, moved, charge = v - sign * passed / C, moved + passed, charge + sign * passed
        duration, left = duration + t, np.where(t < left, left - np.where(t < left, t, 0.0), 0.0)
    else:
        raise ValueError("electrode_voltage and column_voltage are too small beside the capacitor's voltage")
    remaining = 0.5 * C * v**2 + 0.5 * L * current**2
    heat = 0.5 * C * V_0**2 - remaining - emf * charge - V_a * moved
    return Pulse(charge, moved, duration, peak, V_c * moved, V_f * moved, emf * charge, heat, remaining, v)


def charging_power(
    *, rate: ArrayLike, capacitance: ArrayLike, voltage: ArrayLike, end_voltage: ArrayLike
) -> FloatArray:
    """Return the power that a charger must have to keep the rate, f · ½ C (V_0² − V_end²) [W].

    Parameters
    ----------
    rate : array_like
        [Hz] pulses a second.
    capacitance : array_like
        [F]
    voltage, end_voltage : array_like
        [V] before and after each pulse.
    """
    f, C, V_0, V_end = (np.asarray(v, dtype=np.float64) for v in (rate, capacitance, voltage, end_voltage))
    return np.asarray(0.5 * f * C * (V_0**2 - V_end**2))


class _Circuit:
    """A series circuit that starts with a drive across C and no current: responses per volt of drive."""

    def __init__(self, C: FloatArray, R: FloatArray, L: FloatArray) -> None:
        square = 1.0 / (L * C)
        self.C, self.square, self.damping = C, square, 0.5 * R / L
        difference = self.damping**2 - square
        near = np.abs(difference) < _OFF_CRITICAL * square
        difference = np.where(near, _OFF_CRITICAL * square, difference)
        self.rings, self.root = difference < 0.0, np.sqrt(np.abs(difference))
        self.half_wave = np.where(self.rings, np.pi / self.root, np.inf)  # [s]

    def passed(self, t: FloatArray) -> FloatArray:
        """Share of C times the drive that has passed [-], up to 2 at the end of a half-wave without damping."""
        a, w = self.damping, self.root
        angle = np.where(self.rings, w * t, 0.0)
        ringing = np.exp(-a * t) * (np.cos(angle) + a / w * np.sin(angle))
        slow, fast = -self.square / (a + w), -(a + w)
        apart = np.where(self.rings, 1.0, slow - fast)
        creeping = (slow * np.exp(fast * t) - fast * np.exp(slow * t)) / apart
        return np.where(self.rings, 1.0 - ringing, 1.0 - creeping)

    def current(self, t: FloatArray) -> FloatArray:
        """Current [A/V]."""
        a, w = self.damping, self.root
        angle = np.where(self.rings, w * t, 0.0)
        slow, fast = -self.square / (a + w), -(a + w)
        creeping = (np.exp(slow * t) - np.exp(fast * t)) / (2.0 * w)
        ringing = np.exp(-a * t) * np.sin(angle) / w
        return self.C * self.square * np.where(self.rings, ringing, creeping)

    def highest(self, t: FloatArray) -> FloatArray:
        """Highest current up to a time [A/V]."""
        a, w = self.damping, self.root
        ringing = np.arctan2(w, a) / w
        ratio = (a + w) * (a + w) / self.square
        creeping = np.log(np.maximum(ratio, 1.0)) / (2.0 * w)
        return self.current(np.minimum(np.where(self.rings, ringing, creeping), t))
