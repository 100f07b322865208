"""A vertical ascent from the pad, or from a booster, to the apogee: which scenarios fly, and how high."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.flight.vertical_motion import (
    EARTH,
    Burn,
    BurntOut,
    FloatArray,
    Mask,
    Motion,
    Planet,
    Start,
    burnt_out,
    coasted,
)

#: How a scenario ends: it reaches its apogee, never leaves the pad, or falls before the last burn is over.
FLEW: Final = 0
NEVER_LEFT: Final = 1
FELL_BACK: Final = 2


@dataclass(frozen=True)
class Ascent:
    """What becomes of each scenario; numbers are NaN where it doesn't fly."""

    outcome: NDArray[np.int8]  #: `FLEW`, `NEVER_LEFT` or `FELL_BACK`
    apogee: FloatArray  #: [m]
    apogee_time: FloatArray  #: [s]
    burnout_altitude: FloatArray  #: [m]
    burnout_velocity: FloatArray  #: [m/s]
    burnout_mass: FloatArray  #: [kg]
    impulse: FloatArray  #: [N s] of the thrust, over all burns
    path: Motion | None = None  #: on the way to the apogee; None where it was not asked for, or nothing flies


def ascent(start: Start, burns: Sequence[Burn], *, planet: Planet = EARTH, path: bool = False) -> Ascent:
    """Return how each scenario climbs from its start to its apogee.

    Parameters
    ----------
    burns : sequence of Burn
        In their order; the flight begins with the first.
    path : bool
        Whether to tell where the vehicles are on the way.

    Raises
    ------
    ValueError
        If burns overlap, or burn more than a vehicle weighs.
    """
    _refuse(start, burns)
    outcome = np.full(start.mass.shape, FLEW, dtype=np.int8)
    held = ~(burns[0].thrust_at(start.altitude) > start.mass * planet.gravity_at(start.altitude))
    outcome[(start.velocity == 0.0) & held] = NEVER_LEFT
    left = outcome == FLEW
    if not left.any():
        return _nothing(outcome)
    burnt = burnt_out(start.of(left), [burn.of(left) for burn in burns], planet=planet, path=path)
    rising = ~burnt.fell & (burnt.velocity > 0.0)
    outcome[np.flatnonzero(left)[~rising]] = FELL_BACK
    flew = outcome == FLEW
    if not flew.any():
        return _nothing(outcome)
    end, risen = burns[-1].end, _some(burnt, rising)
    coast = coasted(risen, start.drag_area[flew], end, planet=planet)

    def everywhere(values: FloatArray) -> FloatArray:
        whole = np.full((*values.shape[:-1], flew.size), np.nan)
        whole[..., flew] = values
        return whole

    return Ascent(
        outcome,
        apogee=everywhere(coast.altitude[-1]),
        apogee_time=everywhere(coast.time[-1]),
        burnout_altitude=everywhere(risen.altitude),
        burnout_velocity=everywhere(risen.velocity),
        burnout_mass=everywhere(risen.mass),
        impulse=everywhere(risen.impulse),
        path=None if risen.motion is None else _path(risen.motion, coast, everywhere),
    )


def _refuse(start: Start, burns: Sequence[Burn]) -> None:
    if not burns:
        raise ValueError("an ascent needs a burn")
    for burn in burns:
        if not burn.end > burn.start:
            raise ValueError(f"a burn must end after its start; got {burn.start:g} to {burn.end:g} s")
    for first, second in pairwise(burns):
        if second.start < first.end:
            raise ValueError(
                f"burns overlap: one ends at {first.end:g} s, the next starts at {second.start:g} s"
            )
    if not np.all(start.mass > sum(burn.propellant for burn in burns)):
        raise ValueError("a vehicle must weigh more than the propellant that it burns")


def _nothing(outcome: NDArray[np.int8]) -> Ascent:
    none = np.full(outcome.shape, np.nan)
    return Ascent(outcome, none, none, none, none, none, none)


def _some(burnt: BurntOut, which: Mask) -> BurntOut:
    motion = burnt.motion
    return replace(
        burnt,
        altitude=burnt.altitude[which],
        velocity=burnt.velocity[which],
        mass=burnt.mass[which],
        impulse=burnt.impulse[which],
        fell=burnt.fell[which],
        motion=None
        if motion is None
        else Motion(motion.time[:, which], motion.altitude[:, which], motion.velocity[:, which]),
    )


def _path(burning: Motion, coast: Motion, everywhere: Callable[[FloatArray], FloatArray]) -> Motion:
    return Motion(
        everywhere(np.concatenate([burning.time, coast.time])),
        everywhere(np.concatenate([burning.altitude, coast.altitude])),
        everywhere(np.concatenate([burning.velocity, coast.velocity])),
    )
