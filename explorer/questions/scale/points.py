"""The points of a ladder in words, what each would leave, by which instrument, what changes before it; as studies."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from explorer import registry, units
from explorer.page.cautions import CAUTIONS
from explorer.page.words import counted, listed, percent, with_sampling
from explorer.questions.scale.ladder import ENOUGH, Ladder, Rung
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.path.path import SWITCH
from explorer.questions.scale.path.steps import PRESSURE
from explorer.questions.scale.readings import CARRIED
from explorer.questions.scale.scaling import Scaling
from explorer.questions.scale.words import border_name, firings_text
from explorer.stage.design import ambient_pressure
from explorer.study.visibility import SEEN
from explorer.studyfile import Instrument, study_text

#: Share of what a point removes from which on one instrument is said to teach most of it [-].
_MOST: Final = 0.6

#: Share of firings beyond an instrument's range from which on that is said [-].
_BEYOND: Final = 0.05

#: Share by which the air around two designs may differ and counts as the same [-].
_SAME_AIR: Final = 0.05

#: Share from which on it is said to be all of them [-].
_ALL: Final = 0.995


def points_words(found: Scaling, ladder: Ladder) -> Iterator[str]:
    """Return the points of a ladder with their reasons, one matter an item, and what all pin down together."""
    before, name = ladder.after_first, found.first.name
    for rung in ladder.rungs:
        quantity = registry.quantity(found.target)
        thrust = registry.quantity("thrust").shown(_mean(rung.design, "thrust"), 2)
        yield (
            f"{rung.name.capitalize()} is {rung.design.name}: {units.number_text(rung.design.size, 3)} times"
            f" {found.first.name}'s size ({thrust} of thrust), for the cost of"
            f" {firings_text(found, rung.design.cost)}. After it {with_sampling(quantity, rung.left)} would be left,"
            f" where ± {quantity.scale.difference(float(before))} stood before. {_through(found, rung)}"
        )
        yield _changed(name, rung)
        yield from _surroundings(found, rung)
        yield from _out_of_range(found, rung)
        before, name = rung.left, rung.name
    if ladder.shared_left:
        yield _pinned(ladder)


def _through(found: Scaling, rung: Rung) -> str:
    """By which instrument a point teaches, and what that one sees there and at the first design."""
    instruments = {instrument.name: instrument for instrument in found.path.first.instruments}
    total = sum(max(part, 0.0) for part in rung.through.values())
    if not total > 0:
        return "Its readings teach only together."
    best = max(rung.through, key=lambda name: rung.through[name])
    instrument = instruments[best]
    here, there = (_over_noise(instrument, design) for design in (rung.design, found.first))
    value = registry.quantity(instrument.reads).shown(_mean(rung.design, instrument.reads), 2)
    much = "most of it" if rung.through[best] / total > _MOST else "the largest part"
    times = f"{units.number_text(here, 2)} times"
    words = f"{best} teaches {much}: it reads {value} of {instrument.reads} there, {times} its noise"
    if there < SEEN <= here:
        return f"{words}; at {found.first.name} it sees nothing of it."
    return f"{words}."


def _over_noise(instrument: Instrument, design: Waypoint) -> float:
    value = _mean(design, instrument.reads)
    noise = instrument.random.at(value)
    return abs(value) / noise if noise > 0 else float("inf")


def _mean(design: Waypoint, quantity: str) -> float:
    return float(design.figures[quantity].mean)


def _changed(before: str, rung: Rung) -> str:
    if not rung.changes:
        return f"From {before} to it no regime changes: what was learnt there holds."
    name = border_name(rung.changes[0].border)
    return f"From {before} to it one border between regimes is crossed, and not more: {name}."


def _surroundings(found: Scaling, rung: Rung) -> Iterator[str]:
    """What a firing on the ground would have to have around it."""
    here, there = (float(ambient_pressure(own.study.central())) for own in (found.first, rung.design))
    if abs(there - here) > _SAME_AIR * here:
        yield (
            f"It is computed with {registry.quantity(PRESSURE).shown(there, 2)} around it. To fire it where the air is"
            " another, state that in [ambient] of its study and run it anew: a large exit may then not flow full."
        )


def _out_of_range(found: Scaling, rung: Rung) -> Iterator[str]:
    for instrument in found.path.first.instruments:
        if rung.beyond.get(instrument.name, 0.0) > _BEYOND and instrument.range is not None:
            carried, share = CARRIED.get(instrument.reads, instrument.reads), rung.beyond[instrument.name]
            quantity, firings = registry.quantity(carried), "all" if share > _ALL else percent(share)
            value = quantity.shown(_mean(rung.design, carried), 2)
            yield (
                f"{instrument.name}'s range ends at {quantity.shown(instrument.range[1])}, and {firings} of the firings"
                f" there lie beyond it ({carried} {value} on average): a larger one that reads as well is taken for"
                " granted."
            )


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
    """Return how the points were chosen."""
    exponent = units.number_text(found.cost_exponent, 3)
    return (
        f"Chosen among {counted(len(ladder.tried), 'set')} of up to three steps in which no point lies more than"
        f" one change of regime past the point before: of those that remove at least {percent(ENOUGH)} of what the best"
        " one removes, the one that removes most variance for its cost. The cost of a firing goes with the size, the"
        f" cube root of the channel's volume, to the power of {exponent} (assumed: thrust and propellant go with the"
        " square; --cost-exponent sets another)."
    )


def point_studies(found: Scaling, envelope: Mapping[str, Any]) -> dict[str, str]:
    """Return each point of the ladder as a study, ready to run, by file name."""
    rungs = () if found.ladder is None else found.ladder.rungs
    return {file_name(rung): _text(found, rung, len(rungs), envelope) for rung in rungs}


def file_name(rung: Rung) -> str:
    """Return the name of a point's study."""
    return f"{rung.name.replace(' ', '-')}.toml"


def _text(found: Scaling, rung: Rung, points: int, envelope: Mapping[str, Any]) -> str:
    design, first, last = rung.design, found.first.name, found.last.name
    title = f"Scale-up {rung.name} from {first} to {last}"
    head = [
        f"Scale-up {rung.name} of {points} from {first} to {last}, {percent(design.place)} of the"
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
