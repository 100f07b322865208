"""Whether a ladder of firings is worth climbing, in words: which, or why none is and what would make one so."""

from collections.abc import Iterator, Sequence
from typing import Final

from explorer import registry, units
from explorer.page.words import counted, listed, percent, with_sampling
from explorer.questions.scale.ladder.ladder import Ladder, Plan, Remedy
from explorer.questions.scale.ladder.remedies import SHARPER
from explorer.questions.scale.scaling import Scaling

#: Most sets named one by one in a sentence.
_FEW: Final = 4

#: Most inputs named one by one in a sentence.
_MOST_NAMED: Final = 5


def verdict_words(found: Scaling) -> str:
    """Return whether a ladder is worth climbing, which, or what would make one so."""
    first, last, ladder = found.first.name, found.last.name, found.ladder
    if not found.path.has_length:
        held = any(way == "held" for way in found.path.ways.values())
        but = "but for what is around it, " if held else ""
        return (
            f"{first} and {last} are one design: {but}no number and no word differs. The path between them has no"
            " length, no step lies on it, and there is nothing to learn from scaling up."
        )
    if ladder is None:
        return (
            f"{first} lists no instrument, so no firing on the way would be read: add [[instrument]] tables to"
            " learn which steps to fire."
        )
    if not found.path.steps:
        why = next(iter(found.path.left_out.values()), "none was asked for")
        return f"No design on the way can stand, so there is none to fire: {why}."
    if ladder.plan is None:
        return (
            "No design on the way can be fired without crossing more than one change of regime at once: ask for more"
            " --steps, or change one thing at a time."
        )
    if ladder.climb == "worth climbing":
        return _chosen(found, ladder, ladder.plan)
    return _none(found, ladder)


def _chosen(found: Scaling, ladder: Ladder, plan: Plan) -> str:
    first, last = found.first.name, found.last.name
    names = listed([rung.design.name for rung in ladder.rungs])
    times = "once" if len(ladder.rungs) == 1 else "once each"
    after = with_sampling(registry.quantity(found.target), plan.left)
    return (
        f"Before {last} is built, fire {names}, {times}, for the cost of {firings_text(found, plan.cost)}: with"
        f" {first}'s own firings before, {after} is left. {_priced(found, ladder, plan)}{_level(ladder)}"
    )


def _priced(found: Scaling, ladder: Ladder, plan: Plan) -> str:
    """What a set removes for its cost, beside the second design itself."""
    if ladder.fired is None:
        return ""
    share = 100.0 / float(ladder.now) ** 2
    ours, theirs = (
        units.number_text(share * float(removed) / cost, 2)
        for removed, cost in ((plan.removed, plan.cost), (ladder.fired.removed, found.last.cost))
    )
    return (
        f"For each firing of {found.first.name} that it costs, that removes {ours} % of the variance, and a firing of"
        f" {found.last.name} itself {theirs} %."
    )


def _level(ladder: Ladder) -> str:
    if not ladder.level:
        return ""
    sets = [f"{{{listed([design.name for design in own.designs])}}}" for own in ladder.level[:_FEW]]
    many = counted(len(ladder.level), "other set is", "other sets are")
    such = "" if len(sets) == len(ladder.level) else "among them "
    return f" {many} as good within the sampling error or the worth of a step: {such}{listed(sets)}."


def _none(found: Scaling, ladder: Ladder) -> str:
    """That no ladder is worth climbing, what would make one so, and what to do instead."""
    first, last = found.first.name, found.last.name
    if ladder.climb == "not decided":
        return (
            f"Not decided: too few points to tell whether a ladder is worth climbing between {first} and {last}. Ask"
            " for more"
            " --samples."
        )
    said, advice = f"No ladder is worth climbing between {first} and {last}", ""
    if ladder.fired is not None:
        advice = f": fire {first}, then build {last} and fire it"
    helping = [own for own in ladder.remedies if own.climb == "worth climbing"]
    if helping:
        return f"{said}; one would be {listed([_remedy(found, own) for own in helping], 'or')}{advice}."
    if ladder.remedies:
        return f"{said}{advice}. None would be worth it {listed([*_in_vain(ladder.remedies)], 'or')} either."
    return f"{said}{advice}."


def _remedy(found: Scaling, remedy: Remedy) -> str:
    """What makes a ladder worthwhile, and which that is."""
    said = _with(remedy.kind, _named(remedy.what))
    if remedy.plan is None:
        return said
    left = registry.quantity(found.target).scale.difference(float(remedy.plan.left))
    return f"{said} (then {listed([design.name for design in remedy.plan.designs])}, leaving ± {left})"


def _in_vain(remedies: Sequence[Remedy]) -> Iterator[str]:
    """What was tried and doesn't help, each kind by itself."""
    kinds = dict.fromkeys(own.kind for own in remedies)
    for kind in kinds:
        alike = [own for own in remedies if own.kind == kind]
        yield _with(kind, listed([_named(own.what) for own in alike], "or"))


def _named(what: Sequence[str]) -> str:
    """Those that matter most by name, how many others there are; all stand in the reviewer's part."""
    rest = len(what) - _MOST_NAMED
    words = [registry.words_of(own) for own in what]
    return listed(words if rest <= 0 else [*words[:_MOST_NAMED], counted(rest, "other")])


def _with(kind: str, what: str) -> str:
    if kind == "sharper":
        return f"with {what} {SHARPER:.0f} times sharper"
    if kind == "shared":
        return f"with {what} one and the same thing in all designs"
    return f"with a model error of its own past the boundary of {what}"


def why_none(found: Scaling, ladder: Ladder, plan: Plan) -> str:
    """Return why the set of steps that comes nearest isn't worth climbing, and when it would be."""
    first, last = found.first.name, found.last.name
    steps, left = (
        [design.name for design in plan.designs],
        with_sampling(registry.quantity(found.target), plan.left),
    )
    leaves = f"{listed(steps)}, for the cost of {firings_text(found, plan.cost)}, leaves {left}"
    if not plan.worthwhile:
        worth = worth_words(found, ladder)
        return (
            f"No set narrows the {registry.words_of(found.target)} of {last} by {worth} or more with each of its"
            f" steps: {leaves}."
        )
    said = f"This set comes nearest to paying: {leaves}. {_priced(found, ladder, plan)}".strip() + _level(
        ladder
    )
    if ladder.fired is None or ladder.climb == "not decided":
        return said
    even = plan.cost * float(ladder.fired.removed) / float(plan.removed)
    return (
        f"{said} It would pay if a firing of {last} cost more than {units.number_text(even, 2)} firings of {first},"
        f" instead of {units.number_text(found.last.cost, 2)}."
    )


def worth_words(found: Scaling, ladder: Ladder) -> str:
    """Return how much a step must narrow the target: "0.014 N (2 % of its uncertainty, assumed; …)"."""
    worth = registry.quantity(found.target).scale.difference(ladder.worth)
    if not ladder.worth_assumed:
        return f"{worth} (as stated)"
    share = percent(ladder.worth / float(ladder.now))
    return f"{worth} ({share} of its uncertainty, assumed; --worth sets another)"


def firings_text(found: Scaling, cost: float) -> str:
    """Return a cost in words: "5.1 firings of bench"."""
    many = units.number_text(cost, 2)
    return f"{many} {'firing' if many == '1' else 'firings'} of {found.first.name}"
