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
from typing import Any, Final

import numpy as np
import pandas as pd

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
class MeasurementRanking:
    """What the measurements would leave and be worth."""

    table: pd.DataFrame
    """Indexed by measurement, least left first: hours (with its set-up), left, left_standard_error,
    left_range_low, left_range_high, fall_per_hour; with a choice also value, value_standard_error, change."""
    sets: (
        pd.DataFrame
    )  #: every set computed: names (tuple), hours, left, left_standard_error; least left first
    best_set: pd.DataFrame  #: steps in order: name, left, left_standard_error, hours (all so far)
    best_value: DecisionValue | None  #: of the best set as a whole
    now: Estimate  #: standard uncertainty of the target as it stands
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

    def row(self, chosen: Chosen) -> dict[str, Any]:
        after = root(estimate(self.variance(chosen)))
        return {
            "hours": self.hours(chosen),
            "left": float(after.value),
            "left_standard_error": float(after.standard_error),
        }


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
    rows = [{"names": sets.names(chosen), **sets.row(chosen)} for chosen in sets.computed]
    return MeasurementRanking(
        table=_table(sets, float(now.value), choice),
        sets=pd.DataFrame(rows).sort_values("left", ignore_index=True),
        best_set=_steps(sets, best),
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


def _steps(sets: _Sets, best: Chosen) -> pd.DataFrame:
    """Return the set in the order in which each step's fall of variance per hour is largest."""
    done: Chosen = ()
    rows = []
    while len(done) < len(best):
        falls = {
            i: (sets.mean(done) - sets.mean((*done, i))) / (sets.hours((*done, i)) - sets.hours(done))
            for i in best
            if i not in done
        }
        done = (*done, max(falls, key=falls.__getitem__))
        rows.append({"name": sets.measurements[done[-1]].name, **sets.row(done)})
    return pd.DataFrame(rows, columns=["name", "left", "left_standard_error", "hours"])


def _table(sets: _Sets, now: float, choice: Choice | None) -> pd.DataFrame:
    rows = []
    for i, measurement in enumerate(sets.measurements):
        row = {"name": measurement.name, **sets.row((i,))}
        low, high = left_range(sets.known, measurement.readings, sets.target)
        row |= {"left_range_low": low, "left_range_high": high}
        row["fall_per_hour"] = (now - row["left"]) / row["hours"]
        if choice:
            worth = verdict_value(sets.known, measurement.readings, choice)
            row["value"] = float(worth.value.value)
            row["value_standard_error"] = float(worth.value.standard_error)
            row["change"] = float(worth.change.value)
        rows.append(row)
    return pd.DataFrame(rows).set_index("name").sort_values("left")


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
