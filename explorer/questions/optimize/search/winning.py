"""The design that one wish asks for: searched, refined until fresh points agree, and what is close to it."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.continuous_search import continuous_search
from explorer.analysis.search.design_space import DesignSpace, Record, Tried
from explorer.analysis.search.near_equal import BUDGET, near_equal
from explorer.analysis.search.polish import polished
from explorer.analysis.search.stock_search import stock_search
from explorer.questions.optimize.search.candidates import Scenarios
from explorer.questions.optimize.search.judging import FRESH_POINTS, Judge
from explorer.questions.optimize.search.missing import missed
from explorer.questions.optimize.search.proposal import JudgedDesign, NearestMiss, Relaxation
from explorer.questions.optimize.search.searching import Searching, rounded, seen_by_search, starts_of
from explorer.study.limits import WITH_NUMBER

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
class Outcome:
    """What a search came to; the parts of a proposal."""

    record: Record
    best: JudgedDesign | None = None
    near_equal: tuple[JudgedDesign, ...] = ()
    relaxations: tuple[Relaxation, ...] = ()
    trade_off: tuple[JudgedDesign, ...] = ()
    miss: NearestMiss | None = None
    rounds: int = 0


@dataclass(frozen=True)
class _Refined:
    design: FloatArray
    levels: FloatArray
    fine: Record
    judge: Judge
    rounds: int


def won(searching: Searching, budget: int) -> Outcome:
    """What one wish comes to."""
    space = searching.candidates.space
    levels = searching.question.levels
    told = searching.stage("designs tried")
    record = searching.record(searching.sets()[0], levels, told=told, total=budget)
    if space.listed.size:
        stock_search(space, record, budget=budget, rng=searching.rng())
    else:
        continuous_search(space, record, budget=budget, rng=searching.rng())
    if not record.best().met:
        return Outcome(record, miss=missed(searching, record))
    found = _refined(searching, record)
    at_best = found.fine(found.design[None, :])
    active = [bool(margin < _ACTIVE) for margin in at_best.margins[0]]
    best = found.judge.judged(
        found.design,
        levels=found.levels,
        by_search=seen_by_search(searching.question, record.best()),
        active=active,
    )
    return Outcome(
        record,
        best=best,
        near_equal=_near(searching, found),
        relaxations=_relaxations(searching, found, active),
        rounds=found.rounds,
    )


def _refined(searching: Searching, record: Record) -> _Refined:
    """The best design over all sets, the inner levels raised until fresh points show each limit's chance.

    A level is raised to the chance that the design has on the search's own scenarios, plus what the lower end of the
    fresh interval lacks. Each round has a fresh sample of its own, and what accepts a design must do so with standard
    errors to spare, so that the last sample, which no choice has seen, will nearly always agree.
    """
    space, scenarios = searching.candidates.space, searching.fine()
    stated = searching.question.levels
    levels = stated.copy()
    starts = starts_of(record, [int(i) for i in space.listed], _COMBINATIONS, within=_WITHIN)
    for attempt in range(1, _ROUNDS + 1):
        told = searching.stage(f"refinement, round {attempt}")
        designs = _designs_of(space, _REFINING if attempt == 1 else _GOING_ON)
        fine = searching.record(scenarios, levels, told=told, total=designs * len(starts))
        for start in starts:
            polished(space, fine, start, budget=designs, steps=_STEPS)
        design = rounded(fine.best().values, searching.candidates)
        if not searching.robust:
            break
        spare = _SPARE * np.sqrt(stated * (1.0 - stated) / FRESH_POINTS)
        lacking = stated + spare - searching.judge(attempt).chances(design)[:, 0]
        if (lacking <= 0.0).all():
            break
        kept = Judge(searching.candidates, searching.question, scenarios).chances(design)[:, 1]
        raised = np.where(lacking > 0.0, np.maximum(kept + lacking, stated), levels)
        # Never as far as certainty, which no number of points can show.
        levels = np.minimum(raised, 1.0 - 0.5 * (1.0 - levels))
        starts = [fine.best().values]
    return _Refined(design, levels, fine, searching.judge(0), attempt)


def _designs_of(space: DesignSpace, least: int) -> int:
    """Designs of one polish: more where there are many variables, for each iterate needs a neighbour in each."""
    return max(least, _ITERATES * (space.continuous.size + 1))


def _near(searching: Searching, found: _Refined) -> tuple[JudgedDesign, ...]:
    """Designs nearly as good that differ as much as possible, judged on the same fresh points as the best."""
    space = searching.candidates.space
    total = BUDGET * (2 * space.continuous.size + sum(space.variables[i].entries - 1 for i in space.listed))
    told = searching.stage("near-equal designs")
    record = searching.record(searching.fine(_SETS_FOR_NEAR), found.levels, told=told, total=total)
    designs = near_equal(space, record, found.design, tolerance=NEAR)
    judged = []
    for tried in designs:
        design = rounded(tried.values, searching.candidates)
        names = [space.variables[i].name for i in space.differing(design, found.design)]
        judged.append(
            found.judge.judged(
                design,
                levels=found.levels,
                by_search=seen_by_search(searching.question, tried),
                differs_in=names,
            )
        )
    return tuple(item for item in judged if item.verdict != "not met")


def _relaxations(searching: Searching, found: _Refined, active: list[bool]) -> tuple[Relaxation, ...]:
    """What relaxing each active limit by a tenth would gain, from independent sets of scenarios."""
    sets = searching.sets()
    relaxed = [
        k for k, limit in enumerate(searching.question.limits) if active[k] and limit is not WITH_NUMBER
    ]
    if not relaxed:
        return ()
    told = searching.stage("what limits cost")
    ends = [_optimum(searching, found, one, None, found.design) for one in sets]
    optima: dict[int, list[Tried]] = {}
    for done, k in enumerate(relaxed, start=1):
        optima[k] = [
            _optimum(searching, found, one, k, end.values) for one, end in zip(sets, ends, strict=True)
        ]
        if told:
            told(done, len(relaxed))
    results = []
    for k in relaxed:
        limit = searching.question.limits[k]
        pairs = zip(ends, optima[k], strict=True)
        gains = np.array([float(a.wishes[0] - b.wishes[0]) for a, b in pairs if a.met and b.met])
        eased = searching.relaxed(k, RELAXED).limits[k]
        bound = eased.at_least if eased.at_least is not None else eased.at_most
        error = float(gains.std(ddof=1) / np.sqrt(gains.size)) if gains.size > 1 else float("nan")
        results.append(
            Relaxation(
                limit,
                float(bound or 0.0),
                float(gains.mean()) if gains.size else float("nan"),
                error if searching.robust else 0.0,
            )
        )
    return tuple(results)


def _optimum(
    searching: Searching, found: _Refined, scenarios: Scenarios, relaxed: int | None, start: FloatArray
) -> Tried:
    """The best design on one set of scenarios, one limit relaxed or none."""
    question = searching.question if relaxed is None else searching.relaxed(relaxed, RELAXED)
    # The inner level of a relaxed chance stays as far above the stated one as it was.
    levels = found.levels + question.levels - searching.question.levels
    record = searching.record(scenarios, levels, question=question)
    space = searching.candidates.space
    return polished(space, record, start, budget=_designs_of(space, _GOING_ON), steps=_STEPS)
