"""One uncertain input: what is unknown about it, what scatters, and where its values end.

*Unknown* is fixed but not known; *scatter* falls anew at each firing. An input with both enters as two
independent rows whose deviations add about the centre: value = unknown + (scatter − its mean).
"""

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal

import numpy as np

from explorer.space.cutting import NODES, WEIGHTS, Cut, probability_between
from explorer.space.distributions import Array, Distribution
from explorer.units import Scale

Part = Literal["unknown", "scatter", "model"]

#: Share of a distribution that may lie outside the physical bounds; it is cut.
TAIL_ALLOWED: Final[float] = 1e-6

_NEGLIGIBLE: Final[float] = 1e-12  #: a share outside that no sample of this project's sizes will meet


@dataclass(frozen=True)
class Row:
    """One factor of the uncertainty: a column of the unit cube."""

    address: str
    part: Part
    shared: str | None = None  #: name under which several studies draw it once
    called: str = ""  #: of the model's own error, whose address is the output's

    @property
    def name(self) -> str:
        """What a table calls it."""
        return self.called or f"{self.address} ({self.part})"


@dataclass(frozen=True)
class Uncertain:
    """One uncertain input; both distributions lie about its centre.

    `low` and `high` are where its values end: the physical bounds, or a cut that the study asked for. One that is
    `called` something is no input but a factor of median 1 by which the model itself may be off on an output: its one
    part is "model", and central values are those at which the model is right.
    """

    address: str
    unknown: Distribution | None = None
    scatter: Distribution | None = None
    low: float = -math.inf
    high: float = math.inf
    shared: str | None = None
    called: str = field(default="", repr=False)

    def __post_init__(self) -> None:
        """Refuse an input without any distribution."""
        if self.unknown is None and self.scatter is None:
            raise ValueError(f"{self.address}: neither an unknown nor a scatter part")

    @property
    def parts(self) -> tuple[Part, ...]:
        """Its parts, unknown first."""
        if self.called:
            return ("model",)
        present: list[Part] = []
        if self.unknown is not None:
            present.append("unknown")
        if self.scatter is not None:
            present.append("scatter")
        return tuple(present)

    @property
    def fixed_or_scatter(self) -> tuple[Part, ...]:
        """Its parts as correlations name them: what the model is off by is fixed but not known too."""
        return ("unknown",) if self.called else self.parts

    def _stated(self, part: Part) -> Distribution:
        found = self.scatter if part == "scatter" else self.unknown
        if found is None:
            raise KeyError(f"{self.address} has no {part} part")
        return found

    def distribution(self, part: Part) -> Distribution:
        """Return the distribution of one part; the first one is cut at `low` and `high` where they bite."""
        stated = self._stated(part)
        if part != self.parts[0] or _share_outside(stated, self.low, self.high) <= _NEGLIGIBLE:
            return stated
        return Cut(stated, self.low, self.high)

    @cached_property
    def share_outside(self) -> float:
        """Probability that the input, before any cut, lies outside `low` … `high`."""
        if len(self.parts) == 1:
            return _share_outside(self._stated(self.parts[0]), self.low, self.high)
        below, upto = self._scatter_edges(self._stated("unknown").quantile(NODES))
        return float(WEIGHTS @ (below + (1 - upto)))

    def _scatter_edges(self, unknown: Array) -> tuple[Array, Array]:
        """Return the probabilities between which the scatter stays inside, given the unknown values."""
        scatter = self._stated("scatter")
        deviation = unknown - scatter.mean
        return scatter.cumulative(self.low - deviation), scatter.cumulative(self.high - deviation)

    @cached_property
    def _moments(self) -> tuple[float, float]:
        """Expectation and standard deviation of both parts together."""
        if self.called and self.unknown is not None:
            return 1.0, self.unknown.standard_uncertainty / self.unknown.mean
        spreads = [self.distribution(part).standard_uncertainty for part in self.parts]
        if len(self.parts) == 1 or self.share_outside <= _NEGLIGIBLE:
            return self.distribution(self.parts[0]).mean, math.hypot(*spreads)
        nodes, weights = NODES[::8], WEIGHTS[::8] / WEIGHTS[::8].sum()
        values = self.values(np.repeat(nodes, nodes.size), np.tile(nodes, nodes.size))
        joint = np.outer(weights, weights).ravel()
        mean = float(joint @ values)
        return mean, math.sqrt(float(joint @ (values - mean) ** 2))

    @property
    def centre(self) -> float:
        """Expectation."""
        return self._moments[0]

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation of both parts together."""
        return self._moments[1]

    def values(self, *columns: Array) -> Array:
        """Return values at probabilities in (0, 1), one column for each of its parts.

        With both parts the scatter is cut, given the unknown part, at what keeps their sum inside.
        """
        first = self.distribution(self.parts[0]).quantile(columns[0])
        if len(self.parts) == 1:
            return first
        scatter, u = self._stated("scatter"), columns[1]
        if self.share_outside > _NEGLIGIBLE:
            below, upto = self._scatter_edges(first)
            u = probability_between(below, upto, u)
        return first + (scatter.quantile(u) - scatter.mean)

    def words(self, scale: Scale) -> str:
        """Return in words how the values were read."""
        text = self._stated(self.parts[0]).words(scale)
        if self.parts == ("scatter",):
            text = f"{text}, anew at each firing"
        elif len(self.parts) == 2:
            scatter = self._stated("scatter")
            down, up = scatter.quantile(np.array([0.025, 0.975])) - scatter.mean
            text = f"{text}; from firing to firing {_spread_words(float(down), float(up), scale)}"
        if _NEGLIGIBLE < self.share_outside <= TAIL_ALLOWED:
            text = f"{text}; a tail of {self.share_outside:.1g} beyond the physical bounds is cut"
        if self.share_outside > TAIL_ALLOWED:
            text = f"{text}; cut at its limits, mean {scale.text(self.centre)} after the cut"
        return text


def _spread_words(down: float, up: float, scale: Scale) -> str:
    if math.isclose(-down, up, rel_tol=1e-6):
        return f"within ± {scale.difference(up)} of that, 19 times in 20"
    return f"by {scale.difference(down)} to +{scale.difference(up)} about that, 19 times in 20"


def _share_outside(distribution: Distribution, low: float, high: float) -> float:
    below, upto = distribution.cumulative(np.array([low, high]))
    return float(below) + (1.0 - float(upto))
