"""The report of one operating point, as sections and as the content of its JSON."""

from typing import Any

from explorer import registry
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Section
from explorer.page.inputs import how_read, notes
from explorer.page.words import STATUS_WORDS
from explorer.questions.solve.contact import contact_words
from explorer.questions.solve.hand_calculation import hand_calculation
from explorer.questions.solve.limits import limits
from explorer.questions.solve.operating_point import blocks
from explorer.questions.solve.point import Point
from explorer.questions.solve.streams import streams
from explorer.questions.solve.worth import worth_words

_USE = (
    "`solve` takes each at its centre, the expectation of what is written; `rank` tries the whole of it. They were"
    " read so:"
)


def carries_numbers(point: Point) -> bool:
    """Return whether a point has an answer (no contact is one)."""
    return point.status in ("ok", "no_contact")


def failure_words(point: Point) -> str:
    """Return why a point has no answer, and what to change."""
    sentence = next(status.sentence for status in registry.STATUSES if status.name == point.status)
    return f"{STATUS_WORDS[point.status]}: {sentence[0].lower()}{sentence[1:]}"


def warning_sentences(point: Point) -> tuple[str, ...]:
    """Return the warnings that a point carries, each with what to do."""
    return tuple(f"{title[0].upper()}{title[1:]}. {words}" for title, words in point.warnings.items())


def solving_report(
    point: Point, *, burn: float | None = None, left_of_template: tuple[Paragraph, ...] = ()
) -> tuple[Section, ...]:
    """Return the report of an operating point that carries numbers."""
    return (
        heading(point),
        _in_short(point, left_of_template),
        *blocks(point),
        limits(point),
        hand_calculation(point),
        streams(point, burn),
        how_read(point.study, use=_USE),
        cautions(),
    )


def failure_report(point: Point) -> tuple[Section, ...]:
    """Return the report of a point that carries no numbers."""
    words = failure_words(point)
    parts = [Paragraph(f"No operating point: {words}")]
    parts += [Paragraph(sentence, marked=True) for sentence in warning_sentences(point)]
    return heading(point), Section("In short", tuple(parts)), how_read(point.study, use=_USE), cautions()


def heading(point: Point) -> Section:
    """Return the title of a report with what was solved."""
    does = (
        "power pushed in for thrust" if point.study.mode == "acceleration" else "power pulled out into a load"
    )
    line = f"Operating point at central values, {does}. Status: {STATUS_WORDS[point.status]}."
    return Section(point.study.title, (Paragraph(line), *notes(point.study)))


def _in_short(point: Point, left_of_template: tuple[Paragraph, ...]) -> Section:
    parts: list[Part] = [Paragraph(words) for words in (*contact_words(point), *worth_words(point))]
    parts += [Paragraph(words, marked=True) for words in warning_sentences(point)]
    parts += left_of_template
    return Section("In short", tuple(parts))


def solving_content(point: Point) -> dict[str, Any]:
    """Return what the JSON of a point holds behind its envelope."""
    return {
        "status": point.status,
        "quantities": {
            address: {"value": value, "unit": registry.quantity(address).unit}
            for address, value in point.quantities.items()
        },
        "notes": list(point.study.notes),
    }
