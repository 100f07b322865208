"""Electron mobility and scalar electrical conductivity of a weakly ionised combustion gas.

Electron-neutral mobility is the Lorentz integral over the mixture's energy-resolved momentum-transfer cross
sections (Frost's rule); electron-ion collisions enter through Spitzer's conductivity in series. Electrons are at
the gas temperature.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.cross_sections import cross_sections

#: Spitzer's factor [S/(m K^1.5)] in the form 1.53e-2 T^1.5 / ln Λ (standard form).
SPITZER_FACTOR: Final[float] = 1.53e-2

# Gauss-Laguerre nodes carry the kinked, tabulated cross sections badly; panels between energies do better.
_PANELS: Final[int] = 60
_LARGEST_X: Final[float] = 30.0  # e^-30 of the electrons lie beyond


def _energy_quadrature() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nodes x = ε/kT and weights of ∫ … dx on 0 … 30: three Gauss points on panels graded toward zero."""
    edges = _LARGEST_X * np.linspace(0.0, 1.0, _PANELS + 1) ** 2
    nodes, weights = np.polynomial.legendre.leggauss(3)
    half = np.diff(edges) / 2
    x = (edges[:-1] + half)[:, None] + half[:, None] * nodes
    return x.ravel(), (half[:, None] * weights).ravel()


_X, _WEIGHT = _energy_quadrature()


def frost_1961(
    species: Sequence[str], number_density: NDArray[np.float64], temperature: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Electron mobility against neutrals, µ_n = 4/(3√π) · e/m_e · ∫ x^1.5 e^(−x)/ν(x) dx.

    Parameters
    ----------
    species : sequence of str
        Names of the neutral species, length s.
    number_density : NDArray
        [1/m³] shape (n, s).
    temperature : NDArray
        [K] electron temperature, shape (n,).

    Returns
    -------
    NDArray
        [m²/(V s)] shape (n,).

    Notes
    -----
    ν = v Σ n_s Q_s(ε). L. S. Frost, J. Appl. Phys. 32 (1961) 2029.
    """
    mobility = np.empty(len(temperature))
    for i, T in enumerate(temperature):
        Q = cross_sections(species, _X * c.k * T / c.e)
        speed = np.sqrt(2 * _X * c.k * T / c.m_e)
        frequency = speed * (number_density[i] @ Q)
        mobility[i] = np.sum(_WEIGHT * _X**1.5 * np.exp(-_X) / frequency)
    factor: float = 4 / (3 * np.sqrt(np.pi)) * c.e / c.m_e
    return factor * mobility


def coulomb_logarithm(n_e: NDArray[np.float64], temperature: NDArray[np.float64]) -> NDArray[np.float64]:
    """Ln Λ, not below 1, with Λ = 12π (ε0 k T)^1.5/(e³ √n_e).

    Parameters
    ----------
    n_e : NDArray
        [1/m³] electron density.
    temperature : NDArray
        [K] electron temperature.

    Returns
    -------
    NDArray
        [-] elementwise.
    """
    plasma_parameter = 12 * np.pi * (c.epsilon_0 * c.k * temperature) ** 1.5 / (c.e**3 * np.sqrt(n_e))
    return np.maximum(np.log(plasma_parameter), 1.0)


def spitzer_conductivity(n_e: NDArray[np.float64], temperature: NDArray[np.float64]) -> NDArray[np.float64]:
    """Conductivity limited by electron-ion collisions alone, 1.53e-2 T^1.5/ln Λ.

    Parameters
    ----------
    n_e : NDArray
        [1/m³] electron density.
    temperature : NDArray
        [K] electron temperature.

    Returns
    -------
    NDArray
        [S/m] elementwise.
    """
    return SPITZER_FACTOR * temperature**1.5 / coulomb_logarithm(n_e, temperature)


def electrical_conductivity(
    n_e: NDArray[np.float64], mobility: NDArray[np.float64], temperature: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Scalar conductivity, 1/σ = 1/(e n_e µ_n) + 1/σ_S.

    Parameters
    ----------
    n_e : NDArray
        [1/m³] electron density.
    mobility : NDArray
        [m²/(V s)] mobility against neutrals, µ_n.
    temperature : NDArray
        [K] electron temperature.

    Returns
    -------
    NDArray
        [S/m] elementwise.
    """
    return 1 / (1 / (c.e * n_e * mobility) + 1 / spitzer_conductivity(n_e, temperature))
