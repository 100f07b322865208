"""What the model itself may be off by, learnt along with its inputs.

Each observed quantity has a relative error, with a half-normal scale whose root mean square is the study's
[model_error], and a small additive one. The relative error is half common to all firings and half a smooth function of
their settings, for a wrong model is wrong differently elsewhere. In the case of test_wrong_model.py, where the truth is
0.65, a relative error of 10 % so made leaves 0.462 to 0.693; one that changes with the settings altogether leaves 0.476
to 0.642 and misses it, for its mean over the firings is too well known; one that is a constant factor leaves 0.454 to
0.660 and barely holds it. Firings with the same settings have the same error.

Sources: M. C. Kennedy and A. O'Hagan, J. R. Stat. Soc. B 63 (2001) 425; J. Brynjarsdóttir and A. O'Hagan, Inverse
Problems 30 (2014) 114007. The share, the length and the additive scale are judgement, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]

#: Share of the relative error's variance that changes with the settings [-].
_CHANGING: Final[float] = 0.5

#: Length over which it changes, as a share of the largest magnitude of a setting [-].
_LENGTH: Final[float] = 0.5

#: Scale of the additive error, as a share of the relative one at a typical value [-].
_ADDITIVE: Final[float] = 0.2

#: Least factor that is shown: the model's sign is right [-].
_LEAST: Final[float] = 0.01

#: Share of the smooth part's variance that its leading functions must carry [-].
_CARRIED: Final[float] = 0.99


@dataclass(frozen=True)
class Discrepancy:
    """The model's own errors of observed quantities, as functions of latents that are standard normals before.

    Given their scales the errors enter readings linearly: m·(1 + relative) + additive.
    """

    relative: Mapping[str, float]  #: by quantity, root mean square of the relative error [-]
    additive: Mapping[str, float]  #: by quantity, of the additive one [SI]
    loadings: Floats  #: shape (settings, functions), rows of length 1; the last row is where the target is

    @property
    def functions(self) -> int:
        """Smooth functions of the settings that a relative error is made of."""
        return int(self.loadings.shape[1])

    @property
    def scales(self) -> int:
        """Latents of the scales: a relative and an additive one of each quantity."""
        return 2 * len(self.relative)

    @property
    def errors(self) -> int:
        """Latents of the errors themselves: the functions and an additive one of each quantity."""
        return (self.functions + 1) * len(self.relative)

    def scale(self, quantity: str, scales: Floats) -> tuple[Floats, Floats]:
        """Scales of a quantity's relative [-] and additive [SI] error, shape (points,)."""
        place = 2 * [*self.relative].index(quantity)
        relative, additive = (_half_normal(scales[:, place + i]) for i in range(2))
        return self.relative[quantity] * relative, self.additive[quantity] * additive

    def every_scale(self, scales: Floats) -> dict[str, tuple[Floats, Floats]]:
        """The same of all quantities."""
        return {quantity: self.scale(quantity, scales) for quantity in self.relative}

    def first(self, quantity: str) -> int:
        """Where a quantity's errors begin."""
        return (self.functions + 1) * [*self.relative].index(quantity)

    def factor(self, quantity: str, setting: int, scales: Floats, errors: Floats) -> Floats | float:
        """By what the model's value is to be multiplied at a setting [-]."""
        if quantity not in self.relative:
            return 1.0
        own = errors[:, self.first(quantity) :][:, : self.functions]
        smooth = own @ self.loadings[setting]
        return np.asarray(np.maximum(1.0 + self.scale(quantity, scales)[0] * smooth, _LEAST))

    def offset(self, quantity: str, scales: Floats, errors: Floats) -> Floats | float:
        """What is then to be added [SI]."""
        if quantity not in self.relative:
            return 0.0
        return np.asarray(self.scale(quantity, scales)[1] * errors[:, self.first(quantity) + self.functions])


def _half_normal(latents: Floats) -> Floats:
    """Half-normal numbers of root mean square 1 from standard normals, rising with them."""
    return np.asarray(-ndtri(0.5 * ndtr(-latents)))


def discrepancy(
    relative: Mapping[str, float],
    typical: Mapping[str, float],
    settings: Sequence[Mapping[str, float]],
    words: Sequence[Mapping[str, str]],
    central: Mapping[str, float],
) -> Discrepancy:
    """The errors of quantities with these relative ones, at settings of firings and of the target, which comes last."""
    stated = {quantity: own for quantity, own in sorted(relative.items()) if own > 0.0}
    additive = {q: _ADDITIVE * own * abs(typical.get(q, 0.0)) for q, own in stated.items()}
    return Discrepancy(stated, additive, _loadings(_distances(settings, words, central)))


def _distances(
    settings: Sequence[Mapping[str, float]], words: Sequence[Mapping[str, str]], central: Mapping[str, float]
) -> Floats:
    """Squares of the distances between settings, in lengths; a different word counts as one."""
    count = len(settings)
    found = np.zeros((count, count))
    for address in sorted({a for own in settings for a in own}):
        x = np.array([own.get(address, central.get(address, np.nan)) for own in settings])
        x = np.where(np.isfinite(x), x, np.nanmean(x) if np.isfinite(x).any() else 0.0)
        most = float(np.max(np.abs(x)))
        if most > 0.0:
            found += ((x[:, None] - x[None, :]) / (_LENGTH * most)) ** 2
    for address in sorted({a for own in words for a in own}):
        said = np.array([own.get(address, "") for own in words])
        found += said[:, None] != said[None, :]
    return found


def _loadings(squares: Floats) -> Floats:
    """Factor of the errors' correlations, its leading functions, with rows of length 1."""
    correlation = (1.0 - _CHANGING) + _CHANGING * np.exp(-0.5 * squares)
    variances, functions = np.linalg.eigh(correlation)
    variances, functions = variances[::-1], functions[:, ::-1]
    kept = int(np.searchsorted(np.cumsum(variances) / variances.sum(), _CARRIED)) + 1
    factor = functions[:, :kept] * np.sqrt(np.maximum(variances[:kept], 0.0))
    return np.asarray(factor / np.linalg.norm(factor, axis=1, keepdims=True))
