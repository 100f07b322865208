"""Weights with a Pareto tail.

Source: closed forms. Weights w = u^(-k) of uniform u have a tail of shape k; a normal sample weighed into one of
another mean has a known mean.
"""

import numpy as np
import pytest

from explorer.analysis.calibration.importance import smoothed_weights


@pytest.mark.parametrize("shape", [0.3, 0.6, 1.0])
def test_the_shape_of_a_known_tail_is_found(shape: float) -> None:
    logs = -shape * np.log(np.random.default_rng(3).random(50_000))
    assert smoothed_weights(logs).shape == pytest.approx(shape, abs=0.15)


def test_a_sample_is_weighed_into_its_neighbour() -> None:
    x = np.random.default_rng(4).standard_normal(20_000)
    weights, shape = smoothed_weights(0.5 * x)
    assert shape < 0.5
    assert weights @ x == pytest.approx(0.5, abs=0.03)


def test_weights_that_hang_on_few_points_are_not_trusted() -> None:
    x = np.random.default_rng(5).standard_normal(4000)
    assert smoothed_weights(4.0 * x + 3.0 * x**2).shape > 0.7
