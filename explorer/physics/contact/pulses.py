"""One pulse of an ignition coil or of a capacitor through an electrode pair, each circuit in closed form. Compiled.

Against the current stand the voltage of the column and of the electrodes, V_a = V_f + V_c, which turns with the
current, and the back EMF u B g, which does not. What a pulse delivers is parted into heat in the column, energy in the
electrodes, work on the gas (Q u B g), heat in the circuit and what is left: the sum is what was stored.
CONTACT.md, section 4.
"""

from typing import Final, NamedTuple

import numpy as np

from explorer.physics.compiled import Values, compiled, elementwise

#: Below the first current a discharge is a glow, from the second an arc [A]; voltages between go with the logarithm of
#: the current; from memory.
GLOW_CURRENT: Final[float] = 0.1
ARC_CURRENT: Final[float] = 1.0

#: Share of a square by which a circuit is moved off critical damping, where the closed forms have 0/0.
_OFF_CRITICAL: Final[float] = 1e-12
_MOST_HALF_WAVES: Final[int] = 10_000
_LEAST: Final[float] = 1e-100  # [V] in place of zero, where it divides


class Pulse(NamedTuple):
    """What one pulse delivers."""

    charge: float  #: [C] net, which makes the impulse Q B g
    charge_moved: float  #: [C] ∫|i| dt, which heats and erodes
    duration: float  #: [s] until the current ends
    peak_current: float  #: [A]
    gas_heat: float  #: [J] in the column
    electrode_energy: float  #: [J] V_f ∫|i| dt, into the electrodes
    work: float  #: [J] Q u B g, done on the gas
    circuit_heat: float  #: [J] in the circuit's resistance
    remaining_energy: float  #: [J] in the source at the end
    end_voltage: float  #: [V] of a capacitor at the end; 0 of a coil


@elementwise
def column_value(current: Values, glow: Values, arc: Values) -> Values:
    """V_f or E_a of a discharge at its current, in the unit of the two given, log-interpolated between.

    Parameters
    ----------
    current : float or array_like
        [A] not negative.
    glow, arc : float or array_like
        [V, V/m] at and below `GLOW_CURRENT`, at and above `ARC_CURRENT`; above zero.
    """
    inside = np.minimum(np.maximum(current, GLOW_CURRENT), ARC_CURRENT)
    share = np.log(inside / GLOW_CURRENT) / np.log(ARC_CURRENT / GLOW_CURRENT)
    return glow ** (1.0 - share) * arc**share


@elementwise
def discharge_length(
    gap: Values, velocity: Values, duration: Values, pair_length: Values, carried: Values
) -> Values:
    """Length of a discharge that the flow carries along, g + 2 · carried · (u t, at most the pair's) [m].

    Parameters
    ----------
    gap, pair_length : float or array_like
        [m]
    velocity : float or array_like
        [m/s]
    duration : float or array_like
        [s] of the pulse.
    carried : float or array_like
        [-] 0 to 1: how much of the way the discharge goes with the flow.
    """
    return gap + 2.0 * carried * np.minimum(velocity * duration, pair_length)


