"""Firings as a team writes them, a row a firing or a step: texts by address, nothing yet held against a study.

Heads of columns are `name`, `date`, `study`, `mode`, `step`, `seconds`, `note`, and addresses: an input is a setting,
an output a reading. Behind an address may stand the unit of bare numbers, "current [A]". Columns of their own say how
good a reading is: "current ±" (one standard uncertainty, of one reading), "current instrument", "current repeats" (of
which it is the mean), "current degrees of freedom" (behind the ±), "current common" (standard uncertainty that all
readings of the instrument share).
"""

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, NamedTuple

from explorer import registry
from explorer.firings.firing import FiringError
from explorer.firings.spreadsheet import Sheet, sheet_of, with_point
from explorer.registry import UnknownAddressError, did_you_mean

#: Columns that say what a row is about.
ABOUT: Final = ("name", "date", "study", "mode", "step", "seconds", "note")

#: What a column says of a reading beside its value.
ASPECTS: Final = ("±", "instrument", "repeats", "degrees of freedom", "common")

_HEAD: Final = re.compile(
    r"(?P<address>[^\s\[±+]+)\s*(?P<aspect>±|\+/-|instrument|repeats|degrees of freedom|common)?\s*"
    r"(?:\[(?P<unit>[^\]]*)\])?"
)
_BARE: Final = re.compile(r"[-+−]?[\d.]+(?:[eE][-+]?\d+)?(?:\s*(?:±|\+/-)\s*[\d.]+(?:[eE][-+]?\d+)?)?")


class WrittenReading(NamedTuple):
    """What was written of one reading, as texts; empty where nothing was."""

    value: str
    spread: str = ""
    instrument: str = ""
    repeats: str = ""
    degrees_of_freedom: str = ""
    common: str = ""


@dataclass(frozen=True)
class WrittenRow:
    """One firing or one step of it, as it was written."""

    where: str  #: file and line, or file and firing
    name: str
    date: str = ""
    study: str = ""
    mode: str = ""
    step: str = ""
    seconds: str = ""
    note: str = ""
    settings: Mapping[str, Any] = field(
        default_factory=dict
    )  #: by address, texts or tables of the value grammar
    readings: Mapping[str, WrittenReading] = field(default_factory=dict)  #: by address


class Column(NamedTuple):
    """What a column's head says."""

    address: str
    aspect: str = ""
    unit: str = ""


def read_rows(path: Path) -> tuple[WrittenRow, ...]:
    """Return the rows of a file of firings, CSV or TOML.

    Raises
    ------
    FiringError
        If the file can't be read, or a column or key is not known.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise FiringError(f"{path}: no such file") from None
    except OSError as error:
        raise FiringError(f"{path}: cannot be read ({error.strerror})") from error
    if path.suffix.lower() == ".toml":
        return _rows_of_toml(content, path.name)
    sheet = sheet_of(content, path.name)
    rows = rows_of_sheet(sheet, path.name)
    if not rows:
        raise FiringError(f"{path.name} has no firing in it, only the columns' names")
    return rows


def rows_of_sheet(sheet: Sheet, name: str) -> tuple[WrittenRow, ...]:
    """Return the rows of a spreadsheet."""
    columns = columns_of(sheet.head, name)
    return tuple(_row(columns, cells, sheet, f"{name}, line {line}") for line, cells in sheet.rows)


def columns_of(head: Sequence[str], name: str) -> tuple[Column, ...]:
    """Return what the columns of a file are, in their order."""
    found = tuple(_column(text, name) for text in head)
    if Column("name") not in found:
        raise FiringError(f'{name} has no column "name": each firing needs one, such as F07')
    for column in found:
        if found.count(column) > 1 or [(own.address, own.aspect) for own in found].count(column[:2]) > 1:
            said = f"{column.address} {column.aspect}".strip()
            raise FiringError(f'{name}: the column "{said}" stands twice')
    values = {column.address for column in found if not column.aspect}
    for column in found:
        if column.aspect and column.address not in values:
            raise FiringError(
                f'{name}: the column "{column.address} {column.aspect}" has no "{column.address}" beside it'
            )
    return found


def _column(text: str, name: str) -> Column:
    match = _HEAD.fullmatch(" ".join(text.split()))
    if match is None:
        raise FiringError(
            f'{name}: the column "{text}" can\'t be read; write an address and its unit: "current [A]"'
        )
    address, aspect, unit = match["address"], (match["aspect"] or "").replace("+/-", "±"), match["unit"] or ""
    if address in ABOUT:
        return Column(address, aspect, unit)
    try:
        known = registry.entry(address)
    except UnknownAddressError as error:
        guess = did_you_mean(address, ABOUT)
        said = f'"{address}" is no column of firings{guess}' if guess else str(error)
        raise FiringError(f"{name}, column {said}") from None
    if aspect not in ("", "±") and not is_reading(address):
        raise FiringError(f'{name}: "{address}" is a setting, and only a reading has {aspect}')
    if not isinstance(known, registry.Quantity | registry.Choice):
        raise FiringError(f'{name}: the column "{address}" is neither a setting nor a reading')
    return Column(address, aspect, unit)


def is_reading(address: str) -> bool:
    """Return whether an address is an output, so that what a firing says of it was read."""
    found = registry.entry(address)
    return isinstance(found, registry.Quantity) and found.kind == "output"


def _row(columns: Sequence[Column], cells: Sequence[str], sheet: Sheet, where: str) -> WrittenRow:
    given = {
        column[:2]: (_text(cell, sheet, where), column.unit)
        for column, cell in zip(columns, cells, strict=True)
    }
    about = {key: given.get((key, ""), ("", ""))[0] for key in ABOUT}
    settings: dict[str, Any] = {}
    readings: dict[str, WrittenReading] = {}
    for column in columns:
        text, unit = given[column[:2]]
        if column.address in ABOUT or column.aspect or not text:
            continue
        beside = {aspect: given.get((column.address, aspect), ("", "")) for aspect in ASPECTS}
        if is_reading(column.address):
            readings[column.address] = WrittenReading(
                _measured(text, unit),
                spread=_measured(*beside["±"]),
                instrument=beside["instrument"][0],
                repeats=beside["repeats"][0],
                degrees_of_freedom=beside["degrees of freedom"][0],
                common=_measured(*beside["common"]),
            )
        else:
            whole = f"{text} ± {beside['±'][0]}" if beside["±"][0] else text
            settings[column.address] = _measured(whole, unit)
    return WrittenRow(where, **about, settings=settings, readings=readings)


def _text(cell: str, sheet: Sheet, where: str) -> str:
    if not sheet.decimal_comma:
        return cell
    try:
        return with_point(cell)
    except FiringError as error:
        raise FiringError(f"{where}: {error}") from error


def _measured(text: str, unit: str) -> str:
    """A bare number with its column's unit behind it."""
    return f"{text} {unit}" if text and unit and _BARE.fullmatch(text) else text


