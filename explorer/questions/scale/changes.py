"""Where a path changes regime, and how its designs were made, in words."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from explorer import registry, units
from explorer.page.designs import event_words
from explorer.page.words import listed, percent, requirement
from explorer.questions.scale.path.borders import HELD_DOWN, MOST, Border
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.path import Switch
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.path.steps import ALTITUDE
from explorer.questions.scale.rows import border_name
from explorer.studyfile import Limit

_RATIOS: Final = (
    "Sizes, masses, fields, voltages, the ambient pressure and the share of seed go by equal ratios from one end to the"
    " other, everything else, and what is zero at one end, by equal steps. Each step is the nearer end's study with its"
    " values moved, rounded to four digits; the ± of each is the one written there. What one end says of itself alone"
    " (requirement, search, measurements) stays behind; the instruments are {first}'s."
)

_ALTITUDE: Final = (
    "An altitude counts by its pressure in the U.S. Standard Atmosphere 1976, and is written as the altitude of that"
    " pressure again near an end that states one."
)


def change_words(found: Scaling) -> tuple[str, ...]:
    """Return what changes along the path, one border an item, in the order in which they are met."""
    crossed = [_change(found, change) for change in found.changes if change.counts]
    ceasing = [
        f"{border_name(found, change.border.regime.name)} at {percent(change.place)} of the way"
        for change in found.changes
        if not change.counts
    ]
    if ceasing:
        crossed.append(f"Limits that cease to bind, which is no change of regime: {listed(ceasing)}.")
    names = {change.border.regime.name for change in found.changes}
    rest = listed([border_name(found, b.regime.name) for b in found.borders if b.regime.name not in names])
    return (*(crossed or ["No border is crossed."]), f"Looked at and not crossed: {rest}.")


def _change(found: Scaling, change: Change) -> str:
    regime = change.border.regime
    size = float(np.exp(np.interp(change.place, found.places, np.log(found.sizes))))
    turns = "from there on" if change.past else "from there on no longer"
    head = (
        f"At {units.number_text(size, 2)} times {found.names[0]}'s size ({percent(change.place)} of the way, between"
        f" {change.between[0]} and {change.between[1]}), {border_name(found, regime.name)}; {turns}: {regime.past}"
        f"{_threshold(found, change)}."
    )
    shares = [
        f"{percent(share)} of the firings of {design}{_value(change.border, value)}"
        for share, design, value in zip(change.shares, change.between, change.values, strict=True)
    ]
    return f"{head} Past the border lie {listed(shares)}. {regime.sentence} (Border: {regime.source}.)"


def _threshold(found: Scaling, change: Change) -> str:
    border, regime = change.border, change.border.regime
    if border.limits is not None:
        limit = border.limit_at(change.place) or next(limit for limit in border.limits if limit is not None)
        return f" ({_limit(limit)})"
    if regime.quantity == HELD_DOWN or regime.is_chance:
        return f" (in more than {percent(MOST)} of firings)"
    side = "below" if regime.under else "above"
    if regime.relative:
        return f" ({regime.quantity} {side} {units.number_text(regime.threshold)} times {found.names[0]}'s)"
    bound = registry.quantity(regime.quantity).shown(regime.threshold)
    return f" ({regime.measure or regime.quantity} {side} {bound})"


def _limit(limit: Limit) -> str:
    """What a study's own limit asks: "max_current_density at most 2 A/cm^2, asked in 90 % of firings"."""
    if limit.event is None:
        bounds = requirement(
            registry.quantity(limit.quantity), at_least=limit.at_least, at_most=limit.at_most
        )
        return f"{limit.quantity} {bounds}, asked in {percent(limit.chance or 0.0)} of firings"
    shares = [
        f"at {word} {percent(share)}"
        for word, share in (("least", limit.at_least), ("most", limit.at_most))
        if share is not None
    ]
    return f"{event_words(limit.event)} in {' and '.join(shares)} of firings"


def _value(border: Border, value: float) -> str:
    if border.regime.is_chance or math.isnan(value):
        return ""
    quantity = registry.quantity(border.regime.quantity)
    if border.regime.ratio is not None:
        return f" (mean {units.number_text(value, 2)})"
    return f" (mean {quantity.shown(value, 2)})"


def switch_words(found: Scaling) -> tuple[str, ...]:
    """Return which words switch and where, one an item."""
    where = _half_way(found)
    words = [f"Half-way{where}, {_switch(switch)}." for switch in found.path.switches]
    switched = {address for switch in found.path.switches for address in switch.with_it}
    bounds = [a for a, way in found.path.ways.items() if way == "switches" and a not in switched]
    if bounds:
        words.append(
            f"Half-way{where}, {listed(bounds)} of the one end or the other begins: one end has no such bound."
        )
    return tuple(words)


def _half_way(found: Scaling) -> str:
    before = [name for name, place in zip(found.names, found.places, strict=True) if place < 0.5]
    after = [name for name, place in zip(found.names, found.places, strict=True) if place >= 0.5]
    return f", between {before[-1]} and {after[0]}"


def _switch(switch: Switch) -> str:
    before, after = (word or "nothing" for word in (switch.before, switch.after))
    also = f", and with it {listed(switch.with_it)}" if switch.with_it else ""
    return f"{switch.address} switches from {before} to {after}{also}"


def made_words(found: Scaling) -> tuple[str, ...]:
    """Return how the designs on the path were made and which can't stand, one matter an item."""
    return tuple(_made(found))


def _made(found: Scaling) -> Iterator[str]:
    if not found.path.has_length:
        return
    yield _RATIOS.format(first=found.names[0])
    if any(ALTITUDE in end.central() for end in (found.path.first, found.path.second)):
        yield _ALTITUDE
    unknown = [address for address, way in found.path.ways.items() if way == "left out"]
    if unknown:
        yield f"Stated by one end only, and left out between the ends: {listed(unknown)}."
    for number, why in found.path.left_out.items():
        yield f"Step {number} is left out: {why}."
    notes: dict[str, list[int]] = {}
    for step in found.path.steps:
        for note in step.notes:
            notes.setdefault(note, []).append(step.number)
    for note, steps in notes.items():
        yield f"In {_numbers(steps)} {note}."
    if found.ladder is not None and found.ladder.unreached:
        names = listed([found.names[design] for design in found.ladder.unreached])
        yield (
            f"No set within the rule of one change reaches {names}: more than one regime changes between two neighbours"
            " on the way there. More --points may part them."
        )
    if found.path.steps and found.ladder is not None:
        idle = [n for n in found.names[1:-1] if n not in found.ladder.candidates.index]
        if idle:
            yield f"Too many firings of {listed(idle)} carry no number to be read: no points of a ladder."


def _numbers(items: Sequence[int]) -> str:
    """Steps by their numbers: "steps 1 to 4", "step 6"."""
    if len(items) == 1:
        return f"step {items[0]}"
    if list(items) == list(range(items[0], items[-1] + 1)):
        return f"steps {items[0]} to {items[-1]}"
    return f"steps {listed([str(item) for item in items])}"
