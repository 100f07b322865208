"""[[instrument]]: what a sensor reads, how well, how fast and how far."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from explorer import units
from explorer.registry import Quantity
from explorer.studyfile.error import naming, refusal
from explorer.studyfile.inherited import Inheritance
from explorer.studyfile.names import check_names, known_quantity
from explorer.studyfile.sections.table import Table, Text, Written
from explorer.studyfile.values import exact_value, range_of
from explorer.studyfile.values.text import without_coverage
from explorer.units import UnitError

_OF_READING: Final = " of reading"
_RATE: Final = Quantity(unit="Hz", low=0.0)


class InstrumentTable(Table):
    """[[instrument]]."""

    name: Text
    reads: Text
    random: Written = None
    common: Written = None
    rate: Written = None
    bandwidth: Written = None
    range: Written = None


@dataclass(frozen=True)
class Amount:
    """A standard uncertainty with an absolute and a relative part."""

    absolute: float = 0.0  #: [SI]
    relative: float = 0.0  #: of the value [-]

    def at(self, value: float) -> float:
        """Return the standard uncertainty at a value [SI]."""
        return math.hypot(self.absolute, self.relative * value)


@dataclass(frozen=True)
class ReadingUncertainty:
    """What one reading is worth: two standard uncertainties, in SI or of the value."""

    random: Amount  #: falls with repeats
    common: Amount = field(default_factory=Amount)  #: does not
    instrument: str | None = None  #: name of the one that it comes from


@dataclass(frozen=True)
class Instrument:
    """A sensor that reads an output in a firing."""

    name: str
    reads: str  #: address of the output
    random: Amount
    common: Amount
    rate: float | None = None  #: samples per second [Hz]
    bandwidth: float | None = None  #: [Hz]
    range: tuple[float, float] | None = None  #: [SI]

    def reading(self) -> ReadingUncertainty:
        """Return what one of its readings is worth."""
        return ReadingUncertainty(self.random, self.common, self.name)


def instruments(
    tables: Iterable[InstrumentTable], pairs: tuple[str, ...], inherited: Inheritance
) -> tuple[Instrument, ...]:
    """Return the instruments of [[instrument]]."""
    found = inherited.each("instrument", tables, lambda table: _instrument(table, pairs))
    check_names("instrument", [item.name for item in found])
    return found


def _instrument(table: InstrumentTable, pairs: tuple[str, ...]) -> Instrument:
    where = f"instrument {table.name}"
    quantity = known_quantity(table.reads, pairs, f"{where}: reads", "output")
    if table.random is None and table.common is None:
        raise refusal(where, "needs its uncertainty, random or common or both")
    no_range = f'expected a range such as "0 .. 200 N", got "{table.range}"'
    return Instrument(
        table.name,
        table.reads,
        random=amount(f"{where}: random", table.random, quantity),
        common=amount(f"{where}: common", table.common, quantity),
        rate=_rate(f"{where}: rate", table.rate),
        bandwidth=_rate(f"{where}: bandwidth", table.bandwidth),
        range=None if table.range is None else range_of(f"{where}: range", table.range, quantity, no_range),
    )


def amount(where: str, written: object, quantity: Quantity) -> Amount:
    """Return a standard uncertainty: "0.3 N", "0.3 N + 1 %", "5 % of reading", each also with (k=2); zero for none."""
    if written is None:
        return Amount()
    if isinstance(written, bool) or not isinstance(written, int | float | str):
        raise refusal(where, f"expected a standard uncertainty, got {written}")
    with naming(where):
        parts = [_part(text, quantity) for text in str(written).split(" + ")]
    return Amount(sum(part.absolute for part in parts), sum(part.relative for part in parts))


def _part(text: str, quantity: Quantity) -> Amount:
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


def _rate(where: str, written: object) -> float | None:
    """Return a rate or bandwidth [Hz], None where none is written."""
    return None if written is None else exact_value(where, written, _RATE)
