"""Flames of complete combustion with the alkali's own ionisation alone: a chemistry option of the tests."""

import cantera as ct
import numpy as np

from explorer import constants as c
from explorer.physics import gas as gas_model
from explorer.physics.conductivity import collision_frequencies, frost_1961

ATMOSPHERE = 101325.0
NITROGEN = 79.0 / 21.0  # moles per mole of oxygen

#: Moles of products of a stoichiometric flame per mole of oxygen.
PRODUCTS = {
    "C–air": {"CO2": 1.0, "N2": NITROGEN},
    "CH4–air": {"CO2": 0.5, "H2O": 1.0, "N2": NITROGEN},
    "H2–air": {"H2O": 2.0, "N2": NITROGEN},
    "C–O2": {"CO2": 1.0},
    "CH4–O2": {"CO2": 0.5, "H2O": 1.0},
    "H2–O2": {"H2O": 2.0},
}


def seeded(moles, alkali, fraction):
    """The mixture with so many moles of alkali metal per mole of the whole."""
    return {**moles, alkali: fraction / (1.0 - fraction) * sum(moles.values())}


def composed(gas, moles, temperature, *, pressure=ATMOSPHERE):
    """Number densities [1/m³] by species at equilibrium, by another solver than the gas model's."""
    gas.TPX = temperature, pressure, moles
    gas.equilibrate("TP", solver="vcs", rtol=1e-10, max_steps=5000)
    return dict(zip(gas.species_names, (gas.concentrations * ct.avogadro).tolist(), strict=True))


def simple_density(moles, alkali, temperature):
    """Number densities [1/m³] with the products fixed and only the alkali free to ionise."""
    products = tuple(name for name in moles if name != alkali)
    gas = gas_model.phase(None, species=("Electron", *products, alkali, f"{alkali}+"))
    return composed(gas, moles, temperature)


def conductivity(density, temperature):
    """σ [S/m] from number densities."""
    neutral = {name: n for name, n in density.items() if name != "Electron" and not name.endswith(("+", "-"))}
    T, n_e = float(temperature), density["Electron"]
    frequency = collision_frequencies(list(neutral), np.array(list(neutral.values())), T)
    return c.e * n_e * frost_1961(frequency.sum(axis=0), n_e, T)
