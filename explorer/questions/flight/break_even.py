"""At which mass, specific power, specific energy or gain acceleration just pays for itself, scenario by scenario.

Acceleration is held against the same engine and channel without current and without the mass: the channel's own cost
and the model's error on the whole thrust drop out. The mass at which both reach the same apogee is what acceleration
pays for. Supply and store may take of it what the hardware leaves; where it leaves nothing, no finite specific power
or energy would do.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.flight.ascent import Ascent
from explorer.questions.flight.cases import Cases, Vehicles

FloatArray = NDArray[np.float64]

_ACCELERATION: Final = ("acceleration",)

#: Steps of a root, and how near its goal it must come, relative to it: some centimetres of apogee. Below 1e-7 the
#: integration's own steps are seen.
_MOST_STEPS: Final = 9
_NEAR: Final = 5e-7

#: First guess of the mass that is paid for, over the vehicle's.
_FIRST_GUESS: Final = 0.01


@dataclass(frozen=True)
class BreakEven:
    """What acceleration pays for, an item a scenario; NaN where no finite value does it."""

    payable_mass: FloatArray  #: [kg]; below zero where the current costs height
    specific_power: FloatArray  #: Of the supply, all else as stated. [W/kg]
    specific_energy: FloatArray  #: Of the store, all else as stated. [J/kg]
    gain_factor: FloatArray  #: On the thrust gain, at the same power and mass. [-]


def break_even(vehicles: Vehicles, flown: Cases) -> BreakEven:
    """Where acceleration just pays."""
    stage, ground = vehicles.stage, vehicles.start.altitude
    nothing = np.full(ground.shape, np.nan)
    if not any(phase.phase.mode == "acceleration" for phase in stage.phases):
        return BreakEven(nothing, nothing, nothing, nothing)
    goal = climb(flown.channel, ground)
    lightest = -0.5 * (vehicles.start.mass - vehicles.heaviest_burn)

    def with_mass(mass: FloatArray) -> FloatArray:
        return climb(vehicles.with_stage(np.maximum(mass, lightest), on=_ACCELERATION), ground)

    payable = root(with_mass, goal, np.zeros_like(goal), _FIRST_GUESS * vehicles.start.mass)
    hardware, supply, store = stage.hardware_mass, stage.power_in / stage.specific_power, stage.store_mass
    with np.errstate(divide="ignore", invalid="ignore"):
        guess = np.where(payable > 0.0, (hardware + supply + store) / payable, np.nan)
    return BreakEven(
        payable,
        specific_power=_over(stage.power_in, payable - hardware - store),
        specific_energy=_over(stage.energy_in, payable - hardware - supply),
        gain_factor=_gain_factor(vehicles, goal, hardware + supply + store, guess),
    )


def climb(flown: Ascent, ground: FloatArray) -> FloatArray:
    """Root of the height gained [m^½]: nearly linear in thrust, mass and velocity."""
    return np.asarray(np.sqrt(np.maximum(flown.apogee - ground, 0.0)))


def _over(amount: FloatArray, mass: FloatArray) -> FloatArray:
    """An amount over the mass that is left for it; NaN where none is."""
    return np.asarray(amount / np.where(mass > 0.0, mass, np.nan))


def _gain_factor(vehicles: Vehicles, goal: FloatArray, mass: FloatArray, guess: FloatArray) -> FloatArray:
    """Factor on the gain at which acceleration carries its mass; NaN where the vehicle doesn't lift it."""
    told = np.isfinite(guess)
    found = np.full(goal.shape, np.nan)
    if not told.any():
        return found
    some, weight, ground = vehicles.of(told), mass[told], vehicles.start.altitude[told]

    def with_factor(factor: FloatArray) -> FloatArray:
        flown = some.with_stage(weight, on=_ACCELERATION, gain_factor=np.maximum(factor, 0.0))
        return climb(flown, ground)

    found[told] = root(with_factor, goal[told], np.ones_like(weight), guess[told])
    return found


def root(
    function: Callable[[FloatArray], FloatArray], goal: FloatArray, first: FloatArray, second: FloatArray
) -> FloatArray:
    """Where a function of each scenario reaches its goal, by secants; NaN where it isn't found."""
    x, before, last = second, first, function(first) - goal
    found = np.full(goal.shape, np.nan)
    for _ in range(_MOST_STEPS):
        f = function(x) - goal
        near = np.abs(f) <= _NEAR * np.abs(goal)
        found = np.where(np.isnan(found) & near, x, found)
        open_ones = np.isnan(found) & np.isfinite(f)
        if not open_ones.any():
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            step = f * (x - before) / (f - last)
        moves = open_ones & np.isfinite(step)
        before, last = np.where(moves, x, before), np.where(moves, f, last)
        x = np.where(moves, x - step, x)
    return found
