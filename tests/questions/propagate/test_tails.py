"""Figures that hang on rare points are said to: heavy tails, and one point that carries most."""

import numpy as np
import pytest
from scipy import stats

from explorer import propagate, rank
from explorer.analysis.statistics import tail
from explorer.questions.propagate.words import tail_words

ONE = {"a": "0 ± 1"}


def test_the_rarest_in_a_thousand_of_a_lognormal_carry_their_closed_form() -> None:
    # E[X²; X > q]/E[X²] = Φ(2s − z), z the 99.9 % point (partial moments of a lognormal, textbook); about the mean.
    s, rng = 1.0, np.random.default_rng(1)
    z = stats.norm.ppf(0.999)
    mean, square = np.exp(s**2 / 2), np.exp(2 * s**2)
    above = square * stats.norm.cdf(2 * s - z) - 2 * mean * mean * stats.norm.cdf(s - z) + mean**2 * 1e-3
    found = tail(np.exp(s * rng.standard_normal(4_000_000)))
    assert found.rarest == pytest.approx(above / (square - mean**2), rel=0.05)


def test_a_normal_and_a_uniform_output_are_not_flagged_and_a_lognormal_is() -> None:
    for inputs in (ONE, {"a": "1 .. 2"}):
        assert propagate(lambda v: {"y": v["a"]}, inputs, rng=1, samples=8192).tails == {}
    found = propagate(lambda v: {"y": np.exp(1.5 * v["a"])}, ONE, rng=1, samples=65_536)
    assert "has a heavy tail" in tail_words("y", found.tails["y"]) or found.tails["y"].tail.one_alone


def test_a_tail_is_flagged_where_its_uncertainty_is_no_longer_told() -> None:
    # Of a lognormal of log sd 1 the intervals of the standard uncertainty hold it 17 times in 20, of 0.5 nearly 19.
    both = dict.fromkeys("ab", "0 ± 1")
    for spread, heavy in ((0.5, False), (1.0, True)):

        def lognormal(v, spread=spread):
            return {"y": np.exp(spread * (0.8 * v["a"] + 0.6 * v["b"]))}

        assert ("y" in propagate(lognormal, both, rng=1, samples=65_536).tails) is heavy


def test_one_point_that_carries_most_is_named_with_its_inputs() -> None:
    def spike(v):
        return {"y": v["b"] + np.where(v["a"] == v["a"].max(), 1e4, 0.0) * (v["a"] > 3.7)}

    found = propagate(spike, {**ONE, "b": "0 ± 1"}, rng=1, samples=65_536)
    rare = found.tails["y"]
    assert rare.tail.one_alone
    assert next(iter(rare.inputs)) == "a"
    assert rare.inputs["a"] > 3.7
    said = tail_words("y", rare)
    assert said.startswith("One point in 65536 carries")
    assert "conclude anything: a " in said


def test_rank_says_that_its_shares_hang_on_rare_points() -> None:
    inputs = {**ONE, "b": "0 ± 1"}
    options = {"target": "y", "rng": 1, "base": 4096, "test_guesses": False}
    assert rank(lambda v: {"y": np.exp(2.0 * v["a"]) + v["b"]}, inputs, **options).tail.heavy
    assert not rank(lambda v: {"y": v["a"] + v["b"]}, inputs, **options).tail.heavy
