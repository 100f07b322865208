"""Designs beside each other, a column each: in what they differ, what is the same in all, how a curve of them bends."""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from explorer import units
from explorer.page.document import Table
from explorer.page.text import WIDTH
from explorer.page.words import listed, number_with_sampling
from explorer.questions.optimize.names import (
    DIGITS,
    in_shown_unit,
    limit_words,
    setting_text,
    shown_unit,
)
from explorer.questions.optimize.search.proposal import JudgedDesign, Proposal
from explorer.study.limits import is_implied

#: Room that a table's edge and the gap between two columns take [characters].
_GAP: Final = 2

#: How far a trade-off curve must lie off a straight line for its knee to mean something, over its width [-].
_BENT: Final = 0.1


def designs_tables(
    designs: Sequence[JudgedDesign], names: Sequence[str], *, first_in_each: bool, wishes: bool
) -> Iterator[Table]:
    """Yield designs beside each other, a column each; a further table where one would be too wide.

    What is the same in all of them is left out.
    """
    rows = [*_setting_rows(designs), *(_wish_rows(designs) if wishes else ()), *_verdict_rows(designs)]
    cells = [("", *names), *rows]
    widths = [max(len(row[column]) for row in cells) + _GAP for column in range(len(names) + 1)]
    fixed = (0, 1) if first_in_each else (0,)
    room = WIDTH - sum(widths[column] for column in fixed)
    block: list[int] = []
    for column in range(len(fixed), len(names) + 1):
        if block and sum(widths[c] for c in (*block, column)) > room:
            yield _columns(cells, (*fixed, *block))
            block = []
        block.append(column)
    yield _columns(cells, (*fixed, *block))


def _columns(cells: Sequence[Sequence[str]], columns: Sequence[int]) -> Table:
    head, *rows = (tuple(row[column] for column in columns) for row in cells)
    return Table(tuple(rows), head, frozenset(range(1, len(columns))))


def _setting_rows(designs: Sequence[JudgedDesign]) -> Iterator[tuple[str, ...]]:
    for address in varying(designs):
        yield (f"{address}{shown_unit(address)}", *(_cell(address, d.setting[address]) for d in designs))


def varying(designs: Sequence[JudgedDesign]) -> list[str]:
    """Return the varied addresses in which designs differ."""
    return [
        address for address in designs[0].setting if len({design.setting[address] for design in designs}) > 1
    ]


def _cell(address: str, value: float | str) -> str:
    return value if isinstance(value, str) else units.number_text(in_shown_unit(address, value), DIGITS)


def _wish_rows(designs: Sequence[JudgedDesign]) -> Iterator[tuple[str, ...]]:
    """What is expected of each wish, with the largest of the sampling errors in the row's head."""
    for place, first in enumerate(designs[0].wishes):
        name = first.wish.quantity
        judged = [design.wishes[place] for design in designs]
        error = max(in_shown_unit(name, j.standard_error) - in_shown_unit(name, 0.0) for j in judged)
        texts = [number_with_sampling(in_shown_unit(name, j.expected), error).partition(" ") for j in judged]
        sampling = texts[0][2].strip("()")
        head = f"{name}{shown_unit(name)}{f', sampling {sampling}' if sampling else ''}"
        yield (head, *(number for number, _, _ in texts))


def _verdict_rows(designs: Sequence[JudgedDesign]) -> Iterator[tuple[str, ...]]:
    """Verdicts of the limits that not every design meets."""
    for place, judged in enumerate(designs[0].limits):
        verdicts = tuple(design.limits[place].verdict for design in designs)
        if set(verdicts) != {"met"}:
            yield (limit_words(judged.limit), *verdicts)


def alike_words(designs: Sequence[JudgedDesign]) -> str:
    """Return what is the same in all designs: values, and limits that all of them meet."""
    differing = varying(designs)
    same = [
        f"{address} {setting_text(address, value)}"
        for address, value in designs[0].setting.items()
        if address not in differing
    ]
    met = [
        limit_words(judged.limit)
        for place, judged in enumerate(designs[0].limits)
        if not is_implied(judged.limit) and all(d.limits[place].verdict == "met" for d in designs)
    ]
    parts = ([f"The same in all: {listed(same)}."] if same else []) + (
        [f"Met by all: {'; '.join(met)}."] if met else []
    )
    return " ".join(parts)


def curve_words(found: Proposal) -> str:
    """Return what the trade-off curve says, and whether its knee means much."""
    words = "Along the curve more of one wish costs some of the other."
    if _bend(found) < _BENT:
        return f"{words} It is nearly straight, so that its knee means little: choose by what is needed."
    return f"{words} At the knee it bends most: beyond it, either way, a gain in one costs more of the other."


def _bend(found: Proposal) -> float:
    """How far the curve lies off the straight line between its ends, each wish over its width [-]."""
    wishes = np.array([[judged.expected for judged in design.wishes] for design in found.trade_off])
    widths = wishes[-1] - wishes[0]
    if not np.all(widths):
        return 0.0
    places = (wishes - wishes[0]) / widths
    return float(np.max(np.abs(places[:, 0] - places[:, 1])))
