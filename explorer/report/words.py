"""Small matters of wording that several reports share."""

from collections.abc import Sequence
from typing import Final

from explorer import units
from explorer.registry import Quantity

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
    shown = units.from_si(value, quantity.unit, quantity.shown_unit)
    step = units.from_si(value + uncertainty, quantity.unit, quantity.shown_unit) - shown
    if not step > 0:
        return quantity.shown(value)
    unit = "" if quantity.shown_unit in ("", "1") else f" {quantity.shown_unit}"
    exponent = int(f"{step:.1e}".partition("e")[2])
    if not -6 <= exponent < 6:
        return f"{shown:.3e} ± {step:.1e}{unit}"
    places = max(1 - exponent, 0)
    return f"{shown:.{places}f} ± {step:.{places}f}{unit}"
