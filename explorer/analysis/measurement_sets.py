"""Which measurements first: every set of up to three, its hours, what it leaves, and the order to do it in.

Hours of a set are those of its measurements and of each set-up they need, counted once. Up to twelve
measurements all sets are computed. Above that they are built greedily with a look-ahead of two: at each step
every next measurement and every next two are tried, and of the best the better half is taken.

Among the sets within the hours given the one that leaves least is best; a set that can't be told from it over
the same scrambles and takes fewer hours is taken instead.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final

import numpy as np

from explorer.analysis.measurement import (
    Choice,
    DecisionValue,
    left_range,
    refuse_more_than_perfect,
    verdict_value,
)
from explorer.analysis.regression import Regressors, centred, left_variance, regressors
from explorer.analysis.scrambles import Estimate, Floats, estimate, root

MOST_IN_SET: Final[int] = 3
MOST_EXHAUSTIVE: Final[int] = 12

Chosen = tuple[int, ...]  #: a set, as places in the list of measurements


@dataclass(frozen=True)
class Measurement:
    """A measurement that could be made."""

    name: str
    readings: tuple[int, ...]  #: columns of the simulated readings that it brings
    hours: float  #: without the set-up
    setup: str | None = None


@dataclass(frozen=True)
class MeasurementSet:
    """A set of measurements, and what it would leave."""

    names: tuple[str, ...]
    hours: float  #: with the set-ups
    left: Estimate  #: standard uncertainty of the target after it [target]


@dataclass(frozen=True)
class Measured:
    """What a measurement by itself would leave and be worth."""

    name: str
    hours: float  #: with its set-up
    left: Estimate  #: standard uncertainty of the target after it [target]
    left_range: tuple[float, float]  #: within what it will turn out, 18 times in 20 [target]
    fall_per_hour: float  #: of the standard uncertainty [target/h]
    worth: DecisionValue | None  #: for the verdict; None without a choice


@dataclass(frozen=True)
class MeasurementRanking:
    """What the measurements would leave and be worth."""

    each: tuple[Measured, ...]  #: least left first
    sets: tuple[MeasurementSet, ...]  #: every set computed, least left first
    best: tuple[
        MeasurementSet, ...
    ]  #: the best set as it grows, a measurement a step; empty where none helps
    best_value: DecisionValue | None  #: of the best set as a whole
    now: Estimate  #: standard uncertainty of the target as it stands [target]
    method: str  #: "all sets" or "greedy with a look-ahead of two"


@dataclass(frozen=True)
class _Sets:
    """Hours of each set, and the variance it leaves, computed when first asked for."""

    known: Regressors
    target: Sequence[Floats]
    measurements: Sequence[Measurement]
    setup_hours: Mapping[str, float]
    perfect: Estimate | None
    computed: dict[Chosen, Floats] = field(default_factory=dict)

    def readings(self, chosen: Iterable[int]) -> list[int]:
        return sorted({q for i in chosen for q in self.measurements[i].readings})

    def names(self, chosen: Iterable[int]) -> tuple[str, ...]:
        return tuple(self.measurements[i].name for i in chosen)

    def hours(self, chosen: Iterable[int]) -> float:
        picked = [self.measurements[i] for i in chosen]
        setups = {m.setup for m in picked if m.setup is not None}
        return sum(m.hours for m in picked) + sum(self.setup_hours[s] for s in setups)

    def variance(self, chosen: Iterable[int]) -> Floats:
        """Return the variance left as each scramble tells it, shape (scrambles,)."""
        key = tuple(sorted(chosen))
        if key not in self.computed:
            found = left_variance(self.known.moments(self.readings(key), self.target))[:, 0]
            if self.perfect is not None:
                refuse_more_than_perfect(
                    estimate(found), self.perfect, ", ".join(self.names(key)) or "nothing"
                )
            self.computed[key] = found
        return self.computed[key]

    def mean(self, chosen: Iterable[int]) -> float:
        return float(self.variance(chosen).mean())

    def judged(self, chosen: Chosen) -> MeasurementSet:
        return MeasurementSet(self.names(chosen), self.hours(chosen), root(estimate(self.variance(chosen))))


def rank_measurements(
    readings: Iterable[Floats],
    target: Iterable[Floats],
    measurements: Sequence[Measurement],
    *,
    setup_hours: Mapping[str, float],
    hours_given: float = np.inf,
    choice: Choice | None = None,
    left_if_all_known: Estimate | None = None,
) -> MeasurementRanking:
    """Return what each measurement and each set would leave, and the best set within the hours given.

    Parameters
    ----------
    readings : iterable of ndarray
        For each scramble the simulated readings, shape (rows, readings) [any].
    target : iterable of ndarray
        For each scramble, shape (rows,) [target].
    measurements : sequence of Measurement
        At least one.
    setup_hours : mapping
        Hours of each set-up [h].
    hours_given : float
        Hours that a set may take [h].
    choice : Choice, optional
        The requirement, and what acting on either verdict brings.
    left_if_all_known : Estimate, optional
        Variance left if all that can be learnt were known [target²]; no set may leave less.

    Raises
    ------
    ValueError
        For hours that are not positive, an unknown set-up, or a reading that isn't there.
    MoreThanPerfect
        If a set seems to leave less than `left_if_all_known`.
    """
    known, (values, _) = regressors(readings), centred(target)
    _refuse_bad(measurements, setup_hours, known.values[0].shape[1])
    sets = _Sets(known, values, measurements, setup_hours, left_if_all_known)
    now = root(estimate(sets.variance(())))
    count = len(measurements)
    if count <= MOST_EXHAUSTIVE:
        sizes = range(1, MOST_IN_SET + 1)
        tried = [chosen for size in sizes for chosen in combinations(range(count), size)]
    else:
        tried = [(i,) for i in range(count)]
        _grow_greedily(sets, hours_given)
    for chosen in tried:
        sets.variance(chosen)
    best = _best_set(sets, hours_given)
    each = [_measured(sets, place, float(now), choice) for place in range(count)]
    return MeasurementRanking(
        each=tuple(sorted(each, key=lambda measured: float(measured.left))),
        sets=tuple(sorted(map(sets.judged, sets.computed), key=lambda judged: float(judged.left))),
        best=_steps(sets, best),
        best_value=verdict_value(known, sets.readings(best), choice) if choice and best else None,
        now=now,
        method="all sets" if count <= MOST_EXHAUSTIVE else "greedy with a look-ahead of two",
    )


def _grow_greedily(sets: _Sets, hours_given: float) -> None:
    chosen: Chosen = ()
    while len(chosen) < MOST_IN_SET:
        rest = [i for i in range(len(sets.measurements)) if i not in chosen]
        room = min(2, MOST_IN_SET - len(chosen))
        nexts = [extra for size in range(1, room + 1) for extra in combinations(rest, size)]
        affordable = [extra for extra in nexts if sets.hours(chosen + extra) <= hours_given]
        if not affordable:
            return
        left = {extra: sets.mean(chosen + extra) for extra in affordable}
        halves = {i: sets.mean((*chosen, i)) for i in min(left, key=left.__getitem__)}
        chosen = (*chosen, min(halves, key=halves.__getitem__))


def _best_set(sets: _Sets, hours_given: float) -> Chosen:
    affordable = [chosen for chosen in sets.computed if sets.hours(chosen) <= hours_given]
    least = min(affordable, key=sets.mean)
    level = [s for s in affordable if not estimate(sets.variance(s) - sets.variance(least)).low > 0.0]
    return min(level, key=lambda chosen: (sets.hours(chosen), sets.mean(chosen)))


def _steps(sets: _Sets, best: Chosen) -> tuple[MeasurementSet, ...]:
    """Return the set in the order in which each step's fall of variance per hour is largest."""
    done: Chosen = ()
    steps = []
    while len(done) < len(best):
        falls = {
            i: (sets.mean(done) - sets.mean((*done, i))) / (sets.hours((*done, i)) - sets.hours(done))
            for i in best
            if i not in done
        }
        done = (*done, max(falls, key=falls.__getitem__))
        steps.append(sets.judged(done))
    return tuple(steps)


def _measured(sets: _Sets, place: int, now: float, choice: Choice | None) -> Measured:
    judged, readings = sets.judged((place,)), sets.measurements[place].readings
    return Measured(
        name=sets.measurements[place].name,
        hours=judged.hours,
        left=judged.left,
        left_range=left_range(sets.known, readings, sets.target),
        fall_per_hour=(now - float(judged.left)) / judged.hours,
        worth=verdict_value(sets.known, readings, choice) if choice else None,
    )


def _refuse_bad(measurements: Sequence[Measurement], setup_hours: Mapping[str, float], readings: int) -> None:
    if not measurements:
        raise ValueError("at least one measurement is needed")
    for m in measurements:
        if not m.hours > 0.0:
            raise ValueError(f"{m.name}: hours must be positive; got {m.hours}")
        if m.setup is not None and not setup_hours.get(m.setup, -1.0) >= 0.0:
            raise ValueError(f"{m.name}: no hours, zero or more, are given for its set-up {m.setup}")
        if not m.readings or not all(0 <= q < readings for q in m.readings):
            raise ValueError(f"{m.name} must bring some of the {readings} readings; got {m.readings}")
