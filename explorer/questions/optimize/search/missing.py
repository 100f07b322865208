"""Where no design meets all limits: the one that misses least, which limits conflict, and what would help."""

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.design_space import DesignSpace, Record, Tried
from explorer.analysis.search.shortfall import least_shortfall, shortfall
from explorer.questions.optimize.search.candidates import Scenarios
from explorer.questions.optimize.search.proposal import Change, NearestMiss
from explorer.questions.optimize.search.searching import Searching, rounded, seen_by_search
from explorer.study.limits import WITH_NUMBER
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Limit

FloatArray = NDArray[np.float64]

#: Share of a range by which widening it is tried [-].
_WIDENED: Final[float] = 0.1

#: Shortfall within which limits count as tied at the nearest miss [-].
_TIED: Final[float] = 0.02

#: Designs at which it is looked whether what is asked has numbers.
_LOOKED_AT: Final[int] = 64

#: Designs of one descent.
_DESCENT: Final[int] = 120


def missed(searching: Searching, record: Record) -> NearestMiss:
    """What is said where a search found no design that meets all limits."""
    _refuse_without_numbers(searching, record)
    space, limits = searching.candidates.space, searching.question.limits
    every = list(range(len(limits)))
    nearest = least_shortfall(space, record, every, budget=_DESCENT)
    worst = nearest.largest_shortfall
    tied = [k for k in every if -nearest.margins[k] > worst - max(_TIED, 0.1 * worst)]
    changes = [_relaxed_alone(searching, record, k) for k in tied if limits[k] is not WITH_NUMBER]
    changes += _widened(searching, record, nearest)
    design = rounded(nearest.values, searching.candidates)
    judged = searching.judge(0).judged(
        design,
        levels=searching.question.levels,
        by_search=seen_by_search(searching.question, nearest),
        active=[k in tied for k in every],
    )
    return NearestMiss(
        design=judged,
        shortfall=worst,
        conflict=tuple(limits[k] for k in tied),
        changes=tuple(sorted(changes, key=lambda change: (change.shortfall, _size(searching, change)))),
    )


def _refuse_without_numbers(searching: Searching, record: Record) -> None:
    """Refuse a quantity that has no number at central values of any of the designs looked at."""
    designs = record.designs[:_LOOKED_AT]
    found = searching.candidates.evaluate(designs, Scenarios("central", None))
    for quantity, values in found.quantities.items():
        if not np.isfinite(values).any():
            raise NoNumbers(
                f"{quantity} has no number at any of {len(designs)} designs tried, so that it can be neither wanted"
                f" nor limited here: `mhdstage explain {quantity}` says what it is made of"
            )


def _relaxed_alone(searching: Searching, record: Record, limit: int) -> Change:
    """The bound of one limit that a design could keep to which meets all others, or what these would miss."""
    others = [k for k in range(len(searching.question.limits)) if k != limit]
    end = least_shortfall(searching.candidates.space, record, [limit], hard=others, budget=_DESCENT)
    stated = searching.question.limits[limit]
    bound = _bound_after(stated, searching.question.scales[limit] * float(end.margins[limit]))
    left = max(float(shortfall(end.margins[None, :], others)[0]), 0.0)
    return Change("limit", stated.quantity, bound, left)


def _size(searching: Searching, change: Change) -> float:
    """How far a limit would have to give way, over what its margin is measured by [-]; of a range a tenth."""
    if change.what == "range":
        return _WIDENED
    limits, scales = searching.question.limits, searching.question.scales
    return min(
        abs(change.to - float(bound)) / scale
        for limit, scale in zip(limits, scales, strict=True)
        for bound in (limit.at_least, limit.at_most)
        if limit.quantity == change.address and bound is not None
    )


def _bound_after(limit: Limit, margin: float) -> float:
    """The bound that a design with this margin (negative: a shortfall) would meet [SI]."""
    if limit.at_least is not None:
        return limit.at_least + margin
    return float(limit.at_most or 0.0) - margin


def _widened(searching: Searching, record: Record, nearest: Tried) -> list[Change]:
    """What would be missing if the ranges at whose ends the nearest miss stands were wider by a tenth."""
    space = searching.candidates.space
    changes = []
    for i in space.continuous:
        variable = space.variables[i]
        reach = _WIDENED * (variable.high - variable.low)
        at = (nearest.values[i] - variable.low) / (variable.high - variable.low)
        if 0.01 < at < 0.99:
            continue
        low, high = (
            (variable.low - reach, variable.high) if at < 0.5 else (variable.low, variable.high + reach)
        )
        if low <= 0.0 < variable.low:
            continue
        variables = list(space.variables)
        variables[i] = replace(variable, low=low, high=high)
        wider = DesignSpace(tuple(variables))
        left = least_shortfall(
            wider, record, list(range(len(searching.question.limits))), budget=_DESCENT, start=nearest.values
        )
        changes.append(Change("range", variable.name, low if at < 0.5 else high, left.largest_shortfall))
    return changes
