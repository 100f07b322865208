"""What the way to a larger design says on a terminal: whether a ladder pays, how far the bench may be trusted."""

from explorer import registry
from explorer.page import brief
from explorer.page.document import Section
from explorer.page.events import AT_ONCE, contacts_beside
from explorer.questions.scale.scaling import Scaling
from explorer.questions.scale.tables import trust_table
from explorer.questions.scale.words import border_name, plain_words


def short_answer(found: Scaling) -> tuple[Section, ...]:
    """The short answer."""
    verdict, *rest = plain_words(found)
    crossed = [border_name(change.border) for change in found.changes if change.counts]
    changes = (
        f"Changes of regime on the way: {', '.join(crossed)}." if crossed else "No regime changes on the way."
    )
    return brief.brief(
        [found.first.study, found.last.study],
        f"Scale: {found.first.name} toward {found.last.name}",
        verdict=[verdict],
        to_do=rest[:1],
        beware=[changes, *contacts_beside([found.first, found.last], AT_ONCE)],
        numbers=trust_table(found, brief=True),
        notes=[
            f"Cost: in firings of {found.first.name}. ±: standard uncertainty of the"
            f" {registry.words_of(found.target)} of"
            f" {found.last.name}."
        ],
    )
