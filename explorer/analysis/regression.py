"""What some quantities tell about another, by regression on a sample that has been computed anyway.

E[Y|X] is fitted by least squares on functions of X's rank: cubic B-splines with their knots drawn towards the
ends, where ranks hide a tail, and the normal score with its square, so that linear and quadratic laws in
Gaussian inputs are met closely. Several quantities bring their own functions and low-order tensors of each two, and of
each three where they are few. Fits are judged on rows that had no part in them: each scramble is predicted from the
other scrambles (cross-fitting).

Sources: regression for the value of information: M. Strong, J. E. Oakley, A. Brennan, Med. Decis. Making 34
(2014) 311; cross-fitting: M. Stone, J. R. Stat. Soc. B 36 (1974) 111.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final

import numpy as np
from scipy.interpolate import BSpline
from scipy.special import ndtri
from scipy.stats import rankdata

from explorer.analysis.scrambles import Floats, finite

Group = tuple[
    int, ...
]  #: (): the constant; (i,): functions of quantity i; (i, j), (i, j, k): tensors of two, of three

_INNER_KNOTS: Final[tuple[float, ...]] = (0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98)
_KNOTS: Final[Floats] = np.array([0.0] * 4 + list(_INNER_KNOTS) + [1.0] * 4)
_MOST_BY_TWOS: Final[int] = 8  #: quantities of which each two enter together
_MOST_BY_THREES: Final[int] = 4  #: quantities of which each three enter together
_RIDGE: Final[float] = 1e-7  #: share of a feature's own square, for inputs with few distinct values


@dataclass(frozen=True)
class Moments:
    """Sums of products of features and targets in each scramble: all that least squares needs to know."""

    gram: Floats  #: shape (scrambles, features, features)
    cross: Floats  #: shape (scrambles, features, targets)
    square: Floats  #: shape (scrambles, targets)
    rows: Floats  #: shape (scrambles,)


@dataclass(frozen=True)
class Regressors:
    """A sample of quantities whose functions and products are made when asked for, once."""

    values: tuple[Floats, ...]  #: for each scramble, shape (rows, quantities)
    threes: bool = (
        False  #: whether each three of few quantities enter together too, which takes many rows to tell
    )
    _low_orders: dict[int, Floats] = field(default_factory=dict, repr=False)
    _features: dict[Group, list[Floats]] = field(default_factory=dict, repr=False)
    _products: dict[tuple[Group, Group], Floats] = field(default_factory=dict, repr=False)

    @property
    def edges(self) -> list[int]:
        """First rows of the scrambles but the first, in one array of all rows."""
        return [int(edge) for edge in np.cumsum([len(v) for v in self.values])[:-1]]

    def features(self, group: Group) -> list[Floats]:
        """Return the functions of a group in each scramble, shape (rows, functions) [-]."""
        if group not in self._features:
            if not group:
                made = np.ones((sum(len(v) for v in self.values), 1))
            elif len(group) == 1:
                made = own_features(self._column(group[0]))
            elif len(group) == 2:
                made = tensor_features(*(self.low_order(i) for i in group))
            else:
                first, *others = (self.low_order(i)[:, :2] for i in group)
                for other in others:
                    first = (first[:, :, None] * other[:, None, :]).reshape(len(first), -1)
                made = _standardised(first)
            self._features[group] = np.split(made, self.edges)
        return self._features[group]

    def _column(self, quantity: int) -> Floats:
        return np.concatenate([v[:, quantity] for v in self.values])

    def low_order(self, quantity: int) -> Floats:
        """Return the `low_order_features` of a quantity, shape (rows, 3) [-]."""
        if quantity not in self._low_orders:
            self._low_orders[quantity] = low_order_features(self._column(quantity))
        return self._low_orders[quantity]

    def design(self, quantities: Sequence[int]) -> list[Floats]:
        """Return all functions of several quantities with the constant, shape (rows, functions) [-]."""
        parts = [self.features(group) for group in groups(quantities, threes=self.threes)]
        return [np.hstack(blocks) for blocks in zip(*parts, strict=True)]

    def moments(self, quantities: Sequence[int], targets: Sequence[Floats]) -> Moments:
        """Return the sums of products of all functions of the quantities with the targets.

        Parameters
        ----------
        quantities : sequence of int
            Columns that are known [-]; none for the constant alone.
        targets : sequence of ndarray
            For each scramble, shape (rows, targets) [any].
        """
        chosen = groups(quantities, threes=self.threes)
        gram = np.concatenate(
            [np.concatenate([self._product(a, b) for b in chosen], axis=2) for a in chosen], axis=1
        )
        cross = np.concatenate(
            [np.stack([f.T @ y for f, y in zip(self.features(a), targets, strict=True)]) for a in chosen],
            axis=1,
        )
        square = np.stack([np.einsum("rt,rt->t", y, y) for y in targets])
        return Moments(gram, cross, square, np.array([float(len(y)) for y in targets]))

    def _product(self, a: Group, b: Group) -> Floats:
        if (a, b) not in self._products:
            pairs = zip(self.features(a), self.features(b), strict=True)
            product = np.stack([f.T @ g for f, g in pairs])
            self._products[a, b] = product
            self._products[b, a] = product.transpose(0, 2, 1)
        return self._products[a, b]


def regressors(sample: Iterable[Floats], *, threes: bool = False) -> Regressors:
    """Return the sample ready for regression.

    Parameters
    ----------
    sample : iterable of ndarray
        For each scramble, at least two of them, shape (rows, quantities) [any]. NaN is a value like another: of a
        firing that gives no number.
    threes : bool
        Whether each three of few quantities enter together too [-].
    """
    values = tuple(np.asarray(block, dtype=np.float64) for block in sample)
    if any(np.isinf(block).any() for block in values):
        raise ValueError("inputs and readings must not be infinite")
    if len(values) < 2:
        raise ValueError("cross-fitting needs rows from at least two scrambles")
    return Regressors(values, threes)


def groups(quantities: Sequence[int], *, threes: bool = False) -> list[Group]:
    """Return the groups of functions that several quantities bring: constant, own, tensors of each two and three.

    Of three only where asked for and there are few: they bring more functions than a small sample can tell.
    """
    own = sorted(set(quantities))
    together = combinations(own, 3) if threes and len(own) <= _MOST_BY_THREES else ()
    pairs = combinations(own, 2) if len(own) <= _MOST_BY_TWOS else ()
    return [(), *((a,) for a in own), *pairs, *together]


def own_features(column: Floats) -> Floats:
    """Return the functions of one quantity, without the constant, shape (rows, 12) [-]; one more where it has NaN."""
    rank = _rank(column)
    normal = ndtri(rank)
    splines = BSpline.design_matrix(rank, _KNOTS, 3).toarray()[:, 1:]
    functions = _standardised(_where_told(column, np.column_stack([splines, normal, normal**2])))
    fails = np.isnan(column)
    return np.column_stack([functions, _standardised(fails[:, None])]) if fails.any() else functions


def low_order_features(column: Floats) -> Floats:
    """Return the few functions of one quantity that enter products with another's, shape (rows, 3) [-]."""
    rank = _rank(column)
    normal, t = ndtri(rank), 2.0 * rank - 1.0
    functions = np.column_stack([normal, normal**2, t * (5.0 * t**2 - 3.0)])
    return _standardised(_where_told(column, functions))


