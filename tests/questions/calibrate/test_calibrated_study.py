"""A study after firings: what was learnt is drawn by later commands, correlations and all.

Source: closed forms of a linear model with normal errors.
"""

import shutil
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import explorer
from explorer.questions.calibrate.calibrate import calibrate
from explorer.questions.calibrate.updated_study import write_updated
from explorer.questions.optimize.search.study_designs import study_designs
from explorer.questions.scale.path.path import path_between
from explorer.store import Column, JointSample, JointSampleError, read_joint_sample, write_joint_sample
from explorer.study.joint import joint_of
from explorer.studyfile import Rig, StudyError, read_study
from explorer.studyfile.sections.search import varied_inputs

STUDIES = Path(__file__).parents[2] / "studies"
DROP, FIELD = "electrodes.main.voltage_drop", "magnet.field"
OHM = "electrodes.main.source.resistance"


class Outputs(dict[str, np.ndarray]):
    """What a stage gives; zero for all that isn't looked at here."""

    def __missing__(self, _: str) -> np.ndarray:
        return np.zeros(1)


def current(values: Mapping[str, np.ndarray]) -> Outputs:
    """A current that falls with the drop and with the field, which firings can't tell apart."""
    beyond = values["electrodes.main.source.voltage"] - values[DROP] - 100.0 * values[FIELD]
    return Outputs(current=0.1 * beyond, contact=0.1 * beyond, thrust_gain=0.001 * values[DROP])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("studies")
    shutil.copy(STUDIES / "bench.toml", place)
    study = read_study(place / "bench.toml").calculated_by(current)
    firings = [
        {
            "name": f"{v} V",
            "settings": {"electrodes.main.source.voltage": float(v)},
            "readings": {"current": (i, 0.05)},
        }
        for v, i in ((100, 4.4), (150, 9.5))
    ]
    found = calibrate(study, None, firings, rng=1, explain=False, model_error=None)
    write_updated(found, place / "bench-calibrated.toml")
    return place


def after(folder: Path) -> explorer.Study:
    return read_study(folder / "bench-calibrated.toml").calculated_by(current)


def test_the_updated_study_names_the_original_and_its_firings(folder: Path) -> None:
    study = after(folder)
    assert study.calibrated is not None
    assert study.calibrated.firings == ("100 V", "150 V")
    assert 'like = "bench.toml"' in (folder / "bench-calibrated.toml").read_text()
    assert {DROP, FIELD} <= set(study.calibrated.learnt)
    assert not study.notes


def test_a_study_that_is_like_another_or_was_set_otherwise_is_updated_whole(tmp_path: Path) -> None:
    shutil.copy(STUDIES / "bench.toml", tmp_path)
    (tmp_path / "warm.toml").write_text('like = "bench.toml"\ntitle = "Warm"\n[channel]\nlength = "95 mm"\n')
    firing = {"settings": {"electrodes.main.source.voltage": 100.0}, "readings": {"current": (4.4, 0.05)}}
    for name, replaced in (("warm", {}), ("bench", {"channel.length": "95 mm"})):
        study = read_study(tmp_path / f"{name}.toml", replaced).calculated_by(current)
        found = calibrate(study, None, [firing], rng=1, explain=False, model_error=None, particles=500)
        write_updated(found, tmp_path / "after.toml")
        updated = read_study(tmp_path / "after.toml")
        assert updated.calibrated is not None
        assert DROP in updated.calibrated.learnt
        assert updated.exact["channel.length"] == pytest.approx(0.095)
        assert updated.title.endswith("after 1 firings")


def test_what_was_learnt_is_drawn_with_its_correlation(folder: Path) -> None:
    sample = read_joint_sample(folder / "bench-calibrated.npz")
    names = [column.name for column in sample.columns]
    pair = sample.draws[:, [names.index(DROP), names.index(FIELD)]]
    study = after(folder)
    drawn = study.space.values(np.random.default_rng(1).random((20_000, study.space.dimension)))
    # the field's own scatter is drawn anew, on top of what is known of it
    assert np.std(drawn[DROP]) == pytest.approx(pair[:, 0].std(), rel=0.03)
    assert np.std(drawn[FIELD]) == pytest.approx(np.hypot(pair[:, 1].std(), 0.01), rel=0.03)
    expected = np.cov(pair, rowvar=False)[0, 1] / np.prod([np.std(drawn[a]) for a in (DROP, FIELD)])
    assert np.corrcoef(drawn[DROP], drawn[FIELD])[0, 1] == pytest.approx(expected, abs=0.04)
    assert expected < -0.2


def test_propagate_predicts_from_the_posterior_as_its_closed_form_does(folder: Path) -> None:
    """What the firings measure is known after them to their errors over the root of their number."""
    found = explorer.propagate(after(folder), quantities=["contact"], samples=16_384).quantities.loc[
        "contact"
    ]
    noise, scatter, supply = 0.05, 0.1, 0.2
    prior = 0.1 * np.hypot((15.0 - 2.0) / np.sqrt(12.0), 1.5)
    learnt = (1.0 / prior**2 + 2.0 / (noise**2 + scatter**2)) ** -0.5
    exact = np.sqrt(learnt**2 + scatter**2 + supply**2)
    assert found["standard_uncertainty"] == pytest.approx(exact, rel=0.03)


def test_rank_takes_a_calibrated_study(folder: Path) -> None:
    found = explorer.rank(after(folder), base=1024, test_guesses=False)
    assert found.shares.how == "correlated"
    assert {DROP, FIELD} <= {row.address for row in found.rows[:3]}


def test_a_value_that_is_set_is_no_longer_drawn_from_the_sample(folder: Path) -> None:
    study = after(folder).replaced({FIELD: "0.5 T"})
    assert study.calibrated is not None
    assert FIELD not in study.calibrated.learnt
    assert DROP in study.calibrated.learnt


