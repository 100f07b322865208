"""The path between two designs: how every number and word goes from one to the other, and the steps on the way.

Sizes, masses, fields, voltages, the ambient pressure and the share of seed go by equal ratios, everything else (and
whatever is zero or negative at one end) by equal steps. By equal ratios edges along the channel keep their order: a
sum of such lengths over another one is a convex function of the step's place in the logarithm, so what fits into the
channel at both ends fits in between. What isn't a number switches half-way, and with it the numbers that mean nothing
without it. What stands around a design while it is fired is another matter (`surroundings`).
"""

import contextlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

from explorer import registry
from explorer.questions.scale.path.steps import Step, step_between
from explorer.questions.scale.path.surroundings import (
    ALTITUDE,
    PRESSURE,
    around,
    lowest_pressure,
    pressure_of,
)
from explorer.studyfile import Study, StudyError

Way = Literal["alike", "by ratios", "by steps", "switches", "left out", "held"]

#: Where words switch: half-way, where the nearer end changes.
SWITCH: Final[float] = 0.5

#: SI units of what goes by equal ratios, and single inputs besides.
_RATIO_UNITS: Final = frozenset({"m", "kg", "T", "V"})
_RATIO_INPUTS: Final = frozenset({"gas.seed_fraction", PRESSURE})

#: Inputs that mean nothing without a word, by the word's last two names; with a dot at the end, all that begin so.
_HANG: Final[Mapping[str, tuple[str, ...]]] = {
    "gas.fuel": ("gas.mixture_ratio", "gas.custom_fuel."),
    "gas.oxidizer": ("gas.mixture_ratio", "gas.oxidizer_concentration", "gas.custom_oxidizer."),
    "custom_fuel.formula": ("gas.mixture_ratio", "gas.custom_fuel."),
    "custom_oxidizer.formula": ("gas.mixture_ratio", "gas.custom_oxidizer."),
    "gas.seed": ("gas.seed_water", "gas.seed_vaporized"),
    "blocks.grade": ("magnet.blocks.remanence",),
}

#: Relative difference below which two values are one.
_ALIKE: Final[float] = 1e-12

_MAGNETS: Final = {"uniform": "a stated field", "blocks": "blocks", "profile": "a field map"}


@dataclass(frozen=True)
class Switch:
    """A word that differs between the ends."""

    address: str
    before: str | None  #: The word at either end; None where it states none
    after: str | None  #: The word at either end; None where it states none
    with_it: tuple[str, ...] = ()  #: Inputs that switch with it


@dataclass(frozen=True)
class Path:
    """The designs between two."""

    first: Study  #: The ends
    second: Study  #: The ends
    steps: tuple[Step, ...]  #: Those that can stand
    left_out: Mapping[int, str]  #: By number, why a step can't
    ways: Mapping[str, Way]  #: By input, how it goes from one end to the other
    switches: tuple[Switch, ...]
    #: The design half-way as either end would have it, where it can stand: between the ends and these lie
    #: all steps.
    middle: tuple[Study, ...] = ()

    @property
    def has_length(self) -> bool:
        """Whether the ends differ in any number or word."""
        return bool(self.switches) or any(way not in ("alike", "held") for way in self.ways.values())

    @property
    def is_one_rig(self) -> bool:
        """Whether the ends are the same hardware, changed."""
        return self.first.rig.drawing == self.second.rig.drawing

    def without(self, numbers: Mapping[int, str]) -> "Path":
        """The path without some of its steps."""
        kept = tuple(step for step in self.steps if step.number not in numbers)
        return replace(self, steps=kept, left_out=dict(sorted({**self.left_out, **numbers}.items())))


def path_between(first: Study, second: Study, steps: int) -> Path:
    """The path between two designs, its steps evenly spaced; none where the ends are one design."""
    if steps < 1:
        raise StudyError(f"a path has one step or more between its ends; got {steps}")
    _refuse_unjoinable(first, second)
    switches = _switches(first, second)
    path = Path(first, second, (), {}, _ways(first, second, switches), switches)
    if not path.has_length:
        return path
    found: list[Step] = []
    middle: list[Study] = []
    left_out = {}
    for near, far in ((first, second), (second, first)):
        with contextlib.suppress(StudyError):
            middle.append(_step(path, near, far, 0, SWITCH).study)
    for number in range(1, steps + 1):
        place = number / (steps + 1)
        near, far = (first, second) if place < SWITCH else (second, first)
        try:
            found.append(_step(path, near, far, number, place))
        except StudyError as error:
            left_out[number] = str(error)
    return replace(path, steps=tuple(found), left_out=left_out, middle=tuple(middle))


