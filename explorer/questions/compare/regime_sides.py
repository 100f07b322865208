"""On which side of the borders between regimes designs lie, and which borders part them from each other."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer.run import Evaluated
from explorer.study.contrasts import FEWEST, Mask, by_design, fewest, share_of
from explorer.study.problem import NO_CONTACT
from explorer.study.regimes import Regime, regimes_known

FloatArray = NDArray[np.float64]

#: Difference between two designs' shares past a border from which on their regimes differ.
DIFFERS: Final[float] = 0.1


def regime_table(
    names: Sequence[str], pairs: Sequence[Sequence[str]], found: Sequence[Evaluated]
) -> pd.DataFrame:
    """On which side of each border designs lie."""
    rows = {}
    for regime in regimes_known():
        values = [regime.values(own, its) for own, its in zip(found, pairs, strict=True)]
        row: dict[tuple[str, str], float] = {}
        for name, own, x in zip(names, found, values, strict=True):
            keep = np.isfinite(x) & (own.outcomes <= NO_CONTACT)
            if regime.relative:
                keep &= np.isfinite(values[0])
            row |= {(name, figure): value for figure, value in _side(regime, x, values[0], keep).items()}
        rows[regime.name] = row
    return by_design(rows, "border")


def _side(regime: Regime, values: FloatArray, first: FloatArray, keep: Mask) -> dict[str, float]:
    if fewest(keep) < FEWEST:
        return dict.fromkeys(("value", "standard_uncertainty", "share", "standard_error"), np.nan)
    share = share_of(regime.is_past(values, first), keep)
    return {
        "value": float(values[keep].mean()),
        "standard_uncertainty": float(values[keep].std()),
        "share": float(share.value),
        "standard_error": float(share.standard_error),
    }


def changing(table: pd.DataFrame) -> tuple[Regime, ...]:
    """The borders that part designs from each other."""
    shares = table.xs("share", axis=1, level="figure").to_numpy(dtype=np.float64)
    apart = dict(zip(table.index, np.ptp(shares, axis=1), strict=True))
    return tuple(regime for regime in regimes_known() if apart[regime.name] >= DIFFERS)
