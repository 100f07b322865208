"""The steps to fire in words, what each would leave, by which instrument, what changes before it; as studies."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from explorer import registry, units
from explorer.page.cautions import CAUTIONS
from explorer.page.events import AT_ONCE
from explorer.page.words import counted, listed, percent, with_sampling
from explorer.questions.scale.ladder.ladder import Firing, Ladder
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.path.path import SWITCH
from explorer.questions.scale.scaling import COST_EXPONENT, Scaling
from explorer.questions.scale.verdict import firings_text, worth_words
from explorer.questions.scale.words import border_name, fired_where
from explorer.study.visibility import CARRIED, SEEN
from explorer.studyfile import Instrument, study_text

#: Share of what a step removes from which on one instrument is said to teach most of it [-].
_MOST: Final = 0.6

#: Share of firings beyond an instrument's range from which on that is said [-].
_BEYOND: Final = 0.05

#: Share from which on it is said to be all of them [-].
_ALL: Final = 0.995


def firings_words(found: Scaling, ladder: Ladder) -> Iterator[str]:
    """Return the steps to fire with their reasons, one matter an item, and what all pin down together."""
    before, name, quantity = ladder.after_first, found.first.name, registry.quantity(found.target)
    for rung in ladder.rungs:
        size = units.number_text(rung.design.size, 3)
        thrust = registry.quantity("thrust").spoken(_mean(rung.design, "thrust"), 2)
        yield (
            f"{rung.design.name.capitalize()}, {size} times {found.first.name}'s size ({thrust} of thrust), costs"
            f" {firings_text(found, rung.design.cost)}. After it {with_sampling(quantity, rung.left)} is left,"
            f" of ± {quantity.scale.difference(float(before))} before. {_through(found, rung)}"
        )
        yield _changed(name, rung)
        yield from out_of_range(found, rung)
        yield from _warned(rung)
        before, name = rung.left, rung.design.name
    yield f"All are computed {fired_where(found)}."
    if ladder.shared_left:
        yield _pinned(ladder)


def _through(found: Scaling, rung: Firing) -> str:
    """By which instrument a step teaches, and what that one sees there and at the first design."""
    instruments = {instrument.name: instrument for instrument in found.path.first.instruments}
    total = sum(max(part, 0.0) for part in rung.through.values())
    if not total > 0:
        return "Its readings teach only together."
    best = max(rung.through, key=lambda name: rung.through[name])
    instrument = instruments[best]
    here, there = (_over_noise(instrument, design) for design in (rung.design, found.first))
    value = registry.quantity(instrument.reads).spoken(_mean(rung.design, instrument.reads), 2)
    much = "most of it" if rung.through[best] / total > _MOST else "the largest part"
    times = f"{units.number_text(here, 2)} times"
    words = f"{best} teaches {much}: it reads {value} of {registry.words_of(instrument.reads)} there, {times} its noise"
    if there < SEEN <= here:
        return f"{words}; at {found.first.name} it sees nothing of it."
    return f"{words}."


def _over_noise(instrument: Instrument, design: Waypoint) -> float:
    value = _mean(design, instrument.reads)
    noise = instrument.random.at(value)
    return abs(value) / noise if noise > 0 else float("inf")


def _mean(design: Waypoint, quantity: str) -> float:
    return float(design.figures[quantity].mean)


def _changed(before: str, rung: Firing) -> str:
    if not rung.changes:
        return f"From {before} to it no regime changes: what was learnt there holds."
    name = border_name(rung.changes[0].border)
    return f"From {before} to it one regime boundary is crossed, and no more: {name}."


def out_of_range(found: Scaling, rung: Firing) -> Iterator[str]:
    """Return which instruments a firing goes beyond."""
    for instrument in found.path.first.instruments:
        if rung.beyond.get(instrument.name, 0.0) > _BEYOND and instrument.range is not None:
            carried, share = CARRIED.get(instrument.reads, instrument.reads), rung.beyond[instrument.name]
            quantity, firings = registry.quantity(carried), "all" if share > _ALL else percent(share)
            value = quantity.spoken(_mean(rung.design, carried), 2)
            yield (
                f"{instrument.name}'s range ends at {quantity.shown(instrument.range[1])}, and {firings} of the firings"
                f" there lie beyond it ({quantity.words} {value} on average). A larger one that reads as well is"
                " assumed."
            )


def _warned(rung: Firing) -> Iterator[str]:
    for warning in registry.WARNINGS:
        share = rung.warnings.get(warning.code)
        if share is not None and float(share) >= AT_ONCE:
            yield f"{percent(float(share))} of the firings there carry the warning: {warning.title}. {warning.sentence}"


def _pinned(ladder: Ladder) -> str:
    """What the firings pin down of what both designs share."""
    parts = [f"{shared_name(name)} to {percent(left[-1])}" for name, left in ladder.shared_left.items()]
    return (
        "What all these firings together pin down of what both designs share, in shares of its uncertainty now:"
        f" {listed(parts)}."
    )


def shared_name(name: str) -> str:
    """Return what something drawn once is called: its shared name, or the model's own error."""
    if name.startswith("shared "):
        return name.removeprefix("shared ")
    return "the common part of the model's own error"


def choice_words(found: Scaling, ladder: Ladder) -> str:
    """Return how the steps were chosen, and when a ladder is worth climbing."""
    exponent = units.number_text(found.cost_exponent, 3)
    return (
        f"Looked at: {counted(len(ladder.tried), 'set')} of up to three steps in which no step lies more than one"
        " change of regime past the step before. Each step of a set must narrow the target by"
        f" {worth_words(found, ladder)} or more, and by more than its sampling error. A ladder is worth climbing if it"
        f" costs no more than a firing of {found.last.name} itself and removes more of the variance for its cost than"
        " that does. The cost of a firing goes with the size, the cube root of the channel's volume, to the power of"
        f" {exponent}{_assumed(found)}. The set was"
        " chosen on points of its own and judged on others."
    )


def _assumed(found: Scaling) -> str:
    if found.cost_exponent != COST_EXPONENT:
        return ""
    return " (assumed: thrust and propellant go with the square; --cost-exponent sets another)"


def step_studies(found: Scaling, envelope: Mapping[str, Any]) -> dict[str, str]:
    """Return each step to fire as a study, ready to run, by file name."""
    rungs = () if found.ladder is None else found.ladder.rungs
    return {file_name(rung): _text(found, rung, envelope) for rung in rungs}


def file_name(rung: Firing) -> str:
    """Return the name of a step's study."""
    return f"{rung.design.name.replace(' ', '-')}.toml"


def _text(found: Scaling, rung: Firing, envelope: Mapping[str, Any]) -> str:
    design, first, last = rung.design, found.first.name, found.last.name
    title = f"Scale-up {design.name} from {first} to {last}"
    head = [
        f"Scale-up {design.name} from {first} to {last}, {percent(design.place)} of the"
        f" way, by mhdstage {envelope['version']}.",
        f"Study hashes {', '.join(envelope['study_hash'])}, random number {found.random_number}.",
        f"Values and their ± are those of {first if design.place < SWITCH else last}, moved; instruments are"
        f" {first}'s.",
        *(f"{note}." for note in design.notes),
        "",
        "A prediction with limits, not a permission to build or to fire.",
        *CAUTIONS,
    ]
    return study_text(replace(design.study, document={**design.study.document, "title": title}), head=head)
