"""The voltage at which a gas gap breaks down: one law on ∫ N dy/N0, the distance at standard density.

Uniform field in air: 24.22 δd + 6.08 √(δd) kV, d in cm, from 0.2 mm at standard density; below it a cubic in the
logarithms, monotonic and without a kink, down to Paschen's minimum. Below the minimum there is no number: longer paths
break down first. The law isn't additive over slices of a gap. CONTACT.md, section 1.

Formulas take numbers or arrays that broadcast, and are built into compiled code; outside the law they return NaN.
"""

import math
from collections.abc import Mapping
from typing import Final

import numpy as np

from explorer import constants as c
from explorer.physics.compiled import Values, elementwise
from explorer.physics.contact.cool_layer import STANDARD_DENSITY

_LINEAR: Final[float] = 2.422e6  # [V/m]
_ROOT: Final[float] = 6.08e4  # [V/m^0.5], 6.08 kV/cm^0.5

#: How far measured gaps lie from the law: rounded, 6 % (IEC 60052:2002 and Dakin et al., Electra 32; read).
LAW_ERROR: Final[float] = 0.06

#: Pressure times distance in Paschen's minimum of air at 293.15 K, and its voltage; from memory.
_MINIMUM_PRESSURE_DISTANCE: Final[float] = 0.756  # [Pa m]
LEAST_VOLTAGE: Final[float] = 327.0  # [V]
#: Ends of the law, as distances at standard density: the minimum, and where uniform fields were measured (from memory).
LEAST_DISTANCE: Final[float] = _MINIMUM_PRESSURE_DISTANCE / (STANDARD_DENSITY * c.k * 293.15)  # [m]
GREATEST_DISTANCE: Final[float] = 0.1  # [m]

_JOINT: Final[float] = 2e-4  # [m] where the cubic meets the law
_JOINT_VOLTAGE: Final[float] = _LINEAR * _JOINT + _ROOT * math.sqrt(_JOINT)
GREATEST_VOLTAGE: Final[float] = _LINEAR * GREATEST_DISTANCE + _ROOT * math.sqrt(GREATEST_DISTANCE)  # [V]
_WIDTH: Final[float] = math.log(_JOINT / LEAST_DISTANCE)
_RISE: Final[float] = math.log(_JOINT_VOLTAGE / LEAST_VOLTAGE)
#: Slope of the law at the joint by the cubic's coordinate, which runs from 0 to 1.
_SLOPE: Final[float] = (_LINEAR * _JOINT + 0.5 * _ROOT * math.sqrt(_JOINT)) / _JOINT_VOLTAGE * _WIDTH
_SQUARE, _CUBE = 3.0 * _RISE - _SLOPE, _SLOPE - 2.0 * _RISE  # Hermite, slope 0 at the minimum

_STEPS: Final[int] = 52  # of bisection: a double's digits

#: Rule of thumb for room air [V/m]: 30 kV per cm; common practice, no source.
RULE_OF_THUMB: Final[float] = 3e6

#: What a gap's voltage is multiplied by for the shape of its electrodes [-]: a range; common practice, no source.
ELECTRODE_SHAPES: Final[Mapping[str, tuple[float, float]]] = {
    "plates": (1.0, 1.0),
    "rounded": (0.85, 1.0),
    "points": (0.3, 0.5),
}

#: What it is multiplied by in combustion gas [-]: a range, assumed.
COMBUSTION_GAS: Final[tuple[float, float]] = (0.8, 1.3)


class OutsideLaw(ValueError):
    """A gap or a voltage for which the law has no number; the message gives its range."""


@elementwise
def relative_density(pressure: Values, temperature: Values) -> Values:
    """Number density over that of air at 1.01325 bar and 293.15 K, δ [-].

    Parameters
    ----------
    pressure, temperature : float or array
        [Pa, K]
    """
    return pressure / (c.k * temperature * STANDARD_DENSITY)


