"""A spark gap as a voltmeter: the voltage of a spark's length and back, with what both are unsure of.

The law is off by a normal error, 6 % (95 %), and the electrodes' shape multiplies the voltage by anything in its range.
The distribution is taken at equal steps of chance in both, so that there is nothing random in it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from explorer.physics.contact import breakdown

_STEPS: Final[int] = 201  # of chance, in the law's error and in the shape's factor
_TWO_SIDED: Final[float] = 1.96  # standard uncertainties in half of a 95 % interval


@dataclass(frozen=True)
class Uncertain:
    """A figure and what it is unsure of, in the figure's own unit."""

    value: float  #: [V, m] expectation
    uncertainty: float  #: [V, m] one standard uncertainty
    low: float  #: [V, m] lower end of the 95 % interval
    high: float  #: [V, m] upper end of it


def voltage_of_length(distance: float, *, electrodes: str, pressure: float, temperature: float) -> Uncertain:
    """Return the voltage of a spark that just jumps a distance [V].

    Parameters
    ----------
    distance : float
        [m]
    electrodes : str
        One of `breakdown.ELECTRODE_SHAPES`.
    pressure, temperature : float
        [Pa, K] of the air.

    Raises
    ------
    OutsideLaw
        If the law has no number for this gap.
    """
    law = breakdown.gap_voltage(distance, pressure=pressure, temperature=temperature)
    return _summary(law * _factors(electrodes))


def length_of_voltage(voltage: float, *, electrodes: str, pressure: float, temperature: float) -> Uncertain:
    """Return the distance that a voltage just jumps [m].

    Parameters
    ----------
    voltage : float
        [V]
    electrodes : str
        One of `breakdown.ELECTRODE_SHAPES`.
    pressure, temperature : float
        [Pa, K] of the air.

    Raises
    ------
    OutsideLaw
        If the law has no number for this voltage, or for all that it may be between uniform plates.
    """
    factors = _factors(electrodes)
    low, high = factors.max() * breakdown.LEAST_VOLTAGE, factors.min() * breakdown.GREATEST_VOLTAGE
    if not low <= voltage <= high:
        raise breakdown.OutsideLaw(
            f"between these electrodes the law holds for voltages between {low:.3g} V and {high / 1e3:.3g} kV;"
            " much below, no gap breaks down, however short"
        )
    density = breakdown.relative_density(pressure, temperature)
    return _summary(np.asarray(breakdown.breakdown_distance(voltage / factors) / density))


def _factors(electrodes: str) -> NDArray[np.float64]:
    """What the law's voltage may be multiplied by, equally likely each."""
    chance = (np.arange(_STEPS) + 0.5) / _STEPS
    low, high = breakdown.ELECTRODE_SHAPES[electrodes]
    error = 1.0 + breakdown.LAW_ERROR / _TWO_SIDED * ndtri(chance)
    return np.asarray(np.multiply.outer(low + (high - low) * chance, error).ravel())


def _summary(values: NDArray[np.float64]) -> Uncertain:
    low, high = np.quantile(values, (0.025, 0.975))
    return Uncertain(float(values.mean()), float(values.std()), float(low), float(high))
