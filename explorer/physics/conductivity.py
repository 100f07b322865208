"""Electron mobility and energy loss in a partly ionised gas; its conductivity is σ = e n_e µ.

Mobility is the Lorentz integral over the mixture's energy-resolved momentum-transfer cross sections (Frost's rule);
ions scatter inside the same integral, so that the fully ionised gas has Spitzer's conductivity. Adding resistivities
in series instead is two to three times too high in gases whose cross section has a deep minimum. Electrons are at
the gas temperature (MODEL.md, section 2).
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer import constants as c
from explorer.physics.cross_sections import cross_sections, loss_factor

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


def collision_frequencies(
    species: Sequence[str], number_density: NDArray[np.float64], temperature: ArrayLike
) -> NDArray[np.float64]:
    """Frequency n_s v Q_s of an electron's collisions with each neutral species, over the energies of the quadrature.

    Parameters
    ----------
    species : sequence of str
        Names of the neutral species, length s.
    number_density : NDArray
        [1/m³] shape (..., s).
    temperature : array_like
        [K] of the electrons, shape (...).

    Returns
    -------
    NDArray
        [1/s] shape (..., s, energies).
    """
    energy = _X * c.k * np.asarray(temperature)[..., None]
    Q = np.moveaxis(cross_sections(species, energy / c.e), 0, -2)
    return np.asarray(number_density[..., None] * np.sqrt(2 * energy / c.m_e)[..., None, :] * Q)


def frost_1961(
    neutral_frequency: NDArray[np.float64], n_e: ArrayLike, temperature: ArrayLike
) -> NDArray[np.float64]:
    """Electron mobility [m²/(V s)] µ = 4/(3√π) · e/m_e · ∫ x^1.5 e^(−x)/ν(x) dx.

    Parameters
    ----------
    neutral_frequency : NDArray
        [1/s] the sum over species of `collision_frequencies`, shape (..., energies).
    n_e : array_like
        [1/m³] electron density, above zero; that of the ions too. Shape (...).
    temperature : array_like
        [K] of the electrons, shape (...).

    Notes
    -----
    ν(x) = Σ n_s v Q_s + C x^(−1/2) with C = 8/(3√π) · n_e e²/(m_e σ_S), so that neutrals alone give Lorentz's integral
    and ions alone Spitzer's conductivity. L. S. Frost, J. Appl. Phys. 32 (1961) 2029.
    """
    density = np.asarray(n_e)
    spitzer = spitzer_conductivity(density, np.asarray(temperature))
    ions = (8 / (3 * np.sqrt(np.pi)) * density * c.e**2 / (c.m_e * spitzer))[..., None] / np.sqrt(_X)
    integral = np.sum(_WEIGHT * _X**1.5 * np.exp(-_X) / (neutral_frequency + ions), axis=-1)
    return np.asarray(4 / (3 * np.sqrt(np.pi)) * c.e / c.m_e * integral)


def energy_loss_rate(
    species: Sequence[str], frequency: NDArray[np.float64], particle_mass: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Share of an electron's excess energy lost to neutrals per time, Σ δ_s (2 m_e/m_s) ν_s [1/s].

    Parameters
    ----------
    species : sequence of str
        Names of the neutral species, length s.
    frequency : NDArray
        [1/s] from `collision_frequencies`, shape (..., s, energies).
    particle_mass : NDArray
        [kg] shape (s,).

    Notes
    -----
    ν_s = 4/(3√π) ∫ x^1.5 e^(−x) n_s v Q_s dx; δ_s is `cross_sections.loss_factor`, known to a factor 3 to 5 only.
    """
    mean = 4 / (3 * np.sqrt(np.pi)) * frequency @ (_WEIGHT * _X**1.5 * np.exp(-_X))
    factors = np.array([loss_factor(name) for name in species])
    return np.asarray(np.sum(factors * 2 * c.m_e / particle_mass * mean, axis=-1))


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
