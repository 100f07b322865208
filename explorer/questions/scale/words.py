"""The way from one design to another in plain words: how far the first is to be trusted, what to fire and why."""

from collections.abc import Iterator
from typing import Final

from explorer import registry, units
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
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.rows import border_name, firings_text
from explorer.registry import Quantity

#: Share of a standard uncertainty below which to take it off is next to nothing [-].
_LITTLE: Final = 0.01

#: Most inputs named one by one in a sentence.
_FEW: Final = 4


def plain_words(found: Scaling) -> tuple[str, ...]:
    """Return what a path says, one matter an item."""
    return tuple(_words(found))


def _words(found: Scaling) -> Iterator[str]:
    yield now_words(found)
    if found.ladder is not None:
        yield _first_words(found)
    yield never_words(found)
    yield ladder_words(found)
    if (beyond := _beyond_words(found)) is not None:
        yield beyond
    if (apart := apart_words(found)) is not None:
        yield apart


def target_of(found: Scaling) -> Quantity:
    """Return what the registry says of the quantity looked at."""
    return registry.quantity(found.target)


def now_words(found: Scaling) -> str:
    """Return how the second design's target stands now."""
    quantity, now = target_of(found), found.trust.now
    spread = float(now.standard_uncertainty.value)
    words = (
        f"{found.target} of {found.names[-1]} in one firing, as it stands:"
        f" {with_uncertainty(quantity, float(now.mean.value), spread)}, 19 times in 20 between"
        f" {between(quantity, float(now.low.value), float(now.high.value), spread)}."
    )
    if found.trust.chance_met is None:
        return words
    target = found.path.second.target
    bounds = requirement(quantity, at_least=target.at_least, at_most=target.at_most)
    met = found.trust.chance_met
    chance = percent_with_sampling(float(met.value), float(met.standard_error))
    return f"{words} The chance of {bounds} is {chance}."


def _first_words(found: Scaling) -> str:
    if found.ladder is None:
        raise ValueError("without instruments no firing tells anything")
    quantity, after = target_of(found), found.ladder.after_first
    left = with_sampling(quantity, float(after.value), float(after.standard_error))
    now = float(found.ladder.now.value)
    alone, stands = f"Firings of {found.names[0]} alone, however many,", f"± {quantity.scale.difference(now)}"
    if float(after.value) > (1.0 - _LITTLE) * now:
        return f"{alone} teach next to nothing about it: of {stands} they leave {left}."
    return f"{alone} narrow {stands} to {left}."


def never_words(found: Scaling) -> str:
    """Return what no firing of the first design can ever teach."""
    quantity, never = target_of(found), found.trust.never
    first, last = found.names[0], found.names[-1]
    shared = [*found.shared]
    model = _model_words(found)
    if found.trust.model_common > 0:
        shared.append(f"{percent(found.model_share)} of the variance of the model's own error")
    if not shared:
        return (
            f"{first} and {last} share nothing, so no firing of {first} can ever teach anything about {last}: name what"
            " is one and the same in both studies as `shared`."
        )
    left = with_sampling(quantity, float(never.value), float(never.standard_error))
    return (
        f"What no firing of {first} can ever teach: if all that it shares with {last} were known exactly"
        f" ({listed(shared)}), {left} would still be left. That is {last}'s own: its inputs, what scatters in them"
        f"{model}. Only {last} itself tells it."
    )


def _model_words(found: Scaling) -> str:
    if not found.trust.model_alone > 0:
        return ""
    return (
        f", and the part of the model's error that is not common to both ({percent(found.trust.model_alone)} of the"
        " value by itself)"
    )


def ladder_words(found: Scaling) -> str:
    """Return which designs to fire on the way and what that leaves, or why none."""
    if not found.path.has_length:
        return (
            f"{found.names[0]} and {found.names[-1]} are one design: no number and no word differs. The path between"
            " them has no length, no point lies on it, and there is nothing to learn from scaling up."
        )
    if found.ladder is None:
        return (
            f"{found.names[0]} lists no instrument, so no firing on the way would be read: add [[instrument]] tables to"
            " learn which points to fire."
        )
    if not found.path.steps:
        return "No design on the way can stand, so there is none to fire; the path below says why."
    if not found.ladder.rungs:
        return _no_ladder(found)
    quantity, last = target_of(found), found.ladder.rungs[-1]
    names = listed([found.names[rung.design] for rung in found.ladder.rungs])
    cost = firings_text(found, sum(found.costs[rung.design] for rung in found.ladder.rungs))
    left = with_sampling(quantity, float(last.left.value), float(last.left.standard_error))
    share = percent(_learnt(found, float(last.left.value)))
    first = percent(_learnt(found, float(found.ladder.after_first.value)))
    times = "once" if len(found.ladder.rungs) == 1 else "once each"
    whole = units.number_text(float(found.costs[-1]), 2)
    return (
        f"On the way fire {names}, {times}, for the cost of {cost} (one of {found.names[-1]} itself: {whole}). With"
        f" {found.names[0]}'s own firings before, {left} would be left. That is {share} of the variance that firings of"
        f" other designs can remove at all; {found.names[0]} alone removes {first}."
    )


def _no_ladder(found: Scaling) -> str:
    if found.ladder is not None and found.ladder.sets.empty:
        return (
            "No design on the way can be fired without crossing more than one change of regime at once: ask for more"
            " --points, or change one thing at a time."
        )
    return (
        f"No firing on the way teaches more about {found.target} of {found.names[-1]} than luck would seem to: fire"
        f" {found.names[-1]} itself, name what both share, take better instruments, or ask for more --samples."
    )


def _learnt(found: Scaling, left: float) -> float:
    """Share of what can be learnt at all [-]."""
    if found.ladder is None:
        return 0.0
    now, never = float(found.ladder.now.value) ** 2, float(found.trust.never.value) ** 2
    return (now - left**2) / (now - never) if now > never else 0.0


def _beyond_words(found: Scaling) -> str | None:
    """Return what changes between the last point and the second design; None without a ladder."""
    if found.ladder is None or not found.ladder.rungs:
        return None
    place = found.places[found.ladder.rungs[-1].design]
    names = [
        border_name(found, change.border.regime.name)
        for change in found.changes
        if change.counts and change.place > place
    ]
    last = found.names[-1]
    if not names:
        return f"Between the last of them and {last} no regime changes."
    many = counted(len(names), "change of regime lies", "changes of regime lie")
    return (
        f"Between the last of them and {last} {many} still ahead ({listed(names)}): beyond, what was learnt may not"
        " hold."
    )


def apart_words(found: Scaling) -> str | None:
    """Return which inputs might have to be shared; None where none is stated alike and yet drawn apart."""
    if not found.apart or not found.path.has_length:
        return None
    many = counted(len(found.apart), "uncertain input is", "uncertain inputs are")
    which = f" ({listed(found.apart)})" if len(found.apart) <= _FEW else ""
    return (
        f"{many} stated alike by both ends and yet taken as different things{which}: where that is one and the same,"
        " give it the same `shared` name in both studies, and firings teach it."
    )
