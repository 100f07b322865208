"""The design that one wish asks for: searched, refined until fresh points agree, and what is close to it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.scrambles import Estimate, estimate, figure
from explorer.analysis.search.continuous_search import continuous_search
from explorer.analysis.search.design_space import DesignSpace, Record, Tried
from explorer.analysis.search.near_equal import BUDGET, near_equal
from explorer.analysis.search.polish import polished
from explorer.analysis.search.stock_search import stock_search
from explorer.questions.optimize.search.candidates import Scenarios
from explorer.questions.optimize.search.judging import built, chances, judged, present_beside
from explorer.questions.optimize.search.nearest_miss import nearest_miss
from explorer.questions.optimize.search.proposal import JudgedDesign, Proposal, Relaxation
from explorer.questions.optimize.search.question import Question
from explorer.questions.optimize.search.searching import FRESH_POINTS, Searching
from explorer.study.limits import MET, NOT_MET, is_implied

FloatArray = NDArray[np.float64]

#: Combinations of list entries that are refined, and how far their wish may be from the best [-].
_COMBINATIONS: Final[int] = 3
_WITHIN: Final[float] = 0.1

#: Designs of one polish in the refinement, at least: of the first, and of those that go on from a refined design.
_REFINING: Final[int] = 60
_GOING_ON: Final[int] = 40

#: Iterates that a polish is given, each with its neighbours.
_ITERATES: Final[int] = 6

#: Steps over which slopes are taken there [-], coarse first.
_STEPS: Final[tuple[float, ...]] = (1e-2, 1e-3)

#: Sets of scenarios on which near-equal designs are looked for.
_SETS_FOR_NEAR: Final[int] = 4

#: How often inner levels may be raised, and standard errors by which a fresh sample must accept a design.
_ROUNDS: Final[int] = 6
_SPARE: Final[float] = 2.0

#: Margin over its bound below which a limit counts as holding a design back [-].
_ACTIVE: Final[float] = 0.02

#: Wish within which a design counts as nearly equal [-].
NEAR: Final[float] = 0.02

#: How far an active limit is relaxed [-].
RELAXED: Final[float] = 0.1


@dataclass(frozen=True)
class _Refined:
    design: FloatArray
    levels: FloatArray  #: chances to which the limits had to be held [-]
    record: Record  #: on all sets of scenarios
    rounds: int


def best_design(searching: Searching) -> Proposal:
    """What one wish comes to."""
    space, budget = searching.candidates.space, searching.budget
    levels = searching.question.levels
    record = searching.record(searching.sets[0], levels, stage="designs tried", total=budget)
    search = stock_search if space.listed.size else continuous_search
    search(space, record, budget=budget, rng=searching.rng())
    searching.searched = record.tried
    if not record.best().met:
        return nearest_miss(searching, record)
    searched = record.best()
    found = _refined(searching, record)
    fresh = searching.fresh(0)
    active = [bool(margin < _ACTIVE) for margin in found.record(found.design[None, :]).margins[0]]
    best = judged(
        searching, replace(searched, values=found.design), fresh, levels=found.levels, active=active
    )
    near = _near(searching, found, fresh)
    meeting = next((tried for tried, design in near if design.verdict == MET), None)
    if best.verdict == NOT_MET and meeting is not None:  # on points of its own, for these have chosen it
        fresh = searching.fresh(_ROUNDS + 1)
        best = judged(searching, meeting, fresh, levels=found.levels, active=active)
        near = [pair for pair in near if pair[0] is not meeting]
    return searching.proposal(
        record,
        best=best,
        near_equal=[design for _, design in near],
        relaxations=_relaxations(searching, found, active),
        rounds=found.rounds,
        present=present_beside(searching, best, fresh),
    )


def _refined(searching: Searching, record: Record) -> _Refined:
    """The best design over all sets, the inner levels raised until fresh points show each limit's chance.

    A level is raised to the chance that the design has on the search's own scenarios, plus what the lower end of the
    fresh interval lacks. Each round has a fresh sample of its own, and what accepts a design must do so with standard
    errors to spare, so that the last sample, which no choice has seen, will nearly always agree.
    """
    space, scenarios = searching.candidates.space, searching.fine()
    stated = searching.question.levels
    spare = _SPARE * np.sqrt(stated * (1.0 - stated) / FRESH_POINTS)
    levels = stated.copy()
    starts = _starts(space, record)
    for attempt in range(1, _ROUNDS + 1):
        designs = _designs_of(space, _REFINING if attempt == 1 else _GOING_ON)
        stage = f"refinement, round {attempt}"
        fine = searching.record(scenarios, levels, stage=stage, total=designs * len(starts))
        for start in starts:
            polished(space, fine, start, budget=designs, steps=_STEPS)
        design = built(searching, fine, fine.best()).values
        if not searching.robust:
            break
        shown = [chance.low for chance in chances(searching, design, searching.fresh(attempt))]
        lacking = stated + spare - np.array(shown)
        if (lacking <= 0.0).all():
            break
        kept = np.array([chance.share for chance in chances(searching, design, scenarios)])
        raised = np.where(lacking > 0.0, np.maximum(kept + lacking, stated), levels)
        # Never as far as certainty, which no number of points can show.
        levels = np.minimum(raised, 1.0 - 0.5 * (1.0 - levels))
        starts = [fine.best().values]
    return _Refined(design, levels, fine, attempt)


def _starts(space: DesignSpace, record: Record) -> list[FloatArray]:
    """The best design of each combination of list entries, best first, of those that meet the limits."""
    designs, assessed = record.designs, record.assessed
    best = float(record.best().wishes[0])
    seen: dict[bytes, FloatArray] = {}
    for i in assessed.best_first():
        if not assessed.met[i] or assessed.wishes[i, 0] > best + _WITHIN * abs(best):
            break
        seen.setdefault(designs[i, space.listed].tobytes(), designs[i])
    return list(seen.values())[:_COMBINATIONS]


def _designs_of(space: DesignSpace, least: int) -> int:
    """Designs of one polish: more where there are many variables, for each iterate needs a neighbour in each."""
    return max(least, _ITERATES * (space.continuous.size + 1))


def _near(searching: Searching, found: _Refined, fresh: Scenarios) -> list[tuple[Tried, JudgedDesign]]:
    """Designs nearly as good that differ as much as possible, judged on the same fresh points as the best."""
    space = searching.candidates.space
    total = BUDGET * (2 * space.continuous.size + sum(space.variables[i].entries - 1 for i in space.listed))
    scenarios = searching.fine(_SETS_FOR_NEAR)
    record = searching.record(scenarios, found.levels, stage="near-equal designs", total=total)
    designs = []
    for tried in near_equal(space, record, found.design, tolerance=NEAR):
        one = built(searching, record, tried)
        names = [space.variables[i].name for i in space.differing(one.values, found.design)]
        designs.append((one, judged(searching, one, fresh, levels=found.levels, differs_in=names)))
    return [(tried, design) for tried, design in designs if design.verdict != NOT_MET]


def _relaxations(searching: Searching, found: _Refined, active: Sequence[bool]) -> tuple[Relaxation, ...]:
    """What relaxing each active limit by a tenth would gain, from independent sets of scenarios."""
    limits = searching.question.limits
    relaxed = [k for k, limit in enumerate(limits) if active[k] and not is_implied(limit)]
    if not relaxed:
        return ()
    told = searching.stage("what limits cost")
    ends = [_optimum(searching, found, one, searching.question, found.design) for one in searching.sets]
    results = []
    for done, k in enumerate(relaxed, start=1):
        eased = searching.question.relaxed(k, RELAXED)
        pairs = [
            (end, _optimum(searching, found, one, eased, end.values))
            for one, end in zip(searching.sets, ends, strict=True)
        ]
        bound = eased.limits[k].at_least if eased.limits[k].at_least is not None else eased.limits[k].at_most
        results.append(Relaxation(limits[k], float(bound or 0.0), _gain(searching, pairs)))
        if told:
            told(done, len(relaxed))
    return tuple(results)


def _gain(searching: Searching, pairs: Sequence[tuple[Tried, Tried]]) -> Estimate:
    """How much smaller the searched wish becomes, from the sets on which both designs meet their limits."""
    gains = [float(a.wishes[0] - b.wishes[0]) for a, b in pairs if a.met and b.met]
    if not gains:
        return figure(np.nan, np.nan if searching.robust else 0.0)
    return estimate(gains) if searching.robust else figure(gains[0])


def _optimum(
    searching: Searching, found: _Refined, scenarios: Scenarios, question: Question, start: FloatArray
) -> Tried:
    """The best design on one set of scenarios for a question with other limits."""
    # The inner level of a relaxed chance stays as far above the stated one as it was.
    levels = found.levels + question.levels - searching.question.levels
    record = searching.record(scenarios, levels, question=question)
    space = searching.candidates.space
    return polished(space, record, start, budget=_designs_of(space, _GOING_ON), steps=_STEPS)
