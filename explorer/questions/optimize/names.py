"""What a search for a design speaks of, as words: what is wished and limited, a design's values, chances, bounds."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer import registry
from explorer.analysis.search.chance_limits import ExactChance
from explorer.page.designs import event_words
from explorer.page.words import bounds, figure_with_sampling, listed, percent
from explorer.questions.optimize.search.candidates import Setting
from explorer.questions.optimize.search.proposal import JudgedDesign, JudgedLimit, JudgedWish, Proposal
from explorer.registry import CHANCE
from explorer.study.limits import MET, is_implied, stated_level
from explorer.study.shown import scale_of
from explorer.studyfile import Limit, Varied, Wish
from explorer.units import Scale, from_si

#: Digits to which a design is written: those of a dial or a drawing, and of the limits stated.
DIGITS: Final = 6

#: Most decimal places of a percentage.
_MOST_PLACES: Final = 2

#: Share from which on one place of its per cent is the third digit [-].
_TENTH: Final = 0.1

#: How far a trade-off curve must lie off a straight line for a knee to be named, over its width [-], and in standard
#: errors: 95 % for the largest of some seven designs between its ends.
_BENT: Final = 0.1
_SURE: Final = 2.7

_SIZES: Final = {"largest": "large", "smallest": "small"}


def setting_text(address: str, value: float | str) -> str:
    """Return what stands at a varied address: "12.4 mm", or its word."""
    return value if isinstance(value, str) else scale_of(address).text(value, DIGITS)


def setting_words(setting: Setting) -> str:
    """Return a design in words: "magnetic field 0.62 T and gap at the inlet 12.4 mm"."""
    return listed(
        [f"{registry.words_of(address)} {setting_text(address, value)}" for address, value in setting.items()]
    )


def range_text(item: Varied) -> str:
    """Return within what an address is varied: "9 … 14 mm", or what is in stock."""
    if item.low is None or item.high is None:
        return ", ".join(setting_text(item.address, value) for value in item.values)
    return registry.quantity(item.address).scale.span(item.low, item.high, DIGITS).replace(" and ", " … ")


def wanted_words(quantity: str) -> str:
    """Return how a sentence calls what is wanted: "thrust gain", "chance of an arc"."""
    return registry.quantity(quantity).words if quantity.startswith(CHANCE) else registry.words_of(quantity)


def wish_words(wish: Wish) -> str:
    """Return a wish: "thrust gain as large as possible"."""
    return f"{wanted_words(wish.quantity)} as {_SIZES[wish.make]} as possible"


def wished(wishes: Sequence[Wish]) -> str:
    """Return what is wished for: "thrust gain and electrical power"."""
    return listed([wanted_words(wish.quantity) for wish in wishes])


def quantities_of(found: Proposal) -> tuple[str, ...]:
    """Return what is wished and limited, chances of limits left out."""
    limited = [limit.quantity for limit in found.limits if limit.event is None]
    return tuple(dict.fromkeys([*(wish.quantity for wish in found.wishes), *limited]))


def expectation_text(judged: JudgedWish) -> str:
    """Return what is expected of a wished quantity, with its sampling error."""
    return figure_with_sampling(registry.quantity(judged.wish.quantity), judged.expected, None, judged.spread)


def limit_words(limit: Limit) -> str:
    """Return what a limit asks, its chance left out: "current at most 50 A", "constricted in at most 10 %"."""
    within = " in" if limit.event is not None and not is_implied(limit) else ""
    return f"{event_name(limit)}{within} {_bounds(limit)}"


def limit_key(limit: Limit) -> str:
    """Return a limit as the head of a file's column: "thrust_gain at least 0.04 N"."""
    return f"{event_name(limit) if is_implied(limit) else limit.quantity} {_bounds(limit)}"


def limit_head(limit: Limit) -> str:
    """Return what a limit is called beside what is asked of it: "current at most 50 A", "constricted"."""
    return limit_words(limit) if limit.event is None else event_name(limit)


def event_name(limit: Limit) -> str:
    """Return what a limit is about."""
    if is_implied(limit):
        return "points with a number"
    return registry.words_of(limit.quantity) if limit.event is None else event_words(limit.event)


def _bounds(limit: Limit) -> str:
    return bounds(lambda value: bound_text(limit, value), at_least=limit.at_least, at_most=limit.at_most)


def bound_text(limit: Limit, value: float) -> str:
    """Return a bound of a limit with its unit: "55 A", "12 %"."""
    return percent(value, 4) if limit.event is not None else scale_of(limit.quantity).text(value)


def asked_text(limit: Limit) -> str:
    """Return the chance with which a limit shall hold: "90 %"; of a chance the share itself: "at most 10 %".

    Where the study names none it is said to be assumed.
    """
    text = percent(stated_level(limit), 4) if limit.event is None else _bounds(limit)
    assumed = is_implied(limit) or (limit.event is None and limit.chance_origin == "assumed")
    return f"{text} (assumed)" if assumed else text


def chance_text(chance: ExactChance) -> str:
    """Return a chance with the exact 95 % interval of its sampling: "93.1 % (92.7 … 93.5 %)"."""
    half = 50 * (chance.high - chance.low)
    most = _MOST_PLACES if chance.share < _TENTH else 1
    places = min(max(math.ceil(-math.log10(half)), 0), most) if half > 0 else 0
    each = (f"{100 * x:.{places}f}" for x in (chance.share, chance.low, chance.high))
    share, low, high = (text.replace("100.0", "100") for text in each)
    return f"{share} %" if low == high else f"{share} % ({low} … {high} %)"


def central_text(judged: JudgedLimit) -> str:
    """Return what central values show of a limit: the quantity's value, or whether a status or a warning is there."""
    if judged.limit.event is None:
        return scale_of(judged.limit.quantity).spoken(judged.quantile)
    return "there" if judged.chance.share > 0 else "not there"


def stated(design: JudgedDesign) -> tuple[JudgedLimit, ...]:
    """Return the limits of a design that are worth a sentence: those stated, and the implied one where it isn't met."""
    return tuple(j for j in design.limits if not is_implied(j.limit) or j.verdict != MET)


def all_at_once(design: JudgedDesign) -> str | None:
    """Return the chance that all limits on results hold at once; None where there aren't several."""
    several = sum(judged.limit.event is None for judged in stated(design)) > 1
    return chance_text(design.together) if several else None


def in_shown_unit(scale: Scale, values: ArrayLike, *, difference: bool = False) -> NDArray[np.float64]:
    """Return values [SI] in the unit in which they are shown; a difference has no part of an offset."""
    origin = from_si(0.0, scale.unit, scale.shown_unit) if difference else 0.0
    return np.asarray(from_si(np.asarray(values, dtype=np.float64), scale.unit, scale.shown_unit) - origin)


def bends(found: Proposal) -> bool:
    """Return whether a trade-off curve lies off the straight line between its ends, beyond its sampling errors."""
    if not found.trade_off:
        return False
    wishes = np.array([[float(wish.expected) for wish in design.wishes] for design in found.trade_off])
    errors = np.array([[wish.expected.error for wish in design.wishes] for design in found.trade_off])
    widths = wishes[-1] - wishes[0]
    if not np.all(widths):
        return False
    places = (wishes - wishes[0]) / widths
    off = np.abs(places[:, 0] - places[:, 1])
    sampling = np.hypot(*(errors / np.abs(widths)).T)
    most = int(np.argmax(off))
    return bool(off[most] >= _BENT and off[most] > _SURE * np.nan_to_num(sampling[most]))
