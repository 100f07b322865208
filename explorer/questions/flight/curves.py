"""Altitude and velocity over time, of the central scenario and of 19 in 20."""

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer.physics.flight.vertical_motion import Motion

FloatArray = NDArray[np.float64]

#: Points in time of a curve.
_POINTS: Final = 161

#: Share of the scenarios that must still climb for a band to be told.
_CLIMBING: Final = 0.95


def flight_curves(path: Motion, flew: NDArray[np.bool_]) -> pd.DataFrame:
    """Curves of one vehicle up to the apogee of its central scenario."""
    times = np.linspace(path.time[0, 0], path.time[-1, 0], _POINTS)
    found = {"time": times}
    which = np.flatnonzero(flew)
    for name in ("altitude", "velocity"):
        values = getattr(path, name)
        found[name] = np.interp(times, path.time[:, 0], values[:, 0])
        every = np.stack([np.interp(times, path.time[:, i], values[:, i], right=np.nan) for i in which])
        climbing = np.isfinite(every).mean(axis=0) >= _CLIMBING
        band = np.full((2, _POINTS), np.nan)
        band[:, climbing] = np.nanquantile(every[:, climbing], [0.025, 0.975], axis=0)
        found[f"{name}_low"], found[f"{name}_high"] = band
    return pd.DataFrame(found)