@elementwise
def breakdown_voltage(distance: Values) -> Values:
    """Voltage at which a uniform gap in air breaks down [V]; NaN outside the law.

    Parameters
    ----------
    distance : float or array
        [m] δd, or ∫ N dy/N0 along the gap.
    """
    short = np.minimum(np.maximum(distance, LEAST_DISTANCE), _JOINT)
    x = np.log(short / LEAST_DISTANCE) / _WIDTH
    cubic = LEAST_VOLTAGE * np.exp(x * x * (_SQUARE + x * _CUBE))
    long = np.maximum(distance, _JOINT)
    law = _LINEAR * long + _ROOT * np.sqrt(long)
    outside = 1.0 - (distance >= LEAST_DISTANCE) * (distance <= GREATEST_DISTANCE)
    return (cubic + (distance > _JOINT) * (law - cubic)) * np.nan**outside  # NaN⁰ is 1, NaN¹ is NaN


@elementwise
def breakdown_distance(voltage: Values) -> Values:
    """Distance at standard density at which a voltage breaks a uniform gap in air down [m]; NaN outside the law.

    Parameters
    ----------
    voltage : float or array
        [V]
    """
    rise = np.log(np.minimum(np.maximum(voltage, LEAST_VOLTAGE), _JOINT_VOLTAGE) / LEAST_VOLTAGE)
    x, step = 0.0 * rise, 0.5
    for _ in range(_STEPS):
        trial = x + step
        x = x + step * (trial * trial * (_SQUARE + trial * _CUBE) <= rise)
        step = 0.5 * step
    short = LEAST_DISTANCE * np.exp(_WIDTH * x)
    high = np.maximum(voltage, _JOINT_VOLTAGE)
    root = 2.0 * high / (_ROOT + np.sqrt(_ROOT * _ROOT + 4.0 * _LINEAR * high))
    outside = 1.0 - (voltage >= LEAST_VOLTAGE) * (voltage <= GREATEST_VOLTAGE)
    return (short + (voltage > _JOINT_VOLTAGE) * (root * root - short)) * np.nan**outside


def gap_voltage(distance: float, *, pressure: float, temperature: float, factor: float = 1.0) -> float:
    """Return the voltage at which a gap breaks down [V].

    Parameters
    ----------
    distance : float
        [m] between the electrodes.
    pressure, temperature : float
        [Pa, K] of the gas.
    factor : float
        [-] for the electrodes' shape, and for another gas than air.

    Raises
    ------
    OutsideLaw
        If the law has no number for this gap.
    """
    density = relative_density(pressure, temperature)
    if not LEAST_DISTANCE <= density * distance <= GREATEST_DISTANCE:
        low, high = LEAST_DISTANCE / density, GREATEST_DISTANCE / density
        raise OutsideLaw(
            f"in this gas the law holds for gaps between {_length(low)} and {_length(high)}; shorter ones don't break"
            " down before longer paths beside them do"
        )
    return float(factor * breakdown_voltage(density * distance))


def gap_distance(voltage: float, *, pressure: float, temperature: float, factor: float = 1.0) -> float:
    """Return the distance that a voltage breaks down [m].

    Parameters
    ----------
    voltage : float
        [V]
    pressure, temperature : float
        [Pa, K] of the gas.
    factor : float
        [-] as in `gap_voltage`.

    Raises
    ------
    OutsideLaw
        If the law has no number for this voltage.
    """
    if not LEAST_VOLTAGE <= voltage / factor <= GREATEST_VOLTAGE:
        low, high = factor * LEAST_VOLTAGE, factor * GREATEST_VOLTAGE
        raise OutsideLaw(
            f"between these electrodes the law holds for voltages between {low:.3g} V and {high / 1e3:.3g} kV;"
            " below, no gap breaks down, however short"
        )
    return float(breakdown_distance(voltage / factor) / relative_density(pressure, temperature))


def _length(metres: float) -> str:
    """A length in the unit in which it is read off a ruler."""
    unit, scale = ("µm", 1e6) if metres < 1e-4 else ("mm", 1e3) if metres < 1.0 else ("m", 1.0)
    return f"{metres * scale:.3g} {unit}"