def test_an_input_that_is_stated_otherwise_keeps_its_own_value_with_a_note(folder: Path) -> None:
    study = read_study(folder / "bench-calibrated.toml", {DROP: "5 ± 1 V"})
    assert any("voltage_drop is left out" in note for note in study.notes)
    assert study.space.central()[DROP] == pytest.approx(5.0)


def test_another_stage_takes_what_carries_a_shared_name(folder: Path) -> None:
    text = (
        STUDIES / "sounding.toml"
    ).read_text() + '\n[calibrated]\nsample = "bench-calibrated.npz"\ntakes = "shared"\n'
    (folder / "flight.toml").write_text(text)
    study = read_study(folder / "flight.toml")
    assert study.calibrated is not None
    assert set(study.calibrated.learnt) == {"gas.conductivity_factor"}
    assert not study.calibrated.model_errors


@pytest.mark.parametrize(
    ("written", "said"),
    [('sample = "none.npz"', "no such file"), ('sample = "bench.toml"', "no joint sample")],
)
def test_a_sample_that_is_none_is_refused_in_one_sentence(folder: Path, written: str, said: str) -> None:
    (folder / "wrong.toml").write_text(f'like = "bench.toml"\n[calibrated]\n{written}\n')
    with pytest.raises(StudyError, match=said):
        read_study(folder / "wrong.toml")


def test_a_file_of_pickles_is_not_loaded(tmp_path: Path) -> None:
    np.savez(tmp_path / "bad.npz", header=np.array({"a": 1}, dtype=object), draws=np.zeros((2, 2)))
    with pytest.raises(JointSampleError, match="no joint sample"):
        read_joint_sample(tmp_path / "bad.npz")


def test_the_copula_keeps_a_bent_dependence_in_part_only(folder: Path) -> None:
    """What is lost, measured: along a parabola the draws' field follows the square of the drop, not the study's."""
    priors = {item.address: repr(item.unknown) for item in read_study(folder / "bench.toml").space.inputs}
    a = np.random.default_rng(2).standard_normal(4000)
    draws = np.column_stack([8.0 + a, 0.48 + 0.01 * a**2])
    columns = tuple(Column("input", address, prior=priors[address]) for address in (DROP, FIELD))
    write_joint_sample(folder / "bent.npz", JointSample(columns, draws, "bent", "", ("one",)))
    (folder / "bent.toml").write_text('like = "bench.toml"\n[calibrated]\nsample = "bent.npz"\n')
    study = read_study(folder / "bent.toml")
    cube = np.random.default_rng(3).random((20_000, study.space.dimension))
    cube[:, study.space.row_number(FIELD, "scatter")] = 0.5
    drawn = study.space.values(cube)
    square = (drawn[DROP] - 8.0) ** 2
    assert np.corrcoef((draws[:, 0] - 8.0) ** 2, draws[:, 1])[0, 1] == pytest.approx(1.0)
    assert abs(np.corrcoef(square, drawn[FIELD])[0, 1]) < 0.1
    assert np.std(drawn[FIELD]) == pytest.approx(draws[:, 1].std(), rel=0.03)  # each by itself stays right


def test_what_was_learnt_of_a_shared_quantity_holds_in_the_other_study_too(folder: Path) -> None:
    """Plain logic: what is shared is one quantity, so that one law of it holds in both."""
    calibrated = folder / "bench-calibrated.toml"
    other = folder / "other.toml"
    other.write_text((STUDIES / "sounding.toml").read_text(encoding="utf-8"), encoding="utf-8")
    joint = joint_of([read_study(calibrated), read_study(other)], [["thrust_gain"]] * 2)
    assert joint.sides[1].terms["gas.conductivity_factor"][0] == "shared water cross section"
    learnt = next(i for i in read_study(calibrated).space.inputs if i.address == "gas.conductivity_factor")
    drawn = next(i for i in joint.space.inputs if i.address == "shared water cross section")
    assert drawn.unknown == learnt.unknown


def test_one_hardware_of_which_one_study_alone_takes_what_was_learnt_is_refused(folder: Path) -> None:
    calibrated = folder / "bench-calibrated.toml"
    with pytest.raises(StudyError, match="one hardware, and only the first takes what firings taught"):
        joint_of([read_study(calibrated), read_study(folder / "bench.toml")], [["thrust_gain"]] * 2)


def test_a_way_to_a_larger_stage_starts_from_what_is_written_and_takes_what_is_shared(folder: Path) -> None:
    """Plain logic: what firings taught of one rig's parts moves no drawing, and holds for no other rig."""
    calibrated = read_study(folder / "bench-calibrated.toml")
    larger = calibrated.replaced({"channel.gap_in": "22 mm", "channel.gap_out": "25 mm"})
    path = path_between(calibrated, replace(larger, rig=Rig()), 3)
    assert path.ways[DROP] == path.ways[FIELD] == "alike"
    assert path.left_out == {}
    for step in path.steps:
        assert step.study.calibrated is not None
        assert step.study.calibrated.learnt == ("gas.conductivity_factor",)


def test_a_search_begins_at_what_is_written(folder: Path) -> None:
    study = read_study(folder / "bench-calibrated.toml")
    assert (
        study.as_written()[FIELD]
        == read_study(folder / "bench.toml").central()[FIELD]
        != study.central()[FIELD]
    )
    candidates = study_designs(
        study, varied_inputs({FIELD: "0.3 .. 0.6 T"}, study.pairs), ["thrust_gain"], jobs=1
    )
    assert candidates.now == {FIELD: study.as_written()[FIELD]}
