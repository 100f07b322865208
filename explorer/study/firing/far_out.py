"""What it costs an explanation to lie far out: what is wrong at a stand is often very wrong, so tails are heavy."""

from typing import Final

import numpy as np
from numpy.typing import NDArray


def penalty(off: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Return what an explanation loses of the logarithm of its likelihood, elementwise [-].

    Parameters
    ----------
    off : ndarray or float
        How far out it lies [standard uncertainties].
    """
    return np.asarray(np.log1p(np.square(off)))


#: What a slip costs, or another value of what is exact: as much as an input three standard uncertainties out.
SLIP: Final[float] = float(penalty(3.0))
