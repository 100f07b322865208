"""Masses of simple shapes: worked examples by hand, limits, scalings, and a second way to each volume."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from explorer import registry
from explorer.physics import mass

REFERENCE_FILE = Path(__file__).parents[1] / "reference/mass.toml"
REFERENCE = tomllib.loads(REFERENCE_FILE.read_text(encoding="utf-8"))

BLOCKS = {"length": 0.05, "height": 0.05, "thickness": 0.025, "density": 7500.0}
YOKE = {
    "length": 0.1,
    "height": 0.05,
    "block_thickness": 0.025,
    "spacing": 0.02,
    "yoke_thickness": 0.01,
    "density": 7870.0,
}
ELECTRODES = {"length": 0.06, "width": 0.01, "thickness": 0.005, "density": 8960.0}
STRAIGHT = {
    "length": 0.09,
    "gap_in": 0.011,
    "gap_out": 0.011,
    "width_in": 0.01,
    "width_out": 0.01,
    "thickness": 0.01,
    "density": 3900.0,
}
SHAPES = [
    (mass.blocks_mass, BLOCKS),
    (mass.yoke_mass, YOKE),
    (mass.electrode_mass, ELECTRODES),
    (mass.channel_mass, STRAIGHT),
]


@pytest.mark.parametrize("address", [a for a in REFERENCE["density"] if a.startswith("mass.")])
def test_assumed_densities_of_metals_are_the_handbook_s(address):
    row = REFERENCE["density"]
    assert registry.quantity(address).default == pytest.approx(row[address], abs=row["tolerance"])


@pytest.mark.parametrize("address", [a for a in REFERENCE["range"] if a.startswith("mass.")])
def test_assumed_densities_of_ceramics_lie_within_makers_ranges(address):
    low, high = REFERENCE["range"][address]
    assert low <= registry.quantity(address).default <= high


def test_both_blocks_weigh_what_their_volume_does():
    """By hand: 2 × 50 × 50 × 25 mm are 125 cm³, at 7.5 g/cm³ 0.9375 kg."""
    assert mass.blocks_mass(**BLOCKS) == pytest.approx(0.9375, rel=1e-12)


def test_a_yoke_weighs_what_its_frame_does():
    """By hand: around 70 × 50 mm, 90 × 70 mm outside: 6300 − 3500 = 2800 mm², 100 mm long, at 7.87 g/cm³ 2.2036 kg."""
    assert mass.yoke_mass(**YOKE) == pytest.approx(2.2036, rel=1e-12)


def test_a_yoke_is_four_bars():
    """A second way: two bars across the opening with their ends, two between them."""
    opening, t = YOKE["spacing"] + 2 * YOKE["block_thickness"], YOKE["yoke_thickness"]
    bars = 2 * (opening + 2 * t) * t + 2 * YOKE["height"] * t
    assert mass.yoke_mass(**YOKE) == pytest.approx(YOKE["density"] * YOKE["length"] * bars, rel=1e-12)


def test_both_electrodes_weigh_what_two_plates_do():
    """By hand: 2 × 60 × 10 × 5 mm are 6 cm³, at 8.96 g/cm³ 53.76 g."""
    assert mass.electrode_mass(**ELECTRODES) == pytest.approx(0.05376, rel=1e-12)


def test_a_straight_channel_weighs_what_its_walls_do():
    """By hand: 31 × 30 mm outside, 11 × 10 mm inside: 820 mm², 90 mm long, at 3.9 g/cm³ 287.82 g."""
    assert mass.channel_mass(**STRAIGHT) == pytest.approx(0.28782, rel=1e-12)


def test_a_widening_channel_weighs_the_integral_over_its_length():
    """Both sides change, in opposite senses: the integral by quadrature."""
    L, t = 0.3, 0.008
    g, w = np.array([0.02, 0.05]), np.array([0.03, 0.015])

    def area(x):
        a, b = g[0] + (g[1] - g[0]) * x / L, w[0] + (w[1] - w[0]) * x / L
        return (a + 2 * t) * (b + 2 * t) - a * b

    found = mass.channel_mass(
        length=L, gap_in=g[0], gap_out=g[1], width_in=w[0], width_out=w[1], thickness=t, density=2000.0
    )
    assert found == pytest.approx(2000.0 * quad(area, 0.0, L)[0], rel=1e-10)


def test_a_thin_frame_weighs_its_perimeter_times_its_thickness():
    """Limit: corners vanish; 2 (a + b) t."""
    thin = mass.yoke_mass(**{**YOKE, "yoke_thickness": 1e-6})
    assert thin == pytest.approx(7870.0 * 0.1 * 2 * (0.07 + 0.05) * 1e-6, rel=1e-4)


@pytest.mark.parametrize(
    ("formula", "shape", "thickness"),
    [
        (mass.yoke_mass, YOKE, "yoke_thickness"),
        (mass.electrode_mass, ELECTRODES, "thickness"),
        (mass.channel_mass, STRAIGHT, "thickness"),
        (mass.blocks_mass, BLOCKS, "thickness"),
    ],
)
def test_without_thickness_nothing_weighs_anything(formula, shape, thickness):
    assert formula(**{**shape, thickness: 0.0}) == 0.0


@pytest.mark.parametrize(("formula", "shape"), SHAPES)
def test_twice_as_large_every_way_weighs_eight_times_as_much(formula, shape):
    twice = {name: value if name == "density" else 2 * value for name, value in shape.items()}
    assert formula(**twice) == pytest.approx(8 * formula(**shape), rel=1e-12)
    assert formula(**{**shape, "density": 3 * shape["density"]}) == pytest.approx(
        3 * formula(**shape), rel=1e-12
    )


@pytest.mark.parametrize(("formula", "shape"), SHAPES)
def test_each_size_counts(formula, shape):
    """Must differ: none of the arguments is idle."""
    for name in shape:
        assert formula(**{**shape, name: 1.1 * shape[name]}) > formula(**shape), name


def test_a_supply_weighs_its_power_over_the_specific_power_whichever_way_it_flows():
    """By hand: 1.5 kW at 0.5 kW/kg are 3 kg."""
    found = mass.supply_mass(power=[1500.0, -1500.0, 0.0], specific_power=500.0)
    assert found == pytest.approx([3.0, 3.0, 0.0], rel=1e-12)


def test_a_store_weighs_the_energy_that_it_gives():
    """By hand: 1.8 kW for 20 s are 36 kJ or 10 Wh, at 10 Wh/kg 1 kg; a stage that delivers needs none."""
    found = mass.store_mass(power=[1800.0, 0.0, -1800.0], time=20.0, specific_energy=36_000.0)
    assert found == pytest.approx([1.0, 0.0, 0.0], rel=1e-12)


def test_a_power_that_is_not_known_has_no_mass():
    assert np.isnan(mass.supply_mass(power=np.nan, specific_power=1000.0))
    assert np.isnan(mass.store_mass(power=np.nan, time=1.0, specific_energy=1e5))
