"""What a search for a design says on a terminal: the proposal and whether it meets what is asked."""

from typing import Final

from explorer.page import brief
from explorer.page.document import Section
from explorer.questions.optimize.search.proposal import Proposal
from explorer.questions.optimize.tables import beside_table
from explorer.questions.optimize.words import plain_words, warnings_of
from explorer.studyfile import Study

#: Beginnings of what the table says too, or only a reviewer asks for.
_IN_TABLE: Final = ("Wanted: ", "These figures ", "As the study stands")


def short_answer(found: Proposal, study: Study) -> tuple[Section, ...]:
    """The short answer."""
    warned = warnings_of(found)
    return brief.brief(
        [study],
        f"Optimize: {study.title}",
        verdict=[text for text in plain_words(found, study) if not text.startswith(_IN_TABLE)][:6],
        beware=warned,
        numbers=beside_table(found, brief=True) if found.best and found.present else None,
    )
