"""Does the order survive the guesses: the largest ranges halved and doubled, and whether the first choice changes.

A range is widened about its centre, a lognormal one about its median in the logarithm. Where a widened range meets a
physical bound it is cut there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run
from explorer.analysis.measurement import left_after
from explorer.analysis.measurement_sets import set_to_buy
from explorer.analysis.regression import centred, regressors
from explorer.questions.rank.learning.learning import (
    LearningSample,
    buying_rule,
    learning_sample,
    sample_cubes,
)
from explorer.space import Distribution, InputSpace, Lognormal
from explorer.stage.gas.extent import SHAPING_INPUTS
from explorer.study.problem import Problem, problem_of
from explorer.studyfile import Measurement, Study
from explorer.units import Scale

FloatArray = NDArray[np.float64]

#: How many of the largest ranges are changed, by which factors, and on how many points each is judged.
RANGES: Final[int] = 5
FACTORS: Final[tuple[float, ...]] = (0.5, 2.0)
SAMPLES: Final[int] = 2_048

#: Tail beyond which a widened range need not be covered: some points in a million.
_TAIL: Final[float] = 1e-6


@dataclass(frozen=True)
class Widened:
    """A distribution stretched about its mean."""

    base: Distribution
    factor: float

    @property
    def mean(self) -> float:
        """Expectation."""
        return self.base.mean

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation."""
        return self.factor * self.base.standard_uncertainty

    def quantile(self, u: FloatArray) -> FloatArray:
        """Values at probabilities."""
        return np.asarray(self.mean + self.factor * (self.base.quantile(u) - self.mean))

    def cumulative(self, x: FloatArray) -> FloatArray:
        """Probabilities of values."""
        return self.base.cumulative(self.mean + (x - self.mean) / self.factor)

    def words(self, scale: Scale) -> str:
        """How it would be read."""
        return f"{self.factor:g} times as wide as {self.base.words(scale)}"


def widened(distribution: Distribution, factor: float) -> Distribution:
    """A distribution made wider or narrower."""
    if isinstance(distribution, Lognormal):
        return Lognormal(distribution.median, distribution.factor**factor)
    return Widened(distribution, factor)


@dataclass(frozen=True)
class FirstChoice:
    """What is told to be done first."""

    kind: str  #: ``"measurement"`` or ``"input"``: what the choice is between
    name: str  #: a measurement's name or an input's address


@dataclass(frozen=True)
class Guess:
    """A range changed, and the first choice with it."""

    address: str
    factor: float  #: by which the range was stretched [-]
    choice: str | None  #: a measurement's name or an input's address; None where nothing is worth it then
    same: bool  #: as with the range that the study states
    lost: float  #: share of points left out because they had no number [-]


@dataclass(frozen=True)
class Guesses:
    """Whether the first choice stands."""

    first: str  #: The first choice that is told: a measurement's name or an input's address
    tried: tuple[Guess, ...]
    kind: str  #: ``"measurement"`` or ``"input"``: what the choice is between

    @property
    def changed(self) -> tuple[Guess, ...]:
        """Those with which the first choice is another one."""
        return tuple(guess for guess in self.tried if not guess.same)


def guesses(
    problem: Problem,
    leading: Sequence[str],
    first: FirstChoice | None,
    measurements: Sequence[Measurement],
    study: Study | None,
    number: int,
    *,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Guesses | None:
    """Halve and double the largest ranges and see whether the first choice, chosen by the same rule, changes.

    The points are fewer than those that the first choice was made on. Where they choose another one with the ranges as
    they stand, the two are level, and either counts as the same.
    """
    if first is None:
        return None
    cubes = sample_cubes(problem, number, SAMPLES)
    among = measurements if first.kind == "measurement" else ()

    places = [(address, factor) for address in leading[:RANGES] for factor in FACTORS]

    def chosen(changed: Problem) -> tuple[str | None, float]:
        sample = learning_sample(changed, among, number, cubes)
        return (_measurement(sample, study) if among else _input(changed, sample)), sample.lost

    problems = [(problem,), *((_scaled(problem, *place, jobs),) for place in places)]
    (as_stated, _), *choices = run.in_threads(
        chosen, problems, jobs=jobs, total=len(problems), progress=progress
    )
    level = {first.name, as_stated}
    tried = [
        Guess(*place, choice, choice in level, lost)
        for place, (choice, lost) in zip(places, choices, strict=True)
    ]
    return Guesses(first.name, tuple(tried), first.kind)


def _measurement(sample: LearningSample, study: Study | None) -> str | None:
    """The first measurement of the set to buy."""
    bought = set_to_buy(sample.readings, sample.target, sample.candidates, **buying_rule(study))
    return bought[0].names[0] if bought else None


def _input(problem: Problem, sample: LearningSample) -> str:
    """The input that would leave least if it were known."""
    target, _ = centred(sample.target)
    pinnable = [i for i, row in enumerate(problem.rows) if row.part == "unknown"]
    known = regressors([problem.dependent(cube)[:, pinnable] for cube in sample.cubes])
    left = [float(left_after(known, [k], target).value) for k in range(len(pinnable))]
    return problem.rows[pinnable[int(np.argmin(left))]].address


def _scaled(problem: Problem, address: str, factor: float, jobs: int) -> Problem:
    """The problem with one input's unknown range changed, its gas table wide enough where it follows that range."""
    items = {item.address: item for item in problem.space.inputs}
    item = items[address]
    if item.unknown is None:
        return problem
    for own in problem.space.one_with(address):
        items[own] = replace(items[own], unknown=widened(item.unknown, factor))
    space = InputSpace(tuple(items.values()), problem.space.correlations)
    if problem.study is not None and factor > 1.0 and address in SHAPING_INPUTS:
        reach = items[address].distribution("unknown").quantile(np.array([_TAIL, 1.0 - _TAIL]))
        problem = problem_of(problem.study, None, problem.quantities, cover={address: reach}, jobs=jobs)
    return replace(problem, space=space)
