"""Which steps to fire, told from points that have no part in the judgement of the set that is chosen.

The cost of a firing is priced by what the same money removes of the target's variance where it goes into a firing of
the last design itself. A set's gain is the variance that it removes beyond the first design's firings, less that price
of its cost: above zero, a ladder beats "fire the first design, then build the last one and fire it". Steps that remove
less than they are worth are in no set that is chosen, nor is a set dearer than a firing of the last design. Of the
sets that can't be told apart from the one of largest gain, the cheapest is taken. Where no set gains anything, the one
is looked at that removes most for its cost: it would be the first to pay.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.scrambles import Estimate, estimate
from explorer.questions.scale.ladder.readings import Chosen, Placed, Read
from explorer.questions.scale.path.crossings import Change, changes_between

FloatArray = NDArray[np.float64]

#: Most steps of a ladder, and most steps of a path up to which all sets of them are tried.
MOST_STEPS: Final[int] = 3
MOST_EXHAUSTIVE: Final[int] = 12

#: Sets of two that are tried with a third step where there are more.
_PAIRS_KEPT: Final[int] = 40


#: Standard errors that a step's fall has to spare where steps are chosen.
_SPARE: Final[float] = 2.0


@dataclass(frozen=True)
class TriedSet:
    """A set of steps that was tried."""

    designs: tuple[Placed, ...]
    cost: float  #: In firings of the first design [-]
    removed: Estimate  #: Variance that they remove together beyond the first design [SI²]
    gain: Estimate  #: That, less what the same cost removes in a firing of the last design [SI²]
    worthwhile: bool  #: Whether every step surely removes more than its error and what it is worth
    perhaps: bool  #: Whether that is so as far as sampling can tell
    dear: bool  #: Whether they cost more than a firing of the last design

    @property
    def counts(self) -> bool:
        """Whether it can be chosen."""
        return self.worthwhile and not self.dear

    @property
    def numbers(self) -> Chosen:
        """Its steps' numbers."""
        return tuple(design.number for design in self.designs)

    @property
    def per_cost(self) -> float:
        """Variance that they remove for their cost [SI²]."""
        return float(self.removed) / self.cost


@dataclass(frozen=True)
class Choice:
    """The set that is chosen, and what it was chosen from."""

    tried: tuple[TriedSet, ...]  #: Every set tried, largest gain first
    best: (
        TriedSet | None
    )  #: Of those that count, or what comes nearest where none does; None where none was tried
    level: tuple[TriedSet, ...]  #: Others that are as good within the sampling error or the worth
    unreached: tuple[Placed, ...]  #: Designs that no set within the rule of one change reaches


def price(left: tuple[FloatArray, FloatArray] | None, cost: float) -> FloatArray | float:
    """What a firing of the first design's cost removes in one of the last design, from before and after [SI²]."""
    return 0.0 if left is None else (left[0] - left[1]) / cost


def worthwhile(before: FloatArray, after: FloatArray, worth: float, *, surely: bool) -> bool:
    """Whether a step removes enough: more variance by repeat [SI²] than its error, and of its root [SI] the worth.

    The worth is reached surely, with two standard errors to spare, or as far as two standard errors can tell.
    """
    removed = estimate(before - after)
    low, high = (float(np.sqrt(max(left.mean(), 0.0))) for left in (after, before))
    spare = _SPARE * removed.error / max(low + high, 1e-300) * (1.0 if surely else -1.0)
    return float(removed.low) > 0.0 and high - low >= worth + spare


