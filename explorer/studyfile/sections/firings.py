"""[[firing]]: what is to be fired, step by step, and by which instruments it is read."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic import Field

from explorer import registry
from explorer.registry import VALUE_KEYS
from explorer.studyfile.document import flattened, is_choice
from explorer.studyfile.error import naming, refusal
from explorer.studyfile.inherited import Inheritance
from explorer.studyfile.names import check_known, check_names, check_pair
from explorer.studyfile.sections.instruments import Instrument
from explorer.studyfile.sections.table import Table, Text

#: Keys by which a setting's own table is told from a table of settings.
_OF_A_VALUE: Final = (*VALUE_KEYS, "value", "values", "median", "mean", "low", "peak")


class StepTable(Table):
    """[[firing.step]]."""

    name: Text
    seconds: float | None = Field(default=None, gt=0, allow_inf_nan=False)
    settings: dict[str, Any] = Field(default_factory=dict)


class FiringTable(Table):
    """[[firing]]."""

    name: Text
    seconds: float | None = Field(default=None, gt=0, allow_inf_nan=False)
    settings: dict[str, Any] = Field(default_factory=dict)
    instruments: list[str] | None = None
    step: list[StepTable] = Field(default_factory=list)


@dataclass(frozen=True)
class PlannedStep:
    """A part of a burn with settings of its own."""

    name: str  #: empty where the burn has but one
    settings: Mapping[str, Any] = field(default_factory=dict)  #: by address, as written
    seconds: float | None = None  #: how long it lasts [s]


@dataclass(frozen=True)
class PlannedFiring:
    """A firing to come."""

    name: str
    steps: tuple[PlannedStep, ...]  #: one or more
    instruments: tuple[Instrument, ...] = ()  #: that read it

    @property
    def seconds(self) -> float | None:
        """How long it burns [s]; None where a step doesn't say."""
        lasting = [step.seconds for step in self.steps]
        return None if None in lasting else sum(each for each in lasting if each is not None)


def firings(
    tables: Iterable[FiringTable],
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...],
    inherited: Inheritance,
) -> tuple[PlannedFiring, ...]:
    """Return the firings of [[firing]]; whether the stage stands with their settings is told when one is asked for."""
    found = inherited.each("firing", tables, lambda table: _firing(table, pairs, instruments))
    check_names("firing", [item.name for item in found])
    return found


def _firing(table: FiringTable, pairs: tuple[str, ...], instruments: tuple[Instrument, ...]) -> PlannedFiring:
    where = f"firing {table.name}"
    by_name = {own.name: own for own in instruments}
    for name in table.instruments or ():
        check_known(where, "instrument", name, list(by_name))
    reading = instruments if table.instruments is None else tuple(by_name[name] for name in table.instruments)
    settings = _settings(where, table.settings, pairs)
    steps = tuple(
        PlannedStep(
            step.name,
            {**settings, **_settings(f"{where}: step {step.name}", step.settings, pairs)},
            step.seconds,
        )
        for step in table.step
    )
    names = [step.name for step in steps]
    if len(set(names)) < len(names):
        raise refusal(where, "two steps have one name; number them, such as off_1 and off_2")
    if steps and table.seconds is not None:
        raise refusal(where, "has steps, so the seconds belong to them")
    return PlannedFiring(table.name, steps or (PlannedStep("", settings, table.seconds),), reading)


def _settings(where: str, written: Mapping[str, Any], pairs: tuple[str, ...]) -> dict[str, Any]:
    found = flattened(written, _OF_A_VALUE)
    for address in found:
        check_pair(where, address, pairs)
        if is_choice(address):
            continue
        with naming(where):
            if registry.quantity(address).kind == "output":
                raise refusal(where, f'"{address}" is read, not set: only inputs are settings')
    return found
