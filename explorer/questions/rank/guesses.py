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
from explorer.analysis.regression import centred, regressors
from explorer.questions.rank.learning import LearningSample, learning_sample, sample_cubes
from explorer.space import Distribution, InputSpace, Lognormal
from explorer.stage.gas.extent import SHAPING_INPUTS
from explorer.study.problem import Problem, problem_of
from explorer.studyfile import Measurement, Setup
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
class Guess:
    """A range changed, and the first choice with it."""

    address: str
    factor: float  #: by which the range was stretched [-]
    choice: str  #: a measurement's name or an input's address
    same: bool  #: as with the range that the study states
    lost: float  #: share of points left out because they had no number [-]


@dataclass(frozen=True)
class Guesses:
    """Whether the first choice stands."""

    first: str  #: The first choice as the study stands: a measurement's name or an input's address
    tried: tuple[Guess, ...]
    kind: str  #: ``"measurement"`` or ``"input"``: what the choice is between

    @property
    def changed(self) -> tuple[Guess, ...]:
        """Those with which the first choice is another one."""
        return tuple(guess for guess in self.tried if not guess.same)


def guesses(
    problem: Problem,
    leading: Sequence[str],
    measurements: Sequence[Measurement],
    setups: Sequence[Setup],
    number: int,
    *,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Guesses:
    """Halve and double the largest ranges and see whether the first choice changes."""
    cubes = sample_cubes(problem, number, SAMPLES)

    def chosen(changed: Problem) -> tuple[str, float]:
        sample = learning_sample(changed, measurements, number, cubes, jobs=jobs)
        return _first_choice(changed, sample, setups), sample.lost

    first, _ = chosen(problem)
    places = [(address, factor) for address in leading[:RANGES] for factor in FACTORS]
    tried = []
    for address, factor in places:
        choice, lost = chosen(_scaled(problem, address, factor, jobs))
        tried.append(Guess(address, factor, choice, choice == first, lost))
        if progress:
            progress(len(tried), len(places))
    return Guesses(first, tuple(tried), "measurement" if measurements else "input")


def _first_choice(problem: Problem, sample: LearningSample, setups: Sequence[Setup]) -> str:
    """The measurement with the largest fall per hour, or the input that would leave least."""
    target, _ = centred(sample.target)
    if not sample.candidates:
        pinnable = [i for i, row in enumerate(problem.rows) if row.part == "unknown"]
        known = regressors([problem.dependent(cube)[:, pinnable] for cube in sample.cubes])
        left = [float(left_after(known, [k], target).value) for k in range(len(pinnable))]
        return problem.rows[pinnable[int(np.argmin(left))]].address
    known = regressors(sample.readings)
    now = np.sqrt(left_after(known, [], target).value)
    of_setup = {setup.name: setup.hours for setup in setups}
    falls = {
        candidate.name: (now - np.sqrt(left_after(known, candidate.readings, target).value))
        / (candidate.hours + of_setup.get(candidate.setup or "", 0.0))
        for candidate in sample.candidates
    }
    return max(falls, key=lambda name: float(falls[name]))


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
