"""A stage so short that nothing changes along it: each output by hand, with properties straight from Cantera."""

import numpy as np
import pytest
from stage.cases import STRONG
from stage.stages import design_and_values, solved

from explorer import constants as c
from explorer.physics import gas as gas_model
from explorer.stage.gas.propellants import composition

LENGTH = 1e-4
SHORT = {
    **STRONG,
    "channel.length": LENGTH,
    "channel.gap_out": STRONG["channel.gap_in"],
    "channel.width_out": STRONG["channel.width_in"],
    "electrodes.main.start": 0.0,
    "electrodes.main.length": LENGTH,
    "electrodes.main.arc_voltage": np.inf,
    "electrodes.main.leak_conductance": 0.0,
    "electrodes.main.source.resistance": 0.0,
}
FIELD, GAP, WIDTH = SHORT["magnet.field"], SHORT["channel.gap_in"], SHORT["channel.width_in"]
LAG = SHORT["gas.nozzle_lag"]
FACTOR = SHORT["gas.conductivity_factor"] * LAG


@pytest.fixture(scope="module")
def found():
    return solved(SHORT)


@pytest.fixture(scope="module")
def gas(found):
    """Equilibria at the inlet's state, a little colder and hotter, and at the wall."""
    design, values = design_and_values(SHORT)
    given = composition(design.propellants, values)
    elements = design.propellants.elements(
        SHORT["gas.mixture_ratio"], float(given.alkali_fraction), float(given.carrier_water_fraction)
    )
    T, p = found["inlet_temperature"], found["inlet_pressure"]
    temperatures = np.array([T, T - 5.0, T + 5.0, SHORT["channel.wall_temperature"]])
    return gas_model.gas_states(gas_model.phase("K"), elements, temperatures, np.full(4, p), electrical=True)


def current_density(found, sigma):
    """Segmented: the local circuit with the whole σ."""
    drive = 200.0 - found["inlet_velocity"] * FIELD * GAP - 8.0
    return drive / (GAP / sigma + 0.001)


def test_the_inlet_s_plasma_is_that_of_the_gas_with_the_study_s_factors(found, gas):
    assert found["inlet_conductivity"] == pytest.approx(FACTOR * gas.conductivity[0], rel=5e-3)
    assert found["inlet_electron_density"] == pytest.approx(LAG * gas.electron_density[0], rel=5e-3)
    mobility = SHORT["gas.conductivity_factor"] * gas.conductivity[0] / (c.e * gas.electron_density[0])
    assert found["inlet_hall_parameter"] == pytest.approx(mobility * FIELD, rel=5e-3)


def test_current_and_its_powers(found, gas):
    sigma = FACTOR * gas.conductivity[0]
    j = current_density(found, sigma)
    area = WIDTH * LENGTH
    assert found["max_current_density"] == pytest.approx(j, rel=5e-3)
    assert found["plasma_current"] == pytest.approx(j * area, rel=5e-3)
    assert found["electrode_drop_power"] == pytest.approx(j * area * (8.0 + 0.001 * j), rel=5e-3)
    assert found["joule_heating"] == pytest.approx(j**2 / sigma * GAP * area, rel=1e-2)
    assert found["gas_power"] == pytest.approx(j * area * (200.0 - 8.0 - 0.001 * j), rel=5e-3)
    assert found["lorentz_force"] == pytest.approx(j * area * FIELD * GAP, rel=5e-3)


def test_the_hall_field_of_segments(found, gas):
    j = current_density(found, FACTOR * gas.conductivity[0])
    assert found["max_hall_field"] == pytest.approx(
        j * FIELD / (c.e * LAG * gas.electron_density[0]), rel=5e-3
    )


def test_the_reduced_field_that_heats_electrons(found, gas):
    """|E − uB| over p/(kT), in the frame of the gas: j/σ for segments."""
    j = current_density(found, FACTOR * gas.conductivity[0])
    density = found["inlet_pressure"] / (c.k * found["inlet_temperature"])
    assert found["max_reduced_field"] == pytest.approx(j / (FACTOR * gas.conductivity[0]) / density, rel=5e-3)


