"""Plans in the unit cube: which points a study tries, in chunks that can be made one by one in any order.

Every plan is one design: rows of a sequence, and *blocks* that share these rows. Block 0 is the sample A;
each further block takes some columns from a second, independent sample B and the rest from A. Three plans:

- `sample_plan`: A alone,
- `twin_plan`: A, and A with some columns drawn anew (what one firing scatters by),
- `pick_freeze_plan`: A, B, and A with each group of columns from B (Saltelli et al. 2010, table 2).

A and the columns of B come from **one** Sobol' sequence over all these coordinates, so that they are
balanced against each other (Saltelli et al. 2010, section 5). Several independent scrambles (Owen 1998, as
SciPy makes them: linear matrix scramble and digital shift) give each figure its sampling error by their
spread. A chunk is a fixed number of rows, whatever the number of jobs, and its numbers depend on the random
number, purpose, scramble and chunk alone.

Sources: I. M. Sobol', USSR Comput. Math. Math. Phys. 7 (1967) 86; A. B. Owen, J. Complexity 14 (1998) 466;
A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259.
"""

from collections.abc import Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.stats import qmc

Floats = NDArray[np.float64]
Scalar = TypeVar("Scalar", bound=np.generic)

SCRAMBLES: Final[int] = 8  #: independent scrambles of a plan
CHUNK_POINTS: Final[int] = 4096  #: points of a chunk at most, unless one row has more
_MOST_COORDINATES: Final[int] = 21201  #: of SciPy's sequence (Joe and Kuo 2008)
_SOBOL_CELL: Final[float] = 2.0**-30  #: width of a coordinate's cell in SciPy's 30-bit sequence
_RANDOM_CELL: Final[float] = 2.0**-53  #: the same for plain random numbers


class Purpose(IntEnum):
    """What a stream of random numbers is for; a number never changes its meaning."""

    PROPAGATION = 1
    RANKING = 2
    READINGS = 3
    FOLDS = 4
    PERMUTATION = 5
    CALIBRATION = 6
    OPTIMISATION = 7
    ELEMENTARY_EFFECTS = 8
    PINNED = 9
    ADAPTIVE = 10
    COMPARISON = 11
    FLIGHT = 12
    SCALING = 13
    LADDER_CHOICE = 14
    EVENTS = 15
    FIRING = 16


def random_number(source: int | np.random.Generator) -> int:
    """Return the one number that all streams of a run are made from: the user's own, or 63 bits of a generator.

    Zero is a number like any other.
    """
    if isinstance(source, np.random.Generator):
        return int(source.integers(2**63))
    if source < 0:
        raise ValueError(f"the random number must be zero or positive; got {source}")
    return int(source)


def generator(number: int, purpose: Purpose, *, scramble: int = 0, chunk: int = 0) -> np.random.Generator:
    """Return the generator of one stream of a run, by its place in its plan, independent of all the others."""
    sequence = np.random.SeedSequence(random_number(number), spawn_key=(int(purpose), scramble, chunk))
    return np.random.default_rng(sequence)


