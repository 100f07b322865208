"""Equilibrium gas straight from Cantera, with the derivatives that follow from its equilibrium, and σ.

One state costs one `equilibrate("TP")`. The derivatives of volume and enthalpy at shifting composition come
from the linearised equilibrium conditions (S. Gordon, B. J. McBride, NASA RP-1311, 1994, section 2.5),
solved on Cantera's composition, so that a Newton step needs no further equilibrium.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import cantera as ct
import numpy as np
from numpy.typing import NDArray
from scipy import constants

from .mixture import Mixture

BASE = [
    "CO",
    "CO2",
    "H2",
    "H2O",
    "OH",
    "O",
    "O2",
    "H",
    "N2",
    "NO",
    "N",
    "HO2",
    "OH-",
    "O-",
    "O2-",
    "H-",
    "NO+",
    "H3O+",
    "Electron",
]
ALKALI = {
    "K": ["K", "K+", "KO", "KOH", "KH", "K2", "K2O2H2", "KO-", "KOH+"],
    "Cs": ["Cs", "Cs+", "CsO", "CsOH", "Cs2", "Cs2O", "Cs2O2H2", "CsOH+"],
    "Na": ["Na", "Na+", "NaO", "NaOH", "NaH", "Na2", "Na2O2H2", "NaO-", "NaOH+"],
}
CROSS_SECTIONS = Path(__file__).parents[2] / "explorer" / "physics" / "electron_momentum_transfer.csv"
# Assumed, no source: 1e-20 m², constant over energy.
CONSTANT_CROSS_SECTIONS = {"K": 400.0, "Na": 400.0, "Cs": 400.0, "H": 25.0, "O": 5.0, "NO": 8.0}
# Assumed: strong dipoles scatter as water does, in proportion to the square of the moment [debye].
DIPOLES = {"OH": 1.655, "KOH": 7.415, "NaOH": 6.8, "CsOH": 7.1}
WATER_DIPOLE = 1.855
SMALLEST_ION_FRACTION = 1e-12  # below it the charge row is dropped from the derivatives
R_kmol = 1e3 * constants.R


@dataclass(frozen=True, slots=True)
class State:
    """Equilibrium state; h, s, cp per kg of gas, volume_T = (∂ln v/∂ln T)_p, volume_p = (∂ln v/∂ln p)_T."""

    T: float
    p: float
    rho: float
    h: float
    s: float
    cp: float
    volume_T: float
    volume_p: float
    X: NDArray[np.float64]

    @property
    def sound_speed(self) -> float:
        """Equilibrium speed of sound [m/s]."""
        R_specific = self.p / (self.rho * self.T)
        cv = self.cp + R_specific * self.volume_T**2 / self.volume_p
        return float(np.sqrt(-self.cp / cv / self.volume_p * R_specific * self.T))


@functools.cache
def _nasa_species() -> dict[str, ct.Species]:
    return {species.name: species for species in ct.Species.list_from_file("nasa_gas.yaml")}


class EquilibriumGas:
    """Cantera's ideal gas in chemical and ionisation equilibrium, at one elemental composition."""

    def __init__(self, mixture: Mixture) -> None:
        present = set(mixture.elements) | {"E"}
        library = _nasa_species()
        wanted = BASE + (ALKALI[mixture.alkali] if mixture.alkali else [])
        self.species = [library[name] for name in wanted if set(library[name].composition) <= present]
        self.names = [species.name for species in self.species]
        self._gas = ct.Solution(thermo="ideal-gas", species=self.species)
        elements = self._gas.element_names
        self._atoms = np.array([[s.composition.get(e, 0.0) for s in self.species] for e in elements])
        self._charge_row = elements.index("E")
        amount = dict(mixture.elements)
        start = {e: n for e, n in amount.items() if e not in ("C", "O")}
        if "C" in amount:  # no lone carbon among the species: it starts as CO
            start["CO"] = amount["C"]
        start["O"] = amount["O"] - amount.get("C", 0.0)
        self._start = {name: n for name, n in start.items() if n > 0.0}
        self.electron = self.names.index("Electron")
        self.equilibria = 0
        self._gas.TPX = 3000.0, 1e6, self._start
        self._energy, self._weight, self._cross_sections = _collision_quadrature(self.names)

    def _equilibrate(self, T: float, p: float) -> None:
        gas = self._gas
        self.equilibria += 1
        try:
            gas.TP = T, p
            gas.equilibrate("TP", rtol=1e-12)
        except ct.CanteraError:
            gas.TPX = T, p, self._start
            gas.equilibrate("TP", solver="gibbs", rtol=1e-10, max_steps=5000)

    def state(self, T: float, p: float) -> State:
        """Equilibrium at temperature T [K] and pressure p [Pa]."""
        self._equilibrate(T, p)
        gas, X, M = self._gas, self._gas.X, self._gas.mean_molecular_weight
        H = gas.standard_enthalpies_RT
        cp_R = gas.standard_cp_R
        ions = X[self._atoms[self._charge_row] != 0.0].sum()
        A = self._atoms if ions > SMALLEST_ION_FRACTION else np.delete(self._atoms, self._charge_row, axis=0)
        AX = A * X
        size = len(A) + 1
        matrix = np.zeros((size, size))
        matrix[:-1, :-1] = AX @ A.T
        matrix[:-1, -1] = matrix[-1, :-1] = AX.sum(axis=1)
        right = np.zeros((size, 2))
        right[:-1, 0], right[-1, 0] = -(AX @ H), -(X @ H)
        right[:-1, 1], right[-1, 1] = AX.sum(axis=1), 1.0
        scale = np.ones(size)
        scale[:-1] = 1.0 / np.sqrt(np.diag(matrix)[:-1])
        solution = scale[:, None] * np.linalg.solve(matrix * np.outer(scale, scale), right * scale[:, None])
        cp = X @ cp_R + X @ (H * H) - right[:, 0] @ solution[:, 0]
        return State(
            T=T,
            p=p,
            rho=p * M / (R_kmol * T),
            h=float(X @ H) * R_kmol * T / M,
            s=gas.entropy_mass,
            cp=float(cp) * R_kmol / M,
            volume_T=1.0 + float(solution[-1, 0]),
            volume_p=-1.0 + float(solution[-1, 1]),
            X=X,
        )

    def _at_pressure(self, p: float, T: float, miss: Callable[[State], float], what: str) -> State:
        """Newton in T at fixed pressure until `miss`, a temperature defect [K], vanishes."""
        for _ in range(60):
            state = self.state(T, p)
            step = miss(state)
            if abs(step) < 1e-9 * T:
                return state
            T += float(np.clip(step, -0.2 * T, 0.2 * T))
        raise RuntimeError(f"no equilibrium at given {what} and {p} Pa")

    def at_entropy(self, s: float, p: float, T: float) -> State:
        """Equilibrium at entropy s [J/(kg K)] and pressure p [Pa], from a guess T [K]."""
        return self._at_pressure(p, T, lambda state: state.T * (s - state.s) / state.cp, "entropy")

    def at_enthalpy(self, h: float, p: float, T: float) -> State:
        """Equilibrium at enthalpy h [J/kg] and pressure p [Pa], from a guess T [K]."""
        return self._at_pressure(p, T, lambda state: (h - state.h) / state.cp, "enthalpy")

    def plasma(self, state: State) -> tuple[float, float]:
        """Electron density [1/m³], and their mobility without the stage's factors [m²/(V s)]."""
        e, m_e, k = constants.e, constants.m_e, constants.k
        T = state.T
        density = state.p / (k * T) * state.X
        n_e = float(density[self.electron])
        x = self._energy * e / (k * T)
        collisions = np.sqrt(2.0 * self._energy * e / m_e) * (density @ self._cross_sections)
        Lambda = 12.0 * np.pi * (constants.epsilon_0 * k * T) ** 1.5 / (e**3 * np.sqrt(n_e))
        spitzer = 1.53e-2 * T**1.5 / max(np.log(Lambda), 1.0)
        collisions += 8.0 * n_e * e**2 / (3.0 * np.sqrt(np.pi) * m_e * spitzer) / np.sqrt(x)
        integral = float(np.sum(self._weight * (e / (k * T)) * x**1.5 * np.exp(-x) / collisions))
        return n_e, 4.0 / (3.0 * np.sqrt(np.pi)) * e / m_e * integral


