"""Warnings and limits of firings in words: what is said at once, what in its own section, and what a JSON holds."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, Protocol

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.designs import NONE, Named, columns, event_words, limit_words, percent_cell
from explorer.page.document import Paragraph, Section, Table
from explorer.page.words import AS_CALCULATED, listed, opened, percent, percent_with_sampling, verdict_words
from explorer.study.limits import SAID_FROM, Contacts, Events, Judged, contact_chances, stated_level

#: Share of firings from which on a warning stands in the headline.
AT_ONCE: Final = 0.1

_FORMS: Final = {"none": "none", "spark": "a spark", "diffuse": "diffuse", "arc": "an arc"}


def at_once(found: Events | None) -> str:
    """What must be known before anything is fired: warnings in a tenth of firings or more; else empty."""
    if found is None:
        return ""
    shares = [
        f"{event_words(code)} in {percent(float(share))}"
        for code, share in found.warnings.items()
        if float(share) >= AT_ONCE
    ]
    missed = [limit_words(own.limit) for own in found.limits if own.verdict == "not met"]
    told = list(contact_lines(found.contacts, AT_ONCE))
    told += [opened(f"{listed(shares)} of firings.")] if shares else []
    said = [f"Beware: {told[0][0].lower()}{told[0][1:]}", *told[1:]] if told else []
    said += [f"Not met: {listed(missed)}."] if missed else []
    return " ".join(said)


def contact_lines(
    contacts: Contacts, least: float, *, full: bool = False, among: str = "firings"
) -> Iterator[str]:
    """Yield in what form a pair conducts in which share of firings, of shares from the least on, a sentence a pair."""
    for pair, forms in contacts.items():
        said = _forms(forms, least, full=full)
        where = f" of the {pair} pair" if len(contacts) > 1 else ""
        if said:
            yield f"Contact{where} is {listed(said)} of {among}."


def _forms(forms: Mapping[str, Estimate], least: float, *, full: bool = False) -> list[str]:
    """Forms of contact that are found often enough; an arc, which burns electrodes, where it is rare too."""
    return [
        f"{_FORMS[form]} in {percent_with_sampling(share) if full else percent(float(share))}"
        for form, share in forms.items()
        if float(share) >= (min(least, SAID_FROM) if form == "arc" else least)
    ]


class InContact(Named, Protocol):
    """A design of which forms of contact are known."""

    @property
    def contacts(self) -> Contacts:
        """Shares of firings by pair and form of contact."""


def contacts_beside(designs: Sequence[InContact], least: float) -> Iterator[str]:
    """Yield the same of several designs beside each other, a sentence a pair."""
    pairs = dict.fromkeys(pair for own in designs for pair in own.contacts)
    for pair in pairs:
        each = [
            f"{own.name} {listed(_forms(own.contacts[pair], least))}"
            for own in designs
            if pair in own.contacts
        ]
        where = f" at the {pair} pair" if len(pairs) > 1 else ""
        yield f"Contact{where}: {'; '.join(each)} of firings."


def contact_tables(designs: Sequence[InContact]) -> tuple[Table, ...]:
    """Return the chance of each form of contact, a column a design; no table where none is known."""
    chances = {own.name: contact_chances(own.contacts) for own in designs}
    rows = dict.fromkeys(name for own in chances.values() for name in own)

    def cell(row: str, design: InContact) -> str:
        own = chances[design.name]
        return percent_cell(own[row]) if row in own else NONE

    return columns(designs, rows, registry.words_of, cell)


def beware(found: Events | None) -> Iterator[str]:
    """Yield what a short answer warns of: frequent warnings and limits that are not met, a line each."""
    if found is None:
        return
    yield from contact_lines(found.contacts, AT_ONCE)
    for code, share in found.warnings.items():
        if float(share) >= AT_ONCE:
            said = event_words(code)
            yield f"{said[0].upper()}{said[1:]} in {percent(float(share))} of firings."
    for own in found.limits:
        if own.verdict != "met":
            yield f"Limit {own.verdict}: {limit_words(own.limit)}; {held_words(own)}."


def held_words(own: Judged) -> str:
    """Return in which share of firings a limit holds, or what it forbids is found."""
    if not own.has_numbers:
        return "no firing has a number for it"
    does = "it is found" if own.limit.event is not None else "it holds"
    return f"{does} in {percent(float(own.chance))}"


def events_section(found: Events | None) -> tuple[Section, ...]:
    """Every warning in a hundredth of firings or more with what to do, and every limit; nothing without any."""
    if found is None or not (found.warnings or found.limits or found.contacts):
        return ()
    sentences = {warning.code: warning.sentence for warning in registry.WARNINGS}
    said = list(contact_lines(found.contacts, 0.0, full=True))
    said += [
        f"{event_words(code)}, in {percent_with_sampling(share)} of firings. {sentences[code]}"
        for code, share in found.warnings.items()
    ]
    said += [_limit(own) for own in found.limits]
    note = f"Shares of warnings are {AS_CALCULATED}." if found.warnings else ""
    parts = tuple(Paragraph(f"{text[0].upper()}{text[1:]}") for text in (*said, note) if text)
    return (Section("Warnings and limits", parts),)


def _limit(own: Judged) -> str:
    if not own.has_numbers:
        return f"Limit: {limit_words(own.limit)}. Not decided: {held_words(own)}."
    chance = percent_with_sampling(own.chance)
    said = verdict_words(own.chance, stated_level(own.limit), "for more samples")
    if own.limit.event is not None:
        return f"Limit: {limit_words(own.limit)}. Found in {chance}: {own.verdict}."
    wanted = percent(own.limit.chance or 0.0)
    return f"Limit: {limit_words(own.limit)}, in {wanted} of firings. Holds in {chance}: {said}."


def events_data(found: Events | None) -> dict[str, Any]:
    """The same for a JSON."""
    if found is None:
        return {"firings_with_warning": {}, "limits": []}
    contact = {
        pair: {form: {"share": float(share), "standard_error": share.error} for form, share in forms.items()}
        for pair, forms in found.contacts.items()
    }
    return {
        "firings_with_warning": {
            code: {"share": float(share), "standard_error": share.error}
            for code, share in found.warnings.items()
        },
        "limits": [own.row() for own in found.limits],
        **({"contact": contact} if contact else {}),
    }
