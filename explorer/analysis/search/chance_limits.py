"""Limits that must hold with a chance: their margins over scenarios, and what fresh points show.

C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the binomial",
Biometrika 26 (1934) 404: the exact interval of a chance from independent points.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binomtest

from explorer.analysis.scrambles import Floats

#: Shortfall of a design too many of whose scenarios carry no number, over the limit's scale [-].
_NO_NUMBER: Final[float] = 10.0


def quantile_margin(margins: Floats, *, level: float, scale: float) -> Floats:
    """Return the margin that is kept with a chance, over a scale [-], shape (designs,); always finite.

    Parameters
    ----------
    margins : ndarray
        Of each design in each scenario, shape (designs, scenarios), NaN where there is no number [any].
    level : float
        Chance with which the margin is kept [-].
    scale : float
        What the margin is measured by [as the margins].
    """
    filled = np.where(np.isnan(margins), -np.inf, margins)
    place = (1.0 - level) * (margins.shape[1] - 1)
    below = int(place)
    above = min(below + 1, margins.shape[1] - 1)
    parted = np.partition(filled, (below, above), axis=1)
    with np.errstate(invalid="ignore"):  # of infinities, sorted out below
        kept = parted[:, below] + (place - below) * (parted[:, above] - parted[:, below])
    missing = np.isnan(margins).mean(axis=1)
    return np.asarray(np.where(np.isfinite(parted[:, below]), kept / scale, -_NO_NUMBER * (1.0 + missing)))


def event_margin(holds: NDArray[np.bool_], *, level: float) -> Floats:
    """Return the share of scenarios in which something holds, less the chance with which it must, shape (designs,).

    Parameters
    ----------
    holds : ndarray of bool
        Shape (designs, scenarios).
    level : float
        Chance with which it must hold [-].
    """
    return np.asarray(holds.mean(axis=1) - level)


@dataclass(frozen=True)
class ExactChance:
    """A share of independent points, with its exact binomial 95 % interval."""

    share: float  #: [-]
    low: float  #: [-]
    high: float  #: [-]
    points: int  #: [-]

    @property
    def opposite(self) -> "ExactChance":
        """The chance of the contrary."""
        return ExactChance(1.0 - self.share, 1.0 - self.high, 1.0 - self.low, self.points)


def exact_chance(held: NDArray[np.bool_]) -> ExactChance:
    """Return the chance with which something holds.

    Parameters
    ----------
    held : ndarray of bool
        At independent points, shape (points,).
    """
    found = binomtest(int(held.sum()), held.size).proportion_ci(confidence_level=0.95, method="exact")
    return ExactChance(float(held.mean()), float(found.low), float(found.high), held.size)
