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
from explorer.questions.scale.path.along import Along
from explorer.questions.scale.path.crossings import Change, changes_between
from explorer.questions.scale.path.readings import Read, beyond_range, read_along

FloatArray = NDArray[np.float64]

#: Most points of a ladder, and most steps up to which all sets of them are tried.
MOST_POINTS: Final[int] = 3
MOST_EXHAUSTIVE: Final[int] = 12

#: Sets of two that are tried with a third point where there are more steps.
_PAIRS_KEPT: Final[int] = 40

#: Share of what the best set removes that is enough [-]; chosen here.
ENOUGH: Final[float] = 0.8

_FIGURES: Final = (
    "left",
    "left_standard_error",
    "removed",
    "removed_standard_error",
    "per_cost",
    "per_cost_standard_error",
    "changes",
)

Chosen = tuple[int, ...]  #: a set, as places among the designs


@dataclass(frozen=True)
class Rung:
    """A point of the ladder."""

    design: int  #: [-] its place among the designs
    left: Estimate  #: Standard uncertainty of the target left after it and those before it [SI]
    removed: Estimate  #: Variance that it removes beyond those before it [SI²]
    changes: tuple[Change, ...]  #: Borders crossed since the point before
    #: By instrument, the variance that its reading alone would remove beyond the points before [SI²].
    through: Mapping[str, float]
    beyond: Mapping[str, float]  #: By instrument with a range, the share of firings that lie beyond it [-]


@dataclass(frozen=True)
class Ladder:
    """Which designs of a path to fire, and what that leaves."""

    #: Standard uncertainty of the target as it stands, and after ever more firings of the first design
    #: [SI].
    now: Estimate
    #: Standard uncertainty of the target as it stands, and after ever more firings of the first design
    #: [SI].
    after_first: Estimate
    rungs: tuple[Rung, ...]  #: In the order of the path; none where no set removes more than luck would
    #: Indexed by design: left, left_standard_error [SI] after one firing of it (and the first design's),
    #: removed [SI²], per_cost [SI² per firing of the first design], both with their ``…_standard_error``,
    #: changes, how many changes of regime lie before it [-].
    candidates: pd.DataFrame
    #: Every set tried, most removed per cost first: designs, cost, removed [SI²], per_cost.
    sets: pd.DataFrame
    unreached: tuple[int, ...]  #: Designs that no set within the rule of one change reaches
    #: Indexed by what is shared, by its name in the joint space; columns now, first design, point 1 and so
    #: on: share of its own standard uncertainty left [-].
    pinned: pd.DataFrame
    #: Share of the target's variance that the best of all sets would seem to remove if none told anything
    #: [-].
    luck: float
    lost: float  #: Share of rows left out because a point had no number [-]


def ladder(along: Along, places: FloatArray, costs: FloatArray, changes: Sequence[Change]) -> Ladder:
    """Which designs of a path to fire."""
    # Many small systems: more threads only wait for each other.
    with threadpool_limits(limits=1, user_api="blas"):
        read = read_along(along, places)
        designs = [design for design in read.columns if design > 0]
        stands = left_variance(read.known.moments((), read.targets))
        first = read.left(())
        falls, unreached = _tried(read, designs, places, costs, changes)
        luck = _luck(falls, float(stands[:, 0].mean()))
        chosen = _best(falls, costs, luck * float(first[:, 0].mean()))
        steps = [stands, first, *(read.left(chosen[: count + 1]) for count in range(len(chosen)))]
        if not estimate(first[:, 0] - steps[-1][:, 0]).low > 0.0:  # judged in full it doesn't stand out
            chosen, steps = (), [stands, first]
        rungs = [
            _rung(along, read, places, changes, chosen[: count + 1], steps[count + 1], steps[count + 2])
            for count in range(len(chosen))
        ]
        return Ladder(
            now=root(estimate(stands[:, 0])),
            after_first=root(estimate(first[:, 0])),
            rungs=tuple(rungs),
            candidates=_candidates(along, read, first, places, costs, changes),
            sets=_sets(falls, costs),
            unreached=unreached,
            pinned=_pinned(read.factors, steps),
            luck=luck,
            lost=read.lost,
        )


