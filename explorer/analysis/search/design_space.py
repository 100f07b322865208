"""Designs: what may vary, how designs are compared, and the record of those tried.

A design is a row of numbers, one a variable: a value inside a range, or the number of an entry of a list. What
is wanted of a design (*wishes*, each to be made smallest) and what it must hold (*limits*, each with its margin,
zero or more where it is met) come from a callable that knows what the numbers mean; nothing here does.

Of two designs the one that meets all limits is better; of two that do, the one with the smaller wish; of two
that don't, the one that misses less, all shortfalls added up.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.scrambles import Floats

Indices = NDArray[np.intp]

ANOTHER_PLACE: Final[float] = 0.05  #: share of a range from which two values count as different


@dataclass(frozen=True)
class Variable:
    """Something that a designer is free to choose."""

    name: str
    low: float = 0.0  #: ends of a continuous range
    high: float = 1.0
    entries: int = 0  #: above zero: a list with so many entries, and a design holds the entry's number
    ordered: bool = True  #: whether neighbouring entries of a list are alike (numbers sorted) or mere words

    def __post_init__(self) -> None:
        if self.entries < 0 or (not self.entries and not -np.inf < self.low < self.high < np.inf):
            raise ValueError(f"{self.name}: a range needs finite ends, low below high, or a list its entries")


@dataclass(frozen=True)
class DesignSpace:
    """The variables, and the unit coordinates in which designs are moved and told apart."""

    variables: tuple[Variable, ...]

    def __post_init__(self) -> None:
        names = [v.name for v in self.variables]
        if not names or len(set(names)) < len(names):
            raise ValueError(f"at least one variable is needed, each with a name of its own; got {names}")

    @cached_property
    def continuous(self) -> Indices:
        """Columns of the variables with a range."""
        return np.array([i for i, v in enumerate(self.variables) if not v.entries], dtype=np.intp)

    @cached_property
    def listed(self) -> Indices:
        """Columns of the variables with a list."""
        return np.array([i for i, v in enumerate(self.variables) if v.entries], dtype=np.intp)

    @property
    def combinations(self) -> int:
        """Number of combinations of list entries [-]; 1 without a list."""
        return int(np.prod([self.variables[i].entries for i in self.listed], dtype=np.int64))

    @cached_property
    def _ends(self) -> tuple[Floats, Floats]:
        ranges = [
            (0.0, float(max(v.entries - 1, 1))) if v.entries else (v.low, v.high) for v in self.variables
        ]
        low, high = np.array(ranges, dtype=np.float64).T
        return low, high

    def unit(self, designs: Floats) -> Floats:
        """Return designs in unit coordinates, 0 at the low end of a range or list and 1 at the high end [-]."""
        low, high = self._ends
        return np.asarray((designs - low) / (high - low))

    def moved(self, design: Floats, places: Floats) -> Floats:
        """Return copies of a design with the continuous variables at other places, shape (n, variables).

        Parameters
        ----------
        design : ndarray
            Shape (variables,); its list entries are kept [any].
        places : ndarray
            Unit coordinates of the continuous variables, shape (n, continuous) [-].
        """
        low, high = (ends[self.continuous] for ends in self._ends)
        designs = np.tile(np.asarray(design, dtype=np.float64), (places.shape[0], 1))
        # Rounding alone could carry a value past the end of its range.
        designs[:, self.continuous] = np.clip(low + places * (high - low), low, high)
        return designs

    def differences(self, designs: Floats, others: Floats) -> Floats:
        """Return how far designs lie apart in each variable, in unit coordinates, broadcast over rows [-].

        Entries of a list of mere words are 1 apart if they are not the same.
        """
        apart = np.abs(self.unit(designs) - self.unit(others))
        words = [i for i in self.listed if not self.variables[i].ordered]
        apart[..., words] = apart[..., words] > 0.0
        return apart

    def distances(self, designs: Floats, others: Floats) -> Floats:
        """Return the Euclidean distance of each design from each other one, shape (designs, others) [-]."""
        return np.asarray(np.linalg.norm(self.differences(designs[:, None, :], others[None, :, :]), axis=-1))

    def differing(self, design: Floats, other: Floats) -> tuple[int, ...]:
        """Return the columns in which two designs differ: another entry, or a twentieth of the range."""
        apart = self.differences(design, other)
        least = np.full(apart.shape, ANOTHER_PLACE)
        least[self.listed] = np.finfo(np.float64).tiny
        return tuple(int(i) for i in np.flatnonzero(apart >= least))


@dataclass(frozen=True)
class Assessed:
    """What is wanted of n designs, and what they must hold."""

    wishes: Floats  #: shape (n, wishes), to be made smallest; NaN where a design carries no number
    margins: (
        Floats  #: shape (n, limits), over each limit's own scale [-], always finite: met at zero and above
    )

    @property
    def met(self) -> NDArray[np.bool_]:
        """Whether each design carries numbers and meets all limits."""
        return np.asarray(np.isfinite(self.wishes).all(axis=1) & (self.margins >= 0.0).all(axis=1))

    @property
    def missing(self) -> Floats:
        """Sum of each design's shortfalls [-]; infinite where a design without limits carries no number."""
        missing = np.maximum(-self.margins, 0.0).sum(axis=1)
        return np.where(self.met | (missing > 0.0), missing, np.inf)

    def best_first(self, *, wish: int = 0) -> Indices:
        """Return the order of the designs, best first; among equals the one tried earlier."""
        return np.lexsort((np.where(self.met, self.wishes[:, wish], 0.0), self.missing))


