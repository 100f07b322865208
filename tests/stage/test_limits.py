"""What must come out where something vanishes, is exchanged, or reaches its limit.

No outside numbers here: limits, scalings and identities of the model itself (sections 1 to 7).
"""

import numpy as np
import pytest
from stage.cases import STRONG
from stage.stages import BENCH, LOAD, solved, tables_over

SUPPLY = "electrodes.main.source"
ON_GAS = ("lorentz_force", "gas_power", "joule_heating", "electrode_drop_power", "plasma_current")


@pytest.mark.parametrize("inputs", [BENCH, STRONG, LOAD], ids=["bench", "strong", "load"])
def test_force_vanishes_linearly_with_the_field_or_with_its_square(inputs):
    """A supply's current hardly depends on a small field; a load's is the field's own."""
    drop = {"electrodes.main.voltage_drop": 0.0} if inputs is LOAD else {}
    small, smaller = (solved({**inputs, **drop, "magnet.field": B}) for B in (2e-3, 1e-3))
    power = 2 if inputs is LOAD else 1
    assert small["lorentz_force"] / smaller["lorentz_force"] == pytest.approx(2**power, rel=0.01)


@pytest.mark.parametrize("inputs", [BENCH, STRONG], ids=["bench", "strong"])
def test_without_a_field_the_heater_twin_is_the_on_case(inputs):
    found = solved({**inputs, "magnet.field": 0.0})
    assert found["status"] == "ok"
    assert found["plasma_current"] > 1.0
    assert found["lorentz_force"] == 0.0
    assert found["back_emf"] == 0.0
    assert found["thrust_gain"] == found["thrust_gain_heating"]
    assert abs(found["thrust_gain"]) > 1e-5 * found["thrust"]
    assert np.isnan(found["load_factor"])


def test_a_load_without_a_field_stays_out_of_contact():
    found = solved({**LOAD, "magnet.field": 0.0})
    assert found["status"] == "no_contact"
    assert found["current"] == found["terminal_voltage"] == found["electrical_power"] == 0.0


@pytest.mark.parametrize("inputs", [BENCH, LOAD], ids=["bench", "load"])
def test_a_gas_that_does_not_conduct_feels_nothing(inputs):
    """σ → 0: everything that the current does to the gas vanishes in proportion."""
    tiny, tinier = (solved({**inputs, "gas.conductivity_factor": f}) for f in (2e-9, 1e-9))
    for name in ON_GAS:
        assert tiny[name] == pytest.approx(2 * tinier[name], rel=1e-5), name
    assert abs(tiny["thrust_gain"]) < 1e-9 * tiny["thrust"]


@pytest.mark.parametrize("address", ["gas.conductivity_factor", "gas.nozzle_lag"])
def test_no_conductivity_at_all_is_no_contact(address):
    """The registry allows a factor of zero: no current, no gain, and no number that isn't one."""
    found = solved({**BENCH, address: 0.0})
    assert found["status"] == "no_contact"
    assert found["plasma_current"] == 0.0
    assert found["thrust_gain"] == 0.0
    assert found["inlet_conductivity"] == 0.0
    assert np.isfinite(found["inlet_electron_density"])


def test_conductivity_factor_multiplies_the_mobility_and_nozzle_lag_the_electron_density():
    one = solved({**BENCH, "gas.conductivity_factor": 0.8, "gas.nozzle_lag": 0.6})
    other = solved({**BENCH, "gas.conductivity_factor": 0.6, "gas.nozzle_lag": 0.8})
    assert one["inlet_conductivity"] == pytest.approx(other["inlet_conductivity"], rel=1e-12)
    assert one["inlet_hall_parameter"] == pytest.approx(other["inlet_hall_parameter"] * 0.8 / 0.6, rel=1e-12)
    assert one["inlet_electron_density"] == pytest.approx(
        other["inlet_electron_density"] * 0.6 / 0.8, rel=1e-12
    )


def test_the_conductivity_factor_leaves_the_electron_density_alone():
    """It stands for cross sections: σ and µ = σ/(e n_e) change together."""
    one, two = solved(BENCH), solved({**BENCH, "gas.conductivity_factor": 2.0})
    assert two["inlet_conductivity"] == pytest.approx(2 * one["inlet_conductivity"], rel=1e-12)
    assert two["inlet_hall_parameter"] == pytest.approx(2 * one["inlet_hall_parameter"], rel=1e-12)
    assert two["inlet_electron_density"] == pytest.approx(one["inlet_electron_density"], rel=1e-12)


