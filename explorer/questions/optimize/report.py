"""The report of a search for a design: plain words first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from matplotlib.figure import Figure

from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import counted, listed
from explorer.questions.optimize.designs import alike_words, curve_words, designs_tables
from explorer.questions.optimize.misses import holds_back_words
from explorer.questions.optimize.review import review
from explorer.questions.optimize.search.proposal import JudgedDesign, NearestMiss, Proposal
from explorer.questions.optimize.tables import (
    PROPOSAL,
    changes_table,
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
    found: Proposal,
    study: Study,
    envelope: Mapping[str, Any],
    pictures: Pictures | None = None,
    *,
    left_of_template: tuple[Paragraph, ...] = (),
) -> tuple[Section, ...]:
    """Return the report of a search for a design."""
    drawn = pictures or {}
    return (
        _heading(found, study),
        _plain(found, study, left_of_template),
        *_found(found, study, drawn),
        how_read(study, use=_USE if found.search.robust else _CENTRAL_USE),
        cautions(),
        *review(found, study, drawn.get("search")),
        resolved_inputs(study),
        provenance(envelope, {"budget": str(found.search.budget)}),
    )


def _heading(found: Proposal, study: Study) -> Section:
    wished = listed([f"{wish.quantity} {wish.make}" for wish in found.wishes])
    what = counted(len(found.varied), "input is varied", "inputs are varied")
    line = f"Which design makes {wished} within the limits; {what}."
    return Section(study.title, (Paragraph(line), *notes(study)))


def _plain(found: Proposal, study: Study, left_of_template: tuple[Paragraph, ...]) -> Section:
    parts: list[Part] = [Paragraph(words) for words in plain_words(found, study)]
    parts += [Paragraph(words, marked=True) for words in warnings_of(found)]
    parts += left_of_template
    return Section("In plain words", tuple(parts))


def _found(found: Proposal, study: Study, drawn: Pictures) -> Iterator[Section]:
    if found.best is None:
        if found.miss is not None:
            yield from _missed(found, found.miss, study, drawn)
        return
    yield _proposal(found, found.best, study, drawn)
    if found.trade_off:
        yield _trade_off(found, drawn.get("trade_off"))
    if found.near_equal or not found.trade_off:
        yield _near_equal(found, found.best, drawn.get("near_equal"))
    yield Section("What holds it back", tuple(Paragraph(words) for words in holds_back_words(found)))


def _limit_parts(design: JudgedDesign, drawn: Pictures, *, robust: bool) -> Iterator[Part]:
    if design.limits:
        yield limits_table(design, robust=robust)
    if "limits" in drawn:
        yield Picture("limits", drawn["limits"], _LIMITS)


def _proposal(found: Proposal, best: JudgedDesign, study: Study, drawn: Pictures) -> Section:
    parts = (
        setting_table(found, best, study, PROPOSAL),
        *_limit_parts(best, drawn, robust=found.search.robust),
        Paragraph("proposal.toml is the study with the proposal put in, ready to run."),
    )
    return Section("The proposal", parts)


def _trade_off(found: Proposal, picture: Figure | None) -> Section:
    first, second = (wish.quantity for wish in found.wishes)
    parts: list[Part] = []
    if picture is not None:
        words = f"{first} against {second} along the trade-off curve, with their sampling errors (95 %)."
        parts.append(Picture("trade_off", picture, words))
    parts.append(trade_off_table(found))
    parts.append(Paragraph(f"{curve_words(found)} {alike_words(found.trade_off)}"))
    names = [str(number) for number in range(1, len(found.trade_off) + 1)]
    parts += designs_tables(found.trade_off, names, first_in_each=False, wishes=False)
    return Section("The trade-off curve", tuple(parts))


def _near_equal(found: Proposal, best: JudgedDesign, picture: Figure | None) -> Section:
    wished = listed([wish.quantity for wish in found.wishes])
    if not found.near_equal:
        words = f"No other design was found that comes within 2 % of the proposal's {wished}."
        return Section("Designs nearly as good", (Paragraph(words),))
    designs = (best, *found.near_equal)
    parts: list[Part] = [
        Paragraph(
            f"Within 2 % of the proposal's {wished}, and elsewhere in the ranges: choose by what is easier to build,"
            f" buy or hold steady. {alike_words(designs)}"
        )
    ]
    names = [str(number) for number in range(1, len(found.near_equal) + 1)]
    parts += designs_tables(designs, (PROPOSAL, *names), first_in_each=True, wishes=True)
    differ = [
        f"{name} in {listed(list(design.differs_in))}"
        for name, design in zip(names, found.near_equal, strict=True)
        if design.differs_in
    ]
    if differ:
        parts.append(Paragraph(f"They differ from the proposal most: {'; '.join(differ)}."))
    if picture is not None:
        parts.append(Picture("near_equal", picture, "Where each design stands within its ranges."))
    return Section("Designs nearly as good", tuple(parts))


def _missed(found: Proposal, miss: NearestMiss, study: Study, drawn: Pictures) -> Iterator[Section]:
    parts = (
        setting_table(found, miss.design, study, "nearest miss"),
        *_limit_parts(miss.design, drawn, robust=found.search.robust),
    )
    yield Section("The nearest miss", parts)
    if miss.changes:
        words = "Each by itself, most helpful first; what is left is told of the search's own scenarios."
        yield Section("What would help", (changes_table(found), Paragraph(words)))