Assess = Callable[[Floats], Assessed]  #: designs, shape (n, variables), to what they are worth


@dataclass(frozen=True)
class Tried:
    """One design with what it is worth."""

    values: Floats  #: shape (variables,)
    wishes: Floats  #: shape (wishes,)
    margins: Floats  #: shape (limits,)

    @property
    def _alone(self) -> Assessed:
        return Assessed(self.wishes[None], self.margins[None])

    @property
    def met(self) -> bool:
        """Whether the design carries numbers and meets all limits."""
        return bool(self._alone.met[0])

    @property
    def rank(self) -> tuple[float, float]:
        """What is missing, and the first wish where nothing is: of two designs the one with less is better."""
        return float(self._alone.missing[0]), float(self.wishes[0]) if self.met else 0.0

    @property
    def largest_shortfall(self) -> float:
        """Shortfall of the limit that is missed by most [-]; negative where all are met with room."""
        return float(np.max(-self.margins, initial=-np.inf))


def best(designs: Floats, assessed: Assessed) -> Tried:
    """Return the best of some designs."""
    i = assessed.best_first()[0]
    return Tried(designs[i], assessed.wishes[i], assessed.margins[i])


def key(design: Floats) -> bytes:
    """Return what tells one design from another: its numbers, all digits of them."""
    # Zero with a minus sign is the same number.
    return (np.ascontiguousarray(design, dtype=np.float64) + 0.0).tobytes()


class Record:
    """An `Assess` that evaluates each design once and remembers every design asked for, in order.

    A search is deterministic, so one that was broken off is resumed by replaying it: what it had evaluated is
    handed in as `known` and costs nothing.

    Parameters
    ----------
    assess : Assess
        Called with the designs of a batch that are new.
    known : mapping
        From `key` of a design to its wishes and margins.
    on_new : callable, optional
        Told of each batch of new designs and what they are worth.
    """

    def __init__(
        self,
        assess: Assess,
        *,
        known: Mapping[bytes, tuple[Floats, Floats]] = {},
        on_new: Callable[[Floats, Assessed], None] | None = None,
    ) -> None:
        self._assess = assess
        self._known = dict(known)
        self._on_new = on_new
        self._tried: dict[bytes, Floats] = {}
        self.count = 0  #: designs evaluated anew

    def __call__(self, designs: Floats) -> Assessed:
        """Return what the designs are worth, from memory where they were tried before."""
        keys = [key(row) for row in designs]
        self._tried |= {
            k: np.array(row) for k, row in zip(keys, designs, strict=True) if k not in self._tried
        }
        new = [k for k in dict.fromkeys(keys) if k not in self._known]
        if new:
            rows = np.stack([self._tried[k] for k in new])
            found = self._assess(rows)
            self._known |= dict(zip(new, zip(found.wishes, found.margins, strict=True), strict=True))
            self.count += len(new)
            if self._on_new:
                self._on_new(rows, found)
        return self._of(keys)

    def beside(self) -> "Record":
        """Return another record of the same designs' worth, for designs that are not to be found in this one."""
        return Record(self._assess, known=self._known)

    @property
    def tried(self) -> int:
        """Number of different designs asked for [-], known ones included: what a budget counts."""
        return len(self._tried)

    @property
    def designs(self) -> Floats:
        """Every design tried, in order, shape (tried, variables)."""
        return np.stack(list(self._tried.values()))

    @property
    def assessed(self) -> Assessed:
        """What every design tried is worth, in the same order."""
        return self._of(list(self._tried))

    def best(self) -> Tried:
        """Return the best design tried."""
        return self.picked(self.assessed.best_first()[:1])[0]

    def picked(self, places: Iterable[int]) -> tuple[Tried, ...]:
        """Return the designs tried at some places in their order."""
        designs, found = self.designs, self.assessed
        return tuple(Tried(designs[i], found.wishes[i], found.margins[i]) for i in places)

    def _of(self, keys: list[bytes]) -> Assessed:
        found = [self._known[k] for k in keys]
        return Assessed(np.stack([w for w, _ in found]), np.stack([m for _, m in found]))
