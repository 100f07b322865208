"""Figures of designs drawn together, of each by itself and of their differences, with their sampling errors.

A difference is formed point by point, so that what is drawn once for all designs drops out of it. Points that carry
no number in either design are left out of it and counted.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer.analysis import statistics
from explorer.analysis.scrambles import Estimate, estimate

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Values [SI] of a quantity and which of them count, both of shape (repeats, rows).
Marked = tuple[FloatArray, Mask]

Verdict = Literal["larger", "smaller", "the same", "not told apart", "not decided", ""]

#: Fewest points of a repeat from which an interval is told.
FEWEST: Final[int] = 32

_FIGURES: Final = ("mean", "median", "standard_uncertainty", "low", "high")


def fewest(marked: Mask) -> int:
    """Marked points of the repeat that has fewest [-]."""
    return int(marked.reshape(marked.shape[0], -1).sum(axis=1).min())


def share_of(marked: Mask, among: Mask) -> Estimate:
    """Share of marked points among others [-], with its error from the repeats."""
    axes = tuple(range(1, marked.ndim))
    return estimate((marked & among).sum(axis=axes) / np.maximum(among.sum(axis=axes), 1))


def quantity_table(
    names: Sequence[str],
    rows: Sequence[str],
    values: Callable[[int, str], Marked | None],
    centres: Mapping[tuple[str, str], float],
) -> pd.DataFrame:
    """Every quantity of every design."""

    def of(place: int, name: str, row: str) -> dict[str, Any]:
        marked = values(place, row)
        found = _figures(marked) if marked is not None else _nothing()
        return {"centre": centres.get((name, row), np.nan), **found}

    return _table(names, rows, of)


def difference_table(
    names: Sequence[str], rows: Sequence[str], values: Callable[[int, str], Marked | None]
) -> pd.DataFrame:
    """How much every other design's quantities are larger than the first's."""

    def of(place: int, _: str, row: str) -> dict[str, Any]:
        own, first = values(place + 1, row), values(0, row)
        if own is None or first is None:
            return {**_nothing(), **_order(None)}
        marked = own[0] - first[0], own[1] & first[1]
        return {**_figures(marked), **_order(marked)}

    return _table(names[1:], rows, of)


def _table(
    names: Sequence[str], rows: Sequence[str], of: Callable[[int, str, str], dict[str, Any]]
) -> pd.DataFrame:
    found = {
        row: {
            (name, figure): value
            for place, name in enumerate(names)
            for figure, value in of(place, name, row).items()
        }
        for row in rows
    }
    return by_design(found, "quantity")


def by_design(rows: dict[str, dict[tuple[str, str], Any]], index: str) -> pd.DataFrame:
    """A table with columns (design, figure)."""
    columns = list(dict.fromkeys(column for cells in rows.values() for column in cells))
    table = pd.DataFrame(
        [[cells.get(column) for column in columns] for cells in rows.values()],
        index=pd.Index(list(rows), name=index),
    )
    if rows:
        table.columns = pd.MultiIndex.from_tuples(columns, names=("design", "figure"))
    return table


def _figures(marked: Marked) -> dict[str, float]:
    values, keep = marked
    missing = 1.0 - float(keep.mean())
    if fewest(keep) < FEWEST:
        return {**_nothing(), "missing": missing}
    found = statistics.distribution(block[mask] for block, mask in zip(values, keep, strict=True))
    flat: dict[str, float] = {}
    for name in _FIGURES:
        item: Estimate = getattr(found, name)
        flat[name] = float(item.value)
        flat[f"{name}_standard_error"] = float(item.standard_error)
    return {**flat, "missing": missing}


def _nothing() -> dict[str, float]:
    figures = [key for name in _FIGURES for key in (name, f"{name}_standard_error")]
    return {**dict.fromkeys(figures, np.nan), "missing": 1.0}


def _order(marked: Marked | None) -> dict[str, Any]:
    """The chance of a positive difference, and whether the difference is real."""
    if marked is None or fewest(marked[1]) < FEWEST:
        return {"larger": np.nan, "larger_standard_error": np.nan, "verdict": ""}
    values, keep = marked
    larger = share_of(values > 0, keep)
    blocks = [block[mask] for block, mask in zip(values, keep, strict=True)]
    return {
        "larger": float(larger.value),
        "larger_standard_error": float(larger.standard_error),
        "verdict": verdict(blocks),
    }


def verdict(differences: Sequence[FloatArray]) -> Verdict:
    """Whether a difference is real: its 95 % interval leaves zero out, beyond what sampling could feign."""
    found = statistics.distribution(differences)
    if all(not block.any() for block in differences):
        return "the same"
    if float(found.low.low) > 0:
        return "larger"
    if float(found.high.high) < 0:
        return "smaller"
    if float(found.low.high) <= 0 <= float(found.high.low):
        return "not told apart"
    return "not decided"
