"""Callables held against each other, by closed forms: a what-if, another rig, what is shared, bad input."""

import numpy as np
import pytest
from study.texts import PLAIN

from explorer import ModelComparison, StudyError, compare, parse_study

INPUTS = {"u": "300 ± 30 m/s", "B": {"value": "0.5 T", "unknown": "0.05 T", "scatter": "0.02 T"}}


def linear(v):
    return {"voltage": 2.0 * v["u"] + 100.0 * v["B"], "other": v["u"]}


def close(found: ModelComparison, spread: float, mean: float, name: str | None = None) -> None:
    own = found.less_first[name or found.names[1]]["voltage"]
    assert float(own.mean) == pytest.approx(mean, abs=5 * own.mean.error + 1e-9)
    assert float(own.standard_uncertainty) == pytest.approx(
        spread, abs=5 * own.standard_uncertainty.error + 1e-9
    )


def test_two_callables_of_one_thing_differ_by_what_they_compute() -> None:
    # (2.2 − 2) u, all else the same: 0.2 · 300 ± 0.2 · 30.
    def steeper(v):
        return {"voltage": 2.2 * v["u"] + 100.0 * v["B"]}

    found = compare([linear, steeper], INPUTS, rng=1)
    assert found.names == ("linear", "steeper")
    close(found, 6.0, 60.0)
    told = found.differences.loc["voltage", "steeper"]
    assert told["verdict"] == "larger"
    assert found.quantities.loc["voltage", ("linear", "mean")] == pytest.approx(650.0, rel=1e-3)
    assert "larger" in repr(found)
    assert list(found.differences.index) == ["voltage"]  # what only one gives has no difference


def test_a_change_of_one_callable_leaves_what_it_does_not_name_the_same() -> None:
    # B is stated anew: its own, 0.6 ± 0.01; u drops out.
    found = compare([linear, linear], [INPUTS, {"B": "0.6 ± 0.01 T"}], rng=1)
    assert found.names == ("model 1", "model 2")
    close(found, 100.0 * np.sqrt(0.05**2 + 0.02**2 + 0.01**2), 10.0)
    exact = compare([linear, linear], [INPUTS, {"u": "310 m/s"}], rng=1)
    close(exact, 60.0, 20.0)
    # Another rig has nothing in common but what is shared.
    apart = compare([linear, linear], [INPUTS, {"B": "0.6 ± 0.01 T"}], rig="another", rng=1)
    close(apart, np.hypot(100.0 * np.sqrt(0.05**2 + 0.02**2 + 0.01**2), 60.0 * np.sqrt(2)), 10.0)
    shared = {**INPUTS, "u": {"value": "300 m/s", "unknown": "30 m/s", "shared": "probe"}}
    again = compare([linear, linear], [shared, {"B": "0.6 ± 0.01 T"}], rig="another", rng=1)
    close(again, 100.0 * np.sqrt(0.05**2 + 0.02**2 + 0.01**2), 10.0)


def test_points_without_numbers_are_counted() -> None:
    def failing(v):
        return {"voltage": np.where(v["u"] > 330.0, np.nan, linear(v)["voltage"])}

    found = compare([linear, failing], INPUTS, rng=1)
    assert found.figures["failing"]["voltage"].missing == pytest.approx(0.1587, abs=0.01)  # Φ(−1)


@pytest.mark.parametrize(
    ("arguments", "options", "message"),
    [
        (([linear, linear],), {}, "callables need `inputs`"),
        (([linear],), {"inputs": INPUTS}, "two studies or more; got 1"),
        ((linear,), {"inputs": INPUTS}, "takes a list of studies, or of callables; got a function"),
        (([linear, parse_study(PLAIN)],), {"inputs": INPUTS}, "give a study its callable"),
        (([parse_study(PLAIN)] * 2,), {"inputs": INPUTS}, "studies have their own inputs and rigs"),
        (([linear, linear], [INPUTS]), {}, "1 mappings of inputs for 2 callables"),
        (([linear, linear], INPUTS), {"quantities": ["voltge"]}, 'did you mean "voltage"'),
        (([linear, linear], INPUTS), {"rig": "a twin"}, 'rig must be "same" or "another"'),
        (([linear, linear], {"u": 1.0, "B": 2.0}), {}, "nothing is uncertain"),
        (([linear, lambda v: {"current": v["u"]}], INPUTS), {}, "nothing by the same name"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(arguments, options, message: str) -> None:
    with pytest.raises(StudyError, match=message):
        compare(*arguments, **options)
