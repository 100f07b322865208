"""What stands in the way of a design: limits that hold it back, ends of ranges, limits that can't hold together."""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from explorer import registry
from explorer.page.words import figure_with_sampling, percent, plus_minus
from explorer.questions.optimize.names import bound_text, limit_words, setting_text
from explorer.questions.optimize.search.proposal import (
    Change,
    JudgedDesign,
    NearestMiss,
    Proposal,
    Relaxation,
)
from explorer.studyfile import Limit, Varied

#: Share of a range within which a rounded value stands at its end [-].
_AT_END: Final = 0.002

#: How far from the end of a range a nearly equal design shows that little hangs on it [-].
_FAR: Final = 0.25

#: Standard errors from which on a difference stands out of the sampling error.
STANDS_OUT: Final = 2.0


def holds_back_words(found: Proposal) -> tuple[str, ...]:
    """Return which limits and which ends of ranges hold the proposal back, and what a tenth of a limit would gain."""
    if found.best is None:
        raise ValueError("without a proposal nothing holds it back")
    told = [
        *(relaxation_words(found, relaxation) for relaxation in found.relaxations),
        *_active_without_gain(found, found.best),
        *end_words(found, found.best),
    ]
    return tuple(told) or ("No limit and no end of a range holds the proposal back.",)


def relaxation_words(found: Proposal, relaxation: Relaxation) -> str:
    """Return what relaxing a limit by a tenth would gain."""
    wish, limit = found.wishes[0], relaxation.limit
    head = f"{limit_words(limit)} holds the design back. Relaxed by a tenth, to {bound_text(limit, relaxation.relaxed)}"
    quantity, gain, error = registry.quantity(wish.quantity), relaxation.gain, relaxation.standard_error
    if np.isnan(gain):
        return f"{head}: what that would gain did not come out."
    if error > 0.0 and not gain > STANDS_OUT * error:
        return f"{head}, it would gain nothing that stands out of the sampling error ({plus_minus(quantity, error)})."
    if not gain > 0.0:
        return f"{head}, it would gain nothing."
    which = "larger" if wish.make == "largest" else "smaller"
    if not error > 0.0:
        unknown = " (sampling error not known)" if np.isnan(error) else ""
        return f"{head}, {wish.quantity} would be {which} by {quantity.scale.difference(gain, 2)}{unknown}."
    return f"{head}, {wish.quantity} would be {which} by {figure_with_sampling(quantity, gain, error, gain)}."


def _active_without_gain(found: Proposal, best: JudgedDesign) -> Iterator[str]:
    told = [relaxation.limit for relaxation in found.relaxations]
    for judged in best.limits:
        if judged.active and judged.limit not in told:
            yield f"{limit_words(judged.limit)} holds the design back."


def end_words(found: Proposal, best: JudgedDesign) -> Iterator[str]:
    """Yield a sentence for each varied number that stands at the end of its range or of what is in stock."""
    for item in found.varied:
        value = best.setting[item.address]
        if isinstance(value, str) or (end := end_of(item, value)) is None:
            continue
        shown = setting_text(item.address, value)
        away = _far_off(item, value, [design.setting[item.address] for design in found.near_equal])
        if end in ("lower", "upper"):
            head = f"{item.address} stands at the {end} end of its range, {shown}"
        else:
            head = f"{item.address} is the {end} in stock, {shown}"
        if away is not None:
            other = setting_text(item.address, away)
            yield f"{head}; but {other} is nearly as good, so that little hangs on it."
        elif end in ("lower", "upper"):
            yield f"{head}: widen it to see whether more is to be had."
        else:
            yield f"{head}: list {'larger' if end == 'largest' else 'smaller'} ones to see whether more is to be had."


def _far_off(item: Varied, value: float, others: Sequence[float | str]) -> float | None:
    """A value of another design that lies far off in the range or is another entry; None where there is none."""
    least = 0.0 if item.low is None or item.high is None else _FAR * (item.high - item.low)
    return next((x for x in others if not isinstance(x, str) and abs(x - value) > least), None)


def end_of(item: Varied, value: float) -> str | None:
    """Return at which end of its range or stock a number stands: "lower", "upper", "smallest", "largest", or None."""
    if item.low is not None and item.high is not None:
        room = _AT_END * (item.high - item.low)
        return "lower" if value <= item.low + room else "upper" if value >= item.high - room else None
    numbers = [float(entry) for entry in item.values]
    if len(numbers) < 2:
        return None
    return "smallest" if value <= min(numbers) else "largest" if value >= max(numbers) else None


def conflict_words(miss: NearestMiss) -> str:
    """Return which limits can't hold together."""
    names = [limit_words(limit) for limit in miss.conflict]
    if not names:
        return "Which limits exclude each other did not come out: raise --budget."
    if len(names) == 1:
        return f"Even alone, this limit can't be met within the ranges: {names[0]}."
    return f"Within the ranges these can't hold together: {'; '.join(names)}."


def shortfall_words(miss: NearestMiss) -> str:
    """Return by how much the nearest miss misses."""
    return f"Its worst limit misses by {_share(miss.shortfall)}."


def _share(shortfall: float) -> str:
    """A shortfall: of a bound, or of a chance its points of a hundred, which is the same number."""
    return f"{percent(shortfall)} of its bound"


def change_words(found: Proposal, change: Change) -> str:
    """Return a change and what would still be missing after it."""
    return f"{change_text(found, change)} ({left_text(change)})"


def left_text(change: Change) -> str:
    """Return what would still be missing after a change."""
    if change.shortfall <= 0.0:
        return "then a design meets all limits"
    return f"then the worst limit still misses by {_share(change.shortfall)}"


def change_text(found: Proposal, change: Change) -> str:
    """Return a change: "relax current at most 50 A to 55 A", "widen channel.gap_in to 24 mm"."""
    if change.what == "range":
        to = setting_text(change.address, change.to)
        listed = any(item.address == change.address and item.values for item in found.varied)
        return f"list {to} for {change.address} too" if listed else f"widen {change.address} to {to}"
    limit = _limit(found, change)
    if np.isnan(change.to):
        return f"drop the limit {limit_words(limit)}"
    return f"relax {limit_words(limit)} to {bound_text(limit, change.to)}"


def _limit(found: Proposal, change: Change) -> Limit:
    """The limit that a change is of; of several on one quantity the one that it relaxes."""
    own = [limit for limit in found.limits if limit.quantity == change.address]
    for limit in own:
        lower = limit.at_least is not None and change.to < limit.at_least
        if lower or (limit.at_most is not None and change.to > limit.at_most):
            return limit
    return own[0]
