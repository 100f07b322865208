"""What a flight says on a terminal: whether the stage pays, which step costs what, the numbers."""

from explorer.page import brief
from explorer.page.document import Section
from explorer.questions.flight import tables
from explorer.questions.flight.flight import Flight
from explorer.questions.flight.words import plain_words, warnings_of


def short_answer(found: Flight) -> tuple[Section, ...]:
    """The short answer."""
    verdict, *rest = plain_words(found)
    return brief.brief(
        [found.study],
        f"Flight: {found.study.title}",
        verdict=[verdict],
        to_do=rest[:3],
        beware=[f"{text.partition('. ')[0].rstrip('.')}." for text in warnings_of(found)],
        numbers=tables.compared_table(found),
        notes=[f"{found.samples} scenarios. Flight is for licensed crews on a range, under its rules."],
    )
