"""Designs that are nearly as good as the best and differ from it as much as possible.

Each continuous variable is pushed down and up as far as the limits and a small loss of the wish allow, by the same
polish that found the best; each other entry of a list is tried with the continuous variables polished. Of what stays
within the loss a handful is picked, far apart, other entries first.
"""

from typing import Final

import numpy as np

from explorer.analysis.scrambles import Floats
from explorer.analysis.search.design_space import Assess, Assessed, DesignSpace, Record, Tried
from explorer.analysis.search.design_space import best as best_of
from explorer.analysis.search.polish import polished

HANDFUL: Final[int] = 4
BUDGET: Final[int] = 30  #: designs of one polish, or more where there are many variables
_ITERATES: Final[int] = (
    6  #: of one polish, each with its neighbours: fewer don't reach the end of a flat valley
)
_STEPS: Final[tuple[float, ...]] = (5e-3,)
_ALIKE: Final[float] = 0.05  #: in unit coordinates, below which two designs are told as one


def near_equal(
    space: DesignSpace,
    record: Record,
    best: Floats,
    *,
    tolerance: float,
    count: int = HANDFUL,
    steps: tuple[float, ...] = _STEPS,
) -> tuple[Tried, ...]:
    """Return designs that meet all limits and whose wish is within a tolerance of the best one's.

    Parameters
    ----------
    best : ndarray
        The best design, shape (variables,) [any].
    tolerance : float
        Loss of the wish over its own size [-].
    count : int
        How many at most [-].
    steps : tuple of float
        Shares of a range over which slopes are taken [-].
    """
    wish = float(record(best[None, :]).wishes[0, 0])
    allowed = wish + tolerance * abs(wish)
    budget = max(BUDGET, _ITERATES * (space.continuous.size + 1))
    found: list[Tried] = []
    for entry in _other_entries(space, best):
        end = polished(space, record, entry, budget=budget, steps=steps)
        if end.met and end.wishes[0] <= allowed:
            found.append(end)
    for i in space.continuous:
        for sign in (-1.0, 1.0):
            end = polished(
                space, _pushed(space, record, int(i), sign, allowed), best, budget=budget, steps=steps
            )
            if end.met:
                found.append(best_of(end.values[None], record(end.values[None])))
    return _handful(space, best, found, count)


def _other_entries(space: DesignSpace, best: Floats) -> list[Floats]:
    """The best design with one list at another entry."""
    found = []
    for i in space.listed:
        for entry in range(space.variables[i].entries):
            if entry != round(float(best[i])):
                other = best.copy()
                other[i] = entry
                found.append(other)
    return found


def _pushed(space: DesignSpace, record: Record, column: int, sign: float, allowed: float) -> Assess:
    """Designs whose wish is one variable's place, the wish itself a limit."""
    variable = space.variables[column]
    size = abs(allowed) or 1.0

    def assess(designs: Floats) -> Assessed:
        found = record(designs)
        place = (designs[:, column] - variable.low) / (variable.high - variable.low)
        loss = np.where(np.isfinite(found.wishes[:, 0]), (allowed - found.wishes[:, 0]) / size, -10.0)
        return Assessed(sign * -place[:, None], np.column_stack([found.margins, loss]))

    return assess


def _handful(space: DesignSpace, best: Floats, found: list[Tried], count: int) -> tuple[Tried, ...]:
    """Designs far from the best and from one another, each time the farthest; other entries first."""
    picked: list[Tried] = []
    left = list(found)
    while left and len(picked) < count:
        chosen = [best, *(tried.values for tried in picked)]
        distances = space.distances(np.stack([tried.values for tried in left]), np.stack(chosen)).min(axis=1)
        known = {_entries(space, design) for design in chosen}
        others = np.array([_entries(space, tried.values) not in known for tried in left])
        i = int(np.argmax(distances + 10.0 * others))
        if distances[i] < _ALIKE:
            break
        picked.append(left.pop(i))
    return tuple(picked)


def _entries(space: DesignSpace, design: Floats) -> tuple[int, ...]:
    return tuple(round(float(design[i])) for i in space.listed)
