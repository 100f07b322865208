"""Marching of the channel: implicit trapezoidal rule on the fluxes of momentum and energy.

Each step solves for temperature and pressure at its end, with Newton on the derivatives of the equilibrium
gas and Broyden's update for what they leave out (sources), so that the state and the implicit step are one
solution. Second order in the step. A step without a supersonic root chokes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .gas import EquilibriumGas, State


class Choked(Exception):
    """No supersonic state meets the fluxes."""


@dataclass(frozen=True)
class Duct:
    """Geometry and walls of the channel, with the gas flow through it."""

    length: float
    gap_in: float
    gap_out: float
    width_in: float
    width_out: float
    friction_coefficient: float
    heat_transfer_factor: float
    wall_enthalpy: float
    gas_flow: float
    field: float

    def gap(self, x: float) -> float:
        return self.gap_in + (self.gap_out - self.gap_in) * x / self.length

    def width(self, x: float) -> float:
        return self.width_in + (self.width_out - self.width_in) * x / self.length

    def area(self, x: float) -> float:
        return self.gap(x) * self.width(x)

    def area_slope(self, x: float) -> float:
        gap_slope = (self.gap_out - self.gap_in) / self.length
        width_slope = (self.width_out - self.width_in) / self.length
        return gap_slope * self.width(x) + self.gap(x) * width_slope


@dataclass(frozen=True, slots=True)
class Discharge:
    """What the electrodes do to the gas at one place; all zero where no current flows."""

    j: float = 0.0  #: current density [A/m²]
    drop: float = 0.0  #: voltage drop of both electrodes [V]
    E: float = 0.0  #: field in the gas [V/m]
    sigma: float = 0.0  #: conductivity with its factors [S/m]
    sigma_effective: float = 0.0  #: σ_e [S/m]
    n_e: float = 0.0  #: electron density [1/m³]
    constricted: bool = False


@dataclass(frozen=True, slots=True)
class Station:
    """One place of a march: gas, velocity, discharge, and the sources per metre."""

    x: float
    state: State
    u: float
    discharge: Discharge
    force: float  #: body force on the gas per metre, j B A [N/m]
    power: float  #: electrical power into the gas per metre, j E A [W/m]
    heat: float  #: heat to the wall per metre, q P [W/m]
    momentum_source: float
    energy_source: float


Driver = Callable[[float, State, float], tuple[Discharge, float, float]]
"""(x, state, u) -> discharge, body force per metre, power per metre."""


def open_circuit(_x: float, _state: State, _u: float) -> tuple[Discharge, float, float]:
    """No current."""
    return Discharge(), 0.0, 0.0


def heater(powers: Mapping[float, float]) -> Driver:
    """The given power per metre at each place of the grid, no force."""

    def driver(x: float, _state: State, _u: float) -> tuple[Discharge, float, float]:
        return Discharge(), 0.0, powers[x]

    return driver


def station(duct: Duct, x: float, state: State, u: float, driver: Driver) -> Station:
    """Sources of momentum and energy at a given gas state: walls, area change, electrodes."""
    discharge, force, power = driver(x, state, u)
    perimeter = 2.0 * (duct.gap(x) + duct.width(x))
    shear = 0.5 * duct.friction_coefficient * state.rho * u**2
    recovered = state.h + 0.45 * u**2 - duct.wall_enthalpy
    q = duct.heat_transfer_factor * 0.5 * duct.friction_coefficient * state.rho * u * recovered
    return Station(
        x=x,
        state=state,
        u=u,
        discharge=discharge,
        force=force,
        power=power,
        heat=q * perimeter,
        momentum_source=state.p * duct.area_slope(x) + force - shear * perimeter,
        energy_source=power - q * perimeter,
    )


def _fluxes(duct: Duct, x: float, state: State, u: float) -> NDArray[np.float64]:
    return np.array([duct.gas_flow * u + state.p * duct.area(x), duct.gas_flow * (state.h + 0.5 * u**2)])


def _jacobian(duct: Duct, step: float, x: float, state: State, u: float) -> NDArray[np.float64]:
    """Derivatives of fluxes less the pressure's part of the source, by ln T and ln p."""
    flow, p, area = duct.gas_flow, state.p, duct.area(x)
    wall = area - 0.5 * step * duct.area_slope(x)
    h_p = p / state.rho * (1.0 - state.volume_T)
    u_T, u_p = u * state.volume_T, u * state.volume_p
    return np.array(
        [[flow * u_T, flow * u_p + p * wall], [flow * (state.cp * state.T + u * u_T), flow * (h_p + u * u_p)]]
    )


