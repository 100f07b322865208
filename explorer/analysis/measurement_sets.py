"""Which measurements first: what each would leave, which set to buy within the hours, and the order to do it in.

Hours of a set are those of its measurements and of each set-up they need, counted once. Sets of any size are searched
(`set_search`) on the first half of the scrambles: for the one that leaves least within the hours, then for the one of
fewest hours that leaves as much but for what is not worth an hour. The second half, which had no part in the choice,
judges it: a measurement that then gains less than its sampling error, or less than what is worth it, is not bought.

What is left is told by Bayes' rule on the sample (`simulated_readings`) where enough points lie near each reading, else
by the better of that and a regression, neither of which can leave too little; from below it is told by the former.
"""

from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from explorer.analysis.measurement import (
    Choice,
    DecisionValue,
    left_range,
    refuse_more_than_perfect,
    verdict_value,
)
from explorer.analysis.regression import Regressors, centred, cross_fitted, left_variance, regressors
from explorer.analysis.scrambles import Estimate, Floats, estimate, root
from explorer.analysis.set_search import MOST_WORK, Chosen, Searched, fewest_hours, least_left, set_table
from explorer.analysis.simulated_readings import LeftByBayes, SimulatedReadings, left_by_bayes

#: Fall of the standard uncertainty below which a measurement is not worth its hours, where nothing else is stated [-].
WORTH: Final[float] = 0.02

#: Share by which the figures from below and from above may differ before both are told [-].
NEAR: Final[float] = 0.05

#: Share of the work of a search that one is worth where many are made.
_QUICKLY: Final[float] = 0.005

#: Fewest scrambles that can be parted into some that choose and some that judge.
_FEWEST_TO_PART: Final[int] = 4


@dataclass(frozen=True)
class Measurement:
    """A measurement that could be made."""

    name: str
    readings: tuple[int, ...]  #: columns of the simulated readings that it brings
    hours: float  #: without the set-up
    setup: str | None = None
    floor: Estimate | None = (
        None  #: variance left if what it reads were known exactly, where that is known [target²]
    )


@dataclass(frozen=True)
class MeasurementSet:
    """A set of measurements, and what it would leave."""

    names: tuple[str, ...]
    hours: float  #: with the set-ups
    left: Estimate  #: standard uncertainty of the target after it, at most [target]
    at_least: Estimate  #: the same from below [target]

    @property
    def told(self) -> bool:
        """Whether one number tells what is left."""
        return _near(self.left, self.at_least)


@dataclass(frozen=True)
class Measured:
    """What a measurement by itself would leave and be worth."""

    name: str
    hours: float  #: with its set-up
    left: Estimate  #: standard uncertainty of the target after it, at most [target]
    at_least: Estimate  #: the same from below [target]
    left_range: tuple[float, float]  #: within what it will turn out, 18 times in 20 [target]
    fall_per_hour: float  #: of the standard uncertainty [target/h]
    worth: DecisionValue | None  #: for the verdict; None without a choice

    @property
    def told(self) -> bool:
        """Whether one number tells what is left."""
        return _near(self.left, self.at_least)


def _near(most: Estimate, least: Estimate) -> bool:
    return bool(least.value >= (1.0 - NEAR) * most.value)


@dataclass(frozen=True)
class MeasurementRanking:
    """What the measurements would leave and be worth."""

    each: tuple[Measured, ...]  #: least left first
    best: tuple[
        MeasurementSet, ...
    ]  #: the set to buy as it grows, a measurement a step; empty where none is worth it
    furthest: MeasurementSet  #: the set that would leave least within the hours, whatever it costs
    best_value: DecisionValue | None  #: of the set to buy as a whole
    now: Estimate  #: standard uncertainty of the target as it stands [target]
    worth: (
        float  #: fall of the standard uncertainty below which a measurement is not bought, share of now [-]
    )
    search: Searched  #: how the furthest set was found


