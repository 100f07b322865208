"""What a comparison says on a terminal: which differences are real, which limits are missed, the usual quantities."""

from collections.abc import Iterator, Sequence

from explorer import registry
from explorer.page import brief
from explorer.page.designs import NONE, ends_cell, limit_words, mean_cell, unit_label
from explorer.page.document import Section, Table
from explorer.page.events import held_words
from explorer.page.text import aligned
from explorer.questions.compare.blocks import key_rows
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.contacts import contact_words
from explorer.questions.compare.words import is_mixed, missing_words, mode_words, plain_words
from explorer.registry import Quantity
from explorer.units import from_si


def short_answer(found: Comparison) -> tuple[Section, ...]:
    """The short answer."""
    contacts = contact_words(found)
    told = [text for text in plain_words(found) if text not in (*missing_words(found), *contacts)]
    unsure = told[:1] if is_mixed(*found.designs) else []
    several = len(found.others) > 1
    verdicts, others = _parted(found, told[len(unsure) :])
    numbers = _numbers(found)
    fits = all(len(line) <= brief.WIDTH for line in aligned(numbers.rows, numbers.head))
    return brief.brief(
        list(found.studies),
        f"Compare: {', '.join(found.names)}",
        verdict=verdicts,
        beware=[
            *unsure,
            *contacts,
            *(f"{text.partition('. ')[0]}." for text in mode_words(found)),
            *_limits(found),
            *missing_words(found),
        ],
        numbers=numbers if fits else _numbers(found, means=True),
        notes=[
            *(() if several else others),
            f"{found.samples} points, the same for all; numbers: {'19 times in 20' if fits else 'means'}.",
        ],
    )


def _parted(found: Comparison, told: Sequence[str]) -> tuple[list[str], list[str]]:
    """What is said of each design against the first one, and the rest."""
    heads = tuple(f"{own.name} against {found.first.name}, " for own in found.others)
    verdicts = [text for text in told if text.startswith(heads)]
    return verdicts, [text for text in told if text not in verdicts]


def _limits(found: Comparison) -> Iterator[str]:
    for design in found.designs:
        for own in design.limits:
            if own.verdict != "met":
                yield f"{design.name}: {limit_words(own.limit)} {own.verdict}; {held_words(own)}."


def _numbers(found: Comparison, *, means: bool = False) -> Table:
    rows = []
    for row in key_rows(found):
        quantity, cells = _readable(found, row), []
        for design in found.designs:
            own = design.figures[row]
            cell = mean_cell if means else ends_cell
            cells.append(cell(quantity, own) if own.is_told else NONE)
        rows.append((f"{quantity.words}{unit_label(quantity)}", *cells))
    return Table(tuple(rows), ("", *found.names))


def _readable(found: Comparison, row: str) -> Quantity:
    """A quantity in thousands of its unit where every design's mean asks for it, in thousandths where all are small."""
    quantity = registry.quantity(row)
    told = [own.figures[row] for own in found.designs if own.figures[row].is_told]
    least = min((abs(float(own.mean)) for own in told), default=0.0)
    if from_si(least, quantity.unit, quantity.shown_unit) >= 1.0:
        return quantity.readable(least)
    most = max((abs(float(end)) for own in told for end in (own.low, own.high)), default=0.0)
    return quantity.readable(most) if from_si(most, quantity.unit, quantity.shown_unit) < 1.0 else quantity
