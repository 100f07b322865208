"""What a search for a design speaks of, as words: what is wished and limited, a design's values, chances, verdicts."""

import math
from typing import Final

from explorer import registry, units
from explorer.page.words import figure_with_sampling, listed, percent, requirement
from explorer.questions.optimize.search.candidates import Setting
from explorer.questions.optimize.search.proposal import ExactChance, JudgedDesign, JudgedLimit, JudgedWish
from explorer.study.limits import is_implied, stated_level
from explorer.studyfile import Limit, Varied, Wish

#: Digits to which a design is written: those of a dial or a drawing, and of the limits stated.
DIGITS: Final = 6

#: Widths of a 95 % interval in standard uncertainties of a normal quantity.
_WIDTH: Final = 3.92

#: Most decimal places of a percentage.
_MOST_PLACES: Final = 2

_SIZES: Final = {"largest": "large", "smallest": "small"}


def setting_text(address: str, value: float | str) -> str:
    """Return what stands at a varied address: "12.4 mm", or its word."""
    return value if isinstance(value, str) else registry.quantity(address).shown(value, DIGITS)


def setting_words(setting: Setting) -> str:
    """Return a design in words: "magnet.field 0.62 T and channel.gap_in 12.4 mm"."""
    return listed([f"{address} {setting_text(address, value)}" for address, value in setting.items()])


def range_text(item: Varied) -> str:
    """Return within what an address is varied: "9 … 14 mm", or what is in stock."""
    if item.low is None or item.high is None:
        return ", ".join(setting_text(item.address, value) for value in item.values)
    return registry.quantity(item.address).scale.span(item.low, item.high, DIGITS).replace(" and ", " … ")


def wish_words(wish: Wish) -> str:
    """Return a wish: "thrust_gain as large as possible"."""
    return f"{wish.quantity} as {_SIZES[wish.make]} as possible"


def expectation_text(judged: JudgedWish) -> str:
    """Return what is expected of a wished quantity, with its sampling error."""
    quantity = registry.quantity(judged.wish.quantity)
    return figure_with_sampling(quantity, judged.expected, judged.standard_error, spread_of(judged))


def spread_of(judged: JudgedWish) -> float:
    """Standard uncertainty of a wished quantity, as its 95 % interval tells it [SI]; 0 at central values."""
    return (judged.high - judged.low) / _WIDTH


def limit_words(limit: Limit) -> str:
    """Return what a limit asks, its chance left out: "current at most 50 A", "chance.constricted at most 10 %"."""
    if limit.event is None:
        bounds = requirement(
            registry.quantity(limit.quantity), at_least=limit.at_least, at_most=limit.at_most
        )
        return f"{limit.quantity} {bounds}"
    return f"{event_name(limit)} {_shares(limit)}"


def limit_head(limit: Limit) -> str:
    """Return what a limit is called beside what is asked of it: "current at most 50 A", "chance.constricted"."""
    return limit_words(limit) if limit.event is None else event_name(limit)


def event_name(limit: Limit) -> str:
    """Return what a limit on a chance is about."""
    return "points with a number" if is_implied(limit) else limit.quantity


def _shares(limit: Limit) -> str:
    """The bounds of a limit on a chance: "at most 10 %"."""
    bounds = (("least", limit.at_least), ("most", limit.at_most))
    return " and ".join(f"at {word} {percent(share, 4)}" for word, share in bounds if share is not None)


def bound_text(limit: Limit, value: float) -> str:
    """Return a bound of a limit with its unit: "55 A", "12 %"."""
    if limit.event is not None:
        return percent(value, 4)
    return registry.quantity(limit.quantity).shown(value)


def asked_text(limit: Limit) -> str:
    """Return the chance with which a limit shall hold: "90 %"; of a chance the share itself: "at most 10 %".

    Where the study names none it is said to be assumed.
    """
    text = percent(stated_level(limit), 4) if limit.event is None else _shares(limit)
    assumed = is_implied(limit) or (limit.event is None and limit.chance_origin == "assumed")
    return f"{text} (assumed)" if assumed else text


def chance_text(chance: ExactChance) -> str:
    """Return a chance with the exact 95 % interval of its sampling: "93.1 % (92.7 … 93.5 %)"."""
    places = _places(chance)
    share, low, high = (f"{100 * x:.{places}f}" for x in (chance.share, chance.low, chance.high))
    return f"{share} % ({low} … {high} %)"


def _places(chance: ExactChance) -> int:
    """Decimal places of a percentage that its sampling error leaves."""
    half = 50 * (chance.high - chance.low)
    return min(max(math.ceil(-math.log10(half)), 0), _MOST_PLACES) if half > 0 else 0


def stated(design: JudgedDesign) -> tuple[JudgedLimit, ...]:
    """Return the limits of a design that are worth a sentence: those stated, and the implied one where it isn't met."""
    return tuple(j for j in design.limits if not is_implied(j.limit) or j.verdict != "met")


def in_shown_unit(address: str, value: float) -> float:
    """Return a value in the unit in which its quantity is shown."""
    quantity = registry.quantity(address)
    return float(units.from_si(value, quantity.unit, quantity.shown_unit))


def shown_unit(address: str) -> str:
    """Return the unit in which a quantity is shown, in brackets with a space before; empty for words and numbers."""
    try:
        unit = registry.quantity(address).shown_unit
    except registry.UnknownAddressError:  # a choice of words
        return ""
    return "" if unit in ("", "1") else f" [{unit}]"
