"""Random errors of readings with few degrees of freedom behind them: normal with a variance that is itself drawn.

A scaled t distribution (JCGM 101:2008, 6.4.9.7) is a normal one whose variance is random² times ν/χ²; with the latter
as a latent, readings are normal given it. From thirty degrees on a reading is taken as normal.
"""

from typing import Final

import numpy as np
from scipy.special import gammaincinv, ndtr

from explorer.analysis.calibration.experiments import Floats

#: Degrees of freedom from which a reading counts as normal [-].
AS_NORMAL: Final[float] = 30.0


def variance_ratio(latents: Floats, degrees_of_freedom: float) -> Floats:
    """Return ν/χ² from standard normals, falling with them, elementwise [-].

    Parameters
    ----------
    latents : ndarray
        Standard normals [-].
    degrees_of_freedom : float
        ν, above 0 [-].
    """
    chance = np.clip(ndtr(latents), 2.0**-53, 1.0 - 2.0**-53)
    return np.asarray(degrees_of_freedom / (2.0 * gammaincinv(0.5 * degrees_of_freedom, chance)))


def random_errors(degrees_of_freedom: Floats, points: int, rng: np.random.Generator) -> Floats:
    """Return errors of readings in units of their random part, shape (points, readings) [-].

    Parameters
    ----------
    degrees_of_freedom : ndarray
        Behind each reading, shape (readings,) [-].
    points : int
        How many of each [-].
    """
    errors = rng.standard_normal((points, degrees_of_freedom.size))
    for place in np.flatnonzero(degrees_of_freedom < AS_NORMAL):
        nu = degrees_of_freedom[place]
        errors[:, place] /= np.sqrt(rng.chisquare(nu, points) / nu)
    return errors