@dataclass(frozen=True)
class _Judge:
    """Hours of each set, and what it leaves, computed when first asked for."""

    known: Regressors
    target: Sequence[Floats]  #: centred, shape (rows, 1)
    measurements: Sequence[Measurement]
    setup_hours: Mapping[str, float]
    perfect: Estimate | None
    simulated: SimulatedReadings | None
    computed: dict[Chosen, tuple[Estimate, Estimate]] = field(default_factory=dict)
    weighed: dict[Chosen, LeftByBayes] = field(default_factory=dict)

    def readings(self, chosen: Iterable[int]) -> list[int]:
        return sorted({q for i in chosen for q in self.measurements[i].readings})

    def names(self, chosen: Iterable[int]) -> tuple[str, ...]:
        return tuple(self.measurements[i].name for i in chosen)

    def hours(self, chosen: Iterable[int]) -> float:
        picked = [self.measurements[i] for i in chosen]
        setups = {m.setup for m in picked if m.setup is not None}
        return sum(m.hours for m in picked) + sum(self.setup_hours[s] for s in setups)

    def variance(self, chosen: Iterable[int]) -> tuple[Estimate, Estimate]:
        """Return the variance left at most and at least."""
        key = tuple(sorted(chosen))
        if key not in self.computed:
            self.computed[key] = self._variance(key)
        return self.computed[key]

    def _variance(self, chosen: Chosen) -> tuple[Estimate, Estimate]:
        fitted = estimate(left_variance(self.known.moments(self.readings(chosen), self.target))[:, 0])
        if not chosen:
            return fitted, fitted
        most, least = fitted, estimate(np.zeros(len(self.target)))
        if self.simulated is not None:
            found = self.weighed[chosen] = _weighed(
                self.simulated, self.known, self.readings(chosen), self.target
            )
            least = found.least
            if found.told:  # two ways that don't lean: the one that scatters less
                corrected = estimate(fitted.by_scramble - found.misfit.by_scramble)
                most = min(corrected, found.most, key=lambda e: float(e.standard_error))
            elif estimate(fitted.by_scramble - found.most.by_scramble).low > 0.0:
                most = found.most
        if self.perfect is not None:
            refuse_more_than_perfect(most, self.perfect, ", ".join(self.names(chosen)))
        alone = self.measurements[chosen[0]].floor if len(chosen) == 1 else None
        if alone is not None and len(alone.by_scramble) != len(self.target):
            alone = None  # of all points, where some of them judge
        for floor in (self.perfect, alone):
            least = floor if floor is not None and floor.value > least.value else least
        return max(most, least, key=lambda e: float(e.value)), least

    def left(self, chosen: Iterable[int]) -> float:
        """Return the standard uncertainty left at most."""
        return float(root(self.variance(chosen)[0]))

    def gains(self, before: Chosen, after: Chosen, worth: float) -> bool:
        """Whether more measurements leave less by more than the sampling error and than what is worth it."""
        first, second = self.variance(before)[0], self.variance(after)[0]
        fall = estimate(first.by_scramble - second.by_scramble)
        return bool(self.left(before) - self.left(after) >= worth * self.left(()) and not fall.low < 0.0)

    def range(self, chosen: Chosen) -> tuple[float, float]:
        """Return within what the standard uncertainty will turn out, 18 times in 20."""
        self.variance(chosen)
        found = self.weighed.get(chosen)
        if found is not None and found.told:
            low, high = np.sqrt(np.quantile(found.each, [0.05, 0.95]))
            return float(low), float(high)
        return left_range(self.known, self.readings(chosen), self.target)


def _weighed(
    simulated: SimulatedReadings, known: Regressors, readings: Sequence[int], target: Sequence[Floats]
) -> LeftByBayes:
    fitted = [predicted[:, 0] for predicted in cross_fitted(known, readings, target)]
    return left_by_bayes(simulated, readings, [y[:, 0] for y in target], fitted)


