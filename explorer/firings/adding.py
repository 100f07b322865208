"""A row put into a spreadsheet of firings as it stands: its separator, decimal sign and encoding kept."""

import csv
import io
from collections.abc import Mapping
from typing import Final

from explorer.firings.firing import FiringError
from explorer.firings.spreadsheet import sheet_of
from explorer.firings.written import ABOUT, columns_of

_NEW: Final = ("name", "date", "study", "step", "seconds")


def with_row(content: bytes, cells: Mapping[str, str], name: str) -> bytes:
    """Return a file's content with one row more; columns that it lacks are put behind the others.

    Parameters
    ----------
    content : bytes
        Of the file; empty for one that isn't there yet.
    cells : mapping
        By the heads of columns as `written` knows them.

    Raises
    ------
    FiringError
        If the file can't be read.
    """
    if name.lower().endswith(".toml"):
        raise FiringError(f"{name}: rows are added to a CSV; write a [[firing]] table there by hand")
    if not content.strip():
        head = [
            *(key for key in _NEW if cells.get(key)),
            *(key for key in cells if key not in _NEW and key != "note"),
            "note",
        ]
        return _text([head, [cells.get(key, "") for key in head]], ",").encode()
    sheet = sheet_of(content, name)
    columns = columns_of(sheet.head, name)
    head = [f"{column.address} {column.aspect}".strip() for column in columns]
    more = [key for key in cells if key not in head and cells[key]]
    rows = [list(own) + [""] * len(more) for _, own in sheet.rows] if more else []
    row = [
        _cell(cells.get(key, ""), decimal_comma=sheet.decimal_comma and key not in ABOUT)
        for key in (*head, *more)
    ]
    row = [_without_unit(cell, column.unit) for cell, column in zip(row, columns, strict=False)] + row[
        len(columns) :
    ]
    text = content.decode(f"{sheet.encoding}-sig" if sheet.encoding == "utf-8" else sheet.encoding)
    end = "\r\n" if "\r\n" in text else "\n"
    if more:
        whole = _text([[*sheet.head, *more], *rows, row], sheet.separator, end)
    else:
        whole = f"{text.rstrip()}{end}{_text([row], sheet.separator, end)}"
    mark = "\ufeff" if content.startswith(b"\xef\xbb\xbf") else ""
    return f"{mark}{whole}".encode(sheet.encoding)


def _cell(text: str, *, decimal_comma: bool) -> str:
    return text.replace(".", ",") if decimal_comma else text


def _without_unit(cell: str, unit: str) -> str:
    """A cell under a head with this unit: bare numbers stand there."""
    return cell.removesuffix(unit).strip() if unit and cell.endswith(f" {unit}") else cell


def _text(rows: list[list[str]], separator: str, end: str = "\n") -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=end).writerows(rows)
    return out.getvalue()
