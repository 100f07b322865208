"""What a comparison says on a terminal: which differences are real, which limits are missed, the usual quantities."""

from collections.abc import Iterator

from explorer import registry
from explorer.page import brief
from explorer.page.designs import bare, label, limit_words
from explorer.page.document import Section, Table
from explorer.page.words import between, percent
from explorer.questions.compare.blocks import key_rows
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.words import missing_words, mode_words, plain_words


def short_answer(found: Comparison) -> tuple[Section, ...]:
    """The short answer."""
    first, *others = (text for text in plain_words(found) if text not in missing_words(found))
    return brief.brief(
        list(found.studies),
        f"Compare: {', '.join(found.names)}",
        verdict=[first, *others[: len(found.others) - 1]],
        beware=[*mode_words(found), *_limits(found), *missing_words(found)],
        numbers=_numbers(found),
        notes=[
            *others[len(found.others) - 1 :],
            f"{found.samples} points, the same for all; numbers: 19 times in 20.",
        ],
    )


def _limits(found: Comparison) -> Iterator[str]:
    for design in found.designs:
        for own in design.limits:
            if own.verdict != "met":
                share = percent(float(own.chance))
                does = "found" if own.limit.event is not None else "holds"
                yield f"{design.name}: {limit_words(own.limit)} {own.verdict}; {does} in {share}."


def _numbers(found: Comparison) -> Table:
    rows = []
    for row in key_rows(found):
        quantity, cells = registry.quantity(row), []
        for design in found.designs:
            own = design.figures[row]
            ends = (
                between(quantity, own.low, own.high, own.standard_uncertainty, last=" … ")
                if own.is_told
                else "none"
            )
            cells.append(bare(quantity, ends))
        rows.append((label(row).replace(row, quantity.words), *cells))
    return Table(tuple(rows), ("", *found.names))
