"""Figures of designs drawn together, of each by itself and of their differences, with their sampling errors.

A difference is formed point by point, so that what is drawn once for all designs drops out of it. Points that carry
no number in either design are left out of it and counted.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.scrambles import Estimate, estimate
from explorer.analysis.statistics import Distribution, distribution
from explorer.study.outcomes import FEWEST, fewest

if TYPE_CHECKING:  # loads slowly, and one point needs none
    import pandas as pd

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Values [SI] of a quantity and which of them count, both of shape (repeats, rows).
Marked = tuple[FloatArray, Mask]

Each = TypeVar("Each")

Verdict = Literal["larger", "smaller", "the same", "not told apart", "not decided", ""]

#: Cells of a table by the names of their columns.
Cells = Mapping[str, Any]

#: Share of a value within which two are the same: what two ways to the same number differ by.
ROUNDING: Final[float] = 1e-12

_NAN: Final = np.asarray(math.nan)

#: A figure that can't be told.
NOTHING: Final = Estimate(_NAN, _NAN, _NAN, _NAN, np.empty(0))


@dataclass(frozen=True)
class Figures(Distribution):
    """A quantity of a design [SI]; NaN where too few points carry a number."""

    missing: float  #: share of points without a value [-]
    centre: float = math.nan  #: at central values of all inputs

    @property
    def is_told(self) -> bool:
        """Whether enough points carry a number."""
        return math.isfinite(float(self.mean))


@dataclass(frozen=True)
class Difference(Figures):
    """How much larger a quantity of a design is than the first design's [SI]."""

    larger: Estimate = NOTHING  #: chance that it is larger [-]
    verdict: Verdict = ""  #: whether the difference is real; empty where it can't be told


def figures_row(own: Figures) -> Cells:
    """Figures as a row of a table, each sampling error beside its figure; of a difference its verdict too."""
    main = cells(
        mean=own.mean,
        median=own.median,
        standard_uncertainty=own.standard_uncertainty,
        low=own.low,
        high=own.high,
        missing=own.missing,
    )
    if isinstance(own, Difference):
        return {**main, **cells(larger=own.larger), "verdict": own.verdict}
    return {"centre": own.centre, **main}


def cells(**figures: Estimate | float) -> dict[str, Any]:
    """Figures as cells of a table, each sampling error beside its figure."""
    found: dict[str, float] = {}
    for name, figure in figures.items():
        found[name] = float(figure)
        if isinstance(figure, Estimate):
            found[f"{name}_standard_error"] = figure.error
    return found


class ShareDifference(NamedTuple):
    """How much larger a share of firings is than the first design's."""

    share: Estimate  #: [-]
    verdict: Verdict  #: Whether that is more than sampling could feign

    def row(self) -> Cells:
        """As a row of a table."""
        return {**share_row(self.share), "verdict": self.verdict}


def share_difference(own: Estimate, first: Estimate) -> ShareDifference:
    """How much larger a share is than another, both from the same points."""
    less = estimate(own.by_scramble - first.by_scramble)
    if not less.by_scramble.any():
        return ShareDifference(less, "the same")
    low, high = less.interval
    return ShareDifference(less, "larger" if low > 0 else "smaller" if high < 0 else "not told apart")


def share_row(share: Estimate) -> Cells:
    """A share as a row of a table."""
    return {"share": float(share), "standard_error": share.error}


def by_design(
    designs: Mapping[str, Mapping[str, Each]], of: Callable[[Each], Cells], index: str
) -> "pd.DataFrame":
    """Rows of every design as one table with columns (design, figure)."""
    import pandas as pd  # see above

    tables = {
        name: pd.DataFrame.from_dict({key: of(row) for key, row in rows.items()}, orient="index")
        for name, rows in designs.items()
    }
    return pd.concat(tables, axis="columns", names=["design", "figure"]).rename_axis(index=index)


def share_of(marked: Mask, among: Mask) -> Estimate:
    """Share of marked points among others [-], with its error from the repeats."""
    axes = tuple(range(1, marked.ndim))
    return estimate((marked & among).sum(axis=axes) / np.maximum(among.sum(axis=axes), 1))


def figures_of(marked: Marked | None, centre: float = math.nan) -> Figures:
    """Figures of a quantity of a design; of None, which it hasn't, none."""
    missing = 1.0 if marked is None else 1.0 - float(marked[1].mean())
    return Figures(**vars(_told(marked)), missing=missing, centre=centre)


def difference_of(own: Marked | None, first: Marked | None) -> Difference:
    """Figures of the difference of a quantity from the first design's."""
    if own is None or first is None:
        return Difference(**vars(_told(None)), missing=1.0)
    values, keep = own[0] - first[0], own[1] & first[1]
    values = np.where(np.abs(values) <= ROUNDING * np.abs(first[0]), 0.0, values)
    found = figures_of((values, keep))
    if not found.is_told:
        return Difference(**vars(found))
    blocks = _kept((values, keep))
    return Difference(**vars(found), larger=share_of(values > 0, keep), verdict=_verdict(blocks, found))


def _told(marked: Marked | None) -> Distribution:
    if marked is None or fewest(marked[1]) < FEWEST:
        return Distribution(*[NOTHING] * 7)
    return distribution(_kept(marked))


def _kept(marked: Marked) -> list[FloatArray]:
    return [block[mask] for block, mask in zip(*marked, strict=True)]


def _verdict(differences: Sequence[FloatArray], found: Distribution) -> Verdict:
    """Whether a difference is real: its 95 % interval leaves zero out, beyond what sampling could feign."""
    if not any(block.any() for block in differences):
        return "the same"
    if float(found.low.low) > 0:
        return "larger"
    if float(found.high.high) < 0:
        return "smaller"
    if float(found.low.high) <= 0 <= float(found.high.low):
        return "not told apart"
    return "not decided"
