"""Closed forms of ideal channels against the check list's rows 11 to 16, and hand bounds."""

import tomllib
from pathlib import Path

import numpy as np
import perfect_gas
import pytest
from physics.ideal_channel import (
    back_emf,
    constant_pressure_velocity,
    current_density,
    generator_power_density,
    internal_resistance,
    maximum_power,
    power_with_drop,
    resler_sears_slopes_1958,
)
from scipy.integrate import solve_ivp

from explorer.physics.hand_bounds import (
    force_from_current,
    force_from_current_density,
    force_per_power,
    jet_power,
)

REFERENCE_FILE = Path(__file__).parents[1] / "reference/ideal_channel.toml"
REFERENCE = tomllib.loads(REFERENCE_FILE.read_text(encoding="utf-8"))


def test_the_textbook_generator_has_its_voltage_resistance_and_power():
    """Row 11: G. D. Rai, Non-conventional Energy Sources, example 12.6.1 (read)."""
    row = REFERENCE["textbook_generator"]
    voltage = back_emf(velocity=row["velocity"], field=row["field"], gap=row["gap"])
    resistance = internal_resistance(
        gap=row["gap"], electrode_area=row["electrode_area"], effective_conductivity=row["conductivity"]
    )
    assert voltage == pytest.approx(row["open_circuit_voltage"], rel=row["tolerance"])
    assert resistance == pytest.approx(row["resistance"], rel=row["tolerance"])
    power = maximum_power(open_circuit_voltage=voltage, resistance=resistance)
    assert power == pytest.approx(row["maximum_power"], rel=row["tolerance"])


@pytest.mark.parametrize("layout", ["continuous", "segmented"])
def test_a_generator_delivers_the_power_density_of_its_electrodes(layout):
    """Row 12: O. A. Marzouk, arXiv:2510.01289 (read); continuous electrodes short the Hall field."""
    row = REFERENCE["power_density"]
    shorted = 1.0 + row["hall_parameter"] ** 2 if layout == "continuous" else 1.0
    case = {
        "velocity": row["velocity"],
        "field": row["field"],
        "effective_conductivity": row["conductivity"] / shorted,
    }
    density = generator_power_density(load_factor=row["load_factor"], **case)
    assert density == pytest.approx(row[layout], rel=row["tolerance"])
    E = row["load_factor"] * row["velocity"] * row["field"]
    assert pytest.approx(row["electric_field"], rel=row["tolerance"]) == E
    j = current_density(electric_field=E, **case)
    assert -j * E == pytest.approx(row[layout], rel=row["tolerance"])
    if layout == "continuous":
        assert -j == pytest.approx(row["current_density"], rel=row["tolerance"])


@pytest.mark.parametrize(
    ("quantity", "key"),
    [
        ("velocity", "velocity_slope"),
        ("mach", "mach_slope"),
        ("log_total_pressure", "log_total_pressure_slope"),
    ],
)
def test_a_crossed_field_channel_has_the_published_slopes(quantity, key):
    """Row 13: Resler and Sears 1958; Wood and Carter (read second-hand, re-derived)."""
    row = REFERENCE["slopes"]
    names = ("heat_capacity_ratio", "gas_constant", "conductivity", "field", "pressure", "temperature")
    arrays = {name: np.array(row[name]) for name in ("velocity", "electric_field", "area_slope")}
    slopes = resler_sears_slopes_1958(**{name: row[name] for name in names}, **arrays)
    assert getattr(slopes, quantity) == pytest.approx(np.array(row[key]), rel=row["tolerance"])


GAMMA, GAS_CONSTANT = 1.4, 287.0


def march_to(end, *, mach, growth, field, electric_field, conductivity):
    """Mach number, T and ln p0 over their inlet values at the end of a channel, from the slopes alone."""
    temperature, pressure = 500.0, 2e4
    velocity = mach * np.sqrt(GAMMA * GAS_CONSTANT * temperature)
    flux = pressure / (GAS_CONSTANT * temperature) * velocity

    def derivative(x, state):
        u, M, _ = state
        T = (u / M) ** 2 / (GAMMA * GAS_CONSTANT)
        area = 1.0 + growth * x
        slopes = resler_sears_slopes_1958(
            velocity=u,
            electric_field=electric_field,
            field=field,
            conductivity=conductivity,
            pressure=flux / (area * u) * GAS_CONSTANT * T,
            temperature=T,
            heat_capacity_ratio=GAMMA,
            gas_constant=GAS_CONSTANT,
            area_slope=growth / area,
        )
        return [slopes.velocity, slopes.mach, slopes.log_total_pressure]

    state = solve_ivp(derivative, (0.0, end), [velocity, mach, 0.0], rtol=1e-10, atol=1e-12).y[:, -1]
    return state[1], (state[0] / state[1] * mach / velocity) ** 2, state[2]


