"""Small matters of wording that several reports share."""

import math
from collections.abc import Callable, Sequence
from typing import Final, SupportsFloat

from explorer import registry, units
from explorer.analysis.scrambles import Estimate
from explorer.registry import Quantity
from explorer.study.limits import NOT_DECIDED, verdict

#: Most significant digits of a figure outside what is for a reviewer.
DIGITS: Final = 3

#: Decimal places and powers of ten beyond which an exponent reads better.
_MOST_PLACES: Final = 7
_LARGEST_EXPONENT: Final = 6

#: Of itself, what a figure that does not scatter is off by in the last of its bits.
_ROUNDING: Final = 1e-9

#: How the trade spells the words of statuses.
STATUS_WORDS: Final = {
    "ok": "solved",
    "no_contact": "no contact",
    "choked": "choked",
    "outside_table": "outside the gas table",
    "not_converged": "not converged",
    "not_fed": "not fed",
}


#: What shares at borders between regimes and shares of warnings leave out, wherever they are told.
AS_CALCULATED: Final = "as calculated, without the model's own error"


def listed(items: Sequence[str], last: str = "and") -> str:
    """Return items as a list in words: "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def fixed(value: SupportsFloat, places: int) -> str:
    """Return a number with so many decimal places, without a minus before a zero."""
    return f"{round(float(value), places) + 0.0:.{places}f}"


def opened(text: str) -> str:
    """Return a text that may open a sentence: its first letter a capital."""
    return f"{text[:1].upper()}{text[1:]}"


def the(words: str) -> str:
    """Return a quantity's words with their article, for the middle of a sentence: "the thrust gain"."""
    bare = words.startswith(("the ", "another ")) or ": " in words or " = " in words
    return words if bare else f"the {words}"


def opening(words: str) -> str:
    """Return a quantity's words where they open a sentence; those of a study's file, named first, stay as they are."""
    return words if ": " in words else opened(the(words))


def row_words(name: str) -> str:
    """Return how a sentence calls a row by its name: "magnetic field (scatter)" for "magnet.field (scatter)"."""
    address, bracket, part = name.partition(" (")
    return f"{registry.words_of(address)}{bracket}{part}"


def counted(number: int, singular: str, plural: str = "") -> str:
    """Return a number with its noun: "1 value", "3 values"."""
    return f"{number} {singular if number == 1 else plural or singular + 's'}"


def percent(share: float, digits: int = 2) -> str:
    """Return a share as per cent."""
    return f"{units.number_text(100 * share, digits)} %"


def with_uncertainty(
    quantity: Quantity, value: SupportsFloat, uncertainty: SupportsFloat, *, full: bool = False
) -> str:
    """Return a value with its standard uncertainty, both to the uncertainty's second digit: "0.049 ± 0.018 N".

    Of a value that has more than three digits then, the uncertainty's first is enough; in full it is never, and the
    unit is the quantity's own, as a column wants it.
    """
    value, uncertainty = float(value), float(uncertainty)
    quantity = quantity if full else quantity.readable(value, uncertainty)
    step = _in_shown_unit(quantity, uncertainty)
    if not step > 0:
        return quantity.shown(value, DIGITS)
    shown = units.from_si(value, quantity.unit, quantity.shown_unit)
    place = _exponent(step, 2) - 1 if full else _place(shown, step)
    return f"{_to_place(shown, place)} ± {_to_place(step, place)}{_unit(quantity)}"


def with_sampling(
    quantity: Quantity, spread: float | Estimate, error: float | None = None, *, full: bool = False
) -> str:
    """Return a standard uncertainty with the sampling error of this figure: "± 0.0160 N (sampling ± 0.0001 N)".

    An error below the third digit is left out, unless in full for a reviewer.
    """
    spread, error = _apart(spread, error)
    quantity = quantity if full else quantity.readable(spread)
    value, step = _in_shown_unit(quantity, spread), _in_shown_unit(quantity, error)
    unit = _unit(quantity)
    if not _counts(value, step, full=full):
        return f"± {units.number_text(value, DIGITS)}{unit}"
    return f"± {_fixed(value, step, 1)}{unit} (sampling ± {_fixed(step, step, 1)}{unit})"


def figure_with_sampling(
    quantity: Quantity,
    value: float | Estimate,
    error: float | None,
    spread: SupportsFloat,
    digits: int = DIGITS,
    *,
    full: bool = False,
    bare: bool = False,
) -> str:
    """Return a figure with its sampling error: "0.049 N (sampling ± 0.003 N)".

    An error below the third digit is left out, unless in full for a reviewer; bare is in the shown unit, without it.
    """
    value, error = _apart(value, error)
    quantity = quantity if full or bare else quantity.readable(value, float(spread))
    step, whole = _in_shown_unit(quantity, error), _in_shown_unit(quantity, spread)
    shown = units.from_si(value, quantity.unit, quantity.shown_unit)
    unit = "" if bare else _unit(quantity)
    if not whole > 0:
        return f"{units.number_text(shown, 4 if full else DIGITS)}{unit}"
    place = _exponent(whole, digits) + 1 - digits
    place = place if full else max(place, min(_exponent(shown, DIGITS) + 1 - DIGITS, _exponent(whole)))
    coarser = step > 0 and _exponent(step) > place
    text = _fixed(shown, step, 1) if coarser else _to_place(shown, place)
    if not _counts(shown, step, full=full):
        return f"{text}{unit}"
    least = 10.0 ** (_exponent(whole) - digits)  # of an error below a tenth of the last digit no more is said
    return f"{text}{unit} (sampling ± {_fixed(max(step, least), max(step, least), 1)}{unit})"


