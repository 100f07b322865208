"""The best set among many: what each set of measurements leaves, searched by branch and bound.

A set brings few functions of its readings (each by itself, and each two together), so that what it leaves is a part of
one table of sums of products. Within that table nothing is left out by luck: more functions never leave more, so that a
branch whose every measurement together leaves more than the best set found is cut.

Source: branch and bound for subsets, G. M. Furnival and R. W. Wilson, Technometrics 16 (1974) 499.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final

import numpy as np
from scipy.linalg import solve_triangular

from explorer.analysis.regression import Regressors, cross_fitted
from explorer.analysis.scrambles import Floats

Chosen = tuple[int, ...]  #: a set, as places in the list of measurements

#: Share of the target's variance by which a branch must promise to do better to be followed.
NEGLIGIBLE: Final[float] = 1e-3

#: Work before a search gives up being exact: cubes of the functions of the sets looked at, some seconds.
MOST_WORK: Final[float] = 2e10

_RIDGE: Final[float] = 1e-7


@dataclass(frozen=True)
class SetTable:
    """Sums of products over all readings, mean over the rows, and which functions each measurement brings."""

    gram: Floats  #: shape (functions, functions) [-]
    cross: Floats  #: shape (functions,) [target]
    variance: float  #: of the target [target²]
    own: tuple[tuple[int, ...], ...]  #: functions of each measurement
    pairs: dict[tuple[int, int], tuple[int, ...]]  #: and of each two together

    def functions(self, chosen: Sequence[int]) -> list[int]:
        """Return the functions that a set brings."""
        pairs = [f for pair in combinations(sorted(chosen), 2) for f in self.pairs[pair]]
        return [f for i in chosen for f in self.own[i]] + pairs

    def left(self, chosen: Sequence[int]) -> float:
        """Return the variance that a set leaves [target²]."""
        if not chosen:
            return self.variance
        places = np.array(self.functions(chosen))
        factor = np.linalg.cholesky(self.gram[np.ix_(places, places)])
        told = solve_triangular(factor, self.cross[places], lower=True, check_finite=False)
        return max(self.variance - float(told @ told), 0.0)


@dataclass(frozen=True)
class Searched:
    """The set that was looked for."""

    chosen: Chosen
    left: float  #: variance that it leaves [target²]
    gap: float  #: by which another set could leave less at most [target²]
    exact: bool  #: whether every branch was followed or cut
    looked_at: int  #: sets [-]


def set_table(known: Regressors, target: Sequence[Floats], readings: Sequence[Sequence[int]]) -> SetTable:
    """Return the table of some measurements.

    Parameters
    ----------
    known : Regressors
        Readings.
    target : sequence of ndarray
        For each scramble, centred, shape (rows, 1) [target].
    readings : sequence of sequence of int
        Columns that each measurement brings [-].
    """
    wanted = np.concatenate(target)[:, 0]
    columns: list[Floats] = []
    alone: dict[int, Floats] = {}
    by_reading: dict[int, list[int]] = {}
    for reading in sorted({r for own in readings for r in own}):
        alone[reading] = np.concatenate(cross_fitted(known, [reading], list(target)))[:, 0]
        # All of its functions in one, then the few that meet other readings' best.
        functions = np.column_stack([alone[reading], known.low_order(reading)])
        by_reading[reading] = list(range(len(columns), len(columns) + functions.shape[1]))
        columns += list(functions.T)
    both: dict[tuple[int, int], int] = {}
    for a, b in combinations(sorted(alone), 2):
        products = np.concatenate(known.features((a, b)))
        rest = wanted - alone[a] - alone[b]
        weights = np.linalg.solve(
            products.T @ products + _RIDGE * len(products) * np.eye(products.shape[1]), products.T @ rest
        )
        both[a, b] = len(columns)
        columns.append(products @ weights)
    together: list[tuple[int, ...]] = []
    for own in readings:  # what a measurement's readings tell together, beyond each two of them
        joint = sorted(set(own)) if len(set(own)) > 2 else []
        together.append((len(columns),) if joint else ())
        columns += [np.concatenate(cross_fitted(known, joint, list(target)))[:, 0]] if joint else []
    design = np.column_stack(columns)
    spread = design.std(axis=0)
    design = (design - design.mean(axis=0)) / np.where(spread > 1e-9 * wanted.std(), spread, np.inf)
    gram = design.T @ design / len(design)
    gram[np.diag_indices_from(gram)] += _RIDGE + (np.diag(gram) == 0.0)
    apart, pairs = _functions_of(readings, by_reading, both)
    own_functions = tuple((*a, *b) for a, b in zip(apart, together, strict=True))
    cross = design.T @ wanted / len(design)
    return SetTable(gram, cross, float(wanted @ wanted) / len(wanted), own_functions, pairs)


def _functions_of(
    readings: Sequence[Sequence[int]], by_reading: dict[int, list[int]], both: dict[tuple[int, int], int]
) -> tuple[tuple[tuple[int, ...], ...], dict[tuple[int, int], tuple[int, ...]]]:
    """Return which functions each measurement brings, and each two together; none twice in a set."""
    own = tuple(
        (
            *(f for r in sorted(set(mine)) for f in by_reading[r]),
            *(both[pair] for pair in combinations(sorted(set(mine)), 2)),
        )
        for mine in readings
    )
    pairs = {
        (i, j): tuple(
            both[min(a, b), max(a, b)] for a in set(readings[i]) for b in set(readings[j]) if a != b
        )
        for i, j in combinations(range(len(readings)), 2)
    }
    return own, pairs


@dataclass
class _Search:
    """A search on its way; sets grow one measurement at a time, in the order given."""

    table: SetTable
    order: Sequence[int]
    hours: Callable[[Sequence[int]], float]
    hours_given: float
    most_work: float
    looked_at: int = 0
    work: float = 0.0
    open_bound: float = np.inf  #: least that a branch not followed could leave
    bounds: dict[Chosen, float] = field(default_factory=dict)

    def left(self, chosen: Sequence[int]) -> float:
        key = tuple(sorted(chosen))
        if key not in self.bounds:
            self.bounds[key] = self.table.left(key)
            self.looked_at += 1
            self.work += float(len(self.table.functions(key))) ** 3
        return self.bounds[key]

    def promise(self, chosen: Chosen, place: int) -> float:
        """Return the least that any set could leave that grows from this one."""
        rest = [i for i in self.order[place:] if self.hours((*chosen, i)) <= self.hours_given]
        return self.left((*chosen, *rest))


def least_left(
    table: SetTable,
    hours: Callable[[Sequence[int]], float],
    hours_given: float,
    *,
    most_work: float = MOST_WORK,
) -> Searched:
    """Return the set within the hours that leaves least, the cheaper one of equals.

    Parameters
    ----------
    table : SetTable
        What sets leave.
    hours : callable
        Hours of a set [h]; never fewer for more measurements.
    hours_given : float
        Hours that a set may take [h].
    most_work : float
        See `MOST_WORK` [-].
    """
    count = len(table.own)
    order = sorted(range(count), key=lambda i: table.left((i,)))
    search = _Search(table, order, hours, hours_given, most_work)
    best: tuple[float, float, Chosen] = (table.variance, 0.0, ())

    def follow(chosen: Chosen, place: int) -> None:
        nonlocal best
        left = search.left(chosen)
        if (left, hours(chosen)) < best[:2]:
            best = (left, hours(chosen), chosen)
        for next_place in range(place, count):
            promised = search.promise(chosen, next_place)
            if promised > best[0] - NEGLIGIBLE * table.variance:
                return
            if search.work > most_work:
                search.open_bound = min(search.open_bound, promised)
                return
            grown = (*chosen, order[next_place])
            if hours(grown) <= hours_given:
                follow(grown, next_place + 1)

    follow((), 0)
    gap = max(best[0] - search.open_bound, 0.0) if np.isfinite(search.open_bound) else 0.0
    gap = max(gap, NEGLIGIBLE * table.variance if count else 0.0)
    return Searched(
        tuple(sorted(best[2])), best[0], gap, not np.isfinite(search.open_bound), search.looked_at
    )


def fewest_hours(
    table: SetTable,
    hours: Callable[[Sequence[int]], float],
    known: Searched,
    enough: float,
    *,
    most_work: float = MOST_WORK,
) -> Searched:
    """Return the set of fewest hours that leaves no more than enough, the one that leaves less of equals.

    Parameters
    ----------
    table, hours, most_work
        As in `least_left`.
    known : Searched
        A set that leaves no more than enough.
    enough : float
        Variance that may be left [target²].
    """
    hours_given = hours(known.chosen)
    count = len(table.own)
    order = sorted(range(count), key=lambda i: table.left((i,)))
    search = _Search(table, order, hours, hours_given, most_work)
    best: tuple[float, float, Chosen] = (hours_given, known.left, known.chosen)

    def follow(chosen: Chosen, place: int) -> None:
        nonlocal best
        spent = hours(chosen)
        if spent > best[0] or search.work > most_work:
            return
        left = search.left(chosen)
        if left <= enough:
            best = min(best, (spent, left, chosen))
            search.hours_given = min(search.hours_given, best[0])
            return  # more would only take more hours
        for next_place in range(place, count):
            if search.promise(chosen, next_place) > enough:
                return
            grown = (*chosen, order[next_place])
            if hours(grown) <= search.hours_given:
                follow(grown, next_place + 1)

    follow((), 0)
    exact = search.work <= most_work
    return Searched(tuple(sorted(best[2])), best[1], 0.0, exact, search.looked_at)
