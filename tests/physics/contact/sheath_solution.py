"""A second way to the ions' current through a cool layer: SciPy's boundary-value solver on the whole of it.

Ions drift, diffuse and recombine; electrons stand in Boltzmann's equilibrium; Poisson's equation holds across plasma
and sheath, at a temperature that is linear. Nothing of the law under test is used but for a first guess.
"""

import numpy as np
from scipy.integrate import solve_bvp

from explorer import constants as c
from explorer.physics.contact.cathode import Cathode, state_of_voltage
from explorer.physics.contact.cool_layer import CoolLayer, survival_length

_FIRST = 5.0  # V


class Sheath:
    """The equations in units of the layer's thickness, core density, kT_c/e and D n_c/s."""

    def __init__(self, layer: CoolLayer) -> None:
        s, n_c, p, T = layer.thickness, layer.core_density, layer.pressure, layer.core_temperature
        self.layer, self.volt = layer, c.k * T / c.e
        self.diffusivity = 7e21 * (c.k * T) ** 2 / (c.e * p)
        self.recombination = 4.1e-36 / T * p / (c.k * T) * n_c * s**2 / self.diffusivity
        self.debye = c.epsilon_0 * self.volt / (c.e * n_c * s**2)
        self.wall = layer.wall_temperature / T

    def slopes(self, x, y):
        ions, flux, field, _, ln_electrons = y
        t, fall = 1 - (1 - self.wall) * x, self.wall - 1
        electrons = np.exp(np.maximum(ln_electrons, -200.0))
        ion_slope = ((t * ions * field - flux) / t - ions * fall) / t
        lost = self.recombination / t**2 * ions * electrons
        return np.vstack([ion_slope, -lost, (ions - electrons) / self.debye, field, -(field + fall) / t])

    def solution(self, voltage, x, guess):
        def ends(core, wall):
            absorbed = wall[1] - self.wall * wall[0] * wall[2]
            return np.array([core[0] - 1, core[3], core[4], wall[3] - voltage / self.volt, absorbed])

        found = solve_bvp(self.slopes, ends, x, guess, tol=1e-3, max_nodes=20_000)
        assert found.success, found.message
        return found

    def first(self):
        layer = self.layer
        state = state_of_voltage(Cathode(layer, 1e-18, 1.0), _FIRST)
        x, edge = np.linspace(0.0, 1.0, 401), 1 - state.sheath_share
        length = survival_length(layer, layer.core_temperature) / layer.thickness
        ions = np.maximum(np.clip(1 - x / edge, 0, 1) / (1 + x / length) ** 2, 1e-3)
        inside, height = np.clip((x - edge) / (1 - edge), 0, 1), _FIRST / self.volt
        flux = state.ion_current * layer.thickness / (c.e * self.diffusivity * layer.core_density)
        field, potential = 1 + 1.5 * height * np.sqrt(inside) / (1 - edge), height * inside**1.5
        return self.solution(
            _FIRST, x, np.vstack([ions, np.full_like(x, flux), field, potential, -potential])
        )


def ion_currents(layer: CoolLayer, voltages: list[float]) -> list[float]:
    """Return the ions' current density at rising voltages [A/m²], each solution the next one's guess."""
    sheath = Sheath(layer)
    found, reached, before, currents = sheath.first(), _FIRST, None, []
    for wanted in voltages:
        while reached < wanted:
            following, guess = min(1.15 * reached, wanted), found.y.copy()
            if before is not None:
                ahead = np.log(following / reached) / np.log(reached / before[0])
                guess += ahead * (found.y - before[1].sol(found.x))
            before, found = (reached, found), sheath.solution(following, found.x, guess)
            reached = following
        unit = c.e * sheath.diffusivity * layer.core_density / layer.thickness
        currents.append(found.y[1, -1] * unit)
    return currents
