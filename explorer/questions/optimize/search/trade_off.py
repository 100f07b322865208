"""Two wishes: the trade-off curve between them, each of its designs judged on fresh points."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.design_space import Record, Tried
from explorer.analysis.search.stock_search import ask_and_tell
from explorer.analysis.search.trade_off import POINTS, knee, nondominated, trade_off_curve
from explorer.questions.optimize.search.judging import built, judged, present_beside
from explorer.questions.optimize.search.nearest_miss import nearest_miss
from explorer.questions.optimize.search.proposal import JudgedDesign, Proposal
from explorer.questions.optimize.search.searching import FRESH_POINTS, SCENARIOS, Searching
from explorer.study.limits import MET

FloatArray = NDArray[np.float64]

#: Designs of one polish along the curve, and iterates with their neighbours where there are many variables.
_POLISH: Final[int] = 60
_ITERATES: Final[int] = 8

#: Sets of scenarios on which the curve is sharpened.
_SETS: Final[int] = 4

#: Standard normal scores by which inner levels lie above the stated ones; the next one where no design meets them.
_SPARES: Final[tuple[float, ...]] = (1.96, 0.0)


def trade_off(searching: Searching) -> Proposal:
    """What two wishes come to."""
    space, stated, budget = searching.candidates.space, searching.question.levels, searching.budget
    record = searching.record(searching.sets[0], stated, stage="designs tried", total=budget)
    ask_and_tell(space, record, budget=budget, rng=searching.rng(), wishes=2)
    searching.searched = record.tried
    if not record.assessed.met.any():
        return nearest_miss(searching, record)
    for spare in _SPARES if searching.robust else (0.0,):
        levels = _raised(stated, spare)
        fine, curve = _sharpened(searching, record, levels)
        if curve:
            designs = _judged(searching, fine, curve, levels)
            best = _knee(searching, designs)
            present = present_beside(searching, best, searching.fresh(0))
            return searching.proposal(record, best=best, trade_off=designs, rounds=1, present=present)
    return nearest_miss(searching, fine)


def _sharpened(searching: Searching, record: Record, levels: FloatArray) -> tuple[Record, tuple[Tried, ...]]:
    """The curve on more scenarios with limits held to higher levels, from the designs of the search."""
    space = searching.candidates.space
    budget = max(_POLISH, _ITERATES * (space.continuous.size + 1))
    total = 2 * POINTS * budget
    fine = searching.record(searching.fine(_SETS), levels, stage="trade-off curve", total=total)
    met = record.assessed.met
    fine(record.designs[met][nondominated(record.assessed.wishes[met])])
    if not fine.assessed.met.any():  # the curve begins from what misses the raised levels least
        fine(record.designs[record.assessed.best_first()[:POINTS]])
    return fine, trade_off_curve(space, fine, budget=budget)


def _raised(stated: FloatArray, spare: float) -> FloatArray:
    """Inner levels above the stated ones by what the samples may be off."""
    spread = np.sqrt(stated * (1.0 - stated) * (1.0 / FRESH_POINTS + 1.0 / (_SETS * SCENARIOS)))
    return np.asarray(np.minimum(stated + spare * spread, 1.0 - 0.5 * (1.0 - stated)))


def _judged(
    searching: Searching, fine: Record, curve: Sequence[Tried], levels: FloatArray
) -> tuple[JudgedDesign, ...]:
    """The curve's designs on the same fresh points, by rising first wish."""
    fresh = searching.fresh(0)
    found = [judged(searching, built(searching, fine, tried), fresh, levels=levels) for tried in curve]
    return tuple(sorted(found, key=lambda design: float(design.wishes[0].expected)))


def _knee(searching: Searching, designs: Sequence[JudgedDesign]) -> JudgedDesign:
    """Where the curve bends most, among the designs that fresh points show to meet the limits if there are any."""
    good = [design for design in designs if design.verdict == MET] or list(designs)
    wishes = np.array([[float(wish.expected) for wish in design.wishes] for design in good])
    wishes *= searching.question.signs
    order = np.argsort(wishes[:, 0], kind="stable")
    return good[int(order[knee(wishes[order])])]