@compiled
def coil_pulse(
    energy: float,
    peak_voltage: float,
    inductance: float,
    resistance: float,
    time: float,
    breakdown_voltage: float,
    diffuse_current: float,
    diffuse_resistance: float,
    diffuse_drop: float,
    electrode_voltage: float,
    column_voltage: float,
    back_emf: float,
) -> tuple[Pulse, bool]:
    """What a coil's pulse delivers, and whether as a spark.

    It sparks where its peak reaches the gap's breakdown and its current √(2E/L) exceeds what the pair draws diffusely
    at that voltage. Then the energy of its own capacitance, ½ C V_b² with C = 2E/V_peak², goes into the spark at once,
    and the rest decays as a current against V_t = V_f + V_c + u B g and R. Otherwise its current decays through the
    pair's diffuse resistance.

    Parameters
    ----------
    energy : float
        [J] stored, per pulse.
    peak_voltage, breakdown_voltage : float
        [V] unloaded, and of the gap.
    inductance, resistance : float
        [H, ohm] of the secondary; the resistance may be 0.
    time : float
        [s] 1/f, after which the next pulse begins: what is left then stays in the coil.
    diffuse_current : float
        [A] that the pair draws diffusely at `breakdown_voltage`; 0 where it draws none.
    diffuse_resistance, diffuse_drop : float
        [ohm, V] of gas and layers for the coil's current where it doesn't spark; infinite for a gap that insulates.
    electrode_voltage, column_voltage : float
        [V] V_f and V_c of the spark, together above zero.
    back_emf : float
        [V] u B g, not negative.
    """
    sparks = bool(peak_voltage >= breakdown_voltage and np.sqrt(2.0 * energy / inductance) > diffuse_current)
    insulates = not (sparks or np.isfinite(diffuse_resistance))
    if insulates:
        return Pulse(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, energy, 0.0), sparks
    at_once, spark_charge = 0.0, 0.0
    V_f, V_c, gas_resistance = diffuse_drop, 0.0, diffuse_resistance
    if sparks:
        at_once = energy * (breakdown_voltage / peak_voltage) ** 2
        spark_charge = 2.0 * energy / peak_voltage**2 * breakdown_voltage
        V_f, V_c, gas_resistance = electrode_voltage, column_voltage, 0.0
    R = resistance + gas_resistance
    I_0 = np.sqrt(max(2.0 * (energy - at_once), 0.0) / inductance)
    V_t = max(V_f + V_c + back_emf, _LEAST)  # none stands against a coil loaded without a field
    t, decayed, I_1 = _decay(I_0, V_t, R, inductance, time)
    lost = max(0.5 * inductance * (I_0**2 - I_1**2) - V_t * decayed, 0.0)  # in R
    in_gas = lost * gas_resistance / R if R > 0.0 else 0.0
    spark_work = min(back_emf * spark_charge, at_once)
    spark_electrodes = min(V_f * spark_charge, at_once - spark_work)
    charge = decayed + spark_charge
    pulse = Pulse(
        charge=charge,
        charge_moved=charge,
        duration=t,
        peak_current=I_0,
        gas_heat=V_c * decayed + in_gas + (at_once - spark_work - spark_electrodes),
        electrode_energy=V_f * decayed + spark_electrodes,
        work=back_emf * decayed + spark_work,
        circuit_heat=lost - in_gas,
        remaining_energy=0.5 * inductance * I_1**2,
        end_voltage=0.0,
    )
    return pulse, sparks


@compiled
def _decay(I_0: float, V_t: float, R: float, L: float, time: float) -> tuple[float, float, float]:
    """Duration, charge and last current of L di/dt = −V_t − R i, until the current ends or the time is over."""
    strength = R * I_0 / V_t
    t = min(L * I_0 / V_t * (np.log1p(strength) / strength if strength > 1e-12 else 1.0), time)
    x = R * t / L
    first, second = _phi(x)
    charge = I_0 * t * first - V_t / L * t**2 * second
    I_1 = max(I_0 * np.exp(-x) - V_t / L * t * first, 0.0) if t >= time else 0.0
    return t, charge, I_1


@compiled
def _phi(x: float) -> tuple[float, float]:
    """(1 − e^(−x))/x and (x − 1 + e^(−x))/x², by series where they cancel."""
    if x > 1e-2:
        return -np.expm1(-x) / x, (x + np.expm1(-x)) / x**2
    first = 1.0 - x / 2.0 + x**2 / 6.0 - x**3 / 24.0 + x**4 / 120.0
    return first, 0.5 - x / 6.0 + x**2 / 24.0 - x**3 / 120.0 + x**4 / 720.0 - x**5 / 5040.0


