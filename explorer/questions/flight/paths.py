"""What the way up shows: altitude and velocity over time, and where the flow separates at the stage's exit."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer.physics.atmosphere import air_at
from explorer.physics.flight.vertical_motion import Motion
from explorer.questions.flight.stage import StageInFlight
from explorer.stage.outputs.limits import SEPARATION_RATIO

#: Points in time of a curve.
_POINTS: Final = 161

#: Share of the scenarios that must still climb for a band to be told.
_CLIMBING: Final = 0.95


def flight_curves(path: Motion, flew: NDArray[np.bool_]) -> pd.DataFrame:
    """Curves of one vehicle up to the apogee of its central scenario, each with the band of 19 in 20."""
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


@dataclass(frozen=True)
class Separation:
    """Where in a phase the flow likely separates at the stage's exit, so that its thrust is told too low."""

    share: float  #: of the scenarios that fly [-]
    up_to: float  #: altitude in the central scenario [m]; NaN where it doesn't separate there


def separation(path: Motion | None, stage: StageInFlight) -> dict[str, Separation]:
    """Separation by the phases in which there is any."""
    found: dict[str, Separation] = {}
    if path is None:
        return found
    flies = np.isfinite(path.altitude[0])
    for phase in stage.phases:
        burning = (path.time >= phase.phase.start) & (path.time <= phase.phase.end)
        altitude = np.where(burning, path.altitude, np.nan)
        pressure = air_at(np.nan_to_num(altitude))[0]
        separated = burning & (phase.exit_pressure < SEPARATION_RATIO * pressure)
        if separated.any():
            central = altitude[separated[:, 0], 0]
            found[phase.phase.name] = Separation(
                share=float(np.asarray(separated.any(axis=0))[flies].mean()),
                up_to=float(central.max()) if central.size else np.nan,
            )
    return found
