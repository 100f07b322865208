"""Two inputs with one shared name within a study: one draw everywhere, by hand."""

import numpy as np
import pytest
from questions.optimize.known_designs import FACTOR, WALL, known
from study.known_models import NO_MODEL_ERROR, study_of

from explorer import StudyError, compare, propagate, rank, solve
from explorer.space import CorrelationError, InputSpace, Normal, Row, SharedError, Uncertain
from explorer.space.cube import Correlation
from explorer.studyfile import Measurement, ReadingUncertainty
from explorer.studyfile.sections.instruments import Amount

LAG = "gas.nozzle_lag"
PROBE = {"value": 0.8, "unknown": 0.02, "shared": "probe"}
TWICE = {FACTOR: PROBE, LAG: PROBE, WALL: "800 ± 10 K"}


def test_a_space_has_one_row_for_one_thing_and_one_for_each_scatter() -> None:
    one = Uncertain("a", Normal(1.0, 0.1), Normal(1.0, 0.01), shared="gauge")
    space = InputSpace(
        (one, Uncertain("b", Normal(1.0, 0.1), shared="gauge"), Uncertain("c", Normal(0.0, 1.0)))
    )
    assert space.rows == (
        Row("a", "unknown", "gauge", "shared gauge"),
        Row("a", "scatter"),
        Row("c", "unknown"),
    )
    assert [space.row_number(name, "unknown") for name in "abc"] == [0, 0, 2]
    assert space.one_with("b") == ("a", "b")
    np.testing.assert_allclose(space.standard_uncertainties(), [0.1, 0.01, 1.0])
    values = space.values(np.array([[0.9, 0.5, 0.2]]))
    np.testing.assert_allclose(values["a"], values["b"], rtol=1e-12)
    with pytest.raises(SharedError, match=r'"gauge" is stated differently \(a and d\)'):
        InputSpace((one, Uncertain("d", Normal(1.0, 0.2), shared="gauge")))
    with pytest.raises(CorrelationError, match="one shared thing"):
        InputSpace(space.inputs, (Correlation(("a", "b"), 0.5),))


@pytest.mark.parametrize(("sign", "spread"), [(-1.0, 0.1), (1.0, np.hypot(0.04, 0.1))])
def test_the_same_thing_twice_cancels_or_adds_up(monkeypatch, sign: float, spread: float) -> None:
    # a ± b + T/100 with a = b: the squares of 0 or 2 · 0.02, and of 0.1.
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] + sign * v[LAG] + 0.01 * v[WALL]})
    study = study_of(TWICE)
    found = propagate(study, rng=1, samples=4096)
    own = found.figures["thrust_gain"]
    assert own.spread == pytest.approx(spread, rel=5e-3)
    law = found.first_order.laws["thrust_gain"]
    assert law.standard_uncertainty == pytest.approx(spread, rel=1e-9)
    apart = propagate(study_of({**TWICE, LAG: {**PROBE, "shared": "another"}}), rng=1, samples=4096)
    assert apart.figures["thrust_gain"].spread == pytest.approx(
        np.sqrt(2 * 0.02**2 + 0.1**2), rel=5e-3
    )  # must differ
    beside = compare([study, study_of(TWICE)], samples=4096)
    told = beside.quantities.loc["thrust_gain", beside.names[0]]
    assert told["standard_uncertainty"] == pytest.approx(spread, rel=1e-2)


def test_in_a_ranking_it_is_one_row_and_a_reading_of_either_name_tells_it(monkeypatch) -> None:
    # Two names, 2 · 0.02 together; a reading with u = 0.02 of one of them halves the variance: left is
    # √(0.04²/2 + 0.01²), linear-Gaussian.
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] + v[LAG] + 0.001 * v[WALL]})
    gauge = Measurement("gauge", 1.0, pins={LAG: ReadingUncertainty(Amount(0.02))})
    study = study_of(TWICE, f"\n{NO_MODEL_ERROR}")
    found = rank(study, base=2048, measurements=[gauge], rng=1)
    rows = [(row.address, row.part) for row in found.rows if row.part == "unknown"]
    assert rows == [(FACTOR, "unknown"), (WALL, "unknown")]
    assert found.rows[0].called == "shared probe"
    assert float(found.rows[0].first) == pytest.approx(0.04**2 / (0.04**2 + 0.01**2), abs=0.02)
    left = found.measurements["left"].iloc[0]
    assert left == pytest.approx(np.hypot(0.04 / np.sqrt(2), 0.01), rel=0.03)
    grouped = rank(study, base=512, groups={"probes": [LAG]}, measurements=[], rng=1)
    assert "probes" in grouped.inputs.index.get_level_values(0)


def test_stated_differently_it_is_refused_in_a_sentence() -> None:
    with pytest.raises(
        StudyError, match=r'"probe" is stated differently \(gas.conductivity_factor and gas.nozzle_lag\)'
    ):
        study_of({**TWICE, LAG: {**PROBE, "unknown": 0.03}})
    inputs = {"a": PROBE, "b": {**PROBE, "unknown": 0.03}}
    with pytest.raises(StudyError, match='"probe" is stated differently'):
        propagate(lambda v: {"y": v["a"] - v["b"]}, inputs, rng=1)


def test_two_pairs_with_one_drop_have_one_centre_and_one_draw() -> None:
    inputs = {**TWICE, FACTOR: {**PROBE, "value": 0.8}}
    study = study_of(inputs)
    central = study.central()
    assert central[FACTOR] == central[LAG] == 0.8
    assert solve(study).quantities["thrust_gain"] > 0.0
