"""A ladder of firings on the way from one design to another: whether it is worth climbing, and what it leaves."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import pandas as pd

from explorer.analysis.scrambles import Estimate
from explorer.questions.scale.ladder.choice import TriedSet
from explorer.questions.scale.ladder.readings import Chosen, Placed
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.designs import Waypoint
from explorer.study.contrasts import Cells, cells

#: Whether a ladder is worth climbing.
Climb = Literal["worth climbing", "not worth climbing", "not decided"]

_FIGURES: Final = [
    *("left", "left_standard_error", "removed", "removed_standard_error", "per_cost"),
    *("per_cost_standard_error", "changes"),
]


@dataclass(frozen=True)
class Firing:
    """A design that is fired once, after others."""

    design: Waypoint
    left: Estimate  #: Standard uncertainty of the target left after it and those before it [SI]
    removed: Estimate  #: Variance that it removes beyond those before it [SI²]
    changes: tuple[Change, ...]  #: Borders crossed since the design before
    #: By instrument, the variance that its reading alone would remove beyond the designs before [SI²].
    through: Mapping[str, float]
    beyond: Mapping[str, float]  #: By instrument with a range, the share of firings that lie beyond it [-]
    warnings: Mapping[str, Estimate]  #: By a warning's code, the share of firings that carry it [-]


@dataclass(frozen=True)
class Plan:
    """A set of steps, judged on points that had no part in its choice."""

    designs: tuple[Placed, ...]
    cost: float  #: In firings of the first design [-]
    left: Estimate  #: Standard uncertainty of the target left after all of them [SI]
    removed: Estimate  #: Variance that they remove beyond the first design [SI²]
    gain: Estimate  #: That, less what the same cost removes in a firing of the last design [SI²]
    worthwhile: bool  #: Whether every step removes more than its error and what it is worth
    dear: bool  #: Whether they cost more than a firing of the last design

    @property
    def climb(self) -> Climb:
        """Whether it is worth climbing."""
        if not self.worthwhile or self.dear or float(self.gain.high) < 0.0:
            return "not worth climbing"
        return "worth climbing" if float(self.gain.low) > 0.0 else "not decided"

    @property
    def numbers(self) -> Chosen:
        """Its steps' numbers."""
        return tuple(design.number for design in self.designs)


@dataclass(frozen=True)
class Candidate:
    """A step by itself, fired once after the first design."""

    design: Waypoint
    left: Estimate  #: Standard uncertainty of the target left [SI]
    removed: Estimate  #: Variance that it removes [SI²]
    per_cost: Estimate  #: The same for each firing of the first design that it costs [SI²]
    changes: int  #: How many changes of regime lie before it [-]

    def row(self) -> Cells:
        """As a row of a table, each sampling error beside its figure."""
        figures = cells(left=self.left, removed=self.removed, per_cost=self.per_cost)
        return {**figures, "changes": self.changes}


@dataclass(frozen=True)
class Remedy:
    """Something that was tried, to see whether a ladder is worth climbing with it."""

    kind: Literal["sharper", "shared", "regime"]
    what: tuple[str, ...]  #: An instrument's name, inputs' addresses, or a border's name
    plan: Plan | None  #: The best ladder then; None where none can be fired

    @property
    def climb(self) -> Climb:
        """Whether a ladder is worth climbing with it."""
        return "not worth climbing" if self.plan is None else self.plan.climb


@dataclass(frozen=True)
class Ladder:
    """Whether some designs of a path are worth firing, which, and what that leaves."""

    #: Standard uncertainty of the target as it stands, and after ever more firings of the first design [SI].
    now: Estimate
    after_first: Estimate
    fired: Firing | None  #: The last design itself, fired after the first; None where it can't be read
    worth: float  #: Least fall of the standard uncertainty for which a step is fired [SI]
    worth_assumed: bool  #: Whether nobody stated it
    plan: Plan | None  #: The best set of steps; None where none can be fired
    level: tuple[TriedSet, ...]  #: Other sets that are as good within the sampling error or the worth
    rungs: tuple[
        Firing, ...
    ]  #: The steps to fire, in the order of the path; none where it isn't worth climbing
    steps: tuple[Candidate, ...]  #: Every step that can be read, by itself
    tried: tuple[TriedSet, ...]  #: Every set tried, largest gain first, by the points that it was chosen by
    unreached: tuple[Placed, ...]  #: Designs that no set within the rule of one change reaches
    #: Of what is shared, by its name in the joint space, the share of its own standard uncertainty left now, after the
    #: first design, after each rung and so on [-].
    shared_left: Mapping[str, tuple[float, ...]]
    lost: float  #: Share of rows left out because a point had no number [-]
    remedies: tuple[Remedy, ...] = ()  #: What was tried to make a ladder worthwhile, where none is

    @property
    def climb(self) -> Climb:
        """Whether the best ladder is worth climbing."""
        return "not worth climbing" if self.plan is None else self.plan.climb

    @property
    def candidates(self) -> pd.DataFrame:
        """Every step by itself: what one firing leaves [SI] and removes [SI²], in all and for its cost."""
        index = pd.Index([step.design.name for step in self.steps], name="design")
        return pd.DataFrame([step.row() for step in self.steps], index=index, columns=_FIGURES)

    @property
    def sets(self) -> pd.DataFrame:
        """Every set tried: the designs' numbers, cost [-], what they remove and gain [SI²], whether all count."""
        rows = [
            (own.numbers, own.cost, float(own.removed), own.per_cost, float(own.gain), own.counts)
            for own in self.tried
        ]
        return pd.DataFrame(rows, columns=["designs", "cost", "removed", "per_cost", "gain", "counts"])

    @property
    def pinned(self) -> pd.DataFrame:
        """Share of its own standard uncertainty left of what is shared, as firings are added [-]."""
        index = pd.Index(list(self.shared_left), name="shared")
        return pd.DataFrame(list(self.shared_left.values()), index=index, columns=list(self.stages))

    @property
    def stages(self) -> tuple[str, ...]:
        """Up to which firings shares of what is shared are told."""
        return ("now", "first design", *(rung.design.name for rung in self.rungs))
