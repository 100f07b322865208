"""Vertical motion of a point mass under thrust, drag and gravity, many scenarios side by side.

m dv/dt = F_vac − p_a A_e − ½ρ v|v| C_dA − m g, g falling with the square of the distance from the Earth's centre. A
burn has constant flow; between two burns the vehicle coasts. Air is the U.S. Standard Atmosphere 1976; above its end
there is none. Neither wind nor the Earth's rotation is modelled, and the drag area is one number for all speeds.

The coast to the apogee is integrated over the velocity, which falls from that at burn-out to zero: every scenario
ends exactly there, though each at its own time.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from explorer.physics.atmosphere import air_at

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Tolerances of the integration: relative, and absolute of altitude [m], velocity [m/s] and impulse [N s].
_RELATIVE: Final = 1e-8
_ABSOLUTE: Final = (1e-4, 1e-6, 1e-3)

#: Points of a path within a burn or a gap, and on the coast.
_BURN_NODES: Final = 25
_COAST_NODES: Final = 41


@dataclass(frozen=True)
class Planet:
    """What pulls the vehicle down."""

    gravity: float  #: at altitude zero [m/s²]
    radius: float  #: [m]

    def gravity_at(self, altitude: FloatArray) -> FloatArray:
        """Gravity at an altitude [m/s²]."""
        return np.asarray(self.gravity / (1.0 + altitude / self.radius) ** 2)


#: Standard gravity and effective radius of the U.S. Standard Atmosphere 1976 (from memory).
EARTH: Final = Planet(9.80665, 6_356_766.0)


@dataclass(frozen=True)
class Start:
    """Vehicles before their first burn, one a scenario."""

    mass: FloatArray  #: [kg] propellant included
    drag_area: FloatArray  #: [m²] drag coefficient × reference area
    altitude: FloatArray  #: [m]
    velocity: FloatArray  #: [m/s] upwards; zero on a pad, which holds what its thrust does not lift

    def of(self, which: Mask) -> "Start":
        """Some of the scenarios."""
        return Start(self.mass[which], self.drag_area[which], self.altitude[which], self.velocity[which])


@dataclass(frozen=True)
class Burn:
    """A part of the burn with constant flow."""

    start: float  #: [s]
    end: float  #: [s]
    thrust: FloatArray  #: [N] in vacuum
    exit_area: FloatArray  #: [m²] on which the air presses
    flow: FloatArray  #: [kg/s] of propellant

    def of(self, which: Mask) -> "Burn":
        """Some of the scenarios."""
        return Burn(self.start, self.end, self.thrust[which], self.exit_area[which], self.flow[which])

    @property
    def propellant(self) -> FloatArray:
        """What it burns [kg]."""
        return np.asarray(self.flow * (self.end - self.start))

    def thrust_at(self, altitude: FloatArray) -> FloatArray:
        """Thrust at an altitude, less what the air presses on the exit [N]."""
        return np.asarray(self.thrust - air_at(altitude)[0] * self.exit_area)


@dataclass(frozen=True)
class Motion:
    """Altitude, velocity and time on the way, shape (points, scenarios)."""

    time: FloatArray  #: [s]
    altitude: FloatArray  #: [m]
    velocity: FloatArray  #: [m/s] upwards


@dataclass(frozen=True)
class BurntOut:
    """Vehicles at the end of the last burn."""

    altitude: FloatArray  #: [m]
    velocity: FloatArray  #: [m/s]
    mass: FloatArray  #: [kg]
    impulse: FloatArray  #: [N s] of the thrust
    fell: Mask  #: whether the velocity was below zero anywhere
    motion: Motion | None = None  #: on the way, where it was asked for


def burnt_out(start: Start, burns: Sequence[Burn], *, planet: Planet = EARTH, path: bool = False) -> BurntOut:
    """Return the vehicles at the end of the last burn; no pad holds them.

    Parameters
    ----------
    burns : sequence of Burn
        In their order, not overlapping.
    path : bool
        Whether the motion is wanted.
    """
    state = np.stack([start.altitude, start.velocity, np.zeros_like(start.mass)])
    mass, fell = start.mass, np.zeros(start.mass.shape, dtype=np.bool_)
    nothing = np.zeros_like(mass)
    steps = []
    time = burns[0].start
    for burn in burns:
        gap = [Burn(time, burn.start, nothing, nothing, nothing)] if burn.start > time else []
        for part in (*gap, burn):
            nodes = np.linspace(part.start, part.end, _BURN_NODES) if path else None
            rates = _rates(part, mass, start.drag_area, planet)
            times, states = _integrated(rates, state, (part.start, part.end), nodes)
            fell |= (states[:, 1] < 0.0).any(axis=0)
            steps.append((np.repeat(times[:, None], mass.size, axis=1), states[:, 0], states[:, 1]))
            state, mass = states[-1], mass - part.propellant
        time = burn.end
    motion = Motion(*map(np.concatenate, zip(*steps, strict=True))) if path else None
    return BurntOut(state[0], state[1], mass, state[2], fell, motion)


def coasted(burnt: BurntOut, drag_area: FloatArray, end: float, *, planet: Planet = EARTH) -> Motion:
    """Return how vehicles that rise at burn-out coast to their apogee, the last point.

    Parameters
    ----------
    burnt : BurntOut
        All of them rising.
    drag_area : NDArray
        [m²]
    end : float
        [s] of the last burn.
    """
    first = burnt.velocity

    def rates(share: float, state: FloatArray) -> FloatArray:
        velocity = (1.0 - share) * first
        drag = 0.5 * air_at(state[0])[1] * velocity**2 * drag_area
        slope = first / (planet.gravity_at(state[0]) + drag / burnt.mass)
        return np.stack([velocity * slope, slope])

    state = np.stack([burnt.altitude, np.zeros_like(first)])
    shares, states = _integrated(rates, state, (0.0, 1.0), np.linspace(0.0, 1.0, _COAST_NODES))
    return Motion(end + states[:, 1], states[:, 0], (1.0 - shares[:, None]) * first)


_Rates = Callable[[float, FloatArray], FloatArray]  #: time or share and state in, slopes out


def _rates(burn: Burn, mass: FloatArray, drag_area: FloatArray, planet: Planet) -> _Rates:
    """Slopes of altitude, velocity and impulse of the thrust in a burn."""

    def rates(time: float, state: FloatArray) -> FloatArray:
        altitude, velocity, _ = state
        pressure, density = air_at(altitude)
        thrust = burn.thrust - pressure * burn.exit_area
        drag = 0.5 * density * velocity * np.abs(velocity) * drag_area
        now = mass - burn.flow * (time - burn.start)
        return np.stack([velocity, (thrust - drag) / now - planet.gravity_at(altitude), thrust])

    return rates


def _integrated(
    rates: _Rates, state: FloatArray, span: tuple[float, float], nodes: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    """Places (points,) and states (points, rows, scenarios); the last stand at the end of the span."""
    shape = state.shape

    def flat(place: float, y: FloatArray) -> FloatArray:
        return rates(place, y.reshape(shape)).ravel()

    found: Any = solve_ivp(
        flat,
        span,
        state.ravel(),
        method="DOP853",
        t_eval=nodes,
        rtol=_RELATIVE,
        atol=np.repeat(_ABSOLUTE[: shape[0]], shape[1]),
    )
    if not found.success:
        raise ArithmeticError(f"the ascent could not be integrated: {found.message}")
    return np.asarray(found.t), np.moveaxis(found.y.reshape(*shape, -1), -1, 0)
