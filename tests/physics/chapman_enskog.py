"""Conductivity by Chapman and Enskog's expansion of the electrons' Boltzmann equation, to any order.

Electrons collide with neutrals and ions, which stand still, and with one another; Frost's rule stands in for the
last. In Sonine polynomials of order 3/2; what electrons do to one another is Landau's collision integral with one
Coulomb logarithm. R. S. Devoto, Phys. Fluids 10 (1967) 2105, gives the third order; eight converge to a per cent.
"""

from functools import cache

import numpy as np
from scipy.special import eval_genlaguerre, roots_genlaguerre

from explorer import constants as c
from explorer.physics.conductivity import coulomb_logarithm
from explorer.physics.cross_sections import cross_section


def _gradient(p, v):
    """∂/∂v_i of v_d S_p(v²), by d and i in the last two axes."""
    x = np.sum(v * v, axis=-1)
    slope = -eval_genlaguerre(p - 1, 2.5, x) if p else np.zeros_like(x)
    return eval_genlaguerre(p, 1.5, x)[..., None, None] * np.eye(3) + 2 * slope[..., None, None] * (
        v[..., :, None] * v[..., None, :]
    )


@cache
def among_electrons(order):
    """Landau's bracket of v S_p and v S_q over that of p = q = 1, shape (order, order).

    ∬ f f' (∇φ − ∇'φ') · (1 − ĝĝ)/g · (∇ψ − ∇'ψ'), over the pair's centre of mass and relative velocity g along z:
    polynomials times Gaussians, which the quadratures integrate exactly.
    """
    nodes = order + 3
    at, weight = np.polynomial.hermite.hermgauss(nodes)
    energy, share = roots_genlaguerre(nodes, 0.0)
    *centre, g = np.meshgrid(*3 * [at / np.sqrt(2)], np.sqrt(2 * energy), indexing="ij")
    weights = np.einsum("i,j,k,l->ijkl", weight, weight, weight, share)
    half = np.stack([0 * g, 0 * g, g / 2], axis=-1)
    centre = np.stack(centre, axis=-1)
    across = [(_gradient(p, centre + half) - _gradient(p, centre - half))[..., :2] for p in range(order)]
    bracket = np.array([[np.sum(weights[..., None, None] * a * b) for a in across] for b in across])
    return bracket / bracket[1, 1]


def conductivity(neutrals, n_e, temperature, *, order=8):
    """σ [S/m] of neutrals' number densities [1/m³] by name, and electrons with as many ions."""
    T = float(temperature)
    logarithm = float(coulomb_logarithm(np.asarray(n_e), np.asarray(T)))
    b = c.e**2 / (8 * np.pi * c.epsilon_0 * c.k * T)
    root = np.linspace(1e-5, 6.5, 40_001)
    x = root**2
    momentum = n_e * 4 * np.pi * b**2 * logarithm / x**2
    for name, density in neutrals.items():
        momentum = momentum + density * cross_section(name, x * c.k * T / c.e)
    sonine = [eval_genlaguerre(p, 1.5, x) for p in range(order)]
    weighted = np.exp(-x) * x**2 * root * momentum
    matrix = 8 * n_e * np.array([[np.trapezoid(weighted * p * q, root) for p in sonine] for q in sonine])
    matrix += 8 * np.sqrt(2) * n_e**2 * 2 * np.pi * b**2 * logarithm * among_electrons(order)
    first = np.linalg.solve(matrix, np.eye(order)[0])[0]
    return float(1.5 * (c.e * n_e) ** 2 * np.sqrt(2 * np.pi / (c.m_e * c.k * T)) * first)
