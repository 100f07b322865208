"""A gauge pressure in a study: refused, with the absolute one at the stated surroundings ready to paste."""

from collections.abc import Mapping
from typing import Any, Final

from explorer import registry, units
from explorer.registry import Quantity
from explorer.space import Uncertain
from explorer.studyfile.document import Document, at
from explorer.studyfile.error import StudyError
from explorer.studyfile.values import as_toml, moved, value

_AMBIENT: Final = "ambient.pressure"
_ALTITUDE: Final = "ambient.altitude"
_DIGITS: Final[int] = 5  #: of the absolute pressure that is offered


def absolute_words(address: str, written: object, quantity: Quantity, document: Document) -> str | None:
    """Return what is said of a value in a gauge unit; None where it holds none, or no absolute one can be told."""
    plain = _without_gauge(written)
    text = as_toml(written).strip('"')
    if quantity.unit != "Pa" or plain == written:
        return None
    if address == _AMBIENT:
        return f'"{text}" counts from the ambient pressure itself: write it absolute, such as "1.013 bar"'
    if "%" in text or "factor" in text:  # of the gauge pressure, not of the absolute one
        return None
    try:
        around = float(f"{_ambient(document):.4g}")
        read = value(address, plain, quantity)
        centre = read.centre if isinstance(read, Uncertain) else read
        absolute = moved(address, plain, float(f"{centre + around:.{_DIGITS}g}"), quantity)
    except (StudyError, ValueError):  # which is told by itself once the pressure is absolute
        return None
    stated = registry.quantity(_AMBIENT).shown(around)
    told = as_toml(absolute).strip('"')
    return f"{text} is {told} absolute at the stated ambient pressure of {stated}: write that"


def _without_gauge(written: object) -> object:
    if isinstance(written, str):
        return units.without_gauge(written)
    if isinstance(written, Mapping):
        return {key: _without_gauge(item) for key, item in written.items()}
    return [_without_gauge(item) for item in written] if isinstance(written, list) else written


def _ambient(document: Document) -> float:
    """Return the central pressure around the stage [Pa]."""
    stated: Any = at(document, _AMBIENT)
    if stated is not None:
        return _central(_AMBIENT, stated)
    from explorer.physics.atmosphere import standard_atmosphere  # loads slowly

    return float(standard_atmosphere(_central(_ALTITUDE, at(document, _ALTITUDE))).pressure)


def _central(address: str, written: object) -> float:
    found = value(address, written, registry.quantity(address))
    return found.centre if isinstance(found, Uncertain) else found