def test_an_unseeded_cold_flame_has_numbers():
    """Methane and air without seed conduct nearly nothing; the point is valid all the same."""
    found = solved(
        {
            **BENCH,
            "gas.fuel": "methane",
            "gas.oxidizer": "air",
            "gas.mixture_ratio": 16.0,
            "gas.seed": "none",
            "gas.seed_fraction": 0.0,
            "gas.seed_water": 0.0,
            "gas.seed_vaporized": 1.0,
        }
    )
    assert found["status"] in ("ok", "no_contact")
    assert found["inlet_conductivity"] < 1e-6
    assert abs(found["plasma_current"]) < 1e-6


@pytest.mark.parametrize("change", [{"gas.seed_fraction": 0.0}, {"gas.seed_vaporized": 0.0}])
def test_seed_that_is_not_there_leaves_a_gas_that_hardly_conducts(change):
    """Both are allowed by the registry's bounds."""
    found = solved({**BENCH, **change})
    assert found["status"] in ("ok", "no_contact")
    assert found["inlet_conductivity"] < 1e-3


@pytest.mark.parametrize("layout", ["continuous", "segmented"])
def test_a_short_pair_is_the_local_circuit(layout):
    """Thin limit: over a millimetre the pair's current is the local current density times its area."""
    found = solved(
        {
            **STRONG,
            "electrodes.main.layout": layout,
            "electrodes.main.start": 0.0,
            "electrodes.main.length": 1e-4,
            "electrodes.main.source.resistance": 0.0,
            "electrodes.main.leak_conductance": 0.0,
        }
    )
    gap, width = STRONG["channel.gap_in"], STRONG["channel.width_in"]
    sigma, hall = found["inlet_conductivity"], found["inlet_hall_parameter"]
    sigma_e = sigma if layout == "segmented" else sigma / (1 + hall**2)
    drive = 200.0 - found["inlet_velocity"] * 1.2 * gap - 8.0
    j = drive / (gap / sigma_e + 0.001)
    if 8.0 + 0.001 * j > 100.0:
        j = sigma_e * (drive + 8.0 - 100.0) / gap
    assert found["plasma_current"] == pytest.approx(j * width * 1e-4, rel=1e-3)
    assert found["lorentz_force"] == pytest.approx(j * 1.2 * gap * width * 1e-4, rel=2e-3)
    assert found["back_emf"] == pytest.approx(found["inlet_velocity"] * 1.2 * gap, rel=1e-3)


def test_segmented_electrodes_carry_one_plus_the_square_of_the_hall_parameter_more():
    """Thin, without layers: the ratio of the currents is that of the effective conductivities."""
    thin = {
        **STRONG,
        "magnet.field": 1.5,
        "electrodes.main.length": 1e-4,
        "electrodes.main.start": 0.0,
        "electrodes.main.drop_resistance": 0.0,
        "electrodes.main.source.resistance": 0.0,
        "electrodes.main.leak_conductance": 0.0,
    }
    continuous, segmented = (
        solved({**thin, "electrodes.main.layout": layout}) for layout in ("continuous", "segmented")
    )
    ratio = segmented["plasma_current"] / continuous["plasma_current"]
    assert ratio == pytest.approx(1 + segmented["inlet_hall_parameter"] ** 2, rel=1e-4)
    assert segmented["inlet_hall_parameter"] > 0.2
    assert continuous["max_hall_field"] == 0.0
    assert segmented["max_hall_field"] > 0.0


EXTREME = {  # more heat than a supersonic channel can take
    **STRONG,
    "gas.conductivity_factor": 20.0,
    "electrodes.main.drop_resistance": 0.0,
    "electrodes.main.arc_voltage": 8.0,
    f"{SUPPLY}.voltage": 2000.0,
    f"{SUPPLY}.current_limit": np.inf,
    f"{SUPPLY}.resistance": 0.0,
}


def test_extreme_heating_chokes_and_gives_no_number():
    found = solved(EXTREME)
    assert found["status"] == "choked"
    assert all(np.isnan(value) for key, value in found.items() if key not in ("status", "warnings"))
    assert found["warnings"] == set()


