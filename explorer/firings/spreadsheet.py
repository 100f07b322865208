"""A spreadsheet's CSV as rows of text: its separator, decimal comma, byte-order mark and encoding found out."""

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from explorer.firings.firing import FiringError

#: Between cells; the one that parts the head into most columns is taken.
_SEPARATORS: Final = (",", ";", "\t")

#: A decimal comma, and a number that has a point as well, which parts thousands or places: nobody can tell.
_DECIMAL_COMMA: Final = re.compile(r"(?<=\d),(?=\d)")
_BOTH: Final = re.compile(r"\d[.,]\d+[.,]\d")

#: Largest file that is read [bytes]; years of firings take less.
_LARGEST: Final[int] = 5_000_000


@dataclass(frozen=True)
class Sheet:
    """The rows of a spreadsheet."""

    head: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]  #: by line in the file, as many cells as the head has
    separator: str = ","
    decimal_comma: bool = False  #: whether its numbers had one; the rows' have points
    encoding: str = "utf-8"


def sheet_of(content: bytes, name: str) -> Sheet:
    """Return a spreadsheet's rows, empty ones left out.

    Raises
    ------
    FiringError
        If it is no text, has no head, or a row has more cells than the head.
    """
    text, encoding = _decoded(content, name)
    first = next((line for line in text.splitlines() if line.strip()), "")
    if not first:
        raise FiringError(f"{name} is empty: its first row names the columns")
    separator = max(_SEPARATORS, key=lambda own: len(next(csv.reader([first], delimiter=own))))
    comma = separator != ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        every = [(reader.line_num, tuple(cell.strip() for cell in cells)) for cells in reader]
    except csv.Error as error:
        raise FiringError(f"{name}, line {reader.line_num}: not a table ({error})") from error
    (_, head), *rest = [row for row in every if any(row[1])]
    while head and not head[-1]:
        head = head[:-1]
    decimal_comma = comma and any(_DECIMAL_COMMA.search(cell) for _, cells in rest for cell in cells)
    return Sheet(head, tuple(_fitted(rest, len(head), name)), separator, decimal_comma, encoding)


def _decoded(content: bytes, name: str) -> tuple[str, str]:
    """Text as UTF-8, or as Windows-1252, in which older spreadsheets write a ±; and which it was."""
    if len(content) > _LARGEST:
        raise FiringError(f"{name} is larger than {_LARGEST // 1_000_000} MB: that is no list of firings")
    if b"\x00" in content:
        raise FiringError(f"{name} is no text: save it from the spreadsheet as CSV, UTF-8")
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            return content.decode(encoding), encoding.removesuffix("-sig")
        except UnicodeDecodeError:
            continue
    raise FiringError(f"{name} is no text: save it from the spreadsheet as CSV, UTF-8")


def _fitted(
    rows: Sequence[tuple[int, tuple[str, ...]]], columns: int, name: str
) -> list[tuple[int, tuple[str, ...]]]:
    found = []
    for line, cells in rows:
        if any(cells[columns:]):
            raise FiringError(
                f"{name}, line {line}: {len(cells)} cells under {columns} heads; a decimal comma beside commas"
                " between cells? Write points, or part the cells with semicolons"
            )
        found.append((line, (*cells[:columns], *[""] * (columns - len(cells)))))
    return found


def with_point(cell: str) -> str:
    """Return a cell's numbers with decimal points: "0,48 ± 0,02 T" as "0.48 ± 0.02 T".

    Raises
    ------
    FiringError
        If a number has points and commas, or several: which of them begins the decimals can't be told.
    """
    if "," in cell and _BOTH.search(cell):
        raise FiringError(
            f'"{cell}" has more than one point or comma in a number: write it without thousands'
        )
    return _DECIMAL_COMMA.sub(".", cell)
