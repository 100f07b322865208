"""Sets of readings against the linear-Gaussian closed form, and against readings that tell nothing."""

import numpy as np
import pytest

from explorer.analysis.reading_sets import reading_sets
from explorer.analysis.regression import centred, left_variance, regressors

SCRAMBLES, ROWS = 8, 2048


def sample(seed: int, loads: np.ndarray, noise: np.ndarray):
    """Readings Hθ + e of two unknowns of spread one, and the target θ1 + θ2/2 with a noise of its own."""
    rng = np.random.default_rng(seed)
    readings, target = [], []
    for _ in range(SCRAMBLES):
        theta = rng.standard_normal((ROWS, 2))
        readings.append(theta @ loads.T + noise * rng.standard_normal((ROWS, len(noise))))
        target.append(theta @ np.array([1.0, 0.5]) + 0.4 * rng.standard_normal(ROWS))
    return readings, target


LOADS = np.array([[1.0, 0.0], [0.5, 0.5], [0.0, 1.0], [0.3, -0.8]])
NOISE = np.array([0.5, 1.0, 0.3, 0.7])


def exact(taken: list[int]) -> float:
    """Variance left: that of the target less c'H'(HH' + R)⁻¹Hc."""
    c, h = np.array([1.0, 0.5]), LOADS[taken]
    fall = c @ h.T @ np.linalg.solve(h @ h.T + np.diag(NOISE[taken] ** 2), h @ c) if taken else 0.0
    return float(c @ c + 0.4**2 - fall)


@pytest.fixture(scope="module")
def made():
    readings, target = sample(1, LOADS, NOISE)
    known, (values, _) = regressors(readings), centred(target)
    rng = np.random.default_rng(2)
    shuffled = [rng.permuted(np.repeat(y, 5, axis=1), axis=0) for y in values]
    both = [np.hstack([y, s]) for y, s in zip(values, shuffled, strict=True)]
    return known, values, reading_sets(known, both)


@pytest.mark.parametrize("taken", [[], [0], [2], [0, 2], [1, 3], [0, 1, 2, 3]])
def test_sets_leave_what_the_closed_form_says(made, taken: list[int]) -> None:
    left = made[2].left(taken)[:, 0]
    error = left.std(ddof=1) / np.sqrt(SCRAMBLES)
    assert error < 0.02 * exact(taken)
    assert left.mean() == pytest.approx(exact(taken), abs=5 * error)


def test_readings_tell_nothing_of_a_shuffled_target(made) -> None:
    shuffled = made[2].left([0, 1, 2, 3])[:, 1:].mean(axis=0)
    spread = made[2].left([])[:, 1:].mean(axis=0)
    np.testing.assert_allclose(shuffled, spread, rtol=0.03)


def test_a_reading_by_itself_is_judged_as_in_full(made) -> None:
    known, values, sets = made
    for reading in range(4):
        full = left_variance(known.moments([reading], values))[:, 0]
        np.testing.assert_allclose(sets.left([reading])[:, 0], full, rtol=1e-6)


def test_what_only_a_product_of_two_tells_stays_hidden_from_sets() -> None:
    # y = r1·r2: each tells nothing by itself; the full regression sees it, the quick one doesn't.
    rng = np.random.default_rng(3)
    readings = [rng.standard_normal((ROWS, 2)) for _ in range(SCRAMBLES)]
    values, _ = centred([r[:, 0] * r[:, 1] for r in readings])
    known = regressors(readings)
    quick, full = (
        reading_sets(known, values).left([0, 1]).mean(),
        left_variance(known.moments([0, 1], values)).mean(),
    )
    assert quick == pytest.approx(1.0, abs=0.1)
    assert full < 0.1
