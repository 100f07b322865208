"""Sections as plain text: broken to a width, columns aligned, readable without any colour."""

import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence

from explorer.page.document import Lines, Paragraph, Part, Picture, Section, Table

WIDTH = 90  #: of a line [characters]

NARROW = 60  #: below it a table's rows stand one cell a line [characters]

_INDENT = "  "
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_POWER = re.compile(r"(?<=[mAVTs])\^([23])\b")
_EXPONENT = re.compile(r"(?<=\d)e([-+])0?(\d+)\b")
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=[^\W\d]|[%°])|(?<=±) (?=\d)")


def text_of(sections: Iterable[Section], width: int = WIDTH) -> str:
    """Return sections as text."""
    texts = (_section(section, width) for section in sections)
    return "\n\n".join(text for text in texts if text is not None) + "\n"


def _section(section: Section, width: int) -> str | None:
    """A section's text; None where it holds nothing but pictures, which a terminal can't show."""
    if section.parts and all(isinstance(part, Picture) for part in section.parts):
        return None
    blocks = [block for part in section.parts if (block := _part(part, width)) is not None]
    title = printable(section.title)
    if title and not section.as_written:
        title = title.upper()
    return "\n".join([*([title] if title else []), *blocks])


def _part(part: Part, width: int) -> str | None:
    if isinstance(part, Paragraph):
        return wrapped(part.text, width, first="! " if part.marked else _INDENT)
    if isinstance(part, Lines):
        return "\n".join(f"{_INDENT}{line}".rstrip() for line in part.lines)
    if isinstance(part, Table):
        if width < NARROW:
            return "\n".join(one_by_one(part, width))
        tables = parted(part, width) if part.standing else (part,)
        return "\n".join(
            line for table in tables for line in aligned(table.rows, table.head, table.numbers, width)
        )
    return None


def wrapped(text: str, width: int = WIDTH, *, first: str = _INDENT) -> str:
    """Return a paragraph broken to a width."""
    lines = broken(text, width - len(first))
    return "\n".join(
        f"{first if number == 0 else ' ' * len(first)}{line}" for number, line in enumerate(lines)
    )


def broken(text: str, width: int) -> list[str]:
    """Return a paragraph's lines, no number parted from its unit, control characters made visible."""
    lines = textwrap.wrap(held(printable(text)), width, break_long_words=False, break_on_hyphens=False)
    return [line.replace("\u00a0", " ") for line in lines] or [""]


def held(text: str) -> str:
    """Return a text in which no number is parted from its unit, nor a ± from its number; powers are raised."""
    return _BEFORE_UNIT.sub("\u00a0", raised(text))


def raised(text: str) -> str:
    """Return a text with powers as they are printed: "cm²" for cm^2, "2.8 × 10⁻⁵" for 2.8e-05."""
    text = _POWER.sub(lambda power: power[1].translate(_RAISED), text)
    return _EXPONENT.sub(lambda e: f" × 10{(e[1].strip('+') + e[2]).translate(_RAISED)}", text)


def printable(text: str) -> str:
    """Return a text with a ? for each character that would steer a terminal."""
    return "".join(letter if letter.isprintable() or letter == "\n" else "?" for letter in text)


def one_by_one(table: Table, width: int) -> list[str]:
    """Return a table's cells a line each, for a narrow terminal; below a row's first the others with their heads."""
    lines = []
    for row in table.rows:
        first, *rest = (raised(printable(cell)) for cell in row)
        lines += [wrapped(first, width)] if first else []
        for head, cell in zip(table.head[1:] or [""] * len(rest), rest, strict=True):
            if cell.strip():
                lines.append(wrapped(f"{head}: {cell}" if head else cell, width, first=2 * _INDENT))
    return lines


def parted(table: Table, width: int) -> Iterator[Table]:
    """Yield a table's parts that fit a width, its first columns again in each."""
    columns = list(zip(table.head, *table.rows, strict=True))
    wide = [max(len(raised(printable(cell))) for cell in column) + len(_INDENT) for column in columns]
    first = list(range(table.standing))
    chosen = list(first)
    for number in range(table.standing, len(columns)):
        if len(chosen) > len(first) and sum(wide[each] for each in (*chosen, number)) > width:
            yield _part_of(table, columns, chosen)
            chosen = list(first)
        chosen.append(number)
    yield _part_of(table, columns, chosen)


def _part_of(table: Table, columns: Sequence[tuple[str, ...]], chosen: Sequence[int]) -> Table:
    head, *rows = zip(*(columns[number] for number in chosen), strict=True)
    numbers = frozenset(place for place, number in enumerate(chosen) if number in table.numbers)
    return Table(tuple(rows), head, numbers)


def aligned(
    rows: Sequence[Sequence[str]],
    head: Sequence[str] = (),
    numbers: frozenset[int] = frozenset(),
    width: int = WIDTH,
) -> list[str]:
    """Return a table's lines; the last column is broken where it doesn't fit."""
    every = [tuple(raised(printable(cell)) for cell in row) for row in ([head, *rows] if head else rows)]
    if not every:
        return []
    widths = [max(len(row[column]) for row in every) for column in range(len(every[0]))]
    lines: list[str] = []
    for number, row in enumerate(every):
        cells = [
            cell.rjust(size) if column in numbers else cell.ljust(size)
            for column, (cell, size) in enumerate(zip(row, widths, strict=True))
        ]
        start = _INDENT + _INDENT.join(cells[:-1]) + (_INDENT if len(cells) > 1 else "")
        room = max(width - len(start), 20)
        last = broken(cells[-1].strip(), room) if len(cells[-1]) > room else [cells[-1]]
        lines.append((start + last[0]).rstrip())
        lines += [" " * len(start) + more for more in last[1:]]
        if head and number == 0:
            lines.append(_INDENT + "-" * min(sum(widths) + len(_INDENT) * (len(widths) - 1), width - 2))
    return lines


def bar(share: float, of_it: float = 0.0, length: int = 20) -> str:
    """Return a bar from zero: its dark part, then the rest, one character for each part of `length`."""
    end = round(min(max(share, 0.0), 1.0) * length)
    dark = min(round(min(max(of_it, 0.0), 1.0) * length), end)
    return "█" * dark + "░" * (end - dark)
