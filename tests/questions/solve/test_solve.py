"""`solve`: the demo studies, settings, and what a point that carries no numbers looks like."""

import math
from pathlib import Path

import numpy as np
import pytest
from study.texts import study_named

from explorer import registry
from explorer.questions.solve.point import solve
from explorer.studyfile import StudyError, read_study

STUDIES = sorted((Path(__file__).parents[3] / "studies").glob("*.toml"))

#: Outputs that every answer must hold (the command's JSON promises them).
PROMISED = (
    "mass_flow",
    "flame_temperature",
    "chamber_temperature",
    "characteristic_velocity",
    "inlet_pressure",
    "inlet_temperature",
    "inlet_velocity",
    "inlet_mach",
    "inlet_conductivity",
    "inlet_hall_parameter",
    "inlet_electron_density",
    "field",
    "back_emf",
    "threshold_voltage",
    "current",
    "plasma_current",
    "terminal_voltage",
    "load_factor",
    "electrical_power",
    "lorentz_force",
    "joule_heating",
    "electrode_drop_power",
    "wall_heat",
    "exit_pressure",
    "exit_temperature",
    "exit_velocity",
    "exit_mach",
    "exit_pressure_change",
    "thrust_open_circuit",
    "thrust",
    "thrust_gain",
    "thrust_gain_heating",
    "max_current_density",
    "max_hall_field",
    "interaction_parameter",
)


@pytest.fixture
def plain(tmp_path):
    return study_named("plain", tmp_path)


def test_the_demo_studies_are_there():
    named = {"bench", "bench-extraction", "sounding", "two-pair", "torch-flows", "arc-heated"}
    assert {path.stem for path in STUDIES} >= named


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_a_demo_study_is_solved(path):
    study = read_study(path)
    point = solve(study)
    assert point.status == ("no_contact" if path.stem == "unseeded" else "ok")
    assert set(PROMISED) <= set(point.quantities)
    alone = len(study.pairs) == 1
    for address in PROMISED:
        quantity = registry.quantity(address)
        if address == "flame_temperature" and path.stem == "arc-heated":
            assert math.isnan(point.quantities[address])  # nothing burns
        elif alone or quantity.adds or not quantity.per_pair:
            assert math.isfinite(point.quantities[address]), address
        else:
            assert math.isnan(point.quantities[address]), address
        for pair in study.pairs if quantity.per_pair else ():
            assert math.isfinite(point.quantities[f"electrodes.{pair}.{address}"]), (pair, address)
    assert point.profile is not None
    assert np.isfinite(point.profile.to_numpy()).all()


def test_the_bench_does_what_the_scenario_expects():
    """The invented scenario's expectation with layers stated: a few S/m, about 10 V, 5 to 15 A, below 0.1 N of 90 N."""
    found = solve(read_study("tests/studies/bench.toml")).quantities
    assert 1.0 < found["inlet_conductivity"] < 6.0
    assert found["back_emf"] == pytest.approx(10.0, rel=0.15)
    assert 5.0 < found["current"] < 15.0
    assert 0.0 < found["thrust_gain"] < 0.1
    assert found["thrust"] == pytest.approx(90.0, rel=0.1)


def test_the_demo_s_glowing_graphite_carries_what_the_gas_lets_through_and_copper_next_to_nothing():
    """By hand: what is left of 150 V falls across 11.8 mm of gas and the layers; I B g pushes, heat adds to that."""
    study = read_study("studies/bench.toml")
    found = solve(study).quantities
    gap, area = 11.8e-3, 60e-3 * 10.3e-3
    across = found["terminal_voltage"] - found["back_emf"] - 1.5
    by_hand = across / (gap / found["inlet_conductivity"] + found["layer_resistance"]) * area
    assert found["plasma_current"] == pytest.approx(by_hand, rel=0.1)
    assert found["force_from_current"] == pytest.approx(found["plasma_current"] * 0.48 * gap, rel=0.05)
    assert found["force_from_current"] < found["thrust_gain"] < 2.0 * found["force_from_current"]
    assert found["electrode_temperature"] == pytest.approx(
        1850.0, abs=100.0
    )  # after 4 s; power comes on before
    copper = solve(read_study("studies/cold-electrodes.toml")).quantities
    assert copper["plasma_current"] < 0.02 * found["plasma_current"]


