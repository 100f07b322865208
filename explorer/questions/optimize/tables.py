"""A search for a design as tables: the proposal beside the study, its limits, designs beside each other, changes."""

from typing import Final

from explorer import registry
from explorer.page.document import Table
from explorer.page.words import percent
from explorer.questions.optimize.misses import change_text, left_text
from explorer.questions.optimize.names import (
    asked_text,
    chance_text,
    expectation_text,
    limit_head,
    limit_words,
    range_text,
    setting_text,
    stated,
)
from explorer.questions.optimize.search.proposal import JudgedDesign, Proposal
from explorer.studyfile import Study

#: What is said of the proposal among other designs.
PROPOSAL: Final = "proposal"
KNEE: Final = "the knee: proposed"


def present_text(study: Study, address: str) -> str:
    """Return what stands at an address in the study itself."""
    value = study.central().get(address)
    return study.choices.get(address, "") if value is None else setting_text(address, value)


def setting_table(found: Proposal, design: JudgedDesign, study: Study, head: str) -> Table:
    """Return what is varied: the study's value, a design's, and what was allowed."""
    rows = tuple(
        (
            item.address,
            present_text(study, item.address),
            setting_text(item.address, design.setting[item.address]),
            range_text(item),
        )
        for item in found.varied
    )
    return Table(rows, ("", "now", head, "range, or in stock"))


def limits_table(design: JudgedDesign, *, robust: bool) -> Table:
    """Return each limit with the chance that it holds at a design and its verdict."""
    said = stated(design)
    if not robust:
        central = [
            (limit_words(j.limit), _central_value(j.limit.quantity, j.quantile, j.chance.share), j.verdict)
            for j in said
        ]
        return Table(tuple(central), ("limit", "at central values", "verdict"))
    rows: list[tuple[str, ...]] = [
        (limit_head(j.limit), asked_text(j.limit), chance_text(j.chance), j.verdict) for j in said
    ]
    if sum(judged.limit.event is None for judged in said) > 1:
        rows.append(("all on results at once", "", chance_text(design.together), ""))
    return Table(tuple(rows), ("limit", "asked", "chance", "verdict"))


def _central_value(quantity: str, value: float, share: float) -> str:
    if quantity.startswith("chance."):
        return "there" if share > 0.0 else "not there"
    return registry.quantity(quantity).shown(value)


def trade_off_table(found: Proposal) -> Table:
    """Return the trade-off curve: what each of its designs gives of both wishes."""
    rows = tuple(
        (
            str(number),
            *(expectation_text(judged) for judged in design.wishes),
            design.verdict,
            KNEE if is_proposal(found, design) else "",
        )
        for number, design in enumerate(found.trade_off, start=1)
    )
    return Table(rows, ("", *(wish.quantity for wish in found.wishes), "limits", ""))


def is_proposal(found: Proposal, design: JudgedDesign) -> bool:
    """Return whether a design is the one proposed."""
    return found.best is not None and dict(design.setting) == dict(found.best.setting)


def changes_table(found: Proposal) -> Table:
    """Return the changes that would help, most helpful first."""
    if found.miss is None:
        raise ValueError("a search with a proposal has no changes that would help")
    rows = tuple((change_text(found, change), left_text(change)) for change in found.miss.changes)
    return Table(rows, ("change", "what is left"))


def levels_table(design: JudgedDesign) -> Table:
    """Return for a reviewer the chance asked, the one that the search was held to, and what fresh points say."""
    rows = []
    for judged in design.limits:
        limit = judged.limit
        inner = judged.inner_level
        if (
            limit.event is not None and limit.at_most is not None
        ):  # the share of the event, not of its absence
            inner = 1.0 - inner
        kept = "" if limit.event is not None else registry.quantity(limit.quantity).shown(judged.quantile)
        rows.append(
            (
                limit_head(limit),
                asked_text(limit),
                percent(inner, 4),
                chance_text(judged.chance),
                kept,
            )
        )
    return Table(tuple(rows), ("limit", "asked", "in the search", "fresh points", "keeps to"))
