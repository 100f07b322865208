"""A ladder of firings on the way from one design to another: which of its designs to fire, and what that leaves.

Ever more firings of the first design are taken as made. A point is one firing of a design on the path, read by the
first design's instruments. What readings leave of the last design's target is told by regression over the common
sample, as of measurements; they teach through what designs share and through the common part of the model's error.
No point lies more than one change of regime past the point before. Of the sets that remove at least four fifths of
what any set of up to three would, the one is taken that removes most variance for its cost.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from explorer.analysis.regression import left_variance
from explorer.analysis.scrambles import Estimate, estimate, root
from explorer.questions.scale.path.crossings import Change, changes_between
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.path.sample import Sample
from explorer.questions.scale.readings import Read, beyond_range, read_along
from explorer.study.contrasts import Cells, cells

FloatArray = NDArray[np.float64]

#: Most points of a ladder, and most steps up to which all sets of them are tried.
MOST_POINTS: Final[int] = 3
MOST_EXHAUSTIVE: Final[int] = 12

#: Sets of two that are tried with a third point where there are more steps.
_PAIRS_KEPT: Final[int] = 40

#: Share of what the best set removes that is enough [-]; chosen here.
ENOUGH: Final[float] = 0.8

_FIGURES: Final = [
    *("left", "left_standard_error", "removed", "removed_standard_error", "per_cost"),
    *("per_cost_standard_error", "changes"),
]

Chosen = tuple[int, ...]  #: a set of designs, by their numbers


@dataclass(frozen=True)
class Rung:
    """A point of the ladder."""

    name: str  #: "point 1" and so on
    design: Waypoint
    left: Estimate  #: Standard uncertainty of the target left after it and those before it [SI]
    removed: Estimate  #: Variance that it removes beyond those before it [SI²]
    changes: tuple[Change, ...]  #: Borders crossed since the point before
    #: By instrument, the variance that its reading alone would remove beyond the points before [SI²].
    through: Mapping[str, float]
    beyond: Mapping[str, float]  #: By instrument with a range, the share of firings that lie beyond it [-]


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
class TriedSet:
    """A set of steps that was tried."""

    designs: tuple[Waypoint, ...]
    cost: float  #: In firings of the first design [-]
    removed: float  #: Variance that they remove together beyond the first design [SI²]

    @property
    def per_cost(self) -> float:
        """Variance that they remove for their cost [SI²]."""
        return self.removed / self.cost


@dataclass(frozen=True)
class Ladder:
    """Which designs of a path to fire, and what that leaves."""

    #: Standard uncertainty of the target as it stands, and after ever more firings of the first design [SI].
    now: Estimate
    after_first: Estimate
    rungs: tuple[Rung, ...]  #: In the order of the path; none where no set removes more than luck would
    steps: tuple[Candidate, ...]  #: Every step that can be read, by itself
    tried: tuple[TriedSet, ...]  #: Every set tried, most removed per cost first
    unreached: tuple[Waypoint, ...]  #: Designs that no set within the rule of one change reaches
    #: Of what is shared, by its name in the joint space, the share of its own standard uncertainty left now, after the
    #: first design, after point 1 and so on [-].
    shared_left: Mapping[str, tuple[float, ...]]
    #: Share of the target's variance that the best of all sets would seem to remove if none told anything [-].
    luck: float
    lost: float  #: Share of rows left out because a point had no number [-]

    @property
    def candidates(self) -> pd.DataFrame:
        """Every step by itself: what one firing leaves [SI] and removes [SI²], in all and for its cost."""
        index = pd.Index([step.design.name for step in self.steps], name="design")
        return pd.DataFrame([step.row() for step in self.steps], index=index, columns=_FIGURES)

    @property
    def sets(self) -> pd.DataFrame:
        """Every set tried: the designs' numbers, their cost [-], what they remove [SI²], in all and for their cost."""
        rows = [
            (tuple(design.number for design in own.designs), own.cost, own.removed, own.per_cost)
            for own in self.tried
        ]
        return pd.DataFrame(rows, columns=["designs", "cost", "removed", "per_cost"])

    @property
    def pinned(self) -> pd.DataFrame:
        """Share of its own standard uncertainty left of what is shared, as firings are added [-]."""
        index = pd.Index(list(self.shared_left), name="shared")
        return pd.DataFrame(list(self.shared_left.values()), index=index, columns=list(self.stages))

    @property
    def stages(self) -> tuple[str, ...]:
        """Up to which firings shares of what is shared are told."""
        return ("now", "first design", *(rung.name for rung in self.rungs))


