"""Chamber, throat and channel inlet: isentropic expansion at shifting equilibrium."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from .gas import EquilibriumGas, State
from .mixture import Mixture


@dataclass(frozen=True)
class Nozzle:
    """Chamber, throat and channel inlet."""

    T_adiabatic: float
    chamber: State
    characteristic_velocity: float
    gas_flow: float
    inlet: State
    inlet_velocity: float


def throat(gas: EquilibriumGas, chamber: State) -> tuple[State, float]:
    """State of the largest ρu on the isentrope from a chamber, and that ρu [kg/(m² s)].

    There u is the equilibrium speed of sound: a root in ln p.
    """
    guess = {"T": chamber.T}

    def excess(ln_ratio: float) -> float:
        state = gas.at_entropy(chamber.s, chamber.p * np.exp(ln_ratio), guess["T"])
        guess["T"] = state.T
        return float(2.0 * (chamber.h - state.h) - state.sound_speed**2)

    ln_ratio = float(brentq(excess, np.log(0.45), np.log(0.75), xtol=1e-10))
    state = gas.at_entropy(chamber.s, chamber.p * np.exp(ln_ratio), guess["T"])
    return state, state.rho * float(np.sqrt(2.0 * (chamber.h - state.h)))


def supersonic(gas: EquilibriumGas, h0: float, flux: float, start: State) -> tuple[State, float]:
    """Supersonic state on the isentrope through `start` where ρu is `flux`, and its velocity.

    `start` lies at a larger ρu, at Mach 1 or above; raises ValueError when it does not.
    """
    states = [start]

    def excess(ln_ratio: float) -> float:
        guess = states[-1]
        p = start.p * float(np.exp(ln_ratio))
        states.append(gas.at_entropy(start.s, p, guess.T * (p / guess.p) ** 0.1))
        return float(np.log(states[-1].rho * np.sqrt(2.0 * (h0 - states[-1].h)) / flux))

    at_start = excess(0.0)
    if at_start < -1e-12:
        raise ValueError("ρu asked for exceeds the largest on this isentrope")
    if at_start <= 0.0:
        return start, float(np.sqrt(2.0 * (h0 - start.h)))
    low = -0.25
    while excess(low) > 0.0:
        low -= 0.5
    excess(float(brentq(excess, low, min(low + 0.5, 0.0), xtol=1e-13)))
    return states[-1], float(np.sqrt(2.0 * (h0 - states[-1].h)))


def nozzle(
    gas: EquilibriumGas,
    mixture: Mixture,
    *,
    chamber_pressure: float,
    efficiency: float,
    throat_area: float,
    discharge_coefficient: float,
    inlet_area: float,
) -> Nozzle:
    """From propellants to the channel's inlet."""
    adiabatic = gas.at_enthalpy(mixture.enthalpy, chamber_pressure, 3000.0)
    _, largest = throat(gas, adiabatic)
    wanted = efficiency * chamber_pressure / largest
    T_estimate = efficiency**2 * adiabatic.T

    def excess(T: float) -> float:
        return chamber_pressure / throat(gas, gas.state(T, chamber_pressure))[1] - wanted

    if efficiency < 1.0:
        T_low = T_estimate * 0.9
        while excess(T_low) > 0.0:
            T_low *= 0.9
        T = float(brentq(excess, T_low, adiabatic.T, xtol=1e-7, rtol=1e-12))
    else:
        T = adiabatic.T
    chamber = gas.state(T, chamber_pressure)
    throat_state, largest = throat(gas, chamber)
    gas_flow = discharge_coefficient * largest * throat_area
    inlet, u = supersonic(gas, chamber.h, gas_flow / inlet_area, throat_state)
    return Nozzle(adiabatic.T, chamber, chamber_pressure / largest, gas_flow, inlet, u)
