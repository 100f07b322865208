"""Masses and similarity numbers of whole stages: by hand from other outputs, and where there is no number."""

import math

import numpy as np
import pytest
from stage.stages import BENCH, LOAD, solved, with_pairs

from explorer import registry

STATED = {**BENCH, "mass.magnet": 6.0}
SUPPLY = "electrodes.main.source"
PARTS = ("magnet_mass", "yoke_mass", "electrode_mass", "channel_mass", "supply_mass", "store_mass")
NAMES = [*PARTS, "stage_mass", "thrust_gain_per_mass", "reynolds_number", "wall_heat_share", "pressure_gap"]
NAMES += ["relative_thrust_gain", "voltage_drop_share", "magnetic_reynolds_number"]


@pytest.fixture(scope="module")
def stated():
    return solved(STATED)


def test_the_bench_weighs_what_it_does_by_hand(stated):
    """Electrodes: 10.25 mm wide in the middle of the pair (half of the channel), 2 × 60 × 10.25 × 5 mm at 8.96 g/cm³
    are 55.10 g. Walls: mean 11.75 × 10.25 mm inside, 10 mm thick: 31.75 × 30.25 − 11.75 × 10.25 = 840 mm², 90 mm long,
    at 3.9 g/cm³ 294.84 g. A kilogram a kilowatt, and 10 s of it at 10 Wh/kg.
    """
    assert stated["magnet_mass"] == 6.0
    assert stated["yoke_mass"] == 0.0
    assert stated["electrode_mass"] == pytest.approx(0.055104, rel=1e-9)
    assert stated["channel_mass"] == pytest.approx(0.29484, rel=1e-9)
    assert stated["supply_mass"] == pytest.approx(stated["electrical_power"] / 1000.0, rel=1e-12)
    assert stated["store_mass"] == pytest.approx(stated["electrical_power"] * 10.0 / 36e3, rel=1e-12)


def test_the_stage_weighs_its_parts_and_gains_by_its_weight(stated):
    assert stated["stage_mass"] == pytest.approx(sum(stated[part] for part in PARTS), rel=1e-12)
    assert stated["thrust_gain_per_mass"] == pytest.approx(
        stated["thrust_gain"] / stated["stage_mass"], rel=1e-12
    )


def test_a_magnet_that_nobody_weighed_leaves_the_stage_without_a_mass():
    found = solved(BENCH)
    assert found["status"] == "ok"
    for name in ("magnet_mass", "stage_mass", "thrust_gain_per_mass"):
        assert math.isnan(found[name]), name
    for name in PARTS[1:]:
        assert math.isfinite(found[name]), name


def test_a_stage_out_of_contact_weighs_what_it_does_without_power():
    off = {**STATED, f"{SUPPLY}.voltage": 10.0, "electrodes.main.leak_conductance": 0.0}
    found = solved(off)
    assert found["status"] == "no_contact"
    assert found["supply_mass"] == found["store_mass"] == 0.0
    assert found["stage_mass"] == pytest.approx(6.0 + 0.055104 + 0.29484, rel=1e-9)
    assert found["thrust_gain_per_mass"] == 0.0
    assert math.isnan(found["voltage_drop_share"])
    assert math.isfinite(found["magnetic_reynolds_number"])


def test_a_leak_has_to_be_fed_though_no_current_flows_through_the_gas():
    found = solved({**STATED, f"{SUPPLY}.voltage": 10.0})
    assert found["status"] == "no_contact"
    assert found["supply_mass"] == pytest.approx(found["electrical_power"] / 1000.0, rel=1e-12)
    assert found["supply_mass"] > 0.0


def test_a_point_without_numbers_has_no_masses_either():
    found = solved({**STATED, "channel.gap_out": 10e-3, "channel.friction_coefficient": 0.03})
    assert found["status"] == "choked"
    assert all(math.isnan(found[name]) for name in NAMES)


def test_a_stage_that_delivers_needs_a_converter_and_no_store():
    found = solved({**LOAD, "mass.magnet": 6.0})
    assert found["electrical_power"] < 0.0
    assert found["supply_mass"] == pytest.approx(found["power_delivered"] / 1000.0, rel=1e-12)
    assert found["store_mass"] == 0.0


