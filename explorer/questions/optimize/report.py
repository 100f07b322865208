"""The report of a search for a design: plain words first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from matplotlib.figure import Figure

from explorer.page.answer import left_of_template
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import counted, listed
from explorer.questions.optimize.names import wished
from explorer.questions.optimize.obstacles import holds_back_words
from explorer.questions.optimize.review import review
from explorer.questions.optimize.search.proposal import NearestMiss, Proposal
from explorer.questions.optimize.tables import (
    alike_words,
    changes_table,
    curve_words,
    designs_tables,
    limits_table,
    setting_table,
    trade_off_table,
)
from explorer.questions.optimize.words import plain_words, warnings_of
from explorer.studyfile import Study

_USE: Final = (
    "`optimize` puts every design through scenarios drawn from the whole of each; what is uncertain about a varied"
    " value moves with it. They were read so:"
)
_CENTRAL_USE: Final = "With --central only the middle of each was used. They were read so:"
_LIMITS: Final = (
    "Chance that each limit holds at the proposal, with its exact 95 % interval, against what was asked."
)

Pictures = Mapping[str, Figure]


def optimisation_report(
    found: Proposal, study: Study, envelope: Mapping[str, Any], drawn: Pictures
) -> tuple[Section, ...]:
    """Return the report of a search for a design."""
    return (
        _heading(found, study),
        _plain(found, study),
        *_found(found, study, drawn),
        how_read(study, use=_USE if found.search.robust else _CENTRAL_USE),
        cautions(),
        *review(found, study, drawn["search"]),
        resolved_inputs(study),
        provenance(envelope, {"budget": str(found.search.budget)}),
    )


def _heading(found: Proposal, study: Study) -> Section:
    asked = listed([f"{wish.quantity} {wish.make}" for wish in found.wishes])
    what = counted(len(found.varied), "input is varied", "inputs are varied")
    line = f"Which design makes {asked} within the limits; {what}."
    return Section(study.title, (Paragraph(line), *notes(study)))


def _plain(found: Proposal, study: Study) -> Section:
    parts: list[Part] = [Paragraph(words) for words in plain_words(found, study)]
    parts += [Paragraph(words, marked=True) for words in warnings_of(found)]
    return Section("In plain words", (*parts, *left_of_template(study)))


def _found(found: Proposal, study: Study, drawn: Pictures) -> Iterator[Section]:
    if found.miss is not None:
        yield Section("The nearest miss", _design(found, study, drawn))
        if found.miss.changes:
            yield _changes(found.miss)
        return
    ready = Paragraph("proposal.toml is the study with the proposal put in, ready to run.")
    yield Section("The proposal", (*_design(found, study, drawn), ready))
    yield _trade_off(found, drawn["trade_off"]) if found.trade_off else _near_equal(found, drawn)
    yield Section("What holds it back", tuple(Paragraph(words) for words in holds_back_words(found)))


def _design(found: Proposal, study: Study, drawn: Pictures) -> tuple[Part, ...]:
    parts: list[Part] = [setting_table(found, study)]
    if found.told.limits:
        parts.append(limits_table(found.told, robust=found.search.robust))
    if "limits" in drawn:
        parts.append(Picture("limits", drawn["limits"], _LIMITS))
    return tuple(parts)


def _changes(miss: NearestMiss) -> Section:
    words = "Each by itself, most helpful first; what is left is told of the search's own scenarios."
    return Section("What would help", (changes_table(miss), Paragraph(words)))


def _trade_off(found: Proposal, picture: Figure) -> Section:
    first, second = (wish.quantity for wish in found.wishes)
    words = f"{first} against {second} along the trade-off curve, with their sampling errors (95 %)."
    parts: tuple[Part, ...] = (
        Picture("trade_off", picture, words),
        trade_off_table(found),
        Paragraph(f"{curve_words(found)} {alike_words(found.trade_off)}"),
        *designs_tables(found.beside, first_in_each=False, wishes=False),
    )
    return Section("The trade-off curve", parts)


def _near_equal(found: Proposal, drawn: Pictures) -> Section:
    title = "Designs nearly as good"
    if not found.near_equal:
        words = f"No other design was found that comes within 2 % of the proposal's {wished(found.wishes)}."
        return Section(title, (Paragraph(words),))
    parts: list[Part] = [
        Paragraph(
            f"Within 2 % of the proposal's {wished(found.wishes)}, and elsewhere in the ranges: choose by what is"
            f" easier to build, buy or hold steady. {alike_words((found.told, *found.near_equal))}"
        ),
        *designs_tables(found.beside, first_in_each=True, wishes=True),
    ]
    differ = [
        f"{name} in {listed(list(design.differs_in))}"
        for name, design in found.beside.items()
        if design.differs_in
    ]
    if differ:
        parts.append(Paragraph(f"They differ from the proposal most: {'; '.join(differ)}."))
    words = "Where each design stands within its ranges."
    return Section(title, (*parts, Picture("near_equal", drawn["near_equal"], words)))