def _tried(
    read: Read, designs: Sequence[int], places: FloatArray, costs: FloatArray, changes: Sequence[Change]
) -> tuple[dict[Chosen, FloatArray], tuple[int, ...]]:
    """What each set within the rule of one change removes, and which designs no such set reaches."""

    def allowed(chosen: Chosen) -> bool:
        return all(
            len(changes_between(changes, places[a], places[b])) <= 1 for a, b in pairwise((0, *chosen))
        )

    falls: dict[Chosen, FloatArray] = {}
    for size in range(1, MOST_POINTS + 1):
        sets = [chosen for chosen in combinations(designs, size) if allowed(chosen)]
        if size == MOST_POINTS and len(designs) > MOST_EXHAUSTIVE:
            pairs = sorted((s for s in falls if len(s) == size - 1), key=lambda s: -falls[s][0])[:_PAIRS_KEPT]
            sets = [chosen for chosen in sets if any(set(pair) < set(chosen) for pair in pairs)]
        falls |= {chosen: read.removed(chosen) for chosen in sets}
    reached = {design for chosen in falls for design in chosen}
    return falls, tuple(design for design in designs if design not in reached)


def _luck(falls: Mapping[Chosen, FloatArray], variance: float) -> float:
    """99 % point of the largest fall among sets that tell nothing, as a share of the variance."""
    if not falls:
        return 0.0
    largest = np.max([fall[1:] for fall in falls.values()], axis=0)
    return float(np.quantile(largest, 0.99)) / variance


def _best(falls: Mapping[Chosen, FloatArray], costs: FloatArray, least: float) -> Chosen:
    most = max((float(fall[0]) for fall in falls.values()), default=0.0)
    if not most > least:
        return ()
    enough = [chosen for chosen, fall in falls.items() if fall[0] >= ENOUGH * most]
    return max(enough, key=lambda chosen: float(falls[chosen][0]) / _cost(chosen, costs))


def _cost(chosen: Chosen, costs: FloatArray) -> float:
    return float(sum(costs[design] for design in chosen))


def _rung(
    along: Along,
    read: Read,
    places: FloatArray,
    changes: Sequence[Change],
    chosen: Chosen,
    before: FloatArray,
    after: FloatArray,
) -> Rung:
    instruments = along.joint.sides[0].study.instruments
    taken = read.taken(chosen[:-1])
    base = read.sets.left(taken)[:, 0].mean()
    through = {
        instrument.name: float(base - read.sets.left([*taken, column])[:, 0].mean())
        for instrument, column in zip(instruments, read.columns[chosen[-1]], strict=True)
    }
    start = places[chosen[-2]] if len(chosen) > 1 else 0.0
    return Rung(
        design=chosen[-1],
        left=root(estimate(after[:, 0])),
        removed=estimate(before[:, 0] - after[:, 0]),
        changes=changes_between(changes, float(start), float(places[chosen[-1]])),
        through=through,
        beyond=beyond_range(along, chosen[-1], instruments),
    )


def _candidates(
    along: Along,
    read: Read,
    first: FloatArray,
    places: FloatArray,
    costs: FloatArray,
    changes: Sequence[Change],
) -> pd.DataFrame:
    rows = {}
    for design in [design for design in read.columns if design > 0]:
        after = read.left((design,))[:, 0]
        left, removed = root(estimate(after)), estimate(first[:, 0] - after)
        rows[along.names[design]] = {
            "left": float(left.value),
            "left_standard_error": float(left.standard_error),
            "removed": float(removed.value),
            "removed_standard_error": float(removed.standard_error),
            "per_cost": float(removed.value) / float(costs[design]),
            "per_cost_standard_error": float(removed.standard_error) / float(costs[design]),
            "changes": len(changes_between(changes, 0.0, float(places[design]))),
        }
    return pd.DataFrame.from_dict(rows, orient="index", columns=list(_FIGURES)).rename_axis("design")


def _sets(falls: Mapping[Chosen, FloatArray], costs: FloatArray) -> pd.DataFrame:
    rows = [
        {"designs": chosen, "cost": _cost(chosen, costs), "removed": float(fall[0])}
        for chosen, fall in falls.items()
    ]
    table = pd.DataFrame(rows, columns=["designs", "cost", "removed"])
    table["per_cost"] = table["removed"] / table["cost"]
    return table.sort_values("per_cost", ascending=False, ignore_index=True)


def _pinned(factors: Sequence[str], steps: Sequence[FloatArray]) -> pd.DataFrame:
    heads = ["now", "first design", *(f"point {number}" for number in range(1, len(steps) - 1))]
    shares = {
        head: np.sqrt(np.maximum(step[:, 1:].mean(axis=0) / steps[0][:, 1:].mean(axis=0), 0.0))
        for head, step in zip(heads, steps, strict=True)
    }
    return pd.DataFrame(shares, index=pd.Index(list(factors), name="shared"))
