"""What readings leave by Bayes' rule on a sample, on functions that no smooth regression follows."""

import numpy as np
import pytest
from analysis.known_functions import points_of
from scipy.special import ndtri

from explorer.analysis.measurement_sets import Measurement, rank_measurements
from explorer.analysis.simulated_readings import SimulatedReadings
from explorer.sampling import sample_plan

SHARP = 1e-3


def cube(dimensions: int, points: int = 16_384) -> np.ndarray:
    plan = sample_plan(1, dimensions, points)
    return plan.arranged(points_of(plan))[:, 0]


def told(ideal: np.ndarray, target: np.ndarray, noise: float = SHARP, *, seed: int = 3, common: float = 0.0):
    """One measurement of all ideal values, and whether it is bought."""
    count, rng = ideal.shape[-1], np.random.default_rng(seed)
    values = ideal + noise * rng.standard_normal(ideal.shape)
    if common:
        values = values + common * rng.standard_normal(ideal.shape[:2])[..., None]
    simulated = SimulatedReadings(
        list(values), list(ideal), np.full(count, noise), np.full(count, common), ("one",) * count
    )
    measurements = [Measurement("all", tuple(range(count)), 1.0)]
    found = rank_measurements(simulated, list(target), measurements, setup_hours={})
    return found.each[0], bool(found.best)


U = cube(5)
Z = ndtri(U)
REST = 0.1 * Z[..., 3]  # what nothing tells: 0.1 is left by whoever knows all else


def either(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return (a != b).astype(float)


CLOSED = {
    "a step": (U[..., :1], (U[..., 0] > 0.37) + REST),
    "the smaller of two": (Z[..., :2], np.minimum(Z[..., 0], Z[..., 1]) + REST),
    "one of two steps, not both": (U[..., :2], either(U[..., 0] > 0.5, U[..., 1] > 0.5) + REST),
    "a product of three": (Z[..., :3], Z[..., :3].prod(axis=-1) + REST),
}


@pytest.mark.parametrize("name", CLOSED)
def test_what_is_left_holds_the_closed_form(name: str) -> None:
    ideal, target = CLOSED[name]
    found, bought = told(ideal, target)
    assert bought
    assert float(found.at_least) <= 0.105
    # At most: above the truth but for the sampling error; or within five per cent of it.
    assert float(found.left) >= 0.1 - 3.0 * found.left.error - 0.001
    if found.told:
        assert float(found.left) == pytest.approx(0.1, rel=0.05)


@pytest.mark.parametrize(("name", "by_regression"), [("a step", 0.166), ("the smaller of two", 0.131)])
def test_jumps_and_kinks_are_followed_where_a_regression_leaves_more(name: str, by_regression: float) -> None:
    ideal, target = CLOSED[name]
    smooth = rank_measurements(list(ideal), list(target), [Measurement("all", (0,) * 1, 1.0)], setup_hours={})
    found, _ = told(ideal, target)
    assert float(found.left) == pytest.approx(0.1, rel=0.08)
    if ideal.shape[-1] == 1:
        assert float(smooth.each[0].left) == pytest.approx(by_regression, rel=0.03)


def test_a_product_of_lognormals_is_told_as_at_most() -> None:
    # Factor 3 each: spread in the logarithm ln 3/1.96; 0.01 is left by whoever knows the three.
    ideal = Z[..., :3] * np.log(3.0) / 1.96
    found, _ = told(ideal, np.exp(ideal).prod(axis=-1) + 0.1 * REST)
    assert float(found.at_least) <= 0.0105 < float(found.left)
    assert not found.told


@pytest.mark.parametrize(("noise", "common"), [(0.5, 0.0), (0.3, 0.4)])
def test_a_linear_gaussian_reading_leaves_its_posterior_variance(noise: float, common: float) -> None:
    # 1/(1 + 1/v²) of the first input, 0.1² of the rest: conjugate normal posterior.
    found, _ = told(Z[..., :1], Z[..., 0] + REST, noise, common=common)
    variance = noise**2 + common**2
    assert float(found.left) ** 2 == pytest.approx(variance / (1.0 + variance) + 0.01, rel=0.02)
    assert found.told


def test_what_one_instrument_s_readings_share_cancels_in_their_difference() -> None:
    # Two inputs read with a common error of 5 and 0.1 each: their difference is told to 0.141, their sum is not.
    difference = Z[..., 0] - Z[..., 1]
    found, _ = told(Z[..., :2], difference + REST, 0.1, common=5.0)
    exact = 1.0 / (0.5 + 1.0 / 0.02) + 0.01
    assert float(found.left) ** 2 == pytest.approx(exact, rel=0.05)


def test_a_reading_that_fails_is_one() -> None:
    # a fails where it exceeds its 60 % point: knowing that it failed is all that is learnt there.
    a, b = Z[..., 0], Z[..., 1]
    ideal = np.where(a > ndtri(0.6), np.nan, a)[..., None]
    found, _ = told(ideal, a + b)
    edge = ndtri(0.6)
    density = np.exp(-0.5 * edge**2) / np.sqrt(2.0 * np.pi)
    # Variance of a normal above an edge: 1 + edge·m − m², m = density/0.4 (truncated normal distribution, textbook).
    beyond = 1.0 + edge * density / 0.4 - (density / 0.4) ** 2
    assert float(found.left) == pytest.approx(np.sqrt(1.0 + 0.4 * beyond), rel=0.02)


def test_errors_hold_the_truth_as_often_as_they_say() -> None:
    # Student's t with 7 degrees of freedom: 2.36 standard errors hold it 19 times in 20.
    held = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        z = rng.standard_normal((8, 512, 2))
        found, _ = told(z[..., :1], z[..., 0] + 0.3 * z[..., 1], 0.5, seed=seed)
        held += abs(float(found.left) - np.sqrt(0.2 + 0.09)) < 2.36 * found.left.error
    # 36 or more of 40: fewer has a chance of 1.4 % at 95 %.
    assert held >= 34
