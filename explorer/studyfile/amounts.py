"""What an instrument's line says: standard uncertainties, rates and ranges."""

from typing import Final

from explorer import units
from explorer.registry import Quantity
from explorer.space import Rectangular
from explorer.studyfile.error import StudyError
from explorer.studyfile.grammar import exact_value
from explorer.studyfile.sections import Amount
from explorer.studyfile.texts import value_of_text, without_coverage
from explorer.units import UnitError

_OF_READING: Final = " of reading"
_RATE: Final = Quantity("rate", "input", "Hz", "Hz", "", "", low=0.0)


def amount(where: str, written: object, quantity: Quantity) -> Amount:
    """Return a standard uncertainty: "0.3 N", "0.3 N + 1 %", "5 % of reading", each also with (k=2)."""
    if isinstance(written, bool) or not isinstance(written, int | float | str):
        raise StudyError(f"{where}: expected a standard uncertainty, got {written}", where)
    parts = [_amount_part(where, text, quantity) for text in str(written).split(" + ")]
    return Amount(sum(part.absolute for part in parts), sum(part.relative for part in parts))


def _amount_part(where: str, text: str, quantity: Quantity) -> Amount:
    try:
        body, coverage = without_coverage(units.plain(text))
        of_reading = body.endswith(_OF_READING)
        number, unit = units.number_and_unit(body.removesuffix(_OF_READING))
        if number <= 0:
            raise UnitError(f'a standard uncertainty must be above zero; got "{text.strip()}"')
        if unit == "%" and quantity.unit == "1" and not of_reading:
            raise UnitError(
                f'"{text.strip()}" could mean two things: write {number / 100:g} for percentage points, or'
                f' "{number:g} %{_OF_READING}" for a share of the value'
            )
        if unit == "%":
            return Amount(relative=number / 100 / coverage)
        return Amount(absolute=units.si_difference(number, unit, quantity.unit) / coverage)
    except UnitError as error:
        raise StudyError(f"{where}: {error}", where) from error


def amount_or_none(where: str, written: object, quantity: Quantity) -> Amount:
    """Return a standard uncertainty, zero where none is written."""
    return Amount() if written is None else amount(where, written, quantity)


def rate(where: str, written: object) -> float | None:
    """Return a rate or bandwidth [Hz], None where none is written."""
    return None if written is None else exact_value(where, written, _RATE)


def range_of(where: str, written: object, quantity: Quantity) -> tuple[float, float] | None:
    """Return the two ends of a range such as "0 .. 200 N" [SI], None where none is written."""
    if written is None:
        return None
    try:
        found = value_of_text(written, quantity)
    except UnitError as error:
        raise StudyError(f"{where}: {error}", where) from error
    if not isinstance(found, Rectangular):
        raise StudyError(f'{where}: expected a range such as "0 .. 200 N", got "{written}"', where)
    return found.low, found.high