def tensor_features(first: Floats, second: Floats) -> Floats:
    """Return the products of the `low_order_features` of two quantities, shape (rows, 9) [-]."""
    products = (first[:, :, None] * second[:, None, :]).reshape(len(first), -1)
    mean = (first.T @ second).ravel() / len(first)
    spread = np.sqrt(
        np.maximum((first**2).T @ (second**2) / len(first) - mean.reshape(3, 3) ** 2, 0.0)
    ).ravel()
    products -= mean
    products /= np.where(spread > 0.0, spread, 1.0)
    return products


def _rank(column: Floats) -> Floats:
    """Return ranks in (0, 1) among the rows with a number; one half for the others."""
    told = np.isfinite(column)
    rank = np.full(column.size, 0.5)
    rank[told] = (rankdata(column[told]) - 0.5) / max(int(told.sum()), 1)
    return rank


def _where_told(column: Floats, functions: Floats) -> Floats:
    return np.where(np.isnan(column)[:, None], 0.0, functions)


def _standardised(features: Floats) -> Floats:
    spread = features.std(axis=0)
    return np.asarray((features - features.mean(axis=0)) / np.where(spread > 0.0, spread, 1.0))


def coefficients(found: Moments) -> Floats:
    """Return for each scramble the coefficients from all the others, (scrambles, features, targets)."""
    gram = found.gram.sum(axis=0) - found.gram
    cross = found.cross.sum(axis=0) - found.cross
    diagonal = np.einsum("spp->sp", gram)
    ridge = _RIDGE * np.where(diagonal > 0.0, diagonal, 1.0)
    return np.asarray(np.linalg.solve(gram + ridge[:, :, None] * np.eye(gram.shape[1]), cross))


def left_variance(found: Moments) -> Floats:
    """Return E[Var(Y|X)] as each scramble tells it, shape (scrambles, targets) [target²].

    A fit of p functions to n rows is too bad by p/n on rows that it hasn't seen and too good by p/n on those
    it has; the error on the unseen rows is multiplied with the root of the ratio of the two, which takes both
    away to first order. Targets should be about centred: an error is a difference of their squares.
    """
    beta = coefficients(found)
    unseen = _squares(beta, found.gram, found.cross, found.square)
    seen = _squares(
        beta,
        found.gram.sum(axis=0) - found.gram,
        found.cross.sum(axis=0) - found.cross,
        found.square.sum(axis=0) - found.square,
    )
    ratio = (seen.sum(axis=0) / (len(found.rows) - 1)) / unseen.sum(axis=0)
    return np.asarray(unseen / found.rows[:, None] * np.sqrt(ratio))


def _squares(beta: Floats, gram: Floats, cross: Floats, square: Floats) -> Floats:
    explained = 2.0 * np.einsum("spt,spt->st", beta, cross)
    return np.asarray(square - explained + np.einsum("spt,spt->st", beta, gram @ beta))


def cross_fitted(known: Regressors, quantities: Sequence[int], targets: Sequence[Floats]) -> list[Floats]:
    """Return for each scramble the prediction of its rows from the other scrambles, shape (rows, targets)."""
    beta = coefficients(known.moments(quantities, targets))
    return [f @ b for f, b in zip(known.design(quantities), beta, strict=True)]


def centred(target: Iterable[Floats]) -> tuple[list[Floats], float]:
    """Return the target of each scramble about the mean of all, shape (rows, 1), and that mean [target]."""
    values = [finite(block, "the target") for block in target]
    mean = float(np.concatenate(values).mean())
    return [(block - mean)[:, None] for block in values], mean
