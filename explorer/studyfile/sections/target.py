"""[target], [decision] and [run]: what a study is about, what a verdict is worth, how the run is numbered."""

from dataclasses import asdict, dataclass
from typing import Any, Final

from pydantic import Field

from explorer.registry import Quantity
from explorer.studyfile.error import refusal
from explorer.studyfile.names import known_quantity
from explorer.studyfile.sections.table import Share, Table, Text, Written
from explorer.studyfile.values import exact_value

#: Share of a target's standard uncertainty that a test must take away to be worth it, where a study doesn't say [-].
ASSUMED_WORTH: Final[float] = 0.02


class TargetTable(Table):
    """[target]."""

    quantity: Text = "thrust_gain"
    at_least: Written = None
    at_most: Written = None
    chance: Share = Field(default=0.5, gt=0, lt=1)
    worth: Share | None = Field(default=None, gt=0, lt=1)


class DecisionTable(Table):
    """[decision]."""

    gain_if_met: float = Field(allow_inf_nan=False)
    loss_if_not: float = Field(allow_inf_nan=False, ge=0)
    cost_per_hour: float = Field(default=0.0, allow_inf_nan=False, ge=0)
    unit: str = ""
    hours: float | None = Field(default=None, gt=0)


class RunTable(Table):
    """[run]."""

    random_number: int = Field(default=1, ge=0)


@dataclass(frozen=True)
class Target:
    """The quantity that a study is about, and what is required of it."""

    quantity: str
    at_least: float | None = None  #: [SI]
    at_most: float | None = None  #: [SI]
    chance: float = 0.5  #: with which the requirement is to be met [-]
    stated_worth: float | None = None  #: see `worth` [-]

    def as_resolved(self) -> dict[str, Any]:
        """What is written of it; a worth that is only assumed is not."""
        return {
            key: value for key, value in asdict(self).items() if key != "stated_worth" or value is not None
        }

    @property
    def worth(self) -> float:
        """Fall of its standard uncertainty below which no test is worth its hours, share of it [-], or assumed."""
        return ASSUMED_WORTH if self.stated_worth is None else self.stated_worth

    @property
    def has_requirement(self) -> bool:
        """Whether anything is required."""
        return self.at_least is not None or self.at_most is not None


@dataclass(frozen=True)
class Decision:
    """What a right or wrong verdict is worth, in `unit`."""

    gain_if_met: float  #: [`unit`]
    loss_if_not: float  #: [`unit`]
    cost_per_hour: float = 0.0  #: of testing [`unit`/h]
    unit: str = ""
    hours: float | None = None  #: that can be spent on tests [h]


@dataclass(frozen=True)
class Run:
    """How a run is numbered."""

    random_number: int = 1


def target(table: TargetTable, pairs: tuple[str, ...]) -> Target:
    """Return the target of [target]."""
    quantity = known_quantity(table.quantity, pairs, "target.quantity", "output")
    return Target(
        table.quantity, *bounds("target", table, quantity), chance=table.chance, stated_worth=table.worth
    )


def bounds(where: str, table: Any, quantity: Quantity) -> tuple[float | None, float | None]:
    """Return what a table requires of a quantity, `at_least` and `at_most` [SI]; None where it does not."""
    low, high = (
        None if written is None else exact_value(f"{where}.{key}", written, quantity)
        for key, written in (("at_least", table.at_least), ("at_most", table.at_most))
    )
    if low is not None and high is not None and not low < high:
        raise refusal(where, "at_least must lie below at_most")
    return low, high
