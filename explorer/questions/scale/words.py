"""The way from one design to another in plain words: whether to fire anything on it, how far to trust the first."""

from collections.abc import Iterator
from typing import Final

from explorer import registry
from explorer.page.designs import event_words
from explorer.page.events import AT_ONCE, contacts_beside
from explorer.page.words import (
    between,
    counted,
    listed,
    opened,
    percent,
    percent_with_sampling,
    requirement,
    with_sampling,
    with_uncertainty,
)
from explorer.questions.scale.ladder.ladder import Firing, Ladder
from explorer.questions.scale.path.borders import Border
from explorer.questions.scale.path.surroundings import PRESSURE, lowest_pressure, pressure_of
from explorer.questions.scale.scaling import Scaling
from explorer.questions.scale.verdict import firings_text, verdict_words, why_none

#: Share of a standard uncertainty below which to take it off is next to nothing [-].
_LITTLE: Final = 0.01

#: Most inputs named one by one in a sentence.
_FEW: Final = 4


def plain_words(found: Scaling) -> tuple[str, ...]:
    """Return what a path says, one matter an item."""
    return tuple(_words(found))


def _words(found: Scaling) -> Iterator[str]:
    yield verdict_words(found)
    ladder = found.ladder
    if ladder is not None:
        yield _ways_beside(found, ladder)
    if ladder is not None and ladder.plan is not None and not ladder.rungs:
        yield why_none(found, ladder, ladder.plan)
    yield _now(found)
    yield _never(found)
    if ladder is not None and ladder.rungs:
        yield _beyond(found, ladder)
    yield from contacts_beside([found.first, found.last], AT_ONCE)
    if found.apart and found.path.has_length:
        yield _apart(found)


def border_name(border: Border) -> str:
    """Return what a regime boundary is called: a study's own limit by its quantity."""
    if border.limits is None:
        return border.name
    return f"limit on {registry.words_of(border.regime.quantity)}"


def _now(found: Scaling) -> str:
    """How the second design's target stands now."""
    quantity, now = registry.quantity(found.target), found.trust.now
    words = (
        f"{opened(registry.words_of(found.target))} of {found.last.name} in one firing, as it stands:"
        f" {with_uncertainty(quantity, now.mean, now.standard_uncertainty)}, 19 times in 20 between"
        f" {between(quantity, now.low, now.high, now.standard_uncertainty)}."
    )
    if found.trust.chance_met is None:
        return words
    target = found.path.second.target
    bounds = requirement(quantity, at_least=target.at_least, at_most=target.at_most)
    return f"{words} The chance of {bounds} is {percent_with_sampling(found.trust.chance_met)}."


def _ways_beside(found: Scaling, ladder: Ladder) -> str:
    """What firings of the first design alone, and one of the second itself, would leave and cost."""
    first, last, quantity = found.first.name, found.last.name, registry.quantity(found.target)
    alone, now = (
        with_sampling(quantity, ladder.after_first),
        f"± {quantity.scale.difference(float(ladder.now))}",
    )
    words = f"Firings of {first} alone, however many, narrow {now} to {alone}"
    if float(ladder.after_first) > (1.0 - _LITTLE) * float(ladder.now):
        words = (
            f"Firings of {first} alone, however many, teach next to nothing about it: {now} becomes {alone}"
        )
    fired = ladder.fired
    if fired is None:
        return f"{words}. A firing of {last} itself in the surroundings of {first} gives no number to read."
    where = fired_where(found)
    return (
        f"{words}. One firing of {last} itself after them, {where}, leaves {with_sampling(quantity, fired.left)}"
        f" for the cost of {firings_text(found, found.last.cost)}{_warned(fired)}."
    )


def _warned(fired: Firing) -> str:
    """What many of a design's firings are warned of."""
    often = [(code, share) for code, share in fired.warnings.items() if float(share) >= AT_ONCE]
    if not often:
        return ""
    said = listed([f"{event_words(code)} in {percent(float(share))}" for code, share in often])
    return f"; warnings there: {said}"


def fired_where(found: Scaling) -> str:
    """Return where steps and the second design are fired: "on the ground, at 1.013 bar"."""
    lowest = lowest_pressure(found.path.first)
    if lowest is not None:
        return f"in an altitude cell that holds {registry.quantity(PRESSURE).spoken(lowest)}"
    return f"where {found.first.name} is fired, at {registry.quantity(PRESSURE).spoken(pressure_of(found.path.first))}"


def _never(found: Scaling) -> str:
    """What no firing of the first design can ever teach."""
    first, last = found.first.name, found.last.name
    shared = ["all of the hardware that is not changed"] if found.path.is_one_rig else [*found.shared]
    if found.trust.model_common > 0:
        shared.append(f"{percent(found.model_share)} of the variance of the model's own error")
    if not shared:
        return (
            f"{first} and {last} share nothing, so no firing of {first} teaches anything about {last}: give what is"
            " one and"
            " the same in both studies the same `shared` name."
        )
    left = with_sampling(registry.quantity(found.target), found.trust.never)
    model = ""
    if found.trust.model_alone > 0:
        model = (
            f", and the part of the model's error that is not common to both ({percent(found.trust.model_alone)} of"
            " the value by itself)"
        )
    return (
        f"What no firing of {first} can teach: with all that it shares with {last} known exactly ({listed(shared)}),"
        f" {left}"
        f" is still left. That is {last}'s own: its inputs, what scatters in them{model}. Only {last} itself tells it."
    )


def _beyond(found: Scaling, ladder: Ladder) -> str:
    """What changes between the last point and the second design."""
    place, last = ladder.rungs[-1].design.place, found.last.name
    names = [border_name(change.border) for change in found.changes if change.counts and change.place > place]
    if not names:
        return f"Between the last of them and {last} no regime changes."
    many = counted(len(names), "change of regime lies", "changes of regime lie")
    return (
        f"Between the last of them and {last} {many} still ahead ({listed(names)}): beyond them what was learnt may"
        " not hold."
    )


def _apart(found: Scaling) -> str:
    """Which inputs might have to be shared."""
    many = counted(len(found.apart), "uncertain input is", "uncertain inputs are")
    which = (
        f" ({listed([registry.words_of(own) for own in found.apart])})" if len(found.apart) <= _FEW else ""
    )
    return (
        f"{many} stated alike by both ends and yet taken as different things{which}: if that is one and the same,"
        " give it the same `shared` name in both studies, so that firings teach it."
    )