def choice(read: Read, designs: Sequence[Placed], changes: Sequence[Change], worth: float) -> Choice:
    """The steps to fire, of those that can be read; `worth` is the least fall of the standard uncertainty [SI]."""
    first, last = read.quickly((0,)), designs[-1]
    readable = last.number in read.columns
    of_last = price((first, read.quickly((0, last.number))) if readable else None, last.cost)
    sets, unreached = _sets(read, designs, changes)
    tried = []
    for chosen in sets:
        cost = sum(designs[number].cost for number in chosen)
        removed = first - read.quickly((0, *chosen))
        tried.append(
            TriedSet(
                designs=tuple(designs[number] for number in chosen),
                cost=cost,
                removed=estimate(removed),
                gain=estimate(removed - of_last * cost),
                worthwhile=all(worthwhile(*fall, worth, surely=True) for fall in _falls(read, chosen)),
                perhaps=all(worthwhile(*fall, worth, surely=False) for fall in _falls(read, chosen)),
                dear=readable and cost > last.cost,
            )
        )
    tried.sort(key=lambda own: -float(own.gain))
    best, level = _best(tried, float(first.mean()), worth)
    return Choice(tuple(tried), best, level, tuple(designs[number] for number in unreached))


def _falls(read: Read, chosen: Chosen) -> Iterator[tuple[FloatArray, FloatArray]]:
    """What each step of a set removes: in the order of the path, then as the last of all."""
    for count in range(len(chosen)):
        yield read.quickly((0, *chosen[:count])), read.quickly((0, *chosen[: count + 1]))
    for own in chosen if len(chosen) > 1 else ():
        rest = tuple(number for number in chosen if number != own)
        yield read.quickly((0, *rest)), read.quickly((0, *chosen))


def _best(
    tried: Sequence[TriedSet], variance: float, worth: float
) -> tuple[TriedSet | None, tuple[TriedSet, ...]]:
    """The set taken, and others that are as good; where none gains, the one that would pay first."""
    pool = [own for own in tried if own.counts] or [own for own in tried if own.worthwhile]
    if not pool:
        affordable = [own for own in tried if not own.dear] or tried
        return max(affordable, key=lambda own: float(own.removed), default=None), ()
    gains = pool[0].counts and float(pool[0].gain) > 0.0
    most = pool[0] if gains else max(pool, key=lambda own: own.per_cost)
    shortfall = _shortfall_of_gain if gains else _shortfall_for_cost
    best = min((own for own in pool if not shortfall(own, most).low > 0.0), key=lambda own: own.cost)
    enough = 2.0 * worth * variance**0.5  # the worth as a variance
    others = [own for own in tried if own.perhaps and own is not best and (best.dear or not own.dear)]
    short = [(own, shortfall(own, best)) for own in others]
    return best, tuple(own for own, by in short if float(by) < enough or not by.low > 0.0)


def _shortfall_of_gain(one: TriedSet, other: TriedSet) -> Estimate:
    """How much less one set gains than another [SI²]."""
    return estimate(other.gain.by_scramble - one.gain.by_scramble)


def _shortfall_for_cost(one: TriedSet, other: TriedSet) -> Estimate:
    """How much less one set removes than its cost would in another [SI²]."""
    return estimate(other.removed.by_scramble * (one.cost / other.cost) - one.removed.by_scramble)


def _sets(
    read: Read, designs: Sequence[Placed], changes: Sequence[Change]
) -> tuple[list[Chosen], tuple[int, ...]]:
    """The sets in which no step lies more than one change past the one before, and designs that none reaches."""

    def allowed(chosen: Chosen) -> bool:
        return all(
            len(changes_between(changes, designs[a].place, designs[b].place)) <= 1
            for a, b in pairwise((0, *chosen))
        )

    numbers = [number for number in read.columns if 0 < number < designs[-1].number]
    found: list[Chosen] = []
    for size in range(1, MOST_STEPS + 1):
        sets = [chosen for chosen in combinations(numbers, size) if allowed(chosen)]
        if size == MOST_STEPS and len(numbers) > MOST_EXHAUSTIVE:
            pairs = [own for own in found if len(own) == size - 1]
            pairs = sorted(pairs, key=lambda own: float(read.quickly((0, *own)).mean()))[:_PAIRS_KEPT]
            sets = [chosen for chosen in sets if any(set(pair) < set(chosen) for pair in pairs)]
        found += sets
    reached = {number for chosen in found for number in chosen}
    return found, tuple(number for number in numbers if number not in reached)