def _step(path: Path, near: Study, far: Study, number: int, place: float) -> Step:
    one, two = _values(path.first), _values(path.second)
    values = {
        address: between(one[address], two[address], place=place, way=way)
        for address, way in path.ways.items()
        if way in ("by ratios", "by steps") and address != PRESSURE
    }
    pressure = between(one[PRESSURE], two[PRESSURE], place=place, way=path.ways[PRESSURE])
    return step_between(
        near,
        far,
        values,
        number,
        place,
        ends=(path.first, path.second),
        ambient=around(path.first, pressure),
        left_out=[address for address, way in path.ways.items() if way == "left out"],
    )


def _refuse_unjoinable(first: Study, second: Study) -> None:
    if first.mode != second.mode:
        raise StudyError(
            f"one design works in {first.mode}, the other in {second.mode}, and nothing lies between: scale within one"
            " mode"
        )
    if set(first.pairs) != set(second.pairs):
        raise StudyError(
            f"pairs of electrodes are matched by their names, and these differ ({', '.join(first.pairs)} against"
            f" {', '.join(second.pairs)}): give both designs the same pairs"
        )
    if (
        len({(study.choices.get("gas.kind"), "gas.components" in study.choices) for study in (first, second)})
        > 1
    ):
        raise StudyError(
            "the gases can't be joined, one is stated by its mixture and the other by flows or by a temperature: state"
            " both in one way"
        )
    one, two = (_MAGNETS[study.choices["magnet.kind"]] for study in (first, second))
    files = [study.choices.get("magnet.profile.file") for study in (first, second)]
    if one != two or files[0] != files[1]:
        both = f"{one} and {two}" if one != two else "two different field maps"
        raise StudyError(f"the magnets can't be joined, {both}: state both as a field or both as blocks")


def _switches(first: Study, second: Study) -> tuple[Switch, ...]:
    """The words that differ, each with the inputs that hang on it."""
    known = {**first.central(), **second.central()}
    found = []
    for address in sorted({*first.choices, *second.choices}, key=registry.position):
        before, after = first.choices.get(address), second.choices.get(address)
        if before != after:
            heads = _HANG.get(".".join(address.split(".")[-2:]), ())
            if "none" in (before, after):
                heads = (*heads, "gas.seed_fraction")
            with_it = tuple(
                a for a in known for head in heads if a == head or a.startswith(f"{head.rstrip('.')}.")
            )
            found.append(Switch(address, before, after, with_it))
    return tuple(found)


def _ways(first: Study, second: Study, switches: tuple[Switch, ...]) -> dict[str, Way]:
    """How each input goes; the surroundings by their pressure, however they are stated."""
    one, two = _values(first), _values(second)
    switching = {address for switch in switches for address in switch.with_it}
    ways: dict[str, Way] = {}
    for address in sorted({*one, *two}, key=registry.position):
        start, end = one.get(address, math.inf), two.get(address, math.inf)
        if address in one and address in two and _same(start, end):
            ways[address] = "alike"
        elif address in switching:
            ways[address] = "switches"
        elif (address in one) != (
            address in two
        ):  # what may be left out, such as a mass: in between nobody knows it
            ways[address] = "left out"
        elif not math.isfinite(start + end):
            ways[address] = "switches"
        elif address == PRESSURE and lowest_pressure(first) is None:
            ways[address] = "held"
        else:
            by_ratios = registry.quantity(address).unit in _RATIO_UNITS or address in _RATIO_INPUTS
            ways[address] = "by ratios" if by_ratios and min(start, end) > 0 else "by steps"
    return ways


def _same(one: float, two: float) -> bool:
    return one == two or (math.isfinite(one - two) and abs(one - two) <= _ALIKE * max(abs(one), abs(two)))


def _values(study: Study) -> dict[str, float]:
    """A study's numbers at central values [SI] as its file has them, an altitude as its pressure."""
    values = study.as_written()
    if ALTITUDE in values:
        values[PRESSURE] = pressure_of(study)
        del values[ALTITUDE]
    return values


def between(one: float, two: float, *, place: float, way: Way) -> float:
    """A number on its way from one end to the other [SI]."""
    if way == "by ratios":
        return math.exp((1 - place) * math.log(one) + place * math.log(two))
    return (1 - place) * one + place * two
