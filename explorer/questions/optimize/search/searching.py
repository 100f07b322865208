"""A search under way: its sets of scenarios, what it has assessed, and where that is kept.

One set of 512 scenarios serves the search, eight such sets together serve the refinement; each is a scramble of the
same Sobol' sequence, so that the eight give every figure its sampling error by their spread.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.analysis.search.design_space import Assess, Assessed, Record, Tried, key
from explorer.questions.optimize.search.candidates import Candidates, Scenarios
from explorer.questions.optimize.search.judging import Judge, fresh_scenarios
from explorer.questions.optimize.search.question import Question

FloatArray = NDArray[np.float64]

#: Scenarios of a set, and sets.
SCENARIOS: Final[int] = 512
SETS: Final[int] = 8

#: Stream of the algorithms' own random numbers among those of a search.
_ALGORITHM: Final[int] = 2000

#: Gives a progress teller for a stage of the work.
Stages = Callable[[str], run.Progress | None]


class Kept(Protocol):
    """Where assessed designs are kept, so that a search that was broken off can go on."""

    @property
    def known(self) -> dict[bytes, tuple[FloatArray, FloatArray]]:
        """Wishes and margins by key."""

    def extend(self, assessed: Mapping[bytes, tuple[FloatArray, FloatArray]]) -> None:
        """Keep a batch."""


@dataclass
class Searching:
    """What a search works with."""

    candidates: Candidates
    question: Question
    robust: bool  #: [-] over scenarios, or at central values
    number: int  #: [-] random number
    kept: Kept | None = None  #: Where assessed designs are kept
    stages: Stages | None = None  #: Gives progress tellers
    resumed: int = field(default=0, init=False)  #: [-] designs found among what was kept

    def rng(self, purpose: int = 0) -> np.random.Generator:
        """The algorithms' own generator; each purpose has one."""
        return sampling.generator(self.number, sampling.Purpose.OPTIMISATION, scramble=_ALGORITHM + purpose)

    def stage(self, name: str) -> run.Progress | None:
        """A teller for a stage of the work, if anyone wants to know."""
        return self.stages(name) if self.stages else None

    def sets(self) -> list[Scenarios]:
        """The sets of scenarios; a single one at central values."""
        if not self.robust:
            return [Scenarios("central", None)]
        plan = sampling.sample_plan(
            self.number,
            self.candidates.dimension,
            SCENARIOS * SETS,
            purpose=sampling.Purpose.OPTIMISATION,
            scrambles=SETS,
        )
        return [Scenarios(f"set {i}", plan.points(i, 0)) for i in range(SETS)]

    def fine(self, sets: int = SETS) -> Scenarios:
        """Several sets together."""
        several = self.sets()[:sets]
        if not self.robust:
            return several[0]
        cubes = [one.cube for one in several if one.cube is not None]
        return Scenarios(f"{len(cubes)} sets", np.concatenate(cubes))

    def judge(self, sample: int) -> Judge:
        """A judge on a fresh sample, or at central values."""
        if not self.robust:
            return Judge(self.candidates, self.question, Scenarios("central", None))
        return Judge(
            self.candidates, self.question, fresh_scenarios(self.number, self.candidates.dimension, sample)
        )

    def record(
        self,
        scenarios: Scenarios,
        levels: FloatArray,
        *,
        question: Question | None = None,
        told: run.Progress | None = None,
        total: int = 0,
    ) -> Record:
        """Designs over scenarios, each assessed once and kept."""
        asked = question or self.question
        bounds = [[limit.at_least, limit.at_most] for limit in asked.limits]
        label = f"{scenarios.label} {[float(level) for level in levels]} {bounds} ".encode()
        known = {
            name[len(label) :]: value
            for name, value in (self.kept.known if self.kept else {}).items()
            if name.startswith(label)
        }
        self.resumed += len(known)
        done = 0

        def on_new(designs: FloatArray, assessed: Assessed) -> None:
            nonlocal done
            done += len(designs)
            if self.kept:
                rows = zip(designs, assessed.wishes, assessed.margins, strict=True)
                self.kept.extend({label + key(design): (wishes, margins) for design, wishes, margins in rows})
            if told:
                told(min(done, max(total, done)), max(total, done))

        return Record(self._assess(scenarios, levels, asked), known=known, on_new=on_new)

    def _assess(self, scenarios: Scenarios, levels: FloatArray, question: Question) -> Assess:
        def assess(designs: FloatArray) -> Assessed:
            found = self.candidates.evaluate(designs, scenarios)
            return question.assessed(found, levels if self.robust else None)

        return assess

    def relaxed(self, limit: int, share: float) -> Question:
        """The question with one limit relaxed by a share of its bound (or of what its margin is measured by)."""
        stated, scale = self.question.limits[limit], self.question.scales[limit]
        by = share * (scale if stated.event is None else abs(stated.at_least or stated.at_most or 0.0))
        eased = replace(
            stated,
            at_least=None if stated.at_least is None else stated.at_least - by,
            at_most=None if stated.at_most is None else stated.at_most + by,
        )
        limits = list(self.question.limits)
        limits[limit] = eased
        return replace(self.question, limits=tuple(limits))


def rounded(design: FloatArray, candidates: Candidates) -> FloatArray:
    """A design with numbers that a workshop or a dial can be told: four significant digits."""
    found = design.copy()
    for i in candidates.space.continuous:
        variable = candidates.space.variables[i]
        found[i] = min(max(float(f"{design[i]:.4g}"), variable.low), variable.high)
    return found


def starts_of(record: Record, columns: Sequence[int], most: int, *, within: float) -> list[FloatArray]:
    """The best design of each combination of list entries, best first, of those that meet the limits."""
    designs, assessed = record.designs, record.assessed
    best = float(record.best().wishes[0])
    seen: dict[tuple[float, ...], FloatArray] = {}
    for i in assessed.best_first():
        if not assessed.met[i] or assessed.wishes[i, 0] > best + within * abs(best):
            break
        seen.setdefault(tuple(designs[i, list(columns)]), designs[i])
        if len(seen) == most:
            break
    return list(seen.values())


def seen_by_search(question: Question, tried: Tried) -> list[float]:
    """What a search saw of each wish [SI]."""
    return [
        float(value if wish.make == "smallest" else -value)
        for wish, value in zip(question.wishes, tried.wishes, strict=True)
    ]