def rank_measurements(
    readings: Iterable[Floats] | SimulatedReadings,
    target: Iterable[Floats],
    measurements: Sequence[Measurement],
    *,
    setup_hours: Mapping[str, float],
    hours_given: float = np.inf,
    worth: float = WORTH,
    choice: Choice | None = None,
    left_if_all_known: Estimate | None = None,
    jobs: int = 1,
) -> MeasurementRanking:
    """Return what each measurement would leave, and the set to buy within the hours given.

    Parameters
    ----------
    readings : SimulatedReadings or iterable of ndarray
        Simulated readings, with what they were made from; or of each scramble the readings alone, shape (rows,
        readings) [any], told by regression then.
    target : iterable of ndarray
        For each scramble, shape (rows,) [target].
    measurements : sequence of Measurement
        At least one.
    setup_hours : mapping
        Hours of each set-up [h].
    hours_given : float
        Hours that a set may take [h].
    worth : float
        Fall of the standard uncertainty, as a share of it now, below which a measurement is not bought [-].
    choice : Choice, optional
        The requirement, and what acting on either verdict brings.
    left_if_all_known : Estimate, optional
        Variance left if all that can be learnt were known [target²]; no set may leave less.
    jobs : int
        Threads [-].

    Raises
    ------
    ValueError
        For hours that are not positive, an unknown set-up, or a reading that isn't there.
    MoreThanPerfect
        If a set seems to leave less than `left_if_all_known`.
    """
    whole = _judge(readings, target, measurements, setup_hours, left_if_all_known)
    choose = judge = whole
    if (count := len(whole.target)) >= _FEWEST_TO_PART:
        choose, judge = _half(whole, slice(0, count // 2)), _half(whole, slice(count // 2, None))
    search, bought = _to_buy(choose, judge, hours_given, worth)
    now = root(whole.variance(())[0])
    with ThreadPoolExecutor(jobs) as pool:
        each = list(pool.map(lambda place: _measured(whole, place, now, choice), range(len(measurements))))
    return MeasurementRanking(
        each=tuple(sorted(each, key=lambda measured: float(measured.left))),
        best=_steps(whole, judge, bought, now),
        furthest=_judged(judge, search.chosen, now),
        best_value=verdict_value(whole.known, whole.readings(bought), choice) if choice and bought else None,
        now=now,
        worth=worth,
        search=search,
    )


def set_to_buy(
    readings: Iterable[Floats] | SimulatedReadings,
    target: Iterable[Floats],
    measurements: Sequence[Measurement],
    *,
    setup_hours: Mapping[str, float],
    hours_given: float = np.inf,
    worth: float = WORTH,
) -> tuple[MeasurementSet, ...]:
    """Return the set to buy as it grows, by the rule of `rank_measurements`, chosen and judged on all points.

    For samples too small to be parted; what it leaves looks a little better than it is.
    """
    whole = _judge(readings, target, measurements, setup_hours, None)
    _, bought = _to_buy(whole, whole, hours_given, worth, _QUICKLY * MOST_WORK)
    return _steps(whole, whole, bought, root(whole.variance(())[0]))


def _judge(
    readings: Iterable[Floats] | SimulatedReadings,
    target: Iterable[Floats],
    measurements: Sequence[Measurement],
    setup_hours: Mapping[str, float],
    perfect: Estimate | None,
) -> _Judge:
    simulated = readings if isinstance(readings, SimulatedReadings) else None
    values = readings.values if isinstance(readings, SimulatedReadings) else readings
    known = regressors(values, threes=True)
    _refuse_bad(measurements, setup_hours, known.values[0].shape[1])
    return _Judge(known, centred(target)[0], measurements, setup_hours, perfect, simulated)


def _half(whole: _Judge, scrambles: slice) -> _Judge:
    target, _ = centred(y[:, 0] for y in whole.target[scrambles])
    perfect = whole.perfect
    if perfect is not None and len(perfect.by_scramble) == len(whole.target):
        perfect = estimate(perfect.by_scramble[scrambles])
    return _Judge(
        Regressors(whole.known.values[scrambles], threes=True),
        target,
        whole.measurements,
        whole.setup_hours,
        perfect,
        None if whole.simulated is None else whole.simulated.part(scrambles),
    )


def _to_buy(
    choose: _Judge, judge: _Judge, hours_given: float, worth: float, most_work: float = MOST_WORK
) -> tuple[Searched, Chosen]:
    """Return how the set that leaves least was found, and the set to buy."""
    table = set_table(choose.known, choose.target, [m.readings for m in choose.measurements])
    furthest = least_left(table, choose.hours, hours_given, most_work=most_work)
    enough = max((np.sqrt(furthest.left) + worth * np.sqrt(table.variance)) ** 2, furthest.left)
    bought = fewest_hours(table, choose.hours, furthest, enough, most_work=most_work).chosen
    while bought:
        rest = {i: tuple(k for k in bought if k != i) for i in bought}
        idle = [i for i in bought if not judge.gains(rest[i], bought, worth)]
        if not idle:
            break
        bought = rest[min(idle, key=lambda i: judge.left(rest[i]))]
    return furthest, bought


def _judged(judge: _Judge, chosen: Chosen, now: Estimate) -> MeasurementSet:
    """Return a set as it is told: its fall on the judging half, from what stands now on all points."""
    most, least = (_told(judge, variance, now) for variance in judge.variance(chosen))
    return MeasurementSet(judge.names(chosen), judge.hours(chosen), most, least)


def _told(judge: _Judge, variance: Estimate, now: Estimate) -> Estimate:
    """Return √variance times what makes the judging half's spread that of all points."""
    here = judge.variance(())[0]
    return root(estimate(variance.by_scramble * float(now) ** 2 / float(here)))


def _steps(whole: _Judge, judge: _Judge, bought: Chosen, now: Estimate) -> tuple[MeasurementSet, ...]:
    """Return the set in the order in which each step's fall of variance per hour is largest; the first as by itself."""
    done: Chosen = ()
    steps = []
    while len(done) < len(bought):
        falls = {
            i: float(judge.variance(done)[0].value - judge.variance((*done, i))[0].value)
            / (judge.hours((*done, i)) - judge.hours(done))
            for i in bought
            if i not in done
        }
        done = (*done, max(falls, key=falls.__getitem__))
        steps.append(_judged(whole if len(done) == 1 else judge, done, now))
    return tuple(steps)


def _measured(judge: _Judge, place: int, now: Estimate, choice: Choice | None) -> Measured:
    judged = _judged(judge, (place,), now)
    low, high = judge.range((place,))
    scale = float(judged.left) / judge.left((place,)) if float(judged.left) else 1.0
    return Measured(
        name=judge.measurements[place].name,
        hours=judged.hours,
        left=judged.left,
        at_least=judged.at_least,
        left_range=(scale * low, scale * high),
        fall_per_hour=(float(now) - float(judged.left)) / judged.hours,
        worth=verdict_value(judge.known, judge.measurements[place].readings, choice) if choice else None,
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