def _rows_of_toml(content: bytes, name: str) -> tuple[WrittenRow, ...]:
    """The rows of a TOML file of [[firing]] tables, each with [[firing.step]] where it has steps."""
    try:
        document = tomllib.loads(content.decode("utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise FiringError(f"{name}: not TOML in UTF-8 ({error})") from error
    tables = document.get("firing", [])
    if set(document) != {"firing"} or not _tables(tables):
        raise FiringError(f"{name}: a file of firings holds [[firing]] tables and nothing else")
    return tuple(
        row
        for number, table in enumerate(tables, 1)
        for row in _rows_of_table(table, f"{name}, firing {number}")
    )


def _tables(given: object) -> bool:
    return isinstance(given, list) and all(isinstance(item, dict) for item in given)


def _rows_of_table(table: Mapping[str, Any], where: str) -> tuple[WrittenRow, ...]:
    known = ("name", "date", "study", "mode", "note", "seconds", "settings", "readings", "step")
    _check_keys(table, known, where)
    about = {
        key: str(table[key]) for key in ("name", "date", "study", "mode", "note", "seconds") if key in table
    }
    if not about.get("name"):
        raise FiringError(f"{where} has no name")
    settings, steps = _addressed(table, "settings", where), table.get("step", [])
    if not _tables(steps):
        raise FiringError(f"{where}: steps are written as [[firing.step]] tables")
    readings = _readings(table, where)
    if not steps:
        return (WrittenRow(where, **about, settings=settings, readings=readings),)
    if readings:
        raise FiringError(f"{where} has steps, so its readings belong to them")
    rows = []
    for step in steps:
        _check_keys(step, ("name", "seconds", "settings", "readings"), f"{where}, step")
        own = {**about, "step": str(step.get("name", "")), "seconds": str(step.get("seconds", ""))}
        rows.append(
            WrittenRow(
                where,
                **own,
                settings={**settings, **_addressed(step, "settings", where)},
                readings=_readings(step, where),
            )
        )
    return tuple(rows)


def _check_keys(table: Mapping[str, Any], known: Sequence[str], where: str) -> None:
    for key in table:
        if key not in known:
            raise FiringError(
                f'{where}: unknown key "{key}"{did_you_mean(key, known, otherwise="known: " + ", ".join(known))}'
            )


def _addressed(table: Mapping[str, Any], key: str, where: str) -> dict[str, Any]:
    given = table.get(key, {})
    if not isinstance(given, dict):
        raise FiringError(f"{where}: {key} is a table of addresses")
    for address in given:
        try:
            registry.entry(address)
        except UnknownAddressError as error:
            raise FiringError(f"{where}: {error}") from None
        if is_reading(address) != (key == "readings"):
            raise FiringError(
                f'{where}: "{address}" is a {"setting" if key == "readings" else "reading"}, not one of {key}'
            )
    return dict(given)


def _readings(table: Mapping[str, Any], where: str) -> dict[str, WrittenReading]:
    found = {}
    for address, written in _addressed(table, "readings", where).items():
        if isinstance(written, dict):
            _check_keys(written, ("value", *WrittenReading._fields[1:], "random"), f"{where}: {address}")
            own = {"spread" if key == "random" else key: str(item) for key, item in written.items()}
            if "value" not in own:
                raise FiringError(f"{where}: {address} has no value")
            found[address] = WrittenReading(**own)
        else:
            found[address] = WrittenReading(str(written))
    return found