def _advance(
    gas: EquilibriumGas, duct: Duct, start: Station, x: float, driver: Driver, guess: NDArray[np.float64]
) -> Station:
    """One implicit trapezoidal step from a station to x, from a guess of (ln T, ln p)."""
    step = x - start.x
    scale = duct.gas_flow * np.array([start.u, start.u**2])
    target = _fluxes(duct, start.x, start.state, start.u) + 0.5 * step * np.array(
        [start.momentum_source, start.energy_source]
    )

    def trial(z: NDArray[np.float64]) -> Station | None:
        """The station at z, None if subsonic."""
        state = gas.state(float(np.exp(z[0])), float(np.exp(z[1])))
        u = duct.gas_flow / (state.rho * duct.area(x))
        return station(duct, x, state, u, driver) if u > state.sound_speed else None

    def residual(end: Station) -> NDArray[np.float64]:
        sources = np.array([end.momentum_source, end.energy_source])
        return np.asarray((_fluxes(duct, x, end.state, end.u) - 0.5 * step * sources - target) / scale)

    z = guess
    end = trial(z)
    if end is None:
        z = np.log([start.state.T, start.state.p])
        end = trial(z)
        if end is None:
            raise Choked
    r = residual(end)
    J = _jacobian(duct, step, x, end.state, end.u) / scale[:, None]
    for iteration in range(60):
        if np.max(np.abs(r)) < 1e-10:
            return end
        if iteration % 8 == 7:
            J = _jacobian(duct, step, x, end.state, end.u) / scale[:, None]
        move = -np.linalg.solve(J, r)
        move *= min(1.0, 0.2 / float(np.max(np.abs(move))))
        for _ in range(8):
            new = trial(z + move)
            if new is not None:
                break
            move *= 0.5
        else:
            raise Choked
        r_new = residual(new)
        J += np.outer(r_new - r - J @ move, move) / float(move @ move)
        z, end, r = z + move, new, r_new
    if end.u / end.state.sound_speed < 1.05:
        raise Choked
    raise RuntimeError(f"step to x = {x} m did not converge, residual {r}")


def march(
    gas: EquilibriumGas,
    duct: Duct,
    state: State,
    u: float,
    places: Sequence[float],
    driver: Driver,
    like: Sequence[Station] | None = None,
) -> list[Station]:
    """Stations at `places` from a known state at the first; `like` is a near-by march to guess from.

    Raises
    ------
    Choked
        If the flow cannot stay supersonic.
    """
    path = [station(duct, places[0], state, u, driver)]
    for n, x in enumerate(places[1:], start=1):
        now = np.log([path[-1].state.T, path[-1].state.p])
        if like is not None:
            guess = now + np.log([like[n].state.T, like[n].state.p])
            guess -= np.log([like[n - 1].state.T, like[n - 1].state.p])
        elif n > 1:
            before = np.log([path[-2].state.T, path[-2].state.p])
            guess = now + (now - before) * (x - places[n - 1]) / (places[n - 1] - places[n - 2])
        else:
            guess = now
        path.append(_advance(gas, duct, path[-1], x, driver, guess))
    return path


def integral(path: Sequence[Station], value: Callable[[Station], float]) -> float:
    """∫ value dx along a march, by the same trapezoidal rule."""
    return float(np.trapezoid([value(s) for s in path], [s.x for s in path]))
