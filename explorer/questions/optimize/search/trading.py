"""Two wishes: the trade-off curve between them, each of its designs judged on fresh points."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.design_space import Record, Tried
from explorer.analysis.search.stock_search import ask_and_tell
from explorer.analysis.search.trade_off import POINTS, knee, nondominated, trade_off_curve
from explorer.questions.optimize.search.judging import FRESH_POINTS
from explorer.questions.optimize.search.missing import missed
from explorer.questions.optimize.search.proposal import JudgedDesign
from explorer.questions.optimize.search.searching import SCENARIOS, Searching, rounded, seen_by_search
from explorer.questions.optimize.search.winning import Outcome

FloatArray = NDArray[np.float64]

#: Designs of one polish along the curve, and iterates with their neighbours where there are many variables.
_POLISH: Final[int] = 60
_ITERATES: Final[int] = 8

#: Sets of scenarios on which the curve is sharpened.
_SETS: Final[int] = 4

#: Standard normal scores by which inner levels lie above the stated ones; the next one where no design meets them.
_SPARES: Final[tuple[float, ...]] = (1.96, 0.0)


def traded(searching: Searching, budget: int) -> Outcome:
    """What two wishes come to."""
    space, stated = searching.candidates.space, searching.question.levels
    told = searching.stage("designs tried")
    record = searching.record(searching.sets()[0], stated, told=told, total=budget)
    ask_and_tell(space, record, budget=budget, rng=searching.rng(), wishes=2)
    if not record.assessed.met.any():
        return Outcome(record, miss=missed(searching, record))
    for spare in _SPARES if searching.robust else (0.0,):
        levels = _raised(stated, spare)
        fine, curve = _sharpened(searching, record, levels)
        if curve:
            judged = _judged(searching, curve, levels)
            return Outcome(record, best=_knee(searching, judged), trade_off=judged, rounds=1)
    return Outcome(record, miss=missed(searching, fine))


def _sharpened(searching: Searching, record: Record, levels: FloatArray) -> tuple[Record, tuple[Tried, ...]]:
    """The curve on more scenarios with limits held to higher levels, from the designs of the search."""
    space = searching.candidates.space
    budget = max(_POLISH, _ITERATES * (space.continuous.size + 1))
    told = searching.stage("trade-off curve")
    fine = searching.record(searching.fine(_SETS), levels, told=told, total=2 * POINTS * budget)
    first = record.designs[record.assessed.met]
    fine(first[nondominated(record.assessed.wishes[record.assessed.met])])
    if not fine.assessed.met.any():  # the curve begins from what misses the raised levels least
        fine(record.designs[record.assessed.best_first()[:POINTS]])
    return fine, trade_off_curve(space, fine, budget=budget)


def _raised(stated: FloatArray, spare: float) -> FloatArray:
    """Inner levels above the stated ones by what the samples may be off."""
    spread = np.sqrt(stated * (1.0 - stated) * (1.0 / FRESH_POINTS + 1.0 / (_SETS * SCENARIOS)))
    return np.asarray(np.minimum(stated + spare * spread, 1.0 - 0.5 * (1.0 - stated)))


def _judged(searching: Searching, curve: tuple[Tried, ...], levels: FloatArray) -> tuple[JudgedDesign, ...]:
    """The curve's designs on the same fresh points, by rising first wish."""
    judge = searching.judge(0)
    found = [
        judge.judged(
            rounded(tried.values, searching.candidates),
            levels=levels,
            by_search=seen_by_search(searching.question, tried),
        )
        for tried in curve
    ]
    return tuple(sorted(found, key=lambda design: design.wishes[0].expected))


def _knee(searching: Searching, judged: tuple[JudgedDesign, ...]) -> JudgedDesign:
    """Where the curve bends most, among the designs that fresh points show to meet the limits if there are any."""
    good = [design for design in judged if design.verdict == "met"] or list(judged)
    signs = np.array([1.0 if wish.make == "smallest" else -1.0 for wish in searching.question.wishes])
    wishes = signs * np.array([[wish.expected for wish in design.wishes] for design in good])
    order = np.argsort(wishes[:, 0], kind="stable")
    return good[int(order[knee(wishes[order])])]
