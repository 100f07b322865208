"""The answer as a tired engineer wants it: at most 40 lines of 80 characters, the verdict first.

What a question says in short is put together here, in one order for all of them: verdict, what to do, what could fool
the reader, a dozen numbers, which values were not as the study has them, caution. The page holds everything else.
"""

from collections.abc import Iterable, Sequence
from typing import Final

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.answer import left_of_template
from explorer.page.cautions import PREIONIZER_BRIEF, STORED_BRIEF, has_preionizer, stores_energy
from explorer.page.document import Paragraph, Section, Table
from explorer.page.words import counted, listed, opened, percent
from explorer.study.limits import verdict
from explorer.studyfile import Study

#: Most lines on a terminal, the files written included, and characters of a line where nobody knows better.
MOST_LINES: Final = 40
WIDTH: Final = 80

#: The caution on a terminal; a page has its own in full.
CAUTION: Final = (
    "Caution: high voltage, stored energy, magnets, oxidisers and hot firings kill. A prediction with limits: local"
    " codes and licensed practice first."
)


def brief(
    studies: Sequence[Study],
    title: str,
    *,
    verdict: Iterable[str],
    to_do: Iterable[str] = (),
    beware: Iterable[str] = (),
    numbers: Table | None = None,
    notes: Iterable[str] = (),
) -> tuple[Section, ...]:
    """Return the sections of a short answer; empty texts are left out."""
    said = [Paragraph(text) for text in verdict if text]
    steps = [Paragraph(text) for text in to_do if text]
    warned = [Paragraph(text, marked=True) for text in beware if text]
    warned += [paragraph for study in studies for paragraph in left_of_template(study, brief=True)]
    values = values_words(studies) if studies else ""
    stored = STORED_BRIEF if stores_energy(*studies) else ""
    preionizer = PREIONIZER_BRIEF if has_preionizer(*studies) else ""
    foot = [Paragraph(text) for text in (*notes, values, stored, preionizer, CAUTION) if text]
    middle = [Section("", (*steps, *warned)) if steps or warned else None]
    middle += [Section("", (numbers,)) if numbers is not None and numbers.rows else None]
    return (
        Section(title, tuple(said), as_written=True),
        *(section for section in middle if section is not None),
        Section("", tuple(foot)),
    )


def values_words(studies: Sequence[Study]) -> str:
    """Return how many values are uncertain, and which are not as the studies' files have them."""
    many = f"{listed([str(len(study.words())) for study in studies])} uncertain values"
    assumed = sum(origin == "assumed" for study in studies for origin in study.origin.values())
    replaced = {address: written for study in studies for address, written in study.replacements.items()}
    set_here = ", ".join(f"{registry.words_of(address)} = {written}" for address, written in replaced.items())
    said = f"{many}; set here: {set_here}" if set_here else f"{many}, as in the study"
    also = f"; {counted(assumed, 'value')} assumed, named on the page" if assumed else ""
    return f"{said}{also}."


def verdict_line(chance: Estimate, wanted: float, required: str) -> str:
    """Return a requirement's verdict first, then the chance and what is asked: "Not met: 65 %, 80 % required. …"."""
    return (
        f"{opened(verdict(chance.interval, wanted))}: {required} in {percent(float(chance))} of firings,"
        f" {percent(wanted)} required."
    )
