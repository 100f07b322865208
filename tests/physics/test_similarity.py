"""Similarity numbers: viscosity against printed tables and kinetic theory, numbers by hand, scalings."""

import tomllib
from pathlib import Path

import cantera
import numpy as np
import pytest

from explorer.physics.similarity import (
    hydraulic_diameter,
    magnetic_reynolds_number,
    reynolds_number,
    sutherland_viscosity,
)

REFERENCE_FILE = Path(__file__).parents[1] / "reference/similarity.toml"
REFERENCE = tomllib.loads(REFERENCE_FILE.read_text(encoding="utf-8"))


@pytest.mark.parametrize(("temperature", "viscosity"), REFERENCE["standard_atmosphere"]["points"])
def test_viscosity_is_that_of_the_standard_atmosphere(temperature, viscosity):
    tolerance = REFERENCE["standard_atmosphere"]["tolerance"]
    assert sutherland_viscosity(temperature) == pytest.approx(viscosity, abs=tolerance)


@pytest.mark.parametrize(("temperature", "viscosity"), REFERENCE["handbook"]["points"])
def test_viscosity_is_that_of_air_in_a_handbook(temperature, viscosity):
    tolerance = REFERENCE["handbook"]["tolerance"]
    assert sutherland_viscosity(temperature) == pytest.approx(viscosity, rel=tolerance)


@pytest.mark.parametrize(("temperature", "excess"), [(1500, 0.04), (2000, 0.10), (2500, 0.15), (3000, 0.20)])
def test_burnt_gas_is_as_much_more_viscous_as_the_module_says(temperature, excess):
    """Cantera, mixture-averaged, GRI-Mech 3.0's transport data (fitted to 3000 K). Ethanol's elements (ethylene and
    water) with oxygen, 1.95 by mass, at 2 bar in equilibrium; two in a hundred for what a pressure between 0.5 and
    10 bar changes.
    """
    gas = cantera.Solution("gri30.yaml", transport_model="mixture-averaged")
    oxygen = 1.95 * 46.069 / 31.998
    gas.TPX = float(temperature), 2e5, {"C2H4": 1.0, "H2O": 1.0, "O2": oxygen}
    gas.equilibrate("TP")
    assert gas["H2O"].X[0] > 0.4  # rich in steam, or the test says nothing
    assert gas.viscosity / sutherland_viscosity(temperature) - 1.0 == pytest.approx(excess, abs=0.02)


def test_viscosity_of_hot_gas_rises_as_the_root_of_temperature():
    """Limit of rigid molecules, T ≫ 110 K."""
    assert sutherland_viscosity(4e6) == pytest.approx(2 * sutherland_viscosity(1e6), rel=2e-4)


def test_the_hydraulic_diameter_of_a_square_is_its_side_and_of_a_slit_twice_its_gap():
    assert hydraulic_diameter(gap=0.01, width=0.01) == pytest.approx(0.01, rel=1e-12)
    assert hydraulic_diameter(gap=0.01, width=1e4) == pytest.approx(0.02, rel=1e-5)


def test_the_reynolds_number_of_air_in_a_pipe():
    """By hand, with the handbook's air at 300 K (1.1614 kg/m³, 184.6e-7 Pa s; from memory): 20 m/s through a square of
    50 mm give 1.1614 · 20 · 0.05/184.6e-7 = 62 914.
    """
    found = reynolds_number(
        mass_flux=1.1614 * 20.0,
        diameter=hydraulic_diameter(gap=0.05, width=0.05),
        viscosity=sutherland_viscosity(300.0),
    )
    assert found == pytest.approx(62914.0, rel=1e-3)


def test_reynolds_numbers_grow_with_flux_and_size_and_fall_with_viscosity():
    case = {"mass_flux": 300.0, "diameter": 0.01, "viscosity": 7e-5}
    base = reynolds_number(**case)
    assert reynolds_number(**{**case, "mass_flux": 600.0}) == pytest.approx(2 * base, rel=1e-12)
    assert reynolds_number(**{**case, "diameter": 0.03}) == pytest.approx(3 * base, rel=1e-12)
    assert reynolds_number(**{**case, "viscosity": 14e-5}) == pytest.approx(base / 2, rel=1e-12)


def test_the_magnetic_reynolds_number_of_a_seeded_exhaust_and_of_liquid_sodium():
    """By hand: 4π·1e-7 · 10 S/m · 2000 m/s · 0.06 m = 1.508e-3; sodium at 100 °C has 1.04e7 S/m (from memory), 1 m/s
    along 0.1 m give 1.307. The constant is 4π·1e-7 to ten digits.
    """
    assert magnetic_reynolds_number(conductivity=10.0, velocity=2000.0, length=0.06) == pytest.approx(
        1.50796e-3, rel=1e-5
    )
    assert magnetic_reynolds_number(conductivity=1.04e7, velocity=1.0, length=0.1) == pytest.approx(
        1.3069, rel=1e-4
    )


def test_numbers_broadcast():
    found = magnetic_reynolds_number(conductivity=np.array([1.0, 2.0]), velocity=1e3, length=0.1)
    assert found[1] == pytest.approx(2 * found[0], rel=1e-12)
    assert np.isnan(sutherland_viscosity(np.nan))
