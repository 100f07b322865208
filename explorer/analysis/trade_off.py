"""Two wishes at once: the designs of which neither can be bettered without the other giving way.

The curve is sharpened by polish: the second wish is made smallest while the first is held below evenly spaced values
(the ε-constraint method: Y. Y. Haimes, L. S. Lasdon and D. A. Wismer, IEEE Trans. SMC-1 (1971) 296, from memory).
"""

from typing import Final

import numpy as np

from explorer.analysis.design_space import Assess, Assessed, DesignSpace, Indices, Record, Tried
from explorer.analysis.polish import polished
from explorer.analysis.scrambles import Floats

POINTS: Final[int] = 9
_STEPS: Final[tuple[float, ...]] = (1e-2, 1e-3)
_SLACK: Final[float] = 1e-3  #: of the curve's width, by which the first wish may give way at its own best end


def nondominated(wishes: Floats) -> Indices:
    """Return the rows that no other row betters in both wishes, by rising first wish.

    Parameters
    ----------
    wishes : ndarray
        Shape (n, 2), each to be made smallest; rows that are not finite don't count.
    """
    order = np.lexsort((wishes[:, 1], wishes[:, 0]))
    order = order[np.isfinite(wishes[order]).all(axis=1)]
    second = wishes[order, 1]
    before = np.concatenate([[np.inf], np.minimum.accumulate(second)[:-1]]) if second.size else second
    return np.asarray(order[second < before], dtype=np.intp)


def hypervolume(wishes: Floats, reference: tuple[float, float]) -> float:
    """Return the area that designs better, up to a reference [product of the wishes].

    E. Zitzler and L. Thiele, IEEE Trans. Evol. Comput. 3 (1999) 257.

    Parameters
    ----------
    wishes : ndarray
        Shape (n, 2), each to be made smallest.
    reference : tuple of float
        Beyond it a design betters nothing.
    """
    inside = wishes[(wishes < np.array(reference)).all(axis=1)]
    front = inside[nondominated(inside)]
    widths = np.diff(np.append(front[:, 0], reference[0]))
    return float(np.sum(widths * (reference[1] - front[:, 1])))


def knee(wishes: Floats) -> int:
    """Return the row that lies furthest below the straight line between the curve's ends, each wish over its width.

    Parameters
    ----------
    wishes : ndarray
        Shape (n, 2), by rising first wish, none bettered by another.
    """
    width = np.ptp(wishes, axis=0)
    places = (wishes - wishes.min(axis=0)) / np.where(width > 0.0, width, 1.0)
    return int(np.argmin(places.sum(axis=1)))


def trade_off_curve(
    space: DesignSpace, record: Record, *, points: int = POINTS, budget: int
) -> tuple[Tried, ...]:
    """Return designs along the curve, by rising first wish.

    Parameters
    ----------
    space : DesignSpace
    record : Record
        Holds designs that meet all limits, and assesses more.
    points : int
        About how many places on the curve, both ends among them [-].
    budget : int
        Designs of each polish [-].
    """
    for wish in (0, 1):
        start = record.best(wish=wish).values
        polished(space, _one_wish(record, wish), start, budget=budget, steps=_STEPS)
    front = _front(record)
    low, high = front[0].wishes[0], front[-1].wishes[0]
    slack = _SLACK * (high - low)
    for bound in (np.linspace(low, high, points) + slack)[:-1] if high > low else ():
        for start in _starts(_front(record), float(bound)):
            held = _one_wish(record, 1, bound=float(bound), size=high - low)
            polished(space, held, start, budget=budget, steps=_STEPS)
    return _thinned(_front(record), points)


def _one_wish(record: Record, wish: int, *, bound: float = np.inf, size: float = 1.0) -> Assess:
    """One of the two wishes, the first one held below a bound."""

    def assess(designs: Floats) -> Assessed:
        found = record(designs)
        margins = found.margins
        if np.isfinite(bound):
            room = np.where(np.isfinite(found.wishes[:, 0]), (bound - found.wishes[:, 0]) / size, -10.0)
            margins = np.column_stack([margins, room])
        return Assessed(found.wishes[:, [wish]], margins)

    return assess


def _front(record: Record) -> list[Tried]:
    """What no other design tried betters, of those that meet all limits."""
    found = record.assessed
    designs = record.designs[found.met]
    wishes, margins = found.wishes[found.met], found.margins[found.met]
    return [Tried(designs[i], wishes[i], margins[i]) for i in nondominated(wishes)]


def _starts(front: list[Tried], bound: float) -> list[Floats]:
    """The best designs on either side of a bound on the first wish."""
    below = [tried for tried in front if tried.wishes[0] <= bound]
    above = [tried for tried in front if tried.wishes[0] > bound]
    return [tried.values for tried in (*below[-1:], *above[:1])]


def _thinned(front: list[Tried], points: int) -> tuple[Tried, ...]:
    """At most so many designs, evenly along the curve, both ends kept."""
    if len(front) <= points:
        return tuple(front)
    wishes = np.array([tried.wishes for tried in front])
    places = (wishes - wishes.min(axis=0)) / np.ptp(wishes, axis=0)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(places, axis=0), axis=1))])
    wanted = np.linspace(0.0, along[-1], points)
    kept = sorted({int(np.argmin(np.abs(along - place))) for place in wanted})
    return tuple(front[i] for i in kept)
