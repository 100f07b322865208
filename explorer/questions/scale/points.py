"""The points of a ladder in words: what each would leave, by which instrument, what changes before it."""

from collections.abc import Iterator
from typing import Any, Final

from explorer import registry, units
from explorer.page.designs import figures_of
from explorer.page.words import counted, listed, percent, with_sampling
from explorer.questions.scale.path.ladder import ENOUGH, Rung
from explorer.questions.scale.path.readings import CARRIED
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.path.steps import PRESSURE
from explorer.questions.scale.rows import after_firing, border_name, firings_text, point_name, size_text
from explorer.stage.design import ambient_pressure
from explorer.study.visibility import SEEN
from explorer.studyfile import Instrument

#: Share of what a point removes from which on one instrument is said to teach most of it [-].
_MOST: Final = 0.6

#: Share of firings beyond an instrument's range from which on that is said [-].
_BEYOND: Final = 0.05

#: Share by which the air around two designs may differ and counts as the same [-].
_SAME_AIR: Final = 0.05

#: Share from which on it is said to be all of them [-].
_ALL: Final = 0.995


def rung_words(found: Scaling, number: int) -> tuple[str, ...]:
    """Return a point of the ladder with its reasons, one matter an item."""
    if found.ladder is None:
        raise ValueError("there is no ladder")
    rung = found.ladder.rungs[number - 1]
    return tuple(_rung(found, number, rung))


def _rung(found: Scaling, number: int, rung: Rung) -> Iterator[str]:
    quantity, name = registry.quantity(found.target), found.names[rung.design]
    before = after_firing(found, number - 1)
    left = with_sampling(quantity, float(rung.left.value), float(rung.left.standard_error))
    thrust = registry.quantity("thrust").shown(_mean(found, "thrust", rung.design), 2)
    yield (
        f"Point {number} is {name}: {size_text(found, rung.design)} ({thrust} of thrust), for the cost of"
        f" {firings_text(found, float(found.costs[rung.design]))}. After it {left} would be left, where ±"
        f" {quantity.scale.difference(before)} stood before. {_through(found, rung)}"
    )
    yield _changed(found, number, rung)
    yield from _surroundings(found, rung)
    yield from _out_of_range(found, rung)


def _through(found: Scaling, rung: Rung) -> str:
    """By which instrument a point teaches, and what that one sees there and at the first design."""
    instruments = {instrument.name: instrument for instrument in found.path.first.instruments}
    total = sum(max(part, 0.0) for part in rung.through.values())
    if not total > 0:
        return "Its readings teach only together."
    best = max(rung.through, key=lambda name: rung.through[name])
    instrument = instruments[best]
    here, there = (_ratio(found, instrument, design) for design in (rung.design, 0))
    quantity = registry.quantity(instrument.reads)
    value = quantity.shown(_mean(found, instrument.reads, rung.design), 2)
    share = max(rung.through[best], 0.0) / total
    much = "most of it" if share > _MOST else "the largest part"
    words = f"{best} teaches {much}: it reads {value} of {instrument.reads} there, {_times(here)} its noise"
    if there < SEEN <= here:
        return f"{words}; at {found.names[0]} it sees nothing of it."
    return f"{words}."


def _times(ratio: float) -> str:
    return f"{units.number_text(ratio, 2)} times"


def _ratio(found: Scaling, instrument: Instrument, design: int) -> float:
    value = _mean(found, instrument.reads, design)
    noise = instrument.random.at(value)
    return abs(value) / noise if noise > 0 else float("inf")


def _mean(found: Scaling, quantity: str, design: int) -> float:
    own: Any = figures_of(found.quantities, found.names[design])[quantity]["mean"]
    return float(own)


def _changed(found: Scaling, number: int, rung: Rung) -> str:
    before = found.names[0] if number == 1 else point_name(number - 1)
    names = [border_name(found, change.border.regime.name) for change in rung.changes]
    if not names:
        return f"From {before} to it no regime changes: what was learnt there holds."
    return f"From {before} to it one border between regimes is crossed, and not more: {names[0]}."


def _surroundings(found: Scaling, rung: Rung) -> Iterator[str]:
    """What a firing on the ground would have to have around it."""
    studies = found.path.first, found.path.steps[rung.design - 1].study
    here, there = (float(ambient_pressure(study.central())) for study in studies)
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
            value = quantity.shown(_mean(found, carried, rung.design), 2)
            yield (
                f"{instrument.name}'s range ends at {quantity.shown(instrument.range[1])}, and {firings} of the firings"
                f" there lie beyond it ({carried} {value} on average): a larger one that reads as well is taken for"
                " granted."
            )


def choice_words(found: Scaling) -> str:
    """Return how the points were chosen."""
    exponent = units.number_text(found.cost_exponent, 3)
    if found.ladder is None:
        raise ValueError("there is no ladder")
    return (
        f"Chosen among {counted(len(found.ladder.sets), 'set')} of up to three steps in which no point lies more than"
        f" one change of regime past the point before: of those that remove at least {percent(ENOUGH)} of what the best"
        " one removes, the one that removes most variance for its cost. The cost of a firing goes with the size, the"
        f" cube root of the channel's volume, to the power of {exponent} (assumed: thrust and propellant go with the"
        " square; --cost-exponent sets another)."
    )


def pinned_words(found: Scaling) -> str | None:
    """Return what the firings pin down of what both designs share; None without any of it."""
    if found.ladder is None or found.ladder.pinned.empty:
        return None
    last = found.ladder.pinned.columns[-1]
    parts = [
        f"{shared_name(str(name))} to {percent(float(share))}"
        for name, share in found.ladder.pinned[last].items()
    ]
    return (
        f"What all these firings together pin down of what both designs share, in shares of its uncertainty now:"
        f" {listed(parts)}."
    )


def shared_name(name: str) -> str:
    """Return what something drawn once is called: its shared name, or the model's own error."""
    if name.startswith("shared "):
        return name.removeprefix("shared ")
    return "the common part of the model's own error"
