"""Which borders a path crosses, and where.

A design lies past a border where more than a stated share of its firings do, beyond what sampling could feign; where
that can't be told, it counts as the design before it. A border is crossed between two designs on different sides of it
whose shares differ by more than sampling could feign; the place is read off the straight line between neighbours.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from explorer.analysis.scrambles import Estimate, estimate
from explorer.questions.scale.path.borders import Border
from explorer.questions.scale.path.designs import Waypoint
from explorer.study.regimes import BorderSide

#: Standard errors by which a share must lie off its level to tell the side.
_TOLD: Final[float] = 2.0


@dataclass(frozen=True)
class Change:
    """A border crossed."""

    border: Border
    place: float  #: [-] where, along the path
    counts: bool  #: Whether it is a change of regime: a study's own limit that ceases to bind is none
    past: bool  #: Whether what lies further along is past the border
    between: tuple[
        Waypoint, Waypoint
    ]  #: The nearest designs that lie on either side beyond what sampling could feign

    @property
    def sides(self) -> tuple[BorderSide, ...]:
        """How many firings of the designs on either side are past it."""
        return tuple(design.sides[self.border.name] for design in self.between)


def changes_along(borders: Sequence[Border], designs: Sequence[Waypoint]) -> tuple[Change, ...]:
    """The borders crossed, in the order in which they are."""
    found = [change for border in borders for change in _changes(border, designs)]
    return tuple(sorted(found, key=lambda change: change.place))


def _changes(border: Border, designs: Sequence[Waypoint]) -> Iterator[Change]:
    told = [design for design in designs if design.sides[border.name].is_told]
    shares = [design.sides[border.name].share for design in told]
    off = [float(share) - border.level_at(design.place) for design, share in zip(told, shares, strict=True)]
    decided = [i for i, share in enumerate(shares) if abs(off[i]) > _TOLD * share.error]
    for last, now in pairwise(decided):
        past = off[now] > 0
        if past == (off[last] > 0) or not _differ(shares[last], shares[now]):
            continue
        before = max(i for i in range(last, now) if (off[i] > 0) != past)
        one, two = told[before], told[before + 1]
        # Where a straight line between two shares, less their level, passes zero.
        way = off[before] / (off[before] - off[before + 1])
        place = one.place + way * (two.place - one.place)
        yield Change(border, place, past or border.limits is None, past, (told[last], told[now]))


def _differ(one: Estimate, other: Estimate) -> bool:
    """Whether shares differ by more than their difference's sampling error."""
    found = estimate(other.by_scramble - one.by_scramble)
    return abs(float(found)) > _TOLD * found.error


def changes_between(changes: Sequence[Change], start: float, end: float) -> tuple[Change, ...]:
    """The changes of regime behind one place, up to another."""
    return tuple(change for change in changes if change.counts and start < change.place <= end)
