"""The space of uncertain inputs: from the unit cube to physical values, correlations included.

Rank correlations (Spearman's) are met by a Gaussian copula whose parameter is 2 sin(π·rank/6), exact for
normal scores: K. Pearson, "On further methods of determining correlation", 1907 (from memory).
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy import special

from explorer import registry
from explorer.space.distributions import Array
from explorer.space.uncertain import Part, Row, Uncertain
from explorer.units import Scale


class CorrelationError(ValueError):
    """Correlations that cannot all hold, or that concern no uncertain rows."""


class SharedError(ValueError):
    """One shared name that stands for different things."""


@dataclass(frozen=True)
class Correlation:
    """Spearman's rank correlation between the same part of two inputs."""

    between: tuple[str, str]  #: addresses of the inputs
    rank: float  #: above -1 and below 1 [-]
    part: Part = "unknown"

    @property
    def copula_parameter(self) -> float:
        """Correlation of the normal scores that gives this rank correlation."""
        return 2 * math.sin(math.pi * self.rank / 6)


@dataclass(frozen=True)
class InputSpace:
    """Uncertain inputs in column order, and how they hang together.

    Its rows (one for each part of each input) are the columns of a unit cube in which plans are made. The unknown part
    of inputs with one shared name is one row: they are one thing under several names.
    """

    inputs: tuple[Uncertain, ...] = ()
    correlations: tuple[Correlation, ...] = ()

    def __post_init__(self) -> None:
        """Refuse the same input twice, and correlations that cannot hold."""
        addresses = [item.address for item in self.inputs]
        for first, second in pairwise(sorted(addresses)):
            if first == second:
                raise ValueError(f"{first} stands twice among the uncertain inputs")
        _refuse_unlike(self.inputs)
        if self.correlations:
            _check_correlations(self)

    @classmethod
    def in_registry_order(
        cls, inputs: Iterable[Uncertain], correlations: Iterable[Correlation] = ()
    ) -> "InputSpace":
        """Return the space with its inputs in the registry's order: a file's order changes nothing."""
        ordered = sorted(inputs, key=lambda item: registry.position(item.address))
        return cls(tuple(ordered), tuple(correlations))

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Its rows; a shared name holds for the unknown part alone, for scatter falls anew each time."""
        found: dict[int, Row] = {}
        for item in self.inputs:
            several = f"shared {item.shared}" if len(self.one_with(item.address)) > 1 else ""
            for part, number in zip(item.parts, self._numbers[item.address], strict=True):
                shared = item.shared if part == "unknown" else None
                called = item.called or (several if shared else "")
                found.setdefault(number, Row(item.address, part, shared, called))
        return tuple(found.values())

    @cached_property
    def _numbers(self) -> dict[str, tuple[int, ...]]:
        """By address, the numbers of its rows; one for all that carry a shared name."""
        known: dict[str, int] = {}
        found: dict[str, tuple[int, ...]] = {}
        count = 0
        for item in self.inputs:
            numbers = []
            for part in item.parts:
                name = item.shared if part == "unknown" else None
                number = count if name is None else known.setdefault(name, count)
                count += number == count
                numbers.append(number)
            found[item.address] = tuple(numbers)
        return found

    def one_with(self, address: str) -> tuple[str, ...]:
        """Return the inputs that are one thing with an input, itself among them: those of its shared name."""
        names = {item.address: item.shared for item in self.inputs if item.unknown is not None}
        shared = names.get(address)
        return (address,) if shared is None else tuple(own for own, name in names.items() if name == shared)

    def columns(self, address: str, every: Sequence[Array]) -> list[Array]:
        """Return an input's own of the cube's columns, one for each of its parts."""
        return [every[number] for number in self._numbers[address]]

    @property
    def dimension(self) -> int:
        """Number of rows."""
        return len(self.rows)

    @property
    def correlated(self) -> bool:
        """Whether any two rows depend on each other."""
        return bool(self.correlations)

    def row_number(self, address: str, part: Part) -> int:
        """Return where a row stands; KeyError if it isn't uncertain."""
        for item in self.inputs:
            if item.address == address and part in item.fixed_or_scatter:
                return self._numbers[address][item.fixed_or_scatter.index(part)]
        raise KeyError(f"{address} has no {part} part")

    @cached_property
    def score_correlations(self) -> Array:
        """Correlations of the normal scores, the parameters of the Gaussian copula; shape (rows, rows)."""
        matrix = np.eye(self.dimension)
        for correlation in self.correlations:
            i, j = (self.row_number(address, correlation.part) for address in correlation.between)
            matrix[i, j] = matrix[j, i] = correlation.copula_parameter
        return matrix

    def values(self, unit_cube: Array) -> dict[str, Array]:
        """Return physical values for points of the open unit cube."""
        cube = np.asarray(unit_cube, dtype=float)
        if cube.ndim != 2 or cube.shape[1] != self.dimension:
            raise ValueError(f"the unit cube must have {self.dimension} columns; its shape is {cube.shape}")
        if cube.size and not (cube.min() > 0.0 and cube.max() < 1.0):  # so that not-a-number is refused too
            raise ValueError("coordinates in the unit cube must lie above 0 and below 1")
        every = self.dependent(cube)
        return {item.address: item.values(*self.columns(item.address, every)) for item in self.inputs}

    def dependent(self, cube: Array) -> list[Array]:
        """Return the cube's columns, shape (points,) each [-], with the copula's dependence put in."""
        columns = [np.ascontiguousarray(column) for column in cube.T]
        tied = np.flatnonzero((self.score_correlations != 0).sum(axis=0) > 1)
        if tied.size:
            factor = np.linalg.cholesky(self.score_correlations[np.ix_(tied, tied)])
            scores = special.ndtri(np.column_stack([columns[i] for i in tied])) @ factor.T
            for column, i in enumerate(tied):
                columns[i] = special.ndtr(scores[:, column])
        return columns

    def central(self) -> dict[str, float]:
        """Return the expectation of each uncertain input [SI]."""
        return {item.address: item.centre for item in self.inputs}

    def standard_uncertainties(self) -> Array:
        """Return the standard uncertainty of each row [SI of its input; - of the model's own error]."""
        items = {item.address: item for item in self.inputs}
        return np.array(
            [
                item.standard_uncertainty if item.called else item.distribution(row.part).standard_uncertainty
                for row in self.rows
                for item in (items[row.address],)
            ]
        )

    def product_moment_correlations(self) -> Array:
        """Return Pearson's correlations of the rows' values under the copula; shape (rows, rows)."""
        matrix = np.eye(self.dimension)
        by_address = {item.address: item for item in self.inputs}
        for correlation in self.correlations:
            first, second = (by_address[a].distribution(correlation.part) for a in correlation.between)
            i, j = (self.row_number(address, correlation.part) for address in correlation.between)
            z, weight = _normal_grid()
            rho = correlation.copula_parameter
            along = special.ndtr(z[:, None])
            scores = rho * z[:, None] + math.sqrt(1 - rho**2) * z[None, :]
            across = special.ndtr(np.clip(scores, z[0], z[-1]))  # beyond, a probability rounds to 1
            product = (first.quantile(along) - first.mean) * (second.quantile(across) - second.mean)
            covariance = float(weight @ product @ weight)
            matrix[i, j] = matrix[j, i] = covariance / (
                first.standard_uncertainty * second.standard_uncertainty
            )
        return matrix

    def without(self, addresses: Iterable[str]) -> "InputSpace":
        """Return the space without some inputs, and without the correlations that concern them."""
        gone = set(addresses)
        return InputSpace(
            tuple(item for item in self.inputs if item.address not in gone),
            tuple(c for c in self.correlations if not gone.intersection(c.between)),
        )

    def words(self, scales: Mapping[str, Scale]) -> dict[str, str]:
        """Return in words how each input was read, on the scales given for their addresses."""
        return {item.address: item.words(scales[item.address]) for item in self.inputs}


