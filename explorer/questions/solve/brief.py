"""What an operating point says on a terminal: what switching on is worth, what is exceeded, a dozen numbers."""

import math
from collections.abc import Iterator
from typing import Final

from explorer import registry
from explorer.page import brief
from explorer.page.document import Section, Table
from explorer.page.streams import streams_table
from explorer.page.text import aligned
from explorer.page.words import STATUS_WORDS, listed, requirement
from explorer.questions.solve import tables, words
from explorer.questions.solve.electron_words import electron_words
from explorer.questions.solve.point import Point

#: What a reader at the stand asks for, most wanted first.
_NUMBERS: Final = (
    *("thrust_gain", "thrust_gain_heating", "thrust", "electrical_power", "current", "terminal_voltage"),
    *(
        "threshold_voltage",
        "back_emf",
        "max_current_density",
        "inlet_conductivity",
        "inlet_temperature",
        "mass_flow",
    ),
    *tables.ELECTRODES,
)

#: Most warnings told with what to do.
_FEW: Final = 2


def short_answer(point: Point) -> tuple[Section, ...]:
    """The short answer."""
    solved = point.along is not None
    return brief.brief(
        [point.study],
        f"Solve: {point.study.title}",
        verdict=_verdict(point) if solved else [f"No operating point: {words.failure_words(point)}"],
        beware=[
            *_warned(point),
            *_exceeded(point),
        ],
        numbers=_numbers(point) if solved else None,
        notes=[
            *(_gas_seen_twice(point) if solved else ()),
            "At central values, without their uncertainty: `propagate` tells how sure this is.",
        ],
    )


def _verdict(point: Point) -> Iterator[str]:
    target = point.study.target
    if target.has_requirement and target.quantity in point.quantities:
        quantity, value = registry.quantity(target.quantity), point.quantities[target.quantity]
        short = target.at_least is not None and value < target.at_least
        missed = short or (target.at_most is not None and value > target.at_most)
        asked = requirement(quantity, at_least=target.at_least, at_most=target.at_most)
        found = "Not met" if missed else "Met"
        yield f"{found} at central values: {quantity.words} {quantity.spoken(value)}, {asked} required."
    elif point.status != "ok":
        yield f"Status: {STATUS_WORDS[point.status]}."
    yield from words.contact_words(point)
    yield from electron_words(point, brief=True)
    yield from words.worth_words(point)


def _warned(point: Point) -> Iterator[str]:
    """The warnings, with what to do where they are few."""
    sentences = words.warning_sentences(point)
    few = len(sentences) <= _FEW
    yield from (text if few else f"{text.partition('. ')[0]}." for text in sentences)


def _exceeded(point: Point) -> Iterator[str]:
    for name, value, limit, verdict, what in (
        tables.limits_table(point).rows if point.along is not None else ()
    ):
        if verdict == "BEYOND":
            yield f"Beyond its limit: {name} {value}, limit {limit} ({what})."


def _gas_seen_twice(point: Point) -> Iterator[str]:
    """What is to be set at the stand, and what the gas is made of."""
    streams = []
    for name, flow, *rest in streams_table(point.study, point.quantities, None).rows:
        volume, upstream = (*rest, "")[:2]
        more = [text for text in (volume, f"from {upstream}" if upstream else "") if text]
        streams.append(f"{name} {flow}" + (f" ({', '.join(more)})" if more else ""))
    yield f"To set at the stand: {listed(streams)}."
    seen = [f"{quantity} {value}" for quantity, value, _ in tables.gas_table(point).rows]
    yield f"As the gas sees it: {listed(seen)}."


def _numbers(point: Point) -> Table:
    told = [name for name in _NUMBERS if math.isfinite(point.quantities.get(name, math.nan))]
    shown = [registry.quantity(name) for name in told]
    rows = [(quantity.words, quantity.spoken(point.quantities[quantity.address])) for quantity in shown]
    half = (len(rows) + 1) // 2
    right = rows[half:] + [("", "")] * (2 * half - len(rows))
    beside = Table(
        tuple((*one, *other) for one, other in zip(rows[:half], right, strict=True)), (), frozenset({1, 3})
    )
    fits = all(len(line) <= brief.WIDTH for line in aligned(beside.rows, numbers=beside.numbers))
    return beside if fits else Table(tuple(rows), (), frozenset({1}))
