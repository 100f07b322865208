"""Errors integrated in closed form against the dense normal density (scipy.stats), and drawn against its moments."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from explorer.analysis.calibration.linear_errors import drawn_errors, integrated, integrated_in_blocks

RNG = np.random.default_rng(7)
DEVIATION = RNG.standard_normal((5, 4))
EFFECTS = RNG.standard_normal((5, 4, 3))
VARIANCE = RNG.uniform(0.1, 0.5, (5, 4))


def test_the_density_with_errors_integrated_is_that_of_their_common_covariance() -> None:
    dense = [
        multivariate_normal.logpdf(d, cov=b @ b.T + np.diag(v))
        for d, b, v in zip(DEVIATION, EFFECTS, VARIANCE, strict=True)
    ]
    assert integrated(DEVIATION, EFFECTS, VARIANCE, np.ones(4)) == pytest.approx(np.array(dense))


def test_a_power_of_the_density_is_integrated_as_quadrature_does() -> None:
    powers = np.array([0.3, 1.0])
    effects, deviation, variance = np.array([[[0.7], [-1.2]]]), np.array([[0.4, 0.9]]), np.array([[0.2, 0.5]])
    e = np.linspace(-10.0, 10.0, 20001)
    logs = norm.logpdf(e)
    for r in range(2):
        logs = logs + powers[r] * norm.logpdf(deviation[0, r], effects[0, r, 0] * e, np.sqrt(variance[0, r]))
    exact = np.log(np.trapezoid(np.exp(logs), e))
    assert integrated(deviation, effects, variance, powers)[0] == pytest.approx(exact, rel=1e-8)


def test_errors_drawn_have_the_mean_and_covariance_of_the_closed_form() -> None:
    many = 40_000
    alike = [np.repeat(own[:1], many, axis=0) for own in (DEVIATION, EFFECTS, VARIANCE)]
    found = drawn_errors(*alike, np.ones(4), np.random.default_rng(1))
    b, v = EFFECTS[0], VARIANCE[0]
    covariance = np.linalg.inv(np.eye(3) + b.T @ np.diag(1 / v) @ b)
    assert found.mean(axis=0) == pytest.approx(covariance @ b.T @ (DEVIATION[0] / v), abs=0.02)
    assert np.cov(found, rowvar=False) == pytest.approx(covariance, abs=0.02)


def test_errors_of_blocks_of_their_own_are_integrated_as_those_of_all_are() -> None:
    own = RNG.standard_normal((5, 4, 2))
    blocks = [slice(0, 1), slice(1, 4)]
    apart = np.zeros((5, 4, 4))
    apart[:, :1, :2], apart[:, 1:, 2:] = own[:, :1], own[:, 1:]
    every = np.concatenate([EFFECTS, apart], axis=2)
    powers = np.array([1.0, 0.3, 0.3, 0.3])
    dense = integrated(DEVIATION, every, VARIANCE, powers)
    assert integrated_in_blocks(DEVIATION, EFFECTS, own, VARIANCE, powers, blocks) == pytest.approx(dense)