def rows_rounded_up(wanted: int, scrambles: int = SCRAMBLES) -> int:
    """Return the rows of each scramble, the smallest 2^k that gives at least `wanted` rows together [-]."""
    if wanted < 1 or scrambles < 1:
        raise ValueError(f"rows and scrambles must be positive; got {wanted} and {scrambles}")
    return 1 << max(-(-wanted // scrambles) - 1, 0).bit_length()


@dataclass(frozen=True)
class Plan:
    """A design in the unit cube: `points` gives any chunk, `arranged` sorts what was computed on them."""

    number: int  #: random number of the run
    purpose: Purpose
    dimensions: int
    blocks: tuple[tuple[int, ...], ...]  #: for each block, the columns taken from B; block 0 is A itself: ()
    rows: int  #: rows of a scramble, 2^k for the Sobol' kind
    scrambles: int = SCRAMBLES
    kind: Literal["sobol", "random"] = "sobol"

    def __post_init__(self) -> None:
        if self.dimensions < 1 or self.rows < 1 or self.scrambles < 1 or not self.blocks:
            raise ValueError("a plan needs at least one dimension, one row, one scramble and one block")
        if any(not 0 <= column < self.dimensions for block in self.blocks for column in block):
            raise ValueError(f"a block names a column outside 0 … {self.dimensions - 1}")
        if self.rows & (self.rows - 1):
            raise ValueError(f"rows must be a power of two; got {self.rows}")
        if self.kind == "sobol" and self.coordinates > _MOST_COORDINATES:
            raise ValueError(
                f"the plan needs {self.coordinates} coordinates and the Sobol' sequence has at most "
                f"{_MOST_COORDINATES}: let fewer inputs be uncertain, or take a plain random plan"
            )

    @property
    def redrawn(self) -> tuple[int, ...]:
        """Columns that some block takes from B, in order."""
        return tuple(sorted({column for block in self.blocks for column in block}))

    @property
    def coordinates(self) -> int:
        """Coordinates of the underlying sequence [-]: all of A, and the redrawn columns of B."""
        return self.dimensions + len(self.redrawn)

    @property
    def size(self) -> int:
        """Points of the whole plan [-]."""
        return self.scrambles * self.rows * len(self.blocks)

    @property
    def chunk_rows(self) -> int:
        """Rows of a chunk [-], a power of two that divides the rows of a scramble."""
        fitting = max(CHUNK_POINTS // len(self.blocks), 1)
        return min(self.rows, 1 << (fitting.bit_length() - 1))

    @property
    def chunk_size(self) -> int:
        """Points of a chunk [-]."""
        return self.chunk_rows * len(self.blocks)

    def chunks(self) -> Iterator[tuple[int, int]]:
        """Yield (scramble, chunk) of every chunk, in the order in which `arranged` expects them."""
        for scramble in range(self.scrambles):
            for chunk in range(self.rows // self.chunk_rows):
                yield scramble, chunk

    def points(self, scramble: int, chunk: int) -> Floats:
        """Return the points of one chunk, each coordinate inside (0, 1), shape (chunk_size, dimensions) [-].

        The blocks of the chunk's rows stand one after the other.
        """
        rows = self._sequence(scramble, chunk)
        points = np.repeat(rows[None, :, : self.dimensions], len(self.blocks), axis=0)
        place = {column: self.dimensions + i for i, column in enumerate(self.redrawn)}
        for block, columns in zip(points, self.blocks, strict=True):
            block[:, list(columns)] = rows[:, [place[column] for column in columns]]
        return points.reshape(self.chunk_size, self.dimensions)

    def arranged(self, flat: NDArray[Scalar]) -> NDArray[Scalar]:
        """Return values at all points, in the order of the chunks, as (scrambles, blocks, rows, …)."""
        if flat.shape[0] != self.size:
            raise ValueError(f"the plan has {self.size} points; got {flat.shape[0]} values")
        shape = (self.scrambles, self.rows // self.chunk_rows, len(self.blocks), self.chunk_rows)
        apart = np.moveaxis(flat.reshape(*shape, *flat.shape[1:]), 1, 2)
        return apart.reshape(self.scrambles, len(self.blocks), self.rows, *flat.shape[1:])

    def _sequence(self, scramble: int, chunk: int) -> Floats:
        if not (0 <= scramble < self.scrambles and 0 <= chunk < self.rows // self.chunk_rows):
            raise ValueError(f"the plan has no chunk {chunk} of scramble {scramble}")
        if self.kind == "random":
            rng = generator(self.number, self.purpose, scramble=scramble, chunk=chunk)
            return off_zero(rng.random((self.chunk_rows, self.coordinates)), cell=_RANDOM_CELL)
        sequence = deepcopy(_scrambled(self.number, self.purpose, scramble, self.coordinates))
        if chunk:
            sequence.fast_forward(chunk * self.chunk_rows)
        return off_zero(sequence.random(self.chunk_rows), cell=_SOBOL_CELL)


@lru_cache(maxsize=64)
def _scrambled(number: int, purpose: Purpose, scramble: int, coordinates: int) -> "qmc.Sobol":
    """A scrambled sequence at its beginning: scrambling costs more than the points of a chunk, so it is done once."""
    from scipy.stats import qmc  # loads slowly, and one point needs no plan

    return qmc.Sobol(coordinates, bits=30, rng=generator(number, purpose, scramble=scramble))


def off_zero(coordinates: Floats, *, cell: float) -> Floats:
    """Return the coordinates with each exact 0 moved to the middle of its cell: quantiles stay finite."""
    return np.where(coordinates == 0.0, 0.5 * cell, coordinates)


def sample_plan(
    number: int,
    dimensions: int,
    points: int,
    *,
    purpose: Purpose = Purpose.PROPAGATION,
    scrambles: int = SCRAMBLES,
    kind: Literal["sobol", "random"] = "sobol",
) -> Plan:
    """Return a plain sample of at least `points` points, rounded up to scrambles · 2^k."""
    rows = rows_rounded_up(points, scrambles)
    return Plan(number, purpose, dimensions, ((),), rows, scrambles, kind)


def twin_plan(
    number: int,
    dimensions: int,
    points: int,
    *,
    redrawn: Sequence[int],
    purpose: Purpose = Purpose.PROPAGATION,
    scrambles: int = SCRAMBLES,
    kind: Literal["sobol", "random"] = "sobol",
) -> Plan:
    """Return a sample whose every point has a twin that differs in the `redrawn` columns alone.

    At least `points` points together, rounded up to scrambles · 2^k. Each of the two blocks is a full sample.
    """
    if not redrawn:
        raise ValueError("without a redrawn column every twin is the point itself: take a plain sample")
    rows = rows_rounded_up(-(-points // 2), scrambles)
    return Plan(number, purpose, dimensions, ((), tuple(redrawn)), rows, scrambles, kind)


def pick_freeze_plan(
    number: int,
    dimensions: int,
    base: int,
    *,
    groups: Sequence[Sequence[int]] | None = None,
    purpose: Purpose = Purpose.RANKING,
    scrambles: int = SCRAMBLES,
    kind: Literal["sobol", "random"] = "sobol",
) -> Plan:
    """Return the plan for first-order and total indices: A, B, then A with each group of columns from B.

    `base` rows over all scrambles are rounded up to scrambles · 2^k; every column is a group by itself if no groups are
    given.
    """
    chosen = [(column,) for column in range(dimensions)] if groups is None else [tuple(g) for g in groups]
    if any(not group for group in chosen):
        raise ValueError("a group without columns has no index")
    blocks = ((), tuple(range(dimensions)), *chosen)
    return Plan(number, purpose, dimensions, blocks, rows_rounded_up(base, scrambles), scrambles, kind)