def test_the_sounding_rocket_s_stage_does_what_the_scenario_expects():
    """A few newtons of about four thousand, for tens of kilowatts."""
    found = solve(read_study("studies/sounding.toml")).quantities
    assert found["thrust"] == pytest.approx(4000.0, rel=0.15)
    assert 1.0 < found["thrust_gain"] < 10.0
    assert 20e3 < found["electrical_power"] < 60e3


def test_a_setting_may_be_a_number_in_si_or_a_text_with_its_unit(plain):
    number = solve(plain, {"magnet.field": 0.6, "gas.mixture_ratio": 2.0})
    text = solve(plain, {"magnet.field": "600 mT", "gas.mixture_ratio": "2.0"})
    assert number.quantities["back_emf"] == text.quantities["back_emf"]
    assert number.quantities["thrust"] == text.quantities["thrust"]
    assert number.study.central()["magnet.field"] == 0.6


def test_a_setting_is_exact_from_then_on():
    study = solve(read_study("studies/bench.toml"), {"magnet.field": "0.6 T"}).study
    assert "magnet.field" not in {row.address for row in study.space.rows}
    assert any("magnetic field" in note for note in study.notes)


def test_no_settings_leave_the_study_alone(plain):
    assert solve(plain).quantities["thrust"] == solve(plain, {}).quantities["thrust"]


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({"magnet.feild": 0.5}, "magnet.field"),
        ({"magnet.field": "0.5 V"}, "magnet.field"),
        ({"magnet.field": -0.5}, "magnet.field"),
        ({"magnet.field": math.nan}, "magnet.field"),
        ({"electrodes.rear.length": 0.01}, "rear"),
        ({"gas.fuel": "etanol"}, "ethanol"),
    ],
)
def test_a_wrong_setting_is_refused_with_a_sentence(plain, settings, words):
    with pytest.raises((StudyError, LookupError), match=words) as caught:
        solve(plain, settings)
    assert str(caught.value).count("\n") <= 1


def test_a_gas_outside_the_species_data_is_refused_with_a_sentence(plain):
    with pytest.raises(StudyError, match="the gas can't be modelled"):
        solve(plain, {"gas.mixture_ratio": 60.0})


def test_a_choked_point_carries_no_number(plain):
    point = solve(plain, {"channel.gap_out": "10 mm", "channel.friction_coefficient": 0.03})
    assert point.status == "choked"
    assert point.profile is None
    assert all(math.isnan(value) for value in point.quantities.values())
    assert point.warnings == {}


def test_a_point_out_of_contact_is_a_valid_one(plain):
    point = solve(plain, {"electrodes.main.source.voltage": "10 V"})
    assert point.status == "no_contact"
    assert not point.contact("main")
    assert point.quantities["thrust_gain"] == 0.0
    assert point.quantities["current"] == pytest.approx(0.01 * point.quantities["terminal_voltage"])
    assert point.profile is not None
    assert (point.profile["current_density"] == 0.0).all()
    assert solve(plain).contact("main")


def test_a_point_says_its_warnings_in_sentences(plain):
    point = solve(plain, {"gas.seed_water": 0.5, "electrodes.main.arc_voltage": "20 V"})
    assert {"constricted", "seed not soluble in the water given"} <= set(point.warnings)
    assert all(sentence.endswith(".") for sentence in point.warnings.values())
    assert "constricted" not in solve(plain).warnings


def test_progress_is_told_while_a_table_is_built(plain, tmp_path, monkeypatch):
    monkeypatch.setenv("MHDSTAGE_CACHE", str(tmp_path / "cache"))
    told = []
    solve(plain, progress=lambda done, total: told.append((done, total)))
    assert told
    assert told[-1][0] == told[-1][1]
    told.clear()
    solve(plain, progress=lambda done, total: told.append((done, total)))
    assert told == []  # the table came from the cache