def test_without_current_the_slopes_follow_the_isentropic_area_relation():
    """Row 16: A/A* of a perfect gas, NACA Report 1135 (relation from memory)."""
    mach, temperature, log_p0 = march_to(
        0.5, mach=2.0, growth=0.6, field=1.0, electric_field=0.0, conductivity=1e-12
    )
    growth = perfect_gas.area_ratio(mach, GAMMA) / perfect_gas.area_ratio(2.0, GAMMA)
    assert growth == pytest.approx(1.3, rel=1e-6)
    expected = perfect_gas.temperature_ratio(mach, GAMMA) / perfect_gas.temperature_ratio(2.0, GAMMA)
    assert temperature == pytest.approx(expected, rel=1e-6)
    assert log_p0 == pytest.approx(0.0, abs=1e-8)


def test_without_a_magnet_the_slopes_follow_the_rayleigh_line():
    """Row 16: heating alone, T/T* and p0/p0* (relations from memory)."""
    mach, temperature, log_p0 = march_to(
        1.0, mach=3.0, growth=0.0, field=0.0, electric_field=4000.0, conductivity=0.5
    )
    assert 1.2 < mach < 2.8
    for value, relation in (
        (temperature, perfect_gas.rayleigh_temperature),
        (np.exp(log_p0), perfect_gas.rayleigh_total_pressure),
    ):
        assert value == pytest.approx(relation(mach, GAMMA) / relation(3.0, GAMMA), rel=1e-6)


def test_a_constant_pressure_accelerator_follows_its_closed_form():
    """Row 14: momentum alone, with energy too the case is over-determined (derived)."""
    row = REFERENCE["constant_pressure"]
    names = ("inlet_velocity", "electric_field", "field", "conductivity", "mass_flux")
    velocity = constant_pressure_velocity(row["x"], **{name: row[name] for name in names})
    assert velocity == pytest.approx(row["velocity"], rel=row["tolerance"])


def test_the_constant_pressure_velocity_solves_its_momentum_equation():
    """Second method: G du/dx = j B integrated numerically."""
    case = {"inlet_velocity": 1500.0, "electric_field": 2500.0, "field": 0.7, "conductivity": 25.0}

    def slope(_, u):
        j = current_density(
            electric_field=case["electric_field"], velocity=u, field=0.7, effective_conductivity=25.0
        )
        return j * case["field"] / 40.0

    numeric = solve_ivp(slope, (0.0, 0.6), [1500.0], rtol=1e-10, atol=1e-8).y[0, -1]
    assert constant_pressure_velocity(0.6, **case, mass_flux=40.0) == pytest.approx(numeric, rel=1e-8)


def test_the_root_of_the_power_is_a_line_in_the_field_from_the_drop_on():
    """Row 15: power ∝ (B − V_d/(u g))², diagonal-wall generator study (read)."""
    tolerance = REFERENCE["voltage_drop"]["tolerance"]
    drop, velocity, gap, area, sigma, K = 30.0, 1500.0, 0.04, 0.01, 8.0, 0.6
    case = {
        "load_factor": K,
        "velocity": velocity,
        "gap": gap,
        "electrode_area": area,
        "effective_conductivity": sigma,
        "voltage_drop": drop,
    }
    field = np.linspace(0.8, 3.0, 9)
    power = power_with_drop(field=field, **case)
    slope, intercept = np.polyfit(field, np.sqrt(power), 1)
    assert np.sqrt(power) == pytest.approx(slope * field + intercept, rel=tolerance)
    assert -intercept / slope == pytest.approx(drop / (velocity * gap), rel=tolerance)
    # the circuit by itself: terminal voltage times current through the resistance of the gas
    driving = velocity * field * gap - drop
    current = (driving - K * driving) / (gap / (sigma * area))
    assert power == pytest.approx(K * driving * current, rel=1e-12)
    assert power_with_drop(field=0.4, **case) == 0.0


def test_a_current_pushes_with_its_field_and_gap_whatever_its_density():
    """By hand: 50 A across 12 mm in 0.5 T are 0.3 N; the same as 50 A over 6 cm² times 7.2 cm³."""
    force = force_from_current(current=50.0, field_gap=0.5 * 0.012)
    assert force == pytest.approx(0.3)
    density = 50.0 / 6e-4
    assert force_from_current_density(current_density=density, field=0.5, volume=7.2e-6) == pytest.approx(
        force
    )


def test_force_per_power_times_the_power_is_the_force():
    """By hand: 50 A at 200 V, 10 kW, 0.3 N: 30 mN a kilowatt."""
    per_watt = force_per_power(field=0.5, gap=0.012, voltage=200.0)
    assert per_watt == pytest.approx(30e-6)
    assert per_watt * 200.0 * 50.0 == pytest.approx(force_from_current(current=50.0, field_gap=0.5 * 0.012))


def test_jet_power_is_half_the_thrust_times_the_velocity():
    """By hand: 50 g/s at 2000 m/s, 100 N of momentum, 100 kW."""
    assert jet_power(mass_flow=0.05, velocity=2000.0) == pytest.approx(100e3)
