"""What stands in the way of a design: limits that hold it back, ends of ranges, limits that can't hold together."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from explorer import registry
from explorer.page.words import figure_with_sampling, opened, percent, plus_minus
from explorer.questions.optimize.names import bound_text, limit_words, setting_text, wanted_words
from explorer.questions.optimize.search.proposal import (
    Change,
    JudgedDesign,
    NearestMiss,
    Proposal,
    Relaxation,
)
from explorer.studyfile import Limit, Varied, Wish

#: Share of a range within which a rounded value stands at its end [-].
_AT_END: Final = 0.002

#: How far from the end of a range a nearly equal design shows that it matters little [-].
_FAR: Final = 0.25

#: Standard errors from which on a difference stands out of the sampling error.
STANDS_OUT: Final = 2.0


def holds_back_words(found: Proposal) -> tuple[str, ...]:
    """Return which limits and which ends of ranges hold the proposal back, and what a tenth of a limit would gain."""
    relaxed = [relaxation.limit for relaxation in found.relaxations]
    told = [
        *(_relaxed(found.wishes[0], relaxation) for relaxation in found.relaxations),
        *(_held_back(j.limit) for j in found.told.limits if j.active and j.limit not in relaxed),
        *_ends(found, found.told),
    ]
    return tuple(told) or ("No limit and no end of a range holds the proposal back.",)


def _held_back(limit: Limit) -> str:
    return f"{opened(limit_words(limit))} holds the design back."


def _relaxed(wish: Wish, relaxation: Relaxation) -> str:
    """What relaxing a limit by a tenth would gain."""
    limit, estimate = relaxation.limit, relaxation.gain
    quantity, gain, error = registry.quantity(wish.quantity), float(estimate), estimate.error
    head = f"{_held_back(limit)} Relaxed by a tenth, to {bound_text(limit, relaxation.relaxed)}"
    if np.isnan(gain):
        return f"{head}: what that would gain did not come out."
    if error > 0.0 and not gain > STANDS_OUT * error:
        return f"{head}, it would gain nothing that stands out of the sampling error ({plus_minus(quantity, error)})."
    if not gain > 0.0:
        return f"{head}, it would gain nothing."
    if error > 0.0:
        by = figure_with_sampling(quantity, estimate, None, gain)
    else:
        by = quantity.scale.difference(gain, 2) + (" (sampling error not known)" if np.isnan(error) else "")
    return (
        f"{head}, the {wanted_words(wish.quantity)} would be"
        f" {'larger' if wish.make == 'largest' else 'smaller'} by {by}."
    )


def _ends(found: Proposal, best: JudgedDesign) -> Iterator[str]:
    """A sentence for each varied number that stands at the end of its range or of what is in stock."""
    for item in found.varied:
        value = best.setting[item.address]
        if isinstance(value, str) or (end := _end(item, value)) is None:
            continue
        shown, listed = setting_text(item.address, value), bool(item.values)
        head = (
            f"is the {end} in stock, {shown}" if listed else f"stands at the {end} end of its range, {shown}"
        )
        away = _far_off(found, item, value)
        if away is not None:
            tail = f"; but {setting_text(item.address, away)} is nearly as good, so that it matters little."
        else:
            more = f"list {'larger' if end == 'largest' else 'smaller'} ones" if listed else "widen it"
            tail = f": {more} to see whether more is to be had."
        yield f"{opened(registry.words_of(item.address))} {head}{tail}"


def _end(item: Varied, value: float) -> str | None:
    """At which end of its range or stock a number stands: "lower", "upper", "smallest", "largest", or None."""
    if item.low is not None and item.high is not None:
        room = _AT_END * (item.high - item.low)
        return "lower" if value <= item.low + room else "upper" if value >= item.high - room else None
    numbers = [float(entry) for entry in item.values]
    if len(numbers) < 2:
        return None
    return "smallest" if value <= min(numbers) else "largest" if value >= max(numbers) else None


def _far_off(found: Proposal, item: Varied, value: float) -> float | None:
    """A nearly equal design's value that lies far off in the range or is another entry; None where there is none."""
    least = 0.0 if item.low is None or item.high is None else _FAR * (item.high - item.low)
    others = (design.setting[item.address] for design in found.near_equal)
    return next((x for x in others if not isinstance(x, str) and abs(x - value) > least), None)


def conflict_words(miss: NearestMiss) -> str:
    """Return which limits can't hold together."""
    names = [limit_words(limit) for limit in miss.conflict]
    if not names:
        return "Which limits exclude each other did not come out: raise --budget."
    if len(names) == 1:
        return f"Even alone, this limit can't be met within the ranges: {names[0]}."
    return f"Within the ranges these can't hold together: {'; '.join(names)}."


def shortfall_words(miss: NearestMiss) -> str:
    """Return by how much the nearest miss misses: of a bound, or of a chance, where it is the same number."""
    return f"Its worst limit misses by {percent(miss.shortfall)} of its bound."


def change_words(change: Change) -> str:
    """Return a change and what would still be missing after it."""
    return f"{change_text(change)} ({left_text(change)})"


def left_text(change: Change) -> str:
    """Return what would still be missing after a change."""
    if change.shortfall <= 0.0:
        return "then a design meets all limits"
    return f"then the worst limit still misses by {percent(change.shortfall)} of its bound"


def change_text(change: Change) -> str:
    """Return a change: "relax current at most 50 A to 55 A", "widen gap at the inlet to 24 mm"."""
    if isinstance(change.of, Varied):
        return f"widen {registry.words_of(change.of.address)} to {setting_text(change.of.address, change.to)}"
    return f"relax {limit_words(change.of)} to {bound_text(change.of, change.to)}"