def test_several_pairs_weigh_together_what_they_do_alone():
    """Electrodes by hand: two pairs of 30 mm, 10.17 and 10.36 mm wide in their middles."""
    found = solved(
        with_pairs(STATED, front={"start": 0.01, "length": 0.03}, back={"start": 0.05, "length": 0.03})
    )
    widths = [10e-3 + 0.5e-3 * middle / 0.09 for middle in (0.025, 0.065)]
    assert found["electrode_mass"] == pytest.approx(
        sum(2 * 0.03 * w * 0.005 * 8960 for w in widths), rel=1e-9
    )
    powers = [found[f"electrodes.{pair}.electrical_power"] for pair in ("front", "back")]
    assert found["supply_mass"] == pytest.approx(sum(powers) / 1000.0, rel=1e-12)
    for name in ("voltage_drop_share", "magnetic_reynolds_number"):
        assert math.isnan(found[name])
        assert all(math.isfinite(found[f"electrodes.{pair}.{name}"]) for pair in ("front", "back"))


def test_similarity_numbers_follow_by_hand_from_what_is_printed(stated):
    """Reynolds number with Sutherland's law as the standard atmosphere writes it."""
    T, area, perimeter = stated["inlet_temperature"], 11e-3 * 10e-3, 2 * (11e-3 + 10e-3)
    viscosity = 1.458e-6 * T**1.5 / (T + 110.4)
    assert stated["reynolds_number"] == pytest.approx(
        stated["gas_flow"] / area * (4 * area / perimeter) / viscosity, rel=1e-12
    )
    assert stated["pressure_gap"] == pytest.approx(stated["inlet_pressure"] * 11e-3, rel=1e-12)
    assert stated["relative_thrust_gain"] == pytest.approx(
        stated["thrust"] / stated["thrust_open_circuit"] - 1.0, rel=1e-9
    )
    assert stated["wall_heat_share"] == pytest.approx(
        stated["wall_heat"] / (0.5 * stated["gas_flow"] * stated["exit_velocity"] ** 2), rel=1e-12
    )
    assert stated["magnetic_reynolds_number"] == pytest.approx(
        4e-7 * np.pi * stated["inlet_conductivity"] * stated["inlet_velocity"] * 0.06, rel=1e-6
    )


def test_the_friction_of_a_smooth_pipe_at_this_reynolds_number_is_that_of_the_bench_study():
    """Blasius, C_f = 0.079 Re^(−1/4) (Fanning; textbooks, from memory): 0.0052 in the study's comment, 0.0050 to 0.0052
    between the viscosity of air and that of burnt gas.
    """
    assert 0.079 * solved(BENCH)["reynolds_number"] ** -0.25 == pytest.approx(0.0051, abs=1.5e-4)


def test_the_share_of_a_fixed_voltage_drop_is_the_drop_over_the_back_emf():
    """V_0 alone, neither layers nor arc: 8 V at every place, so that their mean is 8 V."""
    fixed = {**BENCH, "electrodes.main.drop_resistance": 0.0, "electrodes.main.arc_voltage": np.inf}
    found = solved(fixed)
    assert found["plasma_current"] > 0.0
    assert found["voltage_drop_share"] == pytest.approx(8.0 / found["back_emf"], rel=1e-6)


def test_the_voltage_drop_share_of_a_generator_is_positive_too():
    found = solved(LOAD)
    assert found["plasma_current"] < 0.0
    assert 0.0 < found["voltage_drop_share"] < 1.0


def test_without_a_field_nothing_can_be_set_against_the_back_emf():
    assert math.isnan(solved({**BENCH, "magnet.field": 0.0})["voltage_drop_share"])


def test_every_new_output_is_tested_here():
    wanted = {
        q.address
        for q in registry.OUTPUTS
        if q.formula in ("explorer.physics.mass", "explorer.physics.similarity", "explorer.stage.outputs")
    }
    assert wanted == set(NAMES)
