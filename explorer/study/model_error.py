"""The model's own error: an ordinary row of the uncertain inputs, a factor of median 1 on an output."""

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from explorer.space import Lognormal, Uncertain

#: What its row is called.
MODEL_ITSELF: Final = "the model itself"

#: Half-width of a lognormal's 95 % interval in standard deviations, as the value grammar reads a factor.
_HALF_WIDTH: Final[float] = 1.959964


def model_error(name: str, variance: float, output: str = "") -> tuple[Uncertain, ...]:
    """The row of an error with this variance of its factor's logarithm [-]; none where that is zero.

    Its address is the output's, where the space is of one study; among several it is the row's name.
    """
    if not variance > 0:
        return ()
    factor = float(np.exp(_HALF_WIDTH * np.sqrt(variance)))
    return (Uncertain(output or name, unknown=Lognormal(1.0, factor), called=name),)


def variance_of(relative: float) -> float:
    """Variance of the factor's logarithm [-] from its relative standard uncertainty [-]."""
    return float(np.log1p(relative**2))


def model_factor(u: NDArray[np.float64], relative: float) -> NDArray[np.float64]:
    """Factor [-] by which the model may be off, at probabilities u in (0, 1)."""
    return np.asarray(np.exp(np.sqrt(variance_of(relative)) * ndtri(u)))
