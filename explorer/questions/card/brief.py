"""What a card, and a firing held against it, say on a terminal."""

from collections.abc import Sequence

from explorer.page import brief
from explorer.page.document import Section
from explorer.questions.card import tables, words
from explorer.questions.card.against import Against
from explorer.questions.card.card import Card


def of_card(card: Card, warned: Sequence[str] = ()) -> tuple[Section, ...]:
    """Return the short card: what to expect and what the burn takes; the whole is to be printed."""
    return brief.brief(
        (card.study,),
        f"Card: firing {card.firing.name} of {card.study.title}",
        verdict=words.expected(card),
        to_do=(
            words.amounts(card),
            "Print report.html or card.txt: settings, stop rules, loggers and amounts.",
        ),
        beware=(*warned, *words.unseen(card), words.AID),
        numbers=tables.readings_table(card),
    )


def of_firing(found: Against, warned: Sequence[str] = ()) -> tuple[Section, ...]:
    """Return the short comparison."""
    return brief.brief(
        (found.study,),
        f"{found.firing.name} against {found.study.title}",
        verdict=(words.verdict(found), words.best(found)),
        beware=tuple(warned),
        numbers=tables.held_table(found),
    )
