"""A first look by elementary effects, through a study."""

import numpy as np
import pytest
from study.known_models import bench_text
from study.texts import PLAIN, of_one_mixture_ratio

from explorer.analysis.sensitivity import ConstantOutput
from explorer.questions.rank.first_look import first_look
from explorer.study.outcomes import TooManyFailures
from explorer.studyfile import StudyError, parse_study


def test_ambient_pressure_takes_its_force_on_the_exit_area_off_the_thrust() -> None:
    """Thrust = momentum flow + (exit pressure − ambient pressure) · exit area (any textbook on rocket propulsion)."""
    study = parse_study(of_one_mixture_ratio(bench_text())).replaced(
        {"ambient.pressure": "0.9 .. 1.0 bar", "channel.gap_out": "12.5 mm", "channel.gap_in": "11 mm"}
    )
    found = first_look(study, target="thrust_open_circuit", paths=20)
    row = found.table.loc[("ambient.pressure", "unknown")]
    force = 0.95 * 1e4 * 12.5e-3 * 10.5e-3 * 1.3  # the middle 95 % of the range, on the area
    assert row["mean"] == pytest.approx(-force, rel=0.03)  # the model's own error is a factor on it
    assert row["mean_size"] == pytest.approx(-row["mean"])
    assert row["spread"] < 0.1 * force
    assert (found.paths, found.lost, found.unit) == (20, 0, "N")


def test_paths_that_meet_a_failed_point_are_left_out_whole_and_counted() -> None:
    narrow = parse_study(of_one_mixture_ratio(bench_text())).replaced({"channel.gap_out": "7 mm"})
    found = first_look(narrow)
    failed = sum(count for status, count in found.points.items() if status not in ("ok", "no_contact"))
    assert failed > 0
    assert 0 < found.lost < 50
    assert found.paths + found.lost == 50
    assert np.isfinite(found.table[["mean_size", "mean", "spread"]].to_numpy()).all()


def test_the_same_number_gives_the_same_look_and_another_one_another() -> None:
    study = parse_study(bench_text())
    first, again, other = (first_look(study, rng=number, paths=10).table for number in (0, 0, 1))
    assert first.equals(again)
    assert not first.equals(other)


def test_what_gives_no_look_is_said() -> None:
    text = of_one_mixture_ratio(bench_text())
    tied = '\n[[correlation]]\nbetween = ["channel.gap_in", "channel.gap_out"]\nrank = 0.8\n'
    with pytest.raises(StudyError, match="no meaning where inputs depend on each other"):
        first_look(parse_study(text + tied))
    with pytest.raises(StudyError, match="nothing is uncertain"):
        first_look(parse_study(PLAIN))
    with pytest.raises(ConstantOutput):
        first_look(parse_study(text), target="max_hall_field")
    with pytest.raises(TooManyFailures, match="nothing was filled in"):
        first_look(parse_study(text).replaced({"channel.gap_out": "6 mm"}))
