"""The air around the stage against the printed U.S. Standard Atmosphere 1976 (row 17)."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from explorer.physics.atmosphere import HIGHEST_ALTITUDE, LOWEST_ALTITUDE, standard_atmosphere

REFERENCE_FILE = Path(__file__).parents[1] / "reference/atmosphere.toml"
REFERENCE = tomllib.loads(REFERENCE_FILE.read_text(encoding="utf-8"))


def geometric(geopotential):
    """Geometric altitude of a geopotential one, as the standard defines it."""
    radius = REFERENCE["geopotential"]["radius"]
    return radius * geopotential / (radius - geopotential)


@pytest.mark.parametrize(("altitude", "pressure"), REFERENCE["pressure"]["points"])
def test_pressure_is_that_of_the_standard(altitude, pressure):
    """Row 17: U.S. Standard Atmosphere 1976 (from memory)."""
    tolerance = REFERENCE["pressure"]["tolerance"]
    assert standard_atmosphere(geometric(altitude)).pressure == pytest.approx(pressure, rel=tolerance)


@pytest.mark.parametrize(("altitude", "pressure", "temperature"), REFERENCE["high"]["points"])
def test_the_upper_layers_are_those_of_the_standard(altitude, pressure, temperature):
    """U.S. Standard Atmosphere 1976 (from memory)."""
    air = standard_atmosphere(geometric(altitude))
    assert air.pressure == pytest.approx(pressure, rel=REFERENCE["high"]["tolerance"])
    assert air.temperature == pytest.approx(temperature, abs=0.01)


def test_sea_level_is_that_of_the_standard():
    """U.S. Standard Atmosphere 1976 (from memory)."""
    row, air = REFERENCE["sea_level"], standard_atmosphere(0.0)
    assert air.pressure == pytest.approx(row["pressure"], rel=1e-6)
    assert air.temperature == pytest.approx(row["temperature"], rel=1e-6)
    assert air.density == pytest.approx(row["density"], rel=1e-4)


def test_pressure_balances_the_weight_of_the_air():
    """Hydrostatics, dp/dz = -ρ g with g falling as the square of the distance; across the layers."""
    radius = REFERENCE["geopotential"]["radius"]
    z = np.array([2e3, 9e3, 15e3, 25e3, 40e3, 49e3, 60e3, 75e3])
    step = 1.0
    slope = (standard_atmosphere(z + step).pressure - standard_atmosphere(z - step).pressure) / (2 * step)
    gravity = 9.80665 * (radius / (radius + z)) ** 2
    assert slope == pytest.approx(-standard_atmosphere(z).density * gravity, rel=1e-4)


def test_altitudes_keep_their_shape():
    z = np.array([[0.0, 1e3, 2e3], [3e3, 4e3, 80e3]])
    air = standard_atmosphere(z)
    assert air.pressure.shape == air.temperature.shape == air.density.shape == (2, 3)
    assert np.all(np.diff(air.pressure.ravel()) < 0.0)
    assert standard_atmosphere(1e3).pressure.shape == ()


@pytest.mark.parametrize("altitude", [LOWEST_ALTITUDE - 1, HIGHEST_ALTITUDE + 1, float("nan"), [0.0, 2e5]])
def test_an_altitude_outside_the_model_is_refused(altitude):
    with pytest.raises(ValueError, match="altitude must lie between"):
        standard_atmosphere(altitude)


def test_the_stated_ends_are_inside():
    assert np.isfinite(standard_atmosphere([LOWEST_ALTITUDE, HIGHEST_ALTITUDE]).pressure).all()
