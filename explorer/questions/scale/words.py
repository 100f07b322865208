"""The way from one design to another in plain words: how far the first is to be trusted, what to fire and why."""

from collections.abc import Iterator
from typing import Final

from explorer import registry, units
from explorer.analysis.scrambles import Estimate
from explorer.page.words import (
    between,
    counted,
    listed,
    percent,
    percent_with_sampling,
    requirement,
    with_sampling,
    with_uncertainty,
)
from explorer.questions.scale.ladder import Ladder
from explorer.questions.scale.path.borders import Border
from explorer.questions.scale.scaling import Scaling

#: Share of a standard uncertainty below which to take it off is next to nothing [-].
_LITTLE: Final = 0.01

#: Most inputs named one by one in a sentence.
_FEW: Final = 4


def plain_words(found: Scaling) -> tuple[str, ...]:
    """Return what a path says, one matter an item."""
    return tuple(_words(found))


def _words(found: Scaling) -> Iterator[str]:
    yield _now(found)
    if found.ladder is not None:
        yield _first(found, found.ladder)
    yield _never(found)
    yield _ladder(found)
    if found.ladder is not None and found.ladder.rungs:
        yield _beyond(found, found.ladder)
    if found.apart and found.path.has_length:
        yield _apart(found)


def border_name(border: Border) -> str:
    """Return what a border is called: a study's own limit by its quantity."""
    if border.limits is None:
        return border.name
    return f"limit on {border.regime.quantity.removeprefix('chance.')}"


def firings_text(found: Scaling, cost: float) -> str:
    """Return a cost in words: "5.1 firings of bench"."""
    many = units.number_text(cost, 2)
    return f"{many} {'firing' if many == '1' else 'firings'} of {found.first.name}"


def _now(found: Scaling) -> str:
    """How the second design's target stands now."""
    quantity, now = registry.quantity(found.target), found.trust.now
    words = (
        f"{found.target} of {found.last.name} in one firing, as it stands:"
        f" {with_uncertainty(quantity, now.mean, now.standard_uncertainty)}, 19 times in 20 between"
        f" {between(quantity, now.low, now.high, now.standard_uncertainty)}."
    )
    if found.trust.chance_met is None:
        return words
    target = found.path.second.target
    bounds = requirement(quantity, at_least=target.at_least, at_most=target.at_most)
    return f"{words} The chance of {bounds} is {percent_with_sampling(found.trust.chance_met)}."


def _first(found: Scaling, ladder: Ladder) -> str:
    quantity, now = registry.quantity(found.target), float(ladder.now)
    left = with_sampling(quantity, ladder.after_first)
    alone, stands = (
        f"Firings of {found.first.name} alone, however many,",
        f"± {quantity.scale.difference(now)}",
    )
    if float(ladder.after_first) > (1.0 - _LITTLE) * now:
        return f"{alone} teach next to nothing about it: of {stands} they leave {left}."
    return f"{alone} narrow {stands} to {left}."


def _never(found: Scaling) -> str:
    """What no firing of the first design can ever teach."""
    first, last = found.first.name, found.last.name
    shared = [*found.shared]
    if found.trust.model_common > 0:
        shared.append(f"{percent(found.model_share)} of the variance of the model's own error")
    if not shared:
        return (
            f"{first} and {last} share nothing, so no firing of {first} can ever teach anything about {last}: name what"
            " is one and the same in both studies as `shared`."
        )
    left = with_sampling(registry.quantity(found.target), found.trust.never)
    model = ""
    if found.trust.model_alone > 0:
        model = (
            f", and the part of the model's error that is not common to both ({percent(found.trust.model_alone)} of"
            " the value by itself)"
        )
    return (
        f"What no firing of {first} can ever teach: if all that it shares with {last} were known exactly"
        f" ({listed(shared)}), {left} would still be left. That is {last}'s own: its inputs, what scatters in them"
        f"{model}. Only {last} itself tells it."
    )


def _ladder(found: Scaling) -> str:
    """Which designs to fire on the way and what that leaves, or why none."""
    first, last, ladder = found.first.name, found.last.name, found.ladder
    if not found.path.has_length:
        return (
            f"{first} and {last} are one design: no number and no word differs. The path between"
            " them has no length, no point lies on it, and there is nothing to learn from scaling up."
        )
    if ladder is None:
        return (
            f"{first} lists no instrument, so no firing on the way would be read: add [[instrument]] tables to"
            " learn which points to fire."
        )
    if not found.path.steps:
        return "No design on the way can stand, so there is none to fire; the path below says why."
    if not ladder.tried:
        return (
            "No design on the way can be fired without crossing more than one change of regime at once: ask for more"
            " --points, or change one thing at a time."
        )
    if not ladder.rungs:
        return (
            f"No firing on the way teaches more about {found.target} of {last} than luck would seem to: fire"
            f" {last} itself, name what both share, take better instruments, or ask for more --samples."
        )
    return _chosen(found, ladder)


def _chosen(found: Scaling, ladder: Ladder) -> str:
    first, last, left = found.first.name, found.last, ladder.rungs[-1].left
    names = listed([rung.design.name for rung in ladder.rungs])
    times = "once" if len(ladder.rungs) == 1 else "once each"
    cost = firings_text(found, sum(rung.design.cost for rung in ladder.rungs))
    whole = units.number_text(last.cost, 2)
    return (
        f"On the way fire {names}, {times}, for the cost of {cost} (one of {last.name} itself: {whole}). With"
        f" {first}'s own firings before, {with_sampling(registry.quantity(found.target), left)} would be left. That is"
        f" {_learnt(found, ladder, left)} of the variance that firings of other designs can remove at all; {first}"
        f" alone removes {_learnt(found, ladder, ladder.after_first)}."
    )


def _learnt(found: Scaling, ladder: Ladder, left: Estimate) -> str:
    """Share of what can be learnt at all."""
    now, never = float(ladder.now) ** 2, float(found.trust.never) ** 2
    return percent((now - float(left) ** 2) / (now - never) if now > never else 0.0)


def _beyond(found: Scaling, ladder: Ladder) -> str:
    """What changes between the last point and the second design."""
    place, last = ladder.rungs[-1].design.place, found.last.name
    names = [border_name(change.border) for change in found.changes if change.counts and change.place > place]
    if not names:
        return f"Between the last of them and {last} no regime changes."
    many = counted(len(names), "change of regime lies", "changes of regime lie")
    return (
        f"Between the last of them and {last} {many} still ahead ({listed(names)}): beyond, what was learnt may not"
        " hold."
    )


def _apart(found: Scaling) -> str:
    """Which inputs might have to be shared."""
    many = counted(len(found.apart), "uncertain input is", "uncertain inputs are")
    which = f" ({listed(found.apart)})" if len(found.apart) <= _FEW else ""
    return (
        f"{many} stated alike by both ends and yet taken as different things{which}: where that is one and the same,"
        " give it the same `shared` name in both studies, and firings teach it."
    )
