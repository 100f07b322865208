"""One firing: its settings, its steps within one burn, and what instruments read of them.

A reading has a random part, which repeats lessen, and named common parts, which they don't: the same name is the same
error wherever it recurs. Steps of one burn share what scatters from firing to firing; a difference of two steps is a
reading of its own, in which that scatter and an instrument's common error cancel.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any, Final, TypeVar

INFINITY: Final[float] = math.inf

#: What a setting may be: SI, a text or table of the value grammar (with ±, it is not exactly known in that firing), or
#: a word such as a mode.
Setting = float | str | Mapping[str, Any]


class FiringError(ValueError):
    """Something wrong in what a firing is said to be, in one sentence."""


@dataclass(frozen=True)
class Reading:
    """What an instrument read; a value that is not a number says that the firing gave none."""

    value: float  #: [SI]
    random: float  #: standard uncertainty that falls anew at each reading [SI]
    #: By the name of an error, its standard uncertainty in this reading [SI].
    common: Mapping[str, float] = field(default_factory=dict)
    degrees_of_freedom: float = INFINITY  #: behind the random part [-]
    repeats: int = 1  #: readings that the value is the mean of [-]

    def __post_init__(self) -> None:
        """Refuse what no reading can be."""
        if math.isinf(self.value):
            raise FiringError("a reading must be a number; infinity is none")
        if not self.random > 0.0 or math.isinf(self.random):
            raise FiringError(f"a reading needs a random uncertainty above zero; got {self.random:g}")
        if not all(0.0 <= u < INFINITY for u in self.common.values()):
            raise FiringError("the common uncertainties of a reading must be zero or more")
        if not self.degrees_of_freedom > 0.0:
            raise FiringError(f"degrees of freedom must be above zero; got {self.degrees_of_freedom:g}")
        if self.repeats < 1:
            raise FiringError(f"a reading is the mean of one or more; got {self.repeats}")

    @property
    def random_of_mean(self) -> float:
        """Standard uncertainty of the value that its repeats leave [SI]."""
        return self.random / math.sqrt(self.repeats)


@dataclass(frozen=True)
class Step:
    """A part of a burn with settings of its own."""

    name: str
    settings: Mapping[str, Setting] = field(default_factory=dict)  #: beside those of the firing, by address
    readings: Mapping[str, Reading] = field(default_factory=dict)  #: by quantity
    seconds: float | None = None  #: how long it lasts [s]


@dataclass(frozen=True)
class Difference:
    """A quantity in one step less the same in another of the same burn."""

    quantity: str
    step: str  #: name of the one
    less: str  #: name of the one that is taken away
    reading: Reading

    @property
    def name(self) -> str:
        """What tables call it."""
        return f"{self.quantity}: {self.step} less {self.less}"


@dataclass(frozen=True)
class Firing:
    """One burn. Without steps of its own it is a single one with these settings and readings."""

    settings: Mapping[str, Setting] = field(default_factory=dict)  #: by address, for all steps
    readings: Mapping[str, Reading] = field(
        default_factory=dict
    )  #: by quantity; of the steps where there are any
    name: str = ""
    steps: tuple[Step, ...] = ()
    differences: tuple[Difference, ...] = ()
    date: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse what no burn can be."""
        called = self.name or "a firing"
        names = [step.name for step in self.steps]
        if len(set(names)) < len(names):
            raise FiringError(f"{called}: two steps have one name")
        if self.steps and self.readings:
            raise FiringError(f"{called} has steps, so its readings belong to them")
        for difference in self.differences:
            for step in (difference.step, difference.less):
                if step not in names:
                    raise FiringError(
                        f'{called}: a difference names the step "{step}", which the firing has not'
                    )
        if not any(step.readings for step in self.moments) and not self.differences:
            raise FiringError(f"{called} has no readings: nothing can be learnt from it")

    @property
    def moments(self) -> tuple[Step, ...]:
        """Its steps with all their settings; a single one where it has none of its own."""
        if not self.steps:
            return (Step("", self.settings, self.readings),)
        return tuple(
            Step(step.name, {**self.settings, **step.settings}, step.readings, step.seconds)
            for step in self.steps
        )


Made = TypeVar("Made", Reading, Step, Difference, Firing)


def reading_of(given: Reading | Mapping[str, Any] | Sequence[float]) -> Reading:
    """A reading given as such, as a mapping, or as a pair of value and random uncertainty [SI]."""
    if isinstance(given, Reading):
        return given
    if isinstance(given, Mapping):
        return _made(Reading, given)
    if len(given) != 2:
        raise FiringError(f"a reading is a pair of value and random uncertainty, or a Reading; got {given!r}")
    return Reading(float(given[0]), float(given[1]))


def firing_of(given: Firing | Mapping[str, Any]) -> Firing:
    """A firing given as such or as mappings with the same keys; its readings may be pairs or mappings either way."""
    made = _parts(given)
    if "readings" in made:
        made["readings"] = _readings(made["readings"])
    if "steps" in made:
        made["steps"] = tuple(map(_step, made["steps"]))
    if "differences" in made:
        made["differences"] = tuple(map(_difference, made["differences"]))
    return _made(Firing, made)


def _parts(given: Firing | Step | Difference | Mapping[str, Any]) -> dict[str, Any]:
    if isinstance(given, Mapping):
        return dict(given)
    return {item.name: getattr(given, item.name) for item in fields(given)}


def _readings(given: Mapping[str, Any]) -> dict[str, Reading]:
    return {quantity: reading_of(reading) for quantity, reading in given.items()}


def _step(given: Step | Mapping[str, Any]) -> Step:
    made = _parts(given)
    return _made(Step, {**made, "readings": _readings(made.get("readings", {}))})


def _difference(given: Difference | Mapping[str, Any]) -> Difference:
    made = _parts(given)
    if "reading" in made:
        made["reading"] = reading_of(made["reading"])
    return _made(Difference, made)


def _made(kind: type[Made], given: Mapping[str, Any]) -> Made:
    known = [item.name for item in fields(kind)]
    called = kind.__name__.lower()
    for key in given:
        if key not in known:
            raise FiringError(f'a {called} has no "{key}": it has {", ".join(known)}')
    try:
        return kind(**given)
    except TypeError as error:
        raise FiringError(f"a {called} is incomplete: {str(error).rpartition(') ')[2]}") from error