def _collision_quadrature(
    names: list[str],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Energies [eV], weights [eV] and cross sections [m²] per species for the mobility integral.

    Gauss–Legendre inside each interval of the table, so that its corners cost no accuracy, then outwards
    to 20 eV (beyond 40 kT at 5000 K) at the end values.
    """
    lines = CROSS_SECTIONS.read_text(encoding="utf-8").splitlines()
    rows = [line for line in lines if not line.startswith("#")]
    table = np.genfromtxt(rows, delimiter=",", names=True)
    knots = np.concatenate([[0.0], table["energy_eV"], [6.0, 8.0, 11.0, 15.0, 20.0]])
    node, weight = np.polynomial.legendre.leggauss(10)
    half = np.diff(knots)[:, None] / 2.0
    energy = (knots[:-1, None] + half * (node + 1.0)).ravel()
    weights = (half * weight).ravel()
    Q = np.zeros((len(names), energy.size))
    for row, name in enumerate(names):
        if name in (table.dtype.names or ()):
            Q[row] = np.interp(energy, table["energy_eV"], table[name])
        elif name in DIPOLES:
            water = np.interp(energy, table["energy_eV"], table["H2O"])
            Q[row] = water * (DIPOLES[name] / WATER_DIPOLE) ** 2
        else:
            Q[row] = CONSTANT_CROSS_SECTIONS.get(name, 0.0)
    return energy, weights, Q * 1e-20
