"""Two wishes at once: the designs of which neither can be bettered without the other giving way.

The curve is sharpened by polish: one wish is made smallest while the other is held below evenly spaced values (the
ε-constraint method: Y. Y. Haimes, L. S. Lasdon and D. A. Wismer, IEEE Trans. SMC-1 (1971) 296, from memory). Each wish
is held in turn, at places between those of the other, for where the curve is steep in one it is flat in the other.
"""

from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

import numpy as np

from explorer.analysis.scrambles import Floats
from explorer.analysis.search.design_space import Assess, Assessed, DesignSpace, Indices, Record, Tried
from explorer.analysis.search.polish import polished

POINTS: Final[int] = 9
_STEPS: Final[tuple[float, ...]] = (1e-2, 1e-3)
_SLACK: Final[float] = 1e-4  #: of the curve's width, by which a wish may give way at its own best end
_COMBINATIONS: Final[int] = 2  #: of list entries, from whose best designs a place on the curve is looked for


def nondominated(wishes: Floats) -> Indices:
    """Return the rows that no other row betters in both wishes, by rising first wish.

    Parameters
    ----------
    wishes : ndarray
        Shape (n, 2), each to be made smallest; rows that are not finite don't count [any].
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
        Shape (n, 2), each to be made smallest [any].
    reference : tuple of float
        Beyond it a design betters nothing [any].
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
        Shape (n, 2), by rising first wish, none bettered by another [any].
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
    record : Record
        Holds designs that meet all limits, and assesses more.
    points : int
        About how many places on the curve, both ends among them [-].
    budget : int
        Designs of each polish [-].
    """
    for wish in (0, 1):
        for start in _starts(space, record, wish):
            polished(space, _one_wish(record, wish), start, budget=budget, steps=_STEPS)
    front = _front(record)
    if len(front) < 2:
        return front
    steps = max(points // 2, 1)
    # From one end to the other and back, so that each polish begins where the one before has ended; places of one
    # wish halfway between those of the other: on a straight curve all are evenly apart.
    first, second = np.arange(1, steps) / steps, (np.arange(steps) + 0.5) / steps
    places = _sharpened(space, record, front, 1, [_SLACK], budget)
    places += _sharpened(space, record, (front[0], *_best_at(record, places)), 0, [_SLACK, *first], budget)
    places += _sharpened(space, record, _best_at(record, places), 1, second, budget)
    return _best_at(record, places)


class _Place(NamedTuple):
    """Which wish is held, below what, and how much it changes along the whole curve."""

    held: int
    bound: float
    width: float


def _sharpened(
    space: DesignSpace,
    record: Record,
    curve: Sequence[Tried],
    held: int,
    shares: Iterable[float],
    budget: int,
) -> list[_Place]:
    """Places by the share of a wish's width on a curve, after polishes there; the record keeps their designs."""
    ends = [float(tried.wishes[held]) for tried in (curve[0], curve[-1])]
    width = max(ends) - min(ends)
    places = [_Place(held, min(ends) + share * width, width or 1.0) for share in shares]
    for place in places:
        for start in _starts(space, record, 1 - held, place.bound):
            polished(space, _one_wish(record, 1 - held, place), start, budget=budget, steps=_STEPS)
    return places


def _one_wish(record: Record, wish: int, place: _Place | None = None) -> Assess:
    """One of the two wishes, the other one held at a place."""

    def assess(designs: Floats) -> Assessed:
        found = record(designs)
        margins = found.margins
        if place:
            held = found.wishes[:, place.held]
            room = np.where(np.isfinite(held), (place.bound - held) / place.width, -10.0)
            margins = np.column_stack([margins, room])
        return Assessed(found.wishes[:, [wish]], margins)

    return assess


def _front(record: Record) -> tuple[Tried, ...]:
    """What no other design tried betters, of those that meet all limits."""
    met = np.flatnonzero(record.assessed.met)
    return record.picked(met[nondominated(record.assessed.wishes[met])])


def _starts(space: DesignSpace, record: Record, wish: int, bound: float = np.inf) -> list[Floats]:
    """The best designs of a few combinations of list entries with the other wish below a bound; the next one above."""
    found, designs = record.assessed, record.designs
    within = found.met & (found.wishes[:, 1 - wish] <= bound)
    order = found.best_first(wish=wish)
    best: dict[bytes, Floats] = {}
    for i in order[within[order]] if found.met.any() else order:
        best.setdefault(designs[i, space.listed].tobytes(), designs[i])
    above = [tried.values for tried in _front(record) if tried.wishes[1 - wish] > bound]
    return [*list(best.values())[:_COMBINATIONS], *(above[:1] if wish else above[-1:])]


def _best_at(record: Record, places: Sequence[_Place]) -> tuple[Tried, ...]:
    """The best design tried at each place, by rising first wish.

    Designs between the places, by-products of the polishes, would fill the curve more evenly, but lie off it.
    """
    found = record.assessed
    best: set[int] = set()
    for held, bound, _ in places:
        within = np.flatnonzero(found.met & (found.wishes[:, held] <= bound))
        order = np.lexsort((found.wishes[within, held], found.wishes[within, 1 - held]))
        best |= {int(i) for i in within[order[:1]]}
    rows = np.array(sorted(best))
    return record.picked(rows[nondominated(found.wishes[rows])])
