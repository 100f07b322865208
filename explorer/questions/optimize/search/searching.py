"""A search under way: its sets of scenarios, what it has assessed, and where that is kept.

One set of 512 scenarios serves the search, eight such sets together serve the refinement; each is a scramble of the
same Sobol' sequence, so that the eight give every figure its sampling error by their spread.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.analysis.search.design_space import Assessed, Record, key
from explorer.questions.optimize.search.candidates import CENTRAL, Candidates, Scenarios
from explorer.questions.optimize.search.proposal import (
    DesignsTried,
    JudgedDesign,
    NearestMiss,
    Present,
    Proposal,
    Relaxation,
    Search,
)
from explorer.questions.optimize.search.question import Question
from explorer.store import SearchFile

FloatArray = NDArray[np.float64]

#: Scenarios of a set, sets, and fresh points of a judgement [-].
SCENARIOS: Final[int] = 512
SETS: Final[int] = 8
FRESH_POINTS: Final[int] = 32_768

#: Margin of a design that no study can have, worse than that of one without numbers [-].
_IMPOSSIBLE: Final[float] = -100.0

#: Streams of fresh points, from the first on, and of the algorithms' own random numbers among those of a search.
_FIRST_FRESH: Final[int] = 1000
_ALGORITHM: Final[int] = 2000

#: Gives a progress teller for a stage of the work.
Stages = Callable[[str], run.Progress | None]


@dataclass
class Searching:
    """What a search works with."""

    candidates: Candidates
    question: Question
    robust: bool  #: over scenarios, or at central values
    number: int  #: [-] random number
    budget: int  #: [-] designs allowed
    kept: SearchFile | None = (
        None  #: where assessed designs are kept, so that a search that was broken off can go on
    )
    stages: Stages | None = None
    resumed: int = field(default=0, init=False)  #: [-] designs found among what was kept
    searched: int = field(default=0, init=False)  #: [-] designs of the search itself, which the budget is for
    records: list[Record] = field(default_factory=list, init=False)  #: of everything that was tried

    def rng(self) -> np.random.Generator:
        """The algorithms' own generator."""
        return sampling.generator(self.number, sampling.Purpose.OPTIMISATION, scramble=_ALGORITHM)

    def stage(self, name: str) -> run.Progress | None:
        """A teller for a stage of the work, if anyone wants to know."""
        return self.stages(name) if self.stages else None

    @cached_property
    def sets(self) -> list[Scenarios]:
        """The sets of scenarios; a single one at central values."""
        if not self.robust:
            return [CENTRAL]
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
        cubes = [one.cube for one in self.sets[:sets] if one.cube is not None]
        return Scenarios(f"{len(cubes)} sets", np.concatenate(cubes)) if cubes else CENTRAL

    def fresh(self, sample: int) -> Scenarios:
        """Independent pseudo-random scenarios that no search has seen; central values where all is done at them."""
        if not self.robust:
            return CENTRAL
        rng = sampling.generator(self.number, sampling.Purpose.OPTIMISATION, scramble=_FIRST_FRESH + sample)
        cube = sampling.off_zero(rng.random((FRESH_POINTS, self.candidates.dimension)), cell=2.0**-53)
        return Scenarios(f"fresh {sample}", cube)

    def record(
        self,
        scenarios: Scenarios,
        levels: FloatArray,
        *,
        question: Question | None = None,
        stage: str | None = None,
        total: int = 0,
    ) -> Record:
        """Designs over scenarios, each assessed once and kept; told of as a stage of so many where it has a name."""
        asked = question or self.question
        held = levels if self.robust else np.full(len(levels), 0.5)
        bounds = [[limit.at_least, limit.at_most] for limit in asked.limits]
        label = f"{scenarios.label} {levels.tolist()} {bounds} ".encode()
        kept = self.kept.known if self.kept else {}
        known = {name.removeprefix(label): found for name, found in kept.items() if name.startswith(label)}
        self.resumed += len(known)
        told = self.stage(stage) if stage else None

        def assess(designs: FloatArray) -> Assessed:
            found = asked.assessed(self.candidates.evaluate(designs, scenarios), held)
            possible = self.candidates.which_possible(designs)[:, None]
            return Assessed(
                np.where(possible, found.wishes, np.nan), np.where(possible, found.margins, _IMPOSSIBLE)
            )

        def on_new(designs: FloatArray, found: Assessed) -> None:
            if self.kept:
                rows = zip(designs, found.wishes, found.margins, strict=True)
                self.kept.extend({label + key(design): (wishes, margins) for design, wishes, margins in rows})
            if told:
                told(record.count, max(total, record.count))

        record = self._noted(Record(assess, known=known, on_new=on_new))
        return record

    def beside(self, record: Record) -> Record:
        """Another record of the same question over the same scenarios."""
        return self._noted(record.beside())

    def _noted(self, record: Record) -> Record:
        self.records.append(record)
        return record

    def proposal(
        self,
        record: Record,
        *,
        best: JudgedDesign | None = None,
        near_equal: Sequence[JudgedDesign] = (),
        relaxations: Sequence[Relaxation] = (),
        trade_off: Sequence[JudgedDesign] = (),
        miss: NearestMiss | None = None,
        rounds: int = 0,
        present: Present | None = None,
    ) -> Proposal:
        """What the search has come to."""
        settings = tuple(self.candidates.setting(design) for design in record.designs)
        assessed = record.assessed
        return Proposal(
            study=self.candidates.study,
            varied=self.candidates.varied,
            wishes=self.question.wishes,
            limits=self.question.limits,
            best=best,
            near_equal=tuple(near_equal),
            relaxations=tuple(relaxations),
            trade_off=tuple(trade_off),
            miss=miss,
            present=present,
            designs=DesignsTried(settings, self.question.signs * assessed.wishes, assessed.margins),
            search=Search(
                robust=self.robust,
                scenarios=SCENARIOS if self.robust else 1,
                fine_scenarios=SCENARIOS * SETS if self.robust else 1,
                fresh_points=FRESH_POINTS if self.robust else 1,
                rounds=rounds,
                budget=self.budget,
                searched=self.searched,
                tried=len({key(design) for one in self.records if one.tried for design in one.designs}),
                resumed=self.resumed,
                random_number=self.number,
            ),
        )
