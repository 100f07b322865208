"""Gradient polish of a design: its continuous variables moved, its list entries kept.

Sequential quadratic programming (D. Kraft, DFVLR-FB 88-28 (1988), as SciPy's SLSQP) in unit coordinates. Each
iterate and the neighbours from which its slopes are taken are assessed together, in one call.

Slopes are one-sided differences. A limit that holds with a stated chance is a quantile over some hundred
scenarios, smooth between kinks that lie close together: a coarse step sees past the kinks and finds the valley, a
fine one then lands on its floor. So every polish is made twice, the second time from where the first one ended.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.optimize import minimize

from explorer.analysis.scrambles import Floats
from explorer.analysis.search.design_space import Assess, Assessed, DesignSpace, Tried, best

STEPS: Final[tuple[float, ...]] = (1e-2, 1e-4)  #: of a range, over which slopes are taken, coarse first
STRIDE: Final[float] = 0.3  #: of a range, about what the first iterate moves by where no limit is in the way
MOST_ITERATES: Final[int] = 15  #: with one step: what has not landed by then is better begun elsewhere
ENOUGH: Final[float] = 0.1  #: of a step: what a descent ends at, and the margin that it keeps to end inside


def fewest(space: DesignSpace) -> int:
    """Return the designs without which a polish can't begin: the start, one iterate and its neighbours [-]."""
    return int(space.continuous.size) + 2


class _Spent(Exception):
    """The designs that may be asked for are used up."""


class _Course:
    """The iterates of a polish, each assessed once and with its neighbours."""

    def __init__(self, space: DesignSpace, assess: Assess, start: Floats, budget: int) -> None:
        self.space, self.assess, self.start = space, assess, start
        self.left = budget
        self.batches: list[tuple[Floats, Assessed]] = []
        self._worst = -np.inf

    def assessed(self, places: Floats) -> Floats:
        """Return wish and margins at some places, shape (places, 1 + limits)."""
        if len(places) > self.left:
            raise _Spent
        self.left -= len(places)
        designs = self.space.moved(self.start, places)
        found = self.assess(designs)
        self.batches.append((designs, found))
        wishes = found.wishes[:, 0]
        numbers = wishes[np.isfinite(wishes)]
        self._worst = max(self._worst, float(numbers.max(initial=-np.inf)))
        # A line search needs something to turn back from: a design without a number is like the worst so far.
        fallback = self._worst if np.isfinite(self._worst) else 0.0
        return np.column_stack([np.where(np.isfinite(wishes), wishes, fallback), found.margins])

    @property
    def best(self) -> Tried:
        """The best design of all batches."""
        designs, found = zip(*self.batches, strict=True)
        wishes, margins = (
            np.concatenate([getattr(a, part) for a in found]) for part in ("wishes", "margins")
        )
        return best(np.concatenate(designs), Assessed(wishes, margins))


def polished(
    space: DesignSpace,
    assess: Assess,
    start: Floats,
    *,
    budget: int,
    steps: Sequence[float] = STEPS,
) -> Tried:
    """Return the best design found downhill from a start, no worse than the start.

    The first wish is made smallest. Of a start that misses limits the nearest miss on the way comes back if
    none that meets them is found.

    Parameters
    ----------
    space : DesignSpace
        List entries stay as in the start.
    assess : Assess
        Called with one iterate and its neighbours at a time.
    start : ndarray
        The design to begin from, shape (variables,) [any].
    budget : int
        Designs that may be asked for, the start included [-].
    steps : sequence of float
        Shares of a range over which slopes are taken, one after the other [-].
    """
    course = _Course(space, assess, start, max(budget, 1))
    places = space.continuous.size
    course.assessed(space.unit(start)[None, space.continuous])
    if places:
        for step in steps:
            _descend(course, space.unit(course.best.values)[space.continuous], step)
    return course.best


def _descend(course: _Course, start: Floats, step: float) -> None:
    """Let the iterates of one descent be assessed; the course keeps them."""
    found: dict[bytes, tuple[Floats, Floats]] = {}

    def at(place: Floats) -> tuple[Floats, Floats]:
        """Return wish and margins, shape (1 + limits,), and their slopes, shape (1 + limits, places)."""
        name = place.tobytes()
        if name not in found:
            if len(found) == MOST_ITERATES:
                raise _Spent
            # Away from the nearer end of the range, so that neighbours stay inside it.
            apart = np.where(place > 0.5, -step, step)
            values = course.assessed(np.vstack([place, place + np.diag(apart)]))
            found[name] = values[0], ((values[1:] - values[0]) / apart[:, None]).T
        return found[name]

    enough = ENOUGH * step
    try:
        values, slopes = at(start)
        scale = float(np.abs(slopes[0]).max()) / STRIDE or max(abs(float(values[0])), 1.0)
        margins = {
            "type": "ineq",
            "fun": lambda place: at(place)[0][1:] - enough,
            "jac": lambda place: at(place)[1][1:],
        }
        minimize(  # type: ignore[call-overload]  # the stubs know no plain dictionary of constraints
            lambda place: (at(place)[0][0] - values[0]) / scale,
            start,
            jac=lambda place: at(place)[1][0] / scale,
            method="SLSQP",
            bounds=[(0.0, 1.0)] * start.size,
            constraints=[margins] if values.size > 1 else [],
            options={"ftol": enough, "maxiter": MOST_ITERATES},
        )
    except _Spent:
        pass