def test_a_current_limit_saves_a_point_whose_trial_voltages_choke():
    """Choked trials only bound the search (MODEL.md, section 3)."""
    found = solved({**EXTREME, f"{SUPPLY}.current_limit": 50.0})
    assert found["status"] == "ok"
    assert found["current"] == pytest.approx(50.0, rel=1e-6)


def test_too_much_friction_chokes():
    found = solved({**BENCH, "channel.gap_out": 10e-3, "channel.friction_coefficient": 0.03})
    assert found["status"] == "choked"


def test_an_inlet_smaller_than_the_throat_is_no_supersonic_channel():
    assert solved({**BENCH, "channel.gap_in": 6e-3})["status"] == "choked"


def test_the_exit_does_nothing_at_an_area_ratio_of_one():
    found = solved({**BENCH, "exit.area_ratio": 1.0})
    for name in ("pressure", "temperature", "velocity", "mach"):
        assert found[f"exit_{name}"] == found[f"outlet_{name}"]


def test_ambient_pressure_only_pushes_on_the_exit():
    sea, space = solved(BENCH), solved({**BENCH, "ambient.pressure": 0.0})
    area = BENCH["channel.gap_out"] * BENCH["channel.width_out"] * BENCH["exit.area_ratio"]
    assert space["thrust"] - sea["thrust"] == pytest.approx(101325.0 * area, rel=1e-9)
    assert space["thrust_gain"] == pytest.approx(sea["thrust_gain"], rel=1e-9)


def test_the_wall_is_not_colder_than_five_hundred_kelvin():
    """MODEL.md, section 3."""
    cold, limit, warm = (solved({**BENCH, "channel.wall_temperature": T}) for T in (300.0, 500.0, 800.0))
    assert cold["wall_heat"] == pytest.approx(limit["wall_heat"], rel=1e-9)
    assert warm["wall_heat"] < limit["wall_heat"]


def test_without_friction_nothing_is_lost_to_the_wall():
    found = solved({**BENCH, "channel.friction_coefficient": 0.0})
    assert found["friction_force"] == found["wall_heat"] == 0.0


def test_unvaporized_seed_leaves_as_inert_mass():
    """MODEL.md, section 1: mass flow is the gas's over 1 − m_u, and the share of the seed *compound* that stays."""
    found = solved(BENCH)
    compound = 0.01 * 138.205 / (2 * 39.098)  # K2CO3 per kilogram injected
    assert found["condensed_flow"] == pytest.approx(0.2 * compound * found["mass_flow"], rel=1e-4)
    assert found["gas_flow"] == pytest.approx(found["mass_flow"] * (1 - 0.2 * compound), rel=1e-5)
    streams = ("fuel_flow", "oxidizer_flow", "seed_solution_flow")
    assert sum(found[name] for name in streams) == pytest.approx(found["mass_flow"], rel=1e-12)
    assert found["oxidizer_flow"] / found["fuel_flow"] == pytest.approx(1.95, rel=1e-12)


def test_the_characteristic_velocity_is_pressure_times_throat_over_flow():
    complete = {**BENCH, "gas.combustion_efficiency": 1.0}
    tables = tables_over([BENCH, complete])
    found, full = solved(BENCH, tables=tables), solved(complete, tables=tables)
    throat = np.pi / 4 * 9e-3**2 * 0.965
    assert found["characteristic_velocity"] == pytest.approx(12e5 * throat / found["gas_flow"], rel=1e-9)
    assert found["characteristic_velocity"] == pytest.approx(0.96 * full["characteristic_velocity"], rel=1e-8)
    assert full["chamber_temperature"] == full["flame_temperature"]


def test_the_temperature_lost_with_characteristic_velocity_is_less_than_its_square():
    """T_c = η² T_ad overstates the loss, for the molar mass rises as dissociation recedes (MODEL.md, section 1)."""
    found = solved(BENCH)
    assert 0.96**2 * found["flame_temperature"] < found["chamber_temperature"] < found["flame_temperature"]


def test_hand_bounds_bound_the_force():
    found = solved(BENCH)
    assert 0.9 * found["force_from_current"] < found["lorentz_force"] < found["force_from_current"]
    last_gap = 0.011 + 0.0015 * 75.0 / 90.0
    assert found["force_from_current"] == pytest.approx(found["plasma_current"] * 0.48 * last_gap, rel=1e-3)
    assert found["load_factor"] == pytest.approx(found["terminal_voltage"] / found["back_emf"], rel=0.01)
