"""In which form the pairs of designs conduct, beside each other, and which differences of these chances are real."""

from collections.abc import Iterator, Mapping
from typing import Final

from explorer import registry
from explorer.page.designs import event_words
from explorer.page.document import Table
from explorer.page.events import AT_ONCE, contacts_beside
from explorer.page.words import listed, percent, percent_with_sampling
from explorer.questions.compare.comparison import Compared, Comparison
from explorer.registry import CHANCE
from explorer.study.contrasts import ShareDifference
from explorer.study.limits import SAID_FROM

_MORE: Final = {"larger": "more", "smaller": "fewer"}


def contact_words(found: Comparison) -> tuple[str, ...]:
    """Return in which forms designs conduct in a tenth of firings or more, then what is real of the differences."""
    return (
        *contacts_beside(found.designs, AT_ONCE),
        *(text for own in found.others for text in _real(found, own)),
    )


def _real(found: Comparison, own: Compared) -> Iterator[str]:
    """Chances of a design that are larger or smaller than the first one's, beyond sampling."""
    if not own.contact_differences:
        return
    one_pair = len(own.contacts) == 1
    real = []
    for name, less in own.contact_differences.items():
        if less.verdict in _MORE and abs(float(less.share)) >= SAID_FROM:
            event = name.rpartition(".")[2] if one_pair else name.removeprefix(CHANCE)
            real.append(f"{percent(abs(float(less.share)))} {_MORE[less.verdict]} with {event_words(event)}")
    said = listed(real) if real else f"no chance of contact differs by {percent(SAID_FROM)} or more"
    yield f"Of all firings, {own.name} against {found.first.name}, beyond sampling: {said}."


def contact_difference_table(differences: Mapping[str, ShareDifference]) -> Table:
    """Return how much larger each chance is than the first design's, and whether that is real."""
    rows = (
        (registry.words_of(name), percent_with_sampling(less.share), less.verdict)
        for name, less in differences.items()
    )
    return Table(tuple(rows), ("", "more", "which"), frozenset({1}))