def ladder(sample: Sample, designs: Sequence[Waypoint], changes: Sequence[Change]) -> Ladder:
    """Which designs of a path to fire."""
    # Many small systems: more threads only wait for each other.
    with threadpool_limits(limits=1, user_api="blas"):
        read = read_along(sample, designs)
        stands = left_variance(read.known.moments((), read.targets))
        first = read.left(())
        falls, unreached = _tried(read, designs, changes)
        tried = [
            TriedSet(tuple(designs[k] for k in chosen), sum(designs[k].cost for k in chosen), float(fall[0]))
            for chosen, fall in falls.items()
        ]
        luck = _luck(falls, float(stands[:, 0].mean()))
        chosen = _best(tried, luck * float(first[:, 0].mean()))
        steps = [stands, first, *(read.left(chosen[: count + 1]) for count in range(len(chosen)))]
        if not estimate(first[:, 0] - steps[-1][:, 0]).low > 0.0:  # judged in full it doesn't stand out
            chosen, steps = (), [stands, first]
        points = [designs[k] for k in chosen]
        rungs = [
            _rung(sample, read, changes, [designs[0], *points[: count + 1]], steps[count + 1 : count + 3])
            for count in range(len(points))
        ]
        return Ladder(
            now=root(estimate(stands[:, 0])),
            after_first=root(estimate(first[:, 0])),
            rungs=tuple(rungs),
            steps=tuple(_candidate(read, designs[k], first, changes) for k in read.columns if k > 0),
            tried=tuple(sorted(tried, key=lambda own: -own.per_cost)),
            unreached=tuple(designs[k] for k in unreached),
            shared_left=_shared_left(read.factors, steps),
            luck=luck,
            lost=read.lost,
        )


def _tried(
    read: Read, designs: Sequence[Waypoint], changes: Sequence[Change]
) -> tuple[dict[Chosen, FloatArray], tuple[int, ...]]:
    """What each set within the rule of one change removes, and which designs no such set reaches."""

    def allowed(chosen: Chosen) -> bool:
        return all(
            len(changes_between(changes, designs[a].place, designs[b].place)) <= 1
            for a, b in pairwise((0, *chosen))
        )

    numbers = [number for number in read.columns if number > 0]
    falls: dict[Chosen, FloatArray] = {}
    for size in range(1, MOST_POINTS + 1):
        sets = [chosen for chosen in combinations(numbers, size) if allowed(chosen)]
        if size == MOST_POINTS and len(numbers) > MOST_EXHAUSTIVE:
            pairs = sorted((s for s in falls if len(s) == size - 1), key=lambda s: -falls[s][0])[:_PAIRS_KEPT]
            sets = [chosen for chosen in sets if any(set(pair) < set(chosen) for pair in pairs)]
        falls |= {chosen: read.removed(chosen) for chosen in sets}
    reached = {number for chosen in falls for number in chosen}
    return falls, tuple(number for number in numbers if number not in reached)


def _luck(falls: Mapping[Chosen, FloatArray], variance: float) -> float:
    """99 % point of the largest fall among sets that tell nothing, as a share of the variance."""
    if not falls:
        return 0.0
    largest = np.max([fall[1:] for fall in falls.values()], axis=0)
    return float(np.quantile(largest, 0.99)) / variance


def _best(tried: Sequence[TriedSet], least: float) -> Chosen:
    most = max((own.removed for own in tried), default=0.0)
    if not most > least:
        return ()
    enough = [own for own in tried if own.removed >= ENOUGH * most]
    return tuple(design.number for design in max(enough, key=lambda own: own.per_cost).designs)


def _rung(
    sample: Sample,
    read: Read,
    changes: Sequence[Change],
    fired: Sequence[Waypoint],
    steps: Sequence[FloatArray],
) -> Rung:
    """The last of the designs fired, from the variances left before and after it."""
    before, after = steps
    previous, design = fired[-2:]
    instruments = sample.joint.sides[0].study.instruments
    taken = read.taken([own.number for own in fired[1:-1]])
    base = read.sets.left(taken)[:, 0].mean()
    through = {
        instrument.name: float(base - read.sets.left([*taken, column])[:, 0].mean())
        for instrument, column in zip(instruments, read.columns[design.number], strict=True)
    }
    return Rung(
        name=f"point {len(fired) - 1}",
        design=design,
        left=root(estimate(after[:, 0])),
        removed=estimate(before[:, 0] - after[:, 0]),
        changes=changes_between(changes, previous.place, design.place),
        through=through,
        beyond=beyond_range(sample, design, instruments),
    )


def _candidate(read: Read, design: Waypoint, first: FloatArray, changes: Sequence[Change]) -> Candidate:
    after = read.left((design.number,))[:, 0]
    removed = first[:, 0] - after
    return Candidate(
        design=design,
        left=root(estimate(after)),
        removed=estimate(removed),
        per_cost=estimate(removed / design.cost),
        changes=len(changes_between(changes, 0.0, design.place)),
    )


def _shared_left(factors: Sequence[str], steps: Sequence[FloatArray]) -> dict[str, tuple[float, ...]]:
    now = steps[0][:, 1:].mean(axis=0)
    shares = np.sqrt(np.maximum([step[:, 1:].mean(axis=0) / now for step in steps], 0.0))
    return {name: tuple(map(float, own)) for name, own in zip(factors, shares.T, strict=True)}