@compiled
def capacitor_pulse(
    capacitance: float,
    voltage: float,
    resistance: float,
    inductance: float,
    time: float,
    electrode_voltage: float,
    column_voltage: float,
    back_emf: float,
) -> Pulse:
    """What a capacitor discharged through the pair delivers, half-wave by half-wave.

    The back EMF keeps its sign when the current reverses, V_a turns with it; the pulse ends where neither sign of the
    current can go on, |v − u B g| ≤ V_a, or when the time is over. The same holds for the droop during a long burn.

    Parameters
    ----------
    capacitance, inductance, resistance : float
        [F, H, ohm] of the whole circuit; the resistance may be 0.
    voltage : float
        [V] at the start; above V_a + u B g, or nothing flows.
    time : float
        [s] 1/f or the burn's; infinite for a single pulse.
    electrode_voltage, column_voltage : float
        [V] V_f and V_c, together above zero.
    back_emf : float
        [V] u B g.

    Returns
    -------
    Pulse
        NaN where a pulse has thousands of half-waves: V_a is then too small to be a discharge's.
    """
    V_a = electrode_voltage + column_voltage
    circuit = _circuit(capacitance, resistance, inductance)
    v, left = voltage, time
    moved, charge, duration, current, peak = 0.0, 0.0, 0.0, 0.0, 0.0
    for wave in range(_MOST_HALF_WAVES + 1):
        drive = abs(v - back_emf) - V_a
        if not (drive > 0.0 and left > 0.0):
            break
        if wave == _MOST_HALF_WAVES:
            v = np.nan
            break
        sign = 1.0 if v > back_emf else -1.0
        t = min(circuit.half_wave, left)
        passed = capacitance * drive * _passed(circuit, t)
        peak = max(peak, drive * _highest(circuit, t))
        current = drive * _current(circuit, t) if circuit.half_wave > left else 0.0
        v, moved, charge = v - sign * passed / capacitance, moved + passed, charge + sign * passed
        duration, left = duration + t, left - t if t < left else 0.0
    remaining = 0.5 * capacitance * v**2 + 0.5 * inductance * current**2
    heat = 0.5 * capacitance * voltage**2 - remaining - back_emf * charge - V_a * moved
    return Pulse(
        charge=charge,
        charge_moved=moved,
        duration=duration,
        peak_current=peak,
        gas_heat=column_voltage * moved,
        electrode_energy=electrode_voltage * moved,
        work=back_emf * charge,
        circuit_heat=heat,
        remaining_energy=remaining,
        end_voltage=v,
    )


@elementwise
def charging_power(rate: Values, capacitance: Values, voltage: Values, end_voltage: Values) -> Values:
    """Power that a charger must have to keep the rate, f · ½ C (V_0² − V_end²) [W].

    Parameters
    ----------
    rate : float or array_like
        [Hz] pulses a second.
    capacitance : float or array_like
        [F]
    voltage, end_voltage : float or array_like
        [V] before and after each pulse.
    """
    return 0.5 * rate * capacitance * (voltage**2 - end_voltage**2)


class _Circuit(NamedTuple):
    """A series circuit that starts with a drive across C and no current: responses per volt of drive."""

    C: float  #: [F]
    square: float  #: [1/s²] 1/(L C)
    damping: float  #: [1/s] R/(2 L)
    rings: bool
    root: float  #: [1/s] of how far the damping's square is off 1/(L C)
    half_wave: float  #: [s]; infinite for one that creeps


@compiled
def _circuit(C: float, R: float, L: float) -> _Circuit:
    square, damping = 1.0 / (L * C), 0.5 * R / L
    difference = damping**2 - square
    if abs(difference) < _OFF_CRITICAL * square:
        difference = _OFF_CRITICAL * square
    rings, root = difference < 0.0, np.sqrt(abs(difference))
    return _Circuit(C, square, damping, rings, root, np.pi / root if rings else np.inf)


@compiled
def _roots(circuit: _Circuit) -> tuple[float, float]:
    """Slow and fast decay of a circuit that creeps [1/s]."""
    a, w = circuit.damping, circuit.root
    return -circuit.square / (a + w), -(a + w)


@compiled
def _passed(circuit: _Circuit, t: float) -> float:
    """Share of C times the drive that has passed [-], up to 2 at the end of a half-wave without damping."""
    a, w = circuit.damping, circuit.root
    if circuit.rings:
        return float(1.0 - np.exp(-a * t) * (np.cos(w * t) + a / w * np.sin(w * t)))
    slow, fast = _roots(circuit)
    return float(1.0 - (slow * np.exp(fast * t) - fast * np.exp(slow * t)) / (slow - fast))


@compiled
def _current(circuit: _Circuit, t: float) -> float:
    """Current [A/V]."""
    a, w = circuit.damping, circuit.root
    if circuit.rings:
        return float(circuit.C * circuit.square * np.exp(-a * t) * np.sin(w * t) / w)
    slow, fast = _roots(circuit)
    return float(circuit.C * circuit.square * (np.exp(slow * t) - np.exp(fast * t)) / (2.0 * w))


@compiled
def _highest(circuit: _Circuit, t: float) -> float:
    """Highest current up to a time [A/V]."""
    a, w = circuit.damping, circuit.root
    if circuit.rings:
        return _current(circuit, min(np.arctan2(w, a) / w, t))
    return _current(circuit, min(np.log(max((a + w) * (a + w) / circuit.square, 1.0)) / (2.0 * w), t))
