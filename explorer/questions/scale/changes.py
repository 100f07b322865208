"""Where a path changes regime, and how its designs were made, in words."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from explorer import registry, units
from explorer.page.designs import limit_words
from explorer.page.words import listed, percent, percent_with_sampling
from explorer.questions.scale.ladder.ladder import Ladder
from explorer.questions.scale.path.borders import MOST
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.path import SWITCH, Switch
from explorer.questions.scale.scaling import Scaling
from explorer.questions.scale.words import border_name, fired_where
from explorer.study.regimes import BorderSide, Regime

_RATIOS: Final = (
    "Sizes, masses, fields, voltages and the share of seed go by equal ratios from one end to the other, everything"
    " else, and what is zero at one end, by equal steps. Each step is the nearer end's study with its values moved,"
    " rounded to four digits; the ± of each is the one written there. What one end says of itself alone (requirement,"
    " search, measurements) stays behind; the instruments are {first}'s."
)

_AROUND: Final = (
    "The steps, and {last} where it is fired to be read, are computed {where}; a [[setup]] of {first} that states"
    " `lowest_pressure` is an altitude cell, in which each is fired at the pressure that lies on its way (an altitude"
    " counting by its pressure in the U.S. Standard Atmosphere 1976), or at the lowest that it holds."
)


def change_words(found: Scaling) -> Iterator[str]:
    """Return what changes along the path, one boundary an item, in the order in which they are met."""
    if not found.changes:
        yield "No regime boundary is crossed."
    ceasing = []
    for change in found.changes:
        if change.counts:
            yield _change(found, change)
        else:
            ceasing.append(f"{border_name(change.border)} at {percent(change.place)} of the way")
    if ceasing:
        yield f"Limits that cease to bind, which is no change of regime: {listed(ceasing)}."
    crossed = {change.border.name for change in found.changes}
    rest = listed([border_name(border) for border in found.borders if border.name not in crossed])
    yield f"Looked at and not crossed: {rest}."


def _change(found: Scaling, change: Change) -> str:
    regime, first = change.border.regime, found.first.name
    size = float(np.exp(np.interp(change.place, found.places, np.log(found.sizes))))
    turns = "from there on" if change.past else "from there on no longer"
    before, after = change.between
    shares = [
        f"{percent_with_sampling(side.share)} of the firings of {design.name}{_value(regime, side)}"
        for side, design in zip(change.sides, change.between, strict=True)
    ]
    return (
        f"At {units.number_text(size, 2)} times {first}'s size ({percent(change.place)} of the way, between"
        f" {before.name} and {after.name}), {border_name(change.border)}; {turns}: {regime.past}"
        f" ({_threshold(change, first)}). Past this regime boundary lie {listed(shares)}. {regime.sentence}"
        f" (Boundary: {regime.source}.)"
    )


def _threshold(change: Change, first: str) -> str:
    border, regime = change.border, change.border.regime
    if border.limits is not None:
        limit = border.limit_at(change.place) or next(limit for limit in border.limits if limit is not None)
        asked = "" if limit.chance is None else f", asked in {percent(limit.chance)}"
        return f"{limit_words(limit)}{asked} of firings"
    if regime.is_chance:
        return f"in more than {percent(MOST)} of firings"
    side = "below" if regime.under else "above"
    if regime.relative:
        return f"{registry.words_of(regime.quantity)} {side} {units.number_text(regime.threshold)} times {first}'s"
    bound = registry.quantity(regime.quantity).shown(regime.threshold)
    return f"{regime.measure or registry.words_of(regime.quantity)} {side} {bound}"


def _value(regime: Regime, side: BorderSide) -> str:
    if regime.is_chance or math.isnan(side.value):
        return ""
    if regime.ratio is not None:
        return f" (mean {units.number_text(side.value, 2)})"
    return f" (mean {registry.quantity(regime.quantity).spoken(side.value, 2)})"


def switch_words(found: Scaling) -> Iterator[str]:
    """Return which words switch and where, one an item."""
    before = [own.name for own in found.designs if own.place < SWITCH]
    after = [own.name for own in found.designs if own.place >= SWITCH]
    where = f"Half-way, between {before[-1]} and {after[0]}"
    for switch in found.path.switches:
        yield f"{where}, {_switch(switch)}."
    switched = {address for switch in found.path.switches for address in switch.with_it}
    bounds = [a for a, way in found.path.ways.items() if way == "switches" and a not in switched]
    if bounds:
        yield f"{where}, {_listed(bounds)} of the one end or the other begins: one end has no such bound."


def _switch(switch: Switch) -> str:
    before, after = (word or "nothing" for word in (switch.before, switch.after))
    also = f", and with it {_listed(switch.with_it)}" if switch.with_it else ""
    return f"{registry.words_of(switch.address)} switches from {before} to {after}{also}"


def made_words(found: Scaling) -> Iterator[str]:
    """Return how the designs on the path were made and which can't stand, one matter an item."""
    yield _RATIOS.format(first=found.first.name)
    yield _AROUND.format(first=found.first.name, last=found.last.name, where=fired_where(found))
    unknown = [address for address, way in found.path.ways.items() if way == "left out"]
    if unknown:
        yield f"Stated by one end only, and left out between the ends: {_listed(unknown)}."
    for number, why in found.path.left_out.items():
        yield f"Step {number} is left out: {why}."
    notes: dict[str, list[int]] = {}
    for step in found.path.steps:
        for note in step.notes:
            notes.setdefault(note, []).append(step.number)
    for note, steps in notes.items():
        yield f"In {_numbers(steps)} {note}."
    if found.ladder is not None and found.path.steps:
        yield from _not_fired(found, found.ladder)


def _not_fired(found: Scaling, ladder: Ladder) -> Iterator[str]:
    if ladder.unreached:
        names = listed([design.name for design in ladder.unreached])
        yield (
            f"No set within the rule of one change reaches {names}: more than one regime changes between two neighbours"
            " on the way there. More --steps may part them."
        )
    read = {step.design.name for step in ladder.steps}
    idle = [name for name in found.names[1:-1] if name not in read]
    if idle:
        yield f"Too many firings of {listed(idle)} carry no number to be read: none is a step to fire."


def _listed(addresses: Sequence[str]) -> str:
    return listed([registry.words_of(address) for address in addresses])


def _numbers(items: Sequence[int]) -> str:
    """Steps by their numbers: "steps 1 to 4", "step 6"."""
    if len(items) == 1:
        return f"step {items[0]}"
    if list(items) == list(range(items[0], items[-1] + 1)):
        return f"steps {items[0]} to {items[-1]}"
    return f"steps {listed([str(item) for item in items])}"
