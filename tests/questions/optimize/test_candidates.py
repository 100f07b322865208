"""Designs times scenarios: what is varied is set, what is uncertain about it moves with it, the rest stays."""

from pathlib import Path

import numpy as np
import pytest

from explorer import parse_study, sampling, solve_many
from explorer.questions.optimize.search.candidates import CENTRAL, Candidates, Scenarios
from explorer.questions.optimize.search.study_designs import study_designs
from explorer.studyfile import StudyError, Varied

STUDIES = Path(__file__).parents[2] / "studies"
BENCH = (STUDIES / "bench.toml").read_text(encoding="utf-8").partition("[vary]")[0]

BLOCKS = """
[magnet.blocks]
grade = "N42"
length = "80 mm"
height = "40 mm"
thickness = "30 mm"
spacing = "20 mm"
"""


def with_blocks():
    """The bench with a magnet of blocks, and without measurements, one of which pins the field."""
    stage = BENCH.partition("# What reads the firing")[0]
    head, _, tail = stage.partition('field = { value = "0.48 T", unknown = "0.015 T", scatter = "0.01 T" }')
    return head.replace("[magnet]", BLOCKS) + tail


def candidates(text, quantities=("thrust_gain",)):
    study = parse_study(text)
    return study, study_designs(study, study.vary, quantities, jobs=2)


def scenarios(found, points=256, number=1):
    plan = sampling.sample_plan(
        number, found.dimension, points, purpose=sampling.Purpose.OPTIMISATION, scrambles=1
    )
    return Scenarios(f"{points} of {number}", plan.points(0, 0))


def test_a_design_at_central_values_is_the_study_solved_there():
    study, found = candidates(BENCH + '[vary]\n"magnet.field" = "0.3 .. 0.6 T"\n', ("thrust_gain", "current"))
    designs = np.array([[0.35], [0.55]])
    given = found.evaluate(designs, CENTRAL)
    direct = solve_many(study, {"magnet.field": designs[:, 0]}, quantities=("thrust_gain", "current"))
    for quantity in ("thrust_gain", "current"):
        np.testing.assert_allclose(given.quantities[quantity][:, 0], direct[quantity], rtol=1e-4)


@pytest.mark.parametrize(
    "written, spread",
    [('"0.48 ± 0.02 T"', lambda to: 0.02), ('"0.48 T ± 4 %"', lambda to: 0.04 * to)],
    ids=["absolute", "relative"],
)
def test_what_is_uncertain_about_a_varied_value_moves_with_it_as_written(written, spread):
    """The mean field along the pair is the varied field itself, its model error (2 %, assumed) switched off."""
    text = BENCH.replace('{ value = "0.48 T", unknown = "0.015 T", scatter = "0.01 T" }', written)
    text = text.replace("[model_error]", '[model_error]\nfield = "1e-9 %"')
    _, found = candidates(text + '[vary]\n"magnet.field" = "0.3 .. 0.6 T"\n', ("field",))
    given = found.evaluate(np.array([[0.36], [0.54]]), scenarios(found, 1024)).quantities["field"]
    np.testing.assert_allclose(given.mean(axis=1), [0.36, 0.54], rtol=1e-3)
    np.testing.assert_allclose(given.std(axis=1), [spread(0.36), spread(0.54)], rtol=0.02)


def test_designs_of_a_batch_share_their_scenarios():
    """Two designs that are one and the same differ nowhere, and other scenarios give other numbers."""
    _, found = candidates(BENCH + '[vary]\n"magnet.field" = "0.3 .. 0.6 T"\n')
    twice = np.array([[0.5], [0.5]])
    one = found.evaluate(twice, scenarios(found)).quantities["thrust_gain"]
    assert np.array_equal(one[0], one[1])
    other = found.evaluate(twice, scenarios(found, number=2)).quantities["thrust_gain"]
    assert not np.array_equal(one[0], other[0])


def test_a_grade_of_magnets_brings_its_own_remanence():
    """Makers' ranges (in physics/magnet.py): N52 is 1.42 to 1.48 T and N42 1.28 to 1.33 T, 11.1 % apart."""
    one_length = with_blocks().replace(
        'end_spread = "0 .. 1"', "end_spread = 0"
    )  # over which the field is a mean
    text = one_length + '[vary]\n"magnet.blocks.grade" = ["N42", "N52"]\n'
    _, found = candidates(text, ("field",))
    assert found.entries == (("N42", "N52"),)
    weak, strong = found.evaluate(np.array([[0.0], [1.0]]), CENTRAL).quantities["field"][:, 0]
    assert strong / weak == pytest.approx(1.45 / 1.305, rel=1e-6)


def test_blocks_without_a_place_stay_in_the_middle_of_a_channel_of_another_length():
    text = with_blocks()
    study, found = candidates(text + '[vary]\n"channel.length" = "90 .. 130 mm"\n', ("field",))
    here = found.evaluate(np.array([[0.13]]), CENTRAL).quantities["field"][0, 0]
    there = solve_many(
        study, {"channel.length": [0.13], "magnet.blocks.position": [0.065]}, quantities=("field",)
    )
    assert here == pytest.approx(float(there["field"].iloc[0]), rel=1e-6)
    kept = solve_many(
        study, {"channel.length": [0.13], "magnet.blocks.position": [0.045]}, quantities=("field",)
    )
    assert here != pytest.approx(float(kept["field"].iloc[0]), rel=1e-3)


def test_numbers_in_stock_are_sorted_and_found_again():
    _, found = candidates(BENCH + '[vary]\n"electrodes.main.source.voltage" = ["200 V", "100 V", "150 V"]\n')
    assert found.entries == ((100.0, 150.0, 200.0),)
    assert found.setting(np.array([2.0])) == {"electrodes.main.source.voltage": 200.0}


def test_too_many_combinations_of_words_are_refused(monkeypatch):
    monkeypatch.setattr("explorer.questions.optimize.search.study_designs._MOST_VARIANTS", 3)
    words = """[vary]
"gas.fuel" = ["ethanol", "methanol"]
"electrodes.main.layout" = ["continuous", "segmented"]
"""
    with pytest.raises(StudyError, match="4 combinations, more than 3"):
        candidates(BENCH + words)


def test_roundings_stay_within_the_ranges_and_keep_their_ends():
    space = Candidates(None, (Varied("a", 0.020123456, 0.040123456), Varied("b", 1.0, 2.0)), 0, _nothing)
    found = space.roundings(np.array([0.040123456, 1.23456]), 4)
    assert {tuple(row) for row in found} == {
        *((0.04012, 1.234), (0.04012, 1.235), (0.040123456, 1.234), (0.040123456, 1.235))
    }
    many = Candidates(None, tuple(Varied(name, 1.0, 2.0) for name in "abcdefgh"), 0, _nothing)
    assert len(many.roundings(np.full(8, 1.23456), 4)) == 9


def _nothing(_settings, _scenarios):
    raise NotImplementedError