def test_the_electrons_excess_temperature(found, gas):
    """j²/σ = 3/2 k (T_e − T) n_e Σ δ (2 m_e/m) ν, with the losses of the gas at the inlet."""
    sigma = FACTOR * gas.conductivity[0]
    j = current_density(found, sigma)
    loss = gas.loss_rate[0] / SHORT["gas.conductivity_factor"]
    expected = j**2 / sigma / (1.5 * c.k * LAG * gas.electron_density[0] * loss)
    assert found["electron_excess"] == pytest.approx(expected, rel=0.03)
    assert found["electron_excess_share"] == pytest.approx(expected / found["inlet_temperature"], rel=0.03)


def test_the_interaction_parameter(found, gas):
    """σ B² L/(ρ u) at the pair's start."""
    mass_flux = found["gas_flow"] / (GAP * WIDTH)
    expected = FACTOR * gas.conductivity[0] * FIELD**2 * LENGTH / mass_flux
    assert found["interaction_parameter"] == pytest.approx(expected, rel=5e-3)


def test_the_overheating_number(found, gas):
    """(j²/σ)(∂ ln σ/∂T) L/(ρ c_p u), with both derivatives from equilibria 5 K to either side."""
    sigma = FACTOR * gas.conductivity[0]
    by_temperature = np.log(gas.conductivity[2] / gas.conductivity[1]) / 10.0
    heat_capacity = (gas.enthalpy[2] - gas.enthalpy[1]) / 10.0
    mass_flux = found["gas_flow"] / (GAP * WIDTH)
    j = current_density(found, sigma)
    expected = j**2 / sigma * by_temperature * LENGTH / (mass_flux * heat_capacity)
    assert found["overheating_number"] == pytest.approx(expected, rel=0.03)


def test_friction_and_heat_to_the_wall(found, gas):
    """τ = ½ C_f ρ u², q = f ½ C_f ρ u (h + 0.45 u² − h_w), over the four walls."""
    u = found["inlet_velocity"]
    mass_flux = found["gas_flow"] / (GAP * WIDTH)
    wetted = 2 * (GAP + WIDTH) * LENGTH
    half = 0.5 * SHORT["channel.friction_coefficient"] * mass_flux
    assert found["friction_force"] == pytest.approx(half * u * wetted, rel=1e-3)
    recovered = gas.enthalpy[0] + 0.45 * u**2 - gas.enthalpy[3]
    heat = SHORT["channel.heat_transfer_factor"] * half * recovered * wetted
    assert found["wall_heat"] == pytest.approx(heat, rel=3e-3)


def test_the_inlet_s_state_carries_the_flow(found, gas):
    density = found["inlet_pressure"] / gas.pressure_over_density[0]
    assert density * found["inlet_velocity"] * GAP * WIDTH == pytest.approx(found["gas_flow"], rel=2e-4)


def test_mach_one_is_the_speed_of_sound_of_the_shifting_equilibrium(found, gas):
    """a² = (∂p/∂ρ)_s, from equilibria of equal entropy at pressures a little apart."""
    design, values = design_and_values(SHORT)
    given = composition(design.propellants, values)
    elements = design.propellants.elements(
        SHORT["gas.mixture_ratio"], float(given.alkali_fraction), float(given.carrier_water_fraction)
    )
    phase = gas_model.phase("K")
    states = []
    for factor in (0.999, 1.001):
        gas_model.gas_states(
            phase,
            elements,
            np.array([found["inlet_temperature"]]),
            np.array([found["inlet_pressure"]]),
            electrical=False,
        )
        phase.SP = phase.s, factor * found["inlet_pressure"]
        phase.equilibrate("SP", rtol=1e-10)
        states.append((phase.P, phase.density))
    (p_1, rho_1), (p_2, rho_2) = states
    sound = np.sqrt((p_2 - p_1) / (rho_2 - rho_1))
    assert found["inlet_mach"] == pytest.approx(found["inlet_velocity"] / sound, rel=2e-3)