def _normal_grid() -> tuple[Array, Array]:
    """Return evenly spaced normal scores and their weights, which add to 1."""
    z = np.linspace(-8.0, 8.0, 641)
    weight = np.exp(-0.5 * z**2)
    return z, weight / weight.sum()


def _refuse_unlike(inputs: Iterable[Uncertain]) -> None:
    """Refuse inputs that carry one shared name and are stated differently."""
    known: dict[str, Uncertain] = {}
    for item in inputs:
        if item.shared is not None and item.unknown is not None:
            first = known.setdefault(item.shared, item)
            if first.unknown != item.unknown:
                raise SharedError(
                    f'"{item.shared}" is stated differently ({first.address} and {item.address}): two names for one'
                    " thing are stated alike, or get names of their own"
                )


def _check_correlations(space: InputSpace) -> None:
    seen: set[tuple[frozenset[str], Part]] = set()
    for correlation in space.correlations:
        a, b = correlation.between
        if a == b:
            raise CorrelationError(f"{a} is correlated with itself")
        if not -1 < correlation.rank < 1:
            raise CorrelationError(
                f"the rank correlation of {a} and {b} must lie between -1 and 1, both excluded"
            )
        key = (frozenset((a, b)), correlation.part)
        if key in seen:
            raise CorrelationError(f"the correlation of {a} and {b} is stated twice")
        seen.add(key)
        if correlation.part == "unknown" and b in space.one_with(a):
            raise CorrelationError(f"{a} and {b} are one shared thing, and hang together as such")
        for address in (a, b):
            if correlation.part not in {i.address: i.fixed_or_scatter for i in space.inputs}.get(address, ()):
                raise CorrelationError(
                    f"correlated, but without an uncertain {correlation.part} part: {address}"
                )
    if np.linalg.eigvalsh(space.score_correlations).min() <= _SMALLEST_EIGENVALUE:
        worst = _pair_to_blame(space)
        raise CorrelationError(
            f"the correlations contradict each other: {worst.between[0]} with {worst.between[1]} at"
            f" {worst.rank:g} cannot hold together with the others (pairs not stated count as uncorrelated)"
        )


_SMALLEST_EIGENVALUE = 1e-10  #: below it the matrix of normal scores counts as not positive definite


def _pair_to_blame(space: InputSpace) -> Correlation:
    """Return the correlation whose removal leaves the matrix furthest from indefinite."""

    def smallest_without(correlation: Correlation) -> float:
        matrix = space.score_correlations.copy()
        i, j = (space.row_number(address, correlation.part) for address in correlation.between)
        matrix[i, j] = matrix[j, i] = 0.0
        return float(np.linalg.eigvalsh(matrix).min())

    return max(space.correlations, key=smallest_without)
