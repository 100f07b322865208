"""Magnet blocks that warm during a firing: by hand, what they lose, and the warning."""

import pytest
from study.texts import study_named

from explorer.questions.solve.point import solve
from explorer.studyfile import StudyError


@pytest.fixture
def warming(tmp_path):
    return study_named("warming", tmp_path)


def test_blocks_warm_by_heat_over_mass_and_heat_capacity(warming):
    """By hand: 2 · 7500 kg/m³ · 70 · 40 · 30 mm³ = 1.26 kg; 1 kW · 5 s/(1.26 kg · 440 J/(kg K)) = 9.02 K."""
    assert solve(warming).quantities["final_magnet_temperature"] == pytest.approx(313.15 + 9.019, abs=0.002)


def test_warm_blocks_have_the_field_of_blocks_as_warm(warming, tmp_path):
    """0.12 % a kelvin, makers' data: 9.02 K take 1.08 % of the remanence at 20 °C."""
    cold = solve(study_named("blocks", tmp_path)).quantities
    warm = solve(warming).quantities
    assert warm["field"] / cold["field"] == pytest.approx(
        1.0 - 0.0012 * 9.019 / (1.0 - 0.0012 * 20.0), rel=1e-5
    )
    as_warm = study_named("blocks", tmp_path).replaced({"magnet.blocks.temperature": "322.169 K"})
    assert solve(as_warm).quantities["thrust_gain"] == pytest.approx(warm["thrust_gain"], rel=1e-5)


def test_a_grade_beyond_its_limit_is_warned_of(warming):
    graded = warming.replaced({"magnet.blocks.grade": "N42"})
    assert not any("grade" in title for title in solve(graded).warnings)
    hot = graded.replaced({"gas.burn_time": "30 s"})
    assert any("grade" in title for title in solve(hot).warnings)


def test_how_long_must_be_stated_and_magnets_must_stay_magnets(warming, tmp_path):
    with pytest.raises(StudyError, match=r"gas\.burn_time"):
        study_named("blocks", tmp_path).replaced({"magnet.blocks.heat_leak": "1 kW"})
    with pytest.raises(StudyError, match="cease to be any"):
        warming.replaced({"gas.burn_time": "200 s"})
    with pytest.raises(StudyError, match="heat_leak is not stated"):
        study_named("blocks", tmp_path).replaced({"magnet.blocks.heat_capacity": "400 J/(kg K)"})
