"""A value as written, moved so that its expectation is another one; its uncertainty moves with it as written.

"0.48 ± 0.02 T" keeps ± 0.02 T and "0.48 T ± 4 %" keeps 4 %; limits, ranges, triangles, cuts and readings shift;
what is known up to a factor is scaled. Where a cut or a relative part bends the way from what is written to the
expectation, a secant finds what to write.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final, cast

from explorer import units
from explorer.registry import Quantity
from explorer.space import TAIL_ALLOWED, Distribution, Rectangular, Uncertain
from explorer.studyfile.error import refusal
from explorer.studyfile.values.grammar import as_toml, value
from explorer.studyfile.values.text import parted, value_of_text, without_coverage
from explorer.units import Scale

_DIGITS: Final[int] = 12  #: of what is written: they hide the rounding of sums and of units
_TOLERANCE: Final[float] = 1e-10  #: of the expectation, relative to it or to its uncertainty
_MOST_STEPS: Final[int] = 20

_PLACES: Final = ("value", "low", "peak", "high", "mean", "median")  #: members of a table that move

_Move = Callable[[float], float]  #: where an SI value goes


def moved(address: str, written: object, to: float, quantity: Quantity) -> object:
    """Return a written value moved so that its central value is `to`, in the shown unit."""
    return moved_and_read(written, value(address, written, quantity), address, to, quantity)[0]


def moved_and_read(
    written: object, read: float | Uncertain, address: str, to: float, quantity: Quantity
) -> tuple[object, float | Uncertain]:
    """Return the moved value as `moved` does, and as `value` reads it; `read` is it before."""
    start = _centre(read)
    place = _scaled if _has_median(written) else _shifted
    target, slope = to, 1.0
    last: tuple[float, float] | None = None
    for _ in range(_MOST_STEPS):
        result = _placed(written, place(start, target), quantity)
        found = value(address, result, quantity)
        reached = _centre(found)
        if _is_there(abs(reached - to), abs(to), found):
            return result, found
        if last is not None and target != last[0] and reached != last[1]:
            slope = (reached - last[1]) / (target - last[0])
        last = target, reached
        target += (to - reached) / slope
    raise refusal(address, f"{as_toml(written)} has no place at {quantity.shown(to)}")


def _centre(found: float | Uncertain) -> float:
    """Return the expectation, a tail not counted that the physical bounds cut without asking."""
    if not isinstance(found, Uncertain):
        return found
    if found.share_outside > TAIL_ALLOWED:
        return found.centre
    stated = found.unknown if found.unknown is not None else found.scatter
    return cast(Distribution, stated).mean


def _is_there(miss: float, size: float, found: float | Uncertain) -> bool:
    """Return whether a miss is small against the value, or against its uncertainty where it is near zero."""
    if miss <= _TOLERANCE * size:
        return True
    return isinstance(found, Uncertain) and miss <= _TOLERANCE * found.standard_uncertainty


def _shifted(start: float, target: float) -> _Move:
    return lambda x: target + (x - start)  # in this order, so that `start` itself goes to `target` exactly


def _scaled(start: float, target: float) -> _Move:
    return lambda x: target * (x / start)


def _has_median(written: object) -> bool:
    """Return whether a value is known up to a factor, which only scaling leaves as it is."""
    return isinstance(written, Mapping) and ("median" in written or _has_median(written.get("value")))


def _placed(written: object, move: _Move, quantity: Quantity) -> object:
    if isinstance(written, Mapping):
        return {key: _placed_member(key, item, move, quantity) for key, item in written.items()}
    if isinstance(written, str):
        body, coverage = without_coverage(units.plain(written))
        _, word, right = parted(body)
        found = value_of_text(written, quantity)
        if isinstance(found, float):
            return literal(move(found), quantity)
        if word == ".." and isinstance(found, Rectangular):
            return f"{_number(move(found.low), quantity.scale)} .. {literal(move(found.high), quantity)}"
        expanded = "" if coverage == 1.0 else f" (k={coverage:g})"
        return _with_width(move(found.mean), word, right, quantity) + expanded
    return literal(move(float(cast(float, written))), quantity)


def _placed_member(key: str, item: Any, move: _Move, quantity: Quantity) -> object:
    if key == "values":
        return [_placed(reading, move, quantity) for reading in item]
    return _placed(item, move, quantity) if key in _PLACES else item


def _with_width(centre: float, word: str, width: str, quantity: Quantity) -> str:
    """Return a centre [SI] with the ± or limits as written: in % where it was, else as wide."""
    number, unit = units.number_and_unit(width)
    scale = quantity.scale
    if quantity.unit == "1":  # centre and width of a share wear one unit, or a % could mean two things
        scale = Scale("1", "%" if scale.shown_unit == "%" and quantity.high <= 1 else "1")
        wide = _number(units.si_difference(number, unit, "1"), scale)
        return f"{_number(centre, scale)} {word} {wide} {scale.shown_unit}".removesuffix(" 1")
    if unit == "%" and quantity.unit == "K":  # which says nothing of a temperature in °C
        scale = Scale(quantity.unit, quantity.unit)
    if unit == scale.shown_unit and word == "±":
        return f"{_number(centre, scale)} {word} {width}"
    return f"{_number(centre, scale)} {scale.shown_unit} {word} {width}"


def literal(value: float, quantity: Quantity) -> str | float:
    """Return an exact value [SI] as it stands in a study: with its shown unit, a plain number without one."""
    number = _number(value, quantity.scale)
    return float(number) if quantity.shown_unit in ("", "1") else f"{number} {quantity.shown_unit}"


def _number(value: float, scale: Scale) -> str:
    return f"{units.from_si(value, scale.unit, scale.shown_unit):.{_DIGITS}g}"
