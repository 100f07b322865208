import numpy as np
import pytest
from analysis.known_functions import points_of
from scipy.special import ndtri

from explorer.analysis.regression import (
    centred,
    coefficients,
    cross_fitted,
    groups,
    left_variance,
    low_order_features,
    own_features,
    regressors,
    tensor_features,
)
from explorer.sampling import sample_plan


def uniform(points: int, dimensions: int, *, number: int = 1) -> np.ndarray:
    plan = sample_plan(number, dimensions, points)
    return plan.arranged(points_of(plan))[:, 0]


@pytest.mark.parametrize(
    ("law", "share"),
    [
        (lambda z: z, 1e-4),
        (lambda z: z**2, 1e-3),
        (lambda z: np.exp(0.3 * z), 1e-3),
        (lambda z: np.minimum(z, 0.3), 3e-3),
        (lambda z: np.abs(z - 0.4), 5e-3),
    ],
)
def test_one_quantity_s_functions_follow_the_usual_laws(law, share: float) -> None:
    z = ndtri(uniform(16384, 1))
    target, _ = centred(law(z)[..., 0])
    left = left_variance(regressors(z).moments([0], target)).mean()
    assert left < share * law(z).var()


def test_optimism_and_pessimism_cancel() -> None:
    # Pure noise and few rows: the bare error on unseen rows is too large by functions/rows, 35 of 1792.
    bare, corrected = [], []
    for number in range(150):
        rng = np.random.default_rng(number)
        known = regressors(rng.normal(size=(8, 256, 2)))
        target, _ = centred(rng.normal(size=(8, 256)))
        predicted = cross_fitted(known, [0, 1], target)
        variance = np.var(target)
        bare.append(np.mean((np.array(target) - np.array(predicted)) ** 2) / variance)
        corrected.append(left_variance(known.moments([0, 1], target)).mean() / variance)
    assert np.mean(bare) > 1.0 + 35 / 1792
    assert abs(np.mean(corrected) - 1.0) < 0.25 * (np.mean(bare) - 1.0)


def test_predictions_are_those_of_ordinary_least_squares_on_the_other_scrambles() -> None:
    # NumPy's own solver on the same functions is the second method.
    z = ndtri(uniform(4096, 2))
    y = np.sin(2.0 * z[..., 0]) * z[..., 1]
    target, _ = centred(y)
    known = regressors(z)
    predicted = cross_fitted(known, [0, 1], target)
    design = known.design([0, 1])
    others = [s for s in range(8) if s != 3]
    beta, *_ = np.linalg.lstsq(
        np.concatenate([design[s] for s in others]), np.concatenate([target[s] for s in others]), rcond=None
    )
    np.testing.assert_allclose(predicted[3], design[3] @ beta, atol=2e-4)
    assert coefficients(known.moments([0, 1], target)).shape == (8, 1 + 12 + 12 + 9, 1)


def test_an_input_with_few_values_is_no_obstacle() -> None:
    u = uniform(8192, 1)
    two = (u > 0.3).astype(float)
    noise = np.random.default_rng(0).normal(size=(8, 1024))
    target, _ = centred(3.0 * two[..., 0] + noise)
    assert left_variance(regressors(two).moments([0], target)).mean() == pytest.approx(1.0, abs=0.05)
    same = regressors(np.ones((8, 1024, 1)))
    assert left_variance(same.moments([0], target)).mean() == pytest.approx(1.0 + 9.0 * 0.21, abs=0.1)


def test_groups_are_the_constant_own_functions_and_each_two() -> None:
    assert groups([2, 0, 2]) == [(), (0,), (2,), (0, 2)]
    z = ndtri(uniform(1024, 2)[0])
    assert own_features(z[:, 0]).shape == (128, 12)
    products = tensor_features(low_order_features(z[:, 0]), low_order_features(z[:, 1]))
    assert products.shape == (128, 9)
    np.testing.assert_allclose(products.mean(axis=0), 0.0, atol=1e-12)
    np.testing.assert_allclose(products.std(axis=0), 1.0, rtol=1e-9)
    np.testing.assert_allclose(own_features(z[:, 0]).mean(axis=0), 0.0, atol=1e-12)


def test_moments_asked_for_twice_are_the_same() -> None:
    z = ndtri(uniform(1024, 3))
    target, _ = centred(z.sum(axis=-1))
    known = regressors(z)
    once, again = known.moments([0, 2], target), known.moments([2, 0], target)
    np.testing.assert_array_equal(once.gram, again.gram)
    np.testing.assert_array_equal(once.gram, regressors(z).moments([0, 2], target).gram)


def test_one_scramble_or_infinite_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="at least two scrambles"):
        regressors([np.ones((8, 1))])
    with pytest.raises(ValueError, match="must not be infinite"):
        regressors([np.ones((8, 1)), np.full((8, 1), np.inf)])
    with pytest.raises(ValueError, match="the target must be finite"):
        centred([np.array([1.0, np.inf])])
