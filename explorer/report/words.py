"""Small matters of wording that several reports share."""

from collections.abc import Sequence
from typing import Final

from explorer import units
from explorer.registry import Quantity

#: Decimal places and powers of ten beyond which an exponent reads better.
_MOST_PLACES: Final = 7
_LARGEST_EXPONENT: Final = 6

#: How the trade spells the words of statuses.
STATUS_WORDS: Final = {
    "ok": "solved",
    "no_contact": "no contact",
    "choked": "choked",
    "outside_table": "outside the gas table",
    "not_converged": "not converged",
}


def listed(items: Sequence[str], last: str = "and") -> str:
    """Return items as a list in words: "a, b and c".

    Parameters
    ----------
    items : sequence of str
        What is listed.
    last : str
        Word before the last item.
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def counted(number: int, singular: str, plural: str = "") -> str:
    """Return a number with its noun: "1 value", "3 values".

    Parameters
    ----------
    number : int
        [-]
    singular, plural : str
        The noun; an s makes the plural where none is given.
    """
    return f"{number} {singular if number == 1 else plural or singular + 's'}"


def percent(share: float, digits: int = 2) -> str:
    """Return a share as per cent.

    Parameters
    ----------
    share : float
        [-]
    digits : int
        [-] significant ones.
    """
    return f"{units.number_text(100 * share, digits)} %"


def with_uncertainty(quantity: Quantity, value: float, uncertainty: float) -> str:
    """Return a value with its standard uncertainty, both to the uncertainty's second digit: "0.049 ± 0.018 N".

    Parameters
    ----------
    quantity : Quantity
        What it is of.
    value, uncertainty : float
        [SI]
    """
    step = _in_shown_unit(quantity, uncertainty)
    if not step > 0:
        return quantity.shown(value)
    shown = units.from_si(value, quantity.unit, quantity.shown_unit)
    return f"{_fixed(shown, step, 2)} ± {_fixed(step, step, 2)}{_unit(quantity)}"


def with_sampling(quantity: Quantity, spread: float, error: float) -> str:
    """Return a standard uncertainty with the sampling error of this figure: "± 0.0160 N (sampling ± 0.0001 N)".

    Parameters
    ----------
    quantity : Quantity
        What it is of.
    spread, error : float
        [SI] the error one standard error.
    """
    value, step = _in_shown_unit(quantity, spread), _in_shown_unit(quantity, error)
    unit = _unit(quantity)
    if not step > 0:
        return f"± {units.number_text(value, 3)}{unit}"
    return f"± {_fixed(value, step, 1)}{unit} (sampling ± {_fixed(step, step, 1)}{unit})"


def _in_shown_unit(quantity: Quantity, difference: float) -> float:
    """A difference in the shown unit, where an offset such as that of °C has no place."""
    origin = units.from_si(0.0, quantity.unit, quantity.shown_unit)
    return units.from_si(difference, quantity.unit, quantity.shown_unit) - origin


def _unit(quantity: Quantity) -> str:
    return "" if quantity.shown_unit in ("", "1") else f" {quantity.shown_unit}"


def _fixed(value: float, step: float, digits: int) -> str:
    """A value to the place of a step's last significant digit."""
    exponent = int(f"{step:.{digits - 1}e}".partition("e")[2])
    places = digits - 1 - exponent
    if places > _MOST_PLACES or exponent > _LARGEST_EXPONENT:
        return units.number_text(value, 4)
    return f"{round(value, places):.{max(places, 0)}f}"
