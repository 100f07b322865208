"""The pictures of every command as they are drawn: no word is cut off, none lies over another."""

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from drawn import faults, written
from matplotlib.figure import Figure
from questions.optimize import proposals
from questions.scale.scaled import scaled

from explorer import compare, flight, propagate, rank, solve
from explorer.questions.compare.pictures import picture as comparison
from explorer.questions.flight.pictures import bars_of
from explorer.questions.flight.pictures import picture as flight_picture
from explorer.questions.optimize.pictures import optimisation_pictures
from explorer.questions.propagate.pictures import picture as of_propagation
from explorer.questions.rank.first_look import first_look
from explorer.questions.rank.pictures import first_look_figure, ranking_pictures
from explorer.questions.scale.pictures import picture as of_scaling
from explorer.questions.solve.pictures import picture as channel
from explorer.studyfile import Study, read_study

STUDIES = Path(__file__).parents[1] / "studies"

#: What stands only where somebody types it: an address, a power and an exponent as they are typed.
TYPED = re.compile(r"[a-z]_[a-z]|[a-z]\.[a-z]|\^|\de[+-]\d")

Drawn = Mapping[str, Figure]


@cache
def study(name: str) -> Study:
    return read_study(STUDIES / f"{name}.toml")


def of_solve() -> Drawn:
    return {name: channel(solve(study(name))) for name in ("bench", "two-pair", "sounding")}


def of_propagate() -> Drawn:
    """One whose requirement lies within the distribution, and one of which a third of the firings have no contact."""
    names = ("bench", "bench-extraction")
    return {name: of_propagation(propagate(study(name), samples=1024, rng=1)) for name in names}


def of_rank() -> Drawn:
    ranking = rank(study("bench"), base=128, rng=1, test_guesses=False)
    return {
        **ranking_pictures(ranking),
        "elementary": first_look_figure(first_look(study("bench"), paths=16)),
    }


def of_compare() -> Drawn:
    bench = study("bench")
    more = {"electrodes.main.source.voltage": "240 V", "electrodes.main.source.resistance": "0.2 ohm"}
    found = compare([bench, bench.replaced(more), bench.replaced({"magnet.field": "0.6 T"})], samples=2048)
    names = (
        "bench",
        "; ".join(f"{address} = {value}" for address, value in more.items()),
        "magnet.field = 0.6 T",
    )
    designs = tuple(replace(own, name=name) for own, name in zip(found.designs, names, strict=True))
    return {
        "sounding": comparison(compare([bench, study("sounding")], samples=2048)),
        "changes": comparison(replace(found, designs=designs)),
    }


def of_scale() -> Drawn:
    found = scaled(steps=2, samples=1024)
    return {name: of_scaling(found, name) for name in ("ladder", "path")}


def of_flight() -> Drawn:
    found = flight(study("sounding"), samples=512)
    names = ("ascent", "difference", *map(bars_of, found.driven))
    return {name: flight_picture(found, name) for name in names}


def of_optimize() -> Drawn:
    kinds = {"best": proposals.robust(), "curve": proposals.curve(), "none": proposals.nothing()}
    return {
        f"{kind} {name}": figure
        for kind, found in kinds.items()
        for name, figure in optimisation_pictures(found).items()
    }


#: Pictures are drawn once, though two tests look at them.
COMMANDS = {
    command.__name__.removeprefix("of_"): cache(command)
    for command in (of_solve, of_propagate, of_rank, of_compare, of_scale, of_flight, of_optimize)
}


@pytest.mark.parametrize("command", COMMANDS)
def test_no_word_of_a_picture_is_cut_off_or_lies_over_another(command: str) -> None:
    figures = COMMANDS[command]()
    assert figures
    assert {name: found for name, figure in figures.items() if (found := faults(figure))} == {}


@pytest.mark.parametrize("command", COMMANDS)
def test_no_word_of_a_picture_is_an_address_or_spelled_as_one_types_it(command: str) -> None:
    texts = [text for figure in COMMANDS[command]().values() for text in written(figure)]
    own = {measurement.name for measurement in study("bench").measurements}  # as their owner calls them
    assert [text for text in texts if TYPED.search(text) and text.partition(" (")[0] not in own] == []
