"""Posteriors with known answers.

Source: closed forms and quadrature, worked out from first principles (evidence of the banana and of two modes).
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from analysis.calibration.problems import posterior, read_of

from explorer.analysis.calibration.experiments import Floats, Particles
from explorer.analysis.calibration.tempering import Impossible, systematic_draws


def test_a_linear_model_with_normal_noise_has_the_posterior_of_its_closed_form() -> None:
    h, noise, read = np.array([[1.0, 0.5, 0.0], [0.0, 1.0, 1.0]]), 0.3, [0.7, -0.4]
    found = posterior(read_of(lambda z: z @ h.T, read, noise, 3), 1).particles.common
    covariance = np.linalg.inv(np.eye(3) + h.T @ h / noise**2)
    mean = covariance @ h.T @ np.array(read) / noise**2
    assert found.mean(axis=0) == pytest.approx(mean, abs=4 * np.sqrt(covariance.max() / 4000))
    assert np.cov(found, rowvar=False) == pytest.approx(covariance, abs=0.04)


def test_the_evidence_of_a_linear_model_is_that_of_its_closed_form() -> None:
    # density of 0.5 under N(0, 1 + 0.2²), its noise normalised to a peak of 1
    exact = -0.5 * 0.25 / 1.04 - 0.5 * np.log(1.04 / 0.04)
    found = posterior(read_of(lambda z: z, [0.5], 0.2, 1), 2)
    assert found.log_evidence == pytest.approx(exact, abs=4 * found.log_evidence_error)


@pytest.mark.parametrize(
    ("function", "read", "exact"),
    [
        pytest.param(lambda z: z[:, 0] + z[:, 1] ** 2, 1.0, -3.369092, id="banana"),
        pytest.param(lambda z: z[:, 0] ** 2, 1.5, -3.947317, id="two modes"),
    ],
)
def test_the_evidence_of_a_bent_and_of_a_split_posterior_is_that_of_quadrature(
    function: Callable[[Floats], Floats], read: float, exact: float
) -> None:
    runs = [posterior(read_of(function, [read], 0.05, 2), number, 1500) for number in range(2)]
    error = np.sqrt(sum(run.log_evidence_error**2 for run in runs)) / 2
    assert np.mean([run.log_evidence for run in runs]) == pytest.approx(exact, abs=3.5 * error)
    assert error < 0.05


def test_both_modes_are_kept_with_half_the_mass_in_each() -> None:
    found = posterior(read_of(lambda z: z[:, 0] ** 2, [1.5], 0.05, 2), 5, 2000).particles.common[:, 0]
    assert np.mean(found > 0.0) == pytest.approx(0.5, abs=0.07)
    assert np.abs(found).mean() == pytest.approx(np.sqrt(1.5), abs=0.01)


def test_moves_leave_no_memory_of_where_they_began() -> None:
    found = posterior(read_of(lambda z: z[:, 0] + z[:, 1] ** 2, [1.0], 0.05, 2), 3, 1000)
    assert all(step.correlation < 0.1 for step in found.steps)
    assert found.steps[-1].unique > 950


def test_a_step_leaves_about_half_of_the_effective_size() -> None:
    found = posterior(read_of(lambda z: z, [0.5], 0.01, 1), 4, 2000)
    assert all(1000 <= step.effective_size <= 1100 for step in found.steps[:-1])


def test_readings_that_no_point_explains_are_refused() -> None:
    experiments = read_of(lambda z: z, [0.5], 0.1, 1)

    def never(particles: Particles, exponents: Floats, blur: Floats) -> Floats:
        return np.full(particles.count, -np.inf if exponents[0] else 0.0)

    with pytest.raises(Impossible, match="no point"):
        posterior(replace(experiments, log_likelihood=never), 1, 500)


def test_systematic_draws_follow_their_weights_as_closely_as_whole_numbers_can() -> None:
    weights = np.array([0.1, 0.25, 0.65])
    counts = np.bincount(systematic_draws(weights, 1000, np.random.default_rng(0)), minlength=3)
    assert np.all(np.abs(counts - 1000 * weights) <= 1)
