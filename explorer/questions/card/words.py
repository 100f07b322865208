"""Sentences of a card, and of a firing held against it."""

import math
from collections.abc import Iterator
from typing import Final

from explorer import registry, units
from explorer.page.designs import event_words, limit_words
from explorer.page.words import counted, listed, percent, the
from explorer.questions.card.against import EXPLAINED, SURPRISING, Against, Explanation
from explorer.questions.card.card import Card, StepOfCard
from explorer.questions.card.tables import explained, needed, step_name
from explorer.study.limits import required
from explorer.studyfile import Limit

AID: Final = (
    "An aid beside the team's own checklist and range rules, not in place of them: it knows the model, not your"
    " stand."
)

_JOULES: Final = units.Scale("J", "J")

#: Share of firings from which on a warning or an ending without a number is said.
_SAID_FROM: Final[float] = 0.01


def expected(card: Card) -> Iterator[str]:
    """Yield how the steps go, in a sentence each."""
    for step in card.steps:
        shares = [
            f"{event_words(name)} in {percent(share)}"
            for name, share in step.statuses.items()
            if name != "ok"
        ]
        shares += [
            f"{event_words(code)} in {percent(share)}"
            for code, share in sorted(step.warnings.items(), key=lambda item: -item[1])
            if share >= _SAID_FROM
        ]
        power = registry.quantity("electrical_power").spoken(step.power[0])
        said = f"Expect {listed(shares)} of firings." if shares else "No warnings."
        yield f"In {step_name(step)}: {power} at the terminals. {said}"


def stop_rules(card: Card) -> Iterator[str]:
    """Yield when to stop, most general first."""
    yield "anything on the team's own list of abort criteria happens; that list comes first."
    for limit in _limits(card):
        if limit.event is None and _read(card, limit):
            yield f"{_beyond(limit)} (the study's own limit)."
    yield "a reading lies beyond the ends under READ that one firing in a thousand passes: the model is wrong there."
    for address in card.steps[-1].moment.study.central():
        if address.endswith(".source.current_limit"):
            limit_of = registry.quantity(address)
            value = card.steps[-1].moment.study.central()[address]
            if value < float("inf"):
                shown = limit_of.spoken(value)
                yield f"{the(registry.words_of(address))} of {shown} is reached and stays: a short or an arc."


def _limits(card: Card) -> Iterator[Limit]:
    asked = required(card.study)
    for limit in card.study.limits:
        if limit != asked:
            yield limit


def _read(card: Card, limit: Limit) -> bool:
    return any(own.reads == limit.quantity for own in card.firing.instruments)


def _beyond(limit: Limit) -> str:
    return f"not {limit_words(limit)}"


def amounts(card: Card) -> str:
    """Return what the supply needs for the burn."""
    if card.energy is None:
        return "No amounts can be told: state the seconds of every step in the [[firing]] table."
    likely, most = card.energy
    if math.isnan(most):
        return "The supply's energy can't be told: hardly any firing has a number."
    if most < 0.0:
        return f"The load takes {_JOULES.spoken(-likely)} in the burn, as likely as not."
    return (
        f"The supply gives {_JOULES.spoken(likely)} in the burn of {card.seconds:g} s as likely as not, and up to"
        f" {_JOULES.spoken(most)} 39 times in 40: have more than that stored or on the line."
    )


def pulses(card: Card) -> Iterator[str]:
    """Yield what shunts and loggers must bear where what is read comes in pulses."""
    for pair in dict.fromkeys(pair for step in card.steps for pair in step.peaks):
        most = registry.quantity(f"electrodes.{pair}.pulse_peak_current").spoken(
            max(step.peaks.get(pair, 0.0) for step in card.steps)
        )
        yield (
            f"Currents, voltages and ranges of the {pair} pair are means over its pulses. A shunt and a logger that"
            f" follow a pulse need up to {most} (in 39 of 40 firings), and readings far closer than the pulse is long."
        )


def contradicts(card: Card) -> Iterator[str]:
    """Yield what else would contradict the model."""
    for step in card.steps:
        none = step.statuses.get("no_contact", 0.0)
        if none >= 1.0 - _SAID_FROM:
            share = percent(none)
            yield f"A current beyond a leak in {step_name(step)}: no contact is predicted in {share} of firings."
        elif none <= _SAID_FROM and step.statuses.get("ok", 0.0) > 1.0 - _SAID_FROM:
            yield f"No current in {step_name(step)}: contact is predicted in {percent(1.0 - none)} of firings."


def unseen(card: Card) -> Iterator[str]:
    """Yield which instruments will hardly see anything, since their own noise is as wide as what they read."""
    for place, instrument in enumerate(card.firing.instruments):
        bands = [step.bands[place] for step in card.steps]
        if all(abs(band.middle) < 2.0 * band.noise for band in bands if band.middle == band.middle):
            quantity = registry.quantity(instrument.reads)
            yield (
                f"{instrument.name} will hardly show anything: it expects at most"
                f" {quantity.spoken(max(abs(b.middle) for b in bands))} with a noise of"
                f" ± {quantity.scale.difference(bands[-1].noise, 2)}."
            )


def verdict(found: Against) -> str:
    """Return whether a firing contradicts its prediction."""
    outside = [own for own in found.held if not own.inside]
    which = listed(
        [f"{registry.words_of(own.quantity)}{f' in {own.step}' if own.step else ''}" for own in outside]
    )
    chance = percent(found.chance)
    if found.surprises:
        said = (
            f" Outside: {which}."
            if outside
            else " Each reading lies inside its range; together they don't fit."
        )
        name = found.firing.name
        return f"{name} contradicts the prediction: readings this far off come in {chance} of firings.{said}"
    if outside:
        return (
            f"{found.firing.name} agrees with the prediction as a whole (this far off in {chance} of firings), though"
            f" {which} {'lies' if len(outside) == 1 else 'lie'} outside: one reading in twenty does."
        )
    return f"{found.firing.name} agrees with the prediction: {counted(len(found.held), 'reading')}, none outside."


def best(found: Against) -> str:
    """Return what explains it best."""
    if not (found.surprises or any(not own.inside for own in found.held)):
        return ""
    if not found.explanations:
        return (
            ""
            if not found.surprises
            else (
                "No single input within reach and no slip that was tried explains it: look at two things at once, or at"
                " the model."
            )
        )
    first = found.explanations[0]
    rest = [explained(own) for own in found.explanations[1:4]]
    also = f" Next: {listed(rest)}." if rest else ""
    leaves = (
        ""
        if first.fit >= EXPLAINED
        else f" Even so readings this far off come in {percent(first.fit)} of firings."
    )
    return f"Best single explanation: {_said(first)}.{leaves}{also}"


def _said(own: Explanation) -> str:
    if own.slip:
        return own.slip
    verb = "" if own.address.startswith("instrument ") else "at "
    return f"{explained(own)} {verb}{needed(own)}"


def surprising_words() -> str:
    """Return from when on a firing is called a contradiction."""
    return (
        "A firing contradicts the prediction where readings this far off or farther come in less than"
        f" {percent(SURPRISING)} of firings (common practice, no source). One input after another is let go beyond its"
        " range, everything else as unsure as before; slips are tried as they are. What fits and lies least far out"
        " comes first."
    )


def steps_named(card: Card) -> str:
    """Return the steps in one line."""
    return ", ".join(f"{step_name(own)}{_lasting(own)}" for own in card.steps)


def _lasting(step: StepOfCard) -> str:
    return "" if step.moment.seconds is None else f" {step.moment.seconds:g} s"
