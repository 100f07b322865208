"""Where no design meets all limits: the one that misses least, which limits conflict, and what would help."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from explorer.analysis.search.design_space import DesignSpace, Record, Tried
from explorer.analysis.search.shortfall import least_shortfall, shortfall
from explorer.questions.optimize.search.candidates import CENTRAL
from explorer.questions.optimize.search.judging import built, judged, present_beside
from explorer.questions.optimize.search.proposal import Change, NearestMiss, Proposal
from explorer.questions.optimize.search.question import quantities_asked
from explorer.questions.optimize.search.searching import Searching
from explorer.study.limits import is_implied
from explorer.study.outcomes import NoNumbers

#: Share of a range by which widening it is tried [-].
_WIDENED: Final[float] = 0.1

#: Share of a range from its end within which a design stands there [-].
_AT_END: Final[float] = 0.01

#: Shortfall within which limits count as tied at the nearest miss [-].
_TIED: Final[float] = 0.02

#: Designs at which it is looked whether what is asked has numbers.
_LOOKED_AT: Final[int] = 64

#: Designs of one descent.
_DESCENT: Final[int] = 120


def nearest_miss(searching: Searching, record: Record) -> Proposal:
    """What is said where a search found no design that meets all limits."""
    searching.candidates.refuse_if_none_possible(record.designs[:_LOOKED_AT])
    _refuse_without_numbers(searching, record)
    limits = searching.question.limits
    every = range(len(limits))
    nearest = least_shortfall(searching.candidates.space, record, every, budget=_DESCENT)
    worst = nearest.largest_shortfall
    tied = [k for k in every if -nearest.margins[k] > worst - max(_TIED, 0.1 * worst)]
    changes = [_relaxed_alone(searching, record, k) for k in tied if not is_implied(limits[k])]
    changes += [(_WIDENED, change) for change in _widened(searching, record, nearest)]
    changes.sort(key=lambda sized: (sized[1].shortfall, sized[0]))
    fresh = searching.fresh(0)
    design = judged(
        searching,
        built(searching, record, nearest),
        fresh,
        levels=searching.question.levels,
        active=[k in tied for k in every],
    )
    return searching.proposal(
        record,
        present=present_beside(searching, design, fresh),
        miss=NearestMiss(
            design=design,
            shortfall=worst,
            conflict=tuple(limits[k] for k in tied),
            changes=tuple(change for _, change in changes),
        ),
    )


def _refuse_without_numbers(searching: Searching, record: Record) -> None:
    """Refuse a quantity that has no number at central values of any of the designs looked at."""
    designs = record.designs[:_LOOKED_AT]
    found = searching.candidates.evaluate(designs, CENTRAL).quantities
    study, question = searching.candidates.study, searching.question
    for quantity in quantities_asked(question.wishes, question.limits, study.pairs if study else ()):
        if not np.isfinite(found[quantity]).any():
            raise NoNumbers(
                f"{quantity} has no number at any of {len(designs)} designs tried, so that it can be neither wanted"
                f" nor limited here: `mhdstage explain {quantity}` says what it is made of"
            )


def _relaxed_alone(searching: Searching, record: Record, place: int) -> tuple[float, Change]:
    """The bound of one limit that a design could keep to which meets all others, or what these would miss.

    Beside it how far the limit gives way, over what its margin is measured by [-].
    """
    limit, scale = searching.question.limits[place], searching.question.scales[place]
    others = [k for k in range(len(searching.question.limits)) if k != place]
    end = least_shortfall(searching.candidates.space, record, [place], hard=others, budget=_DESCENT)
    margin = scale * float(end.margins[place])
    to = limit.at_least + margin if limit.at_least is not None else float(limit.at_most or 0.0) - margin
    left = max(float(shortfall(end.margins[None, :], others)[0]), 0.0)
    bounds = [bound for bound in (limit.at_least, limit.at_most) if bound is not None]
    return min(abs(to - bound) for bound in bounds) / scale, Change(limit, to, left)


def _widened(searching: Searching, record: Record, nearest: Tried) -> Iterator[Change]:
    """What would be missing if the ranges at whose ends the nearest miss stands were wider by a tenth."""
    space = searching.candidates.space
    for i in space.continuous:
        variable = space.variables[i]
        at = space.unit(nearest.values)[i]
        if _AT_END < at < 1.0 - _AT_END:
            continue
        reach = _WIDENED * (variable.high - variable.low)
        to = variable.low - reach if at < 0.5 else variable.high + reach
        if to <= 0.0 < variable.low:
            continue
        there = nearest.values.copy()
        there[i] = to
        if not searching.candidates.possible(there):
            continue
        wider = replace(variable, low=min(to, variable.low), high=max(to, variable.high))
        variables = (*space.variables[:i], wider, *space.variables[i + 1 :])
        every = range(len(searching.question.limits))
        outside = searching.beside(record)  # for what was tried stays within the ranges
        outside(nearest.values[None, :])
        left = least_shortfall(DesignSpace(variables), outside, every, budget=_DESCENT, start=nearest.values)
        yield Change(searching.candidates.varied[i], to, left.largest_shortfall)