def plus_minus(quantity: Quantity, spread: SupportsFloat) -> str:
    """Return a standard uncertainty to its second digit: "± 0.73 mN"."""
    quantity = quantity.readable(float(spread))
    step = _in_shown_unit(quantity, spread)
    return f"± {_fixed(step, step, 2) if step > 0 else 0}{_unit(quantity)}"


def number_with_sampling(value: float, half_width: float) -> str:
    """Return a bare number with half of its 95 % sampling interval, as a table wants it: "5.4 (±0.2)"."""
    if not half_width > _ROUNDING * abs(value):
        return units.number_text(value, 3)
    return f"{_fixed(value, half_width, 1)} (±{_fixed(half_width, half_width, 1)})"


def shown_with_sampling(quantity: Quantity, figure: Estimate) -> str:
    """Return a figure in its shown unit, which stands elsewhere, with half of its 95 % sampling interval."""
    shown = units.from_si(float(figure), quantity.unit, quantity.shown_unit)
    return number_with_sampling(shown, _in_shown_unit(quantity, figure.half_width))


def percent_with_sampling(share: float | Estimate, error: float | None = None) -> str:
    """Return a share as per cent with its sampling error, to this error's first digit: "65.2 % (sampling ± 0.1 %)".

    An error below the third digit is left out.
    """
    share, error = _apart(share, error)
    if not _counts(share, error):
        return percent(share, DIGITS)
    return f"{_fixed(100 * share, 100 * error, 1)} % (sampling ± {_fixed(100 * error, 100 * error, 1)} %)"


def between(
    quantity: Quantity,
    low: SupportsFloat,
    high: SupportsFloat,
    spread: SupportsFloat,
    *,
    last: str = " and ",
    bare: bool = False,
) -> str:
    """Return two ends to the second digit of a standard uncertainty, their unit once: "0.023 and 0.095 N".

    Of ends that have more than three digits then, the uncertainty's first is enough; bare is in the shown unit, without
    it.
    """
    quantity = quantity if bare else quantity.readable(float(low), float(high))
    step = _in_shown_unit(quantity, spread)
    ends = [units.from_si(float(end), quantity.unit, quantity.shown_unit) for end in (low, high)]
    unit = "" if bare else _unit(quantity)
    if not step > 0:
        return f"{units.number_text(ends[0], DIGITS)}{last}{units.number_text(ends[1], DIGITS)}{unit}"
    place = _place(max(ends, key=abs), step)
    return f"{_to_place(ends[0], place)}{last}{_to_place(ends[1], place)}{unit}"


def requirement(quantity: Quantity, *, at_least: float | None, at_most: float | None) -> str:
    """Return what is required of a quantity: "at least 0.04 N"."""
    return bounds(quantity.shown, at_least=at_least, at_most=at_most)


def bounds(shown: Callable[[float], str], *, at_least: float | None, at_most: float | None) -> str:
    """Return bounds as they are shown: "at least 5 % and at most 10 %"."""
    both = (("least", at_least), ("most", at_most))
    return " and ".join(f"at {word} {shown(value)}" for word, value in both if value is not None)


def _apart(value: float | Estimate, error: float | None) -> tuple[float, float]:
    if isinstance(value, Estimate):
        return float(value), value.error
    return value, math.nan if error is None else error


def _in_shown_unit(quantity: Quantity, difference: SupportsFloat) -> float:
    """A difference in the shown unit, where an offset such as that of °C has no place."""
    origin = units.from_si(0.0, quantity.unit, quantity.shown_unit)
    return units.from_si(float(difference), quantity.unit, quantity.shown_unit) - origin


def _unit(quantity: Quantity) -> str:
    return "" if quantity.shown_unit in ("", "1") else f" {quantity.shown_unit}"


def _counts(value: float, error: float, *, full: bool = False) -> bool:
    """Whether a sampling error is told beside a value: in full if there is any, else if it moves a third digit."""
    return error > 0 and (full or value == 0 or _exponent(error) > _exponent(value, DIGITS) - DIGITS)


def _place(value: float, step: float) -> int:
    """The power of ten to which a value goes with its uncertainty: that one's second digit, or its own third."""
    own = _exponent(value, DIGITS) + 1 - DIGITS if value else _exponent(step)
    return max(_exponent(step, 2) - 1, min(own, _exponent(step)))


def _fixed(value: float, step: float, digits: int) -> str:
    """A value to the place of a step's last significant digit."""
    return _to_place(value, _exponent(step, digits) + 1 - digits)


def _to_place(value: float, place: int) -> str:
    """A value to a power of ten."""
    if -place > _MOST_PLACES or place >= _LARGEST_EXPONENT:
        return units.number_text(value, 4)
    return f"{round(value, -place) + 0.0:.{max(-place, 0)}f}"  # no minus before a zero


def _exponent(step: float, digits: int = 1) -> int:
    """The power of ten of a number's first digit, rounded to some digits."""
    return int(f"{step:.{digits - 1}e}".partition("e")[2])


def verdict_words(chance: Estimate, wanted: float, more: str) -> str:
    """Return whether a chance reaches what is wanted; where that isn't decided, what to ask for."""
    found = verdict(chance.interval, wanted)
    return f"{found}, the sampling error being too large; ask {more}" if found == NOT_DECIDED else found
