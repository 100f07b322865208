from itertools import pairwise

import numpy as np
import pytest
from analysis.known_functions import ishigami, points_of, sobol_g
from SALib.analyze import pawn
from scipy import stats
from scipy.special import ndtri

from explorer.analysis.second_opinion import (
    RANGE,
    SLICES,
    elementary_effects,
    elementary_plan,
    moment_independent,
)
from explorer.sampling import sample_plan


def morris_1991(points: np.ndarray) -> np.ndarray:
    """Twenty factors (Technometrics 33 (1991) 161, section 4): 1–10 matter, 8–10 linear, 11–20 hardly."""
    rng = np.random.default_rng(5)
    w = 2.0 * (points - 0.5)
    for i in (2, 4, 6):
        w[:, i] = 2.0 * (1.1 * points[:, i] / (points[:, i] + 0.1) - 0.5)
    single, double = rng.normal(size=20), rng.normal(size=(20, 20))
    single[:10], double[:6, :6] = 20.0, -15.0
    y = w @ single
    y = y + np.einsum("ri,rj,ij->r", w, w, np.triu(double, 1))
    for i in range(5):
        for j in range(i + 1, 5):
            for k in range(j + 1, 5):
                y = y - 10.0 * w[:, i] * w[:, j] * w[:, k]
    return y + 5.0 * w[:, 0] * w[:, 1] * w[:, 2] * w[:, 3]


@pytest.mark.parametrize("heap", [-np.inf, 3.0])
def test_distances_are_salib_s(heap: float) -> None:
    # Also where many points have the same output, as without contact.
    u = points_of(sample_plan(1, 3, 4096))
    y = np.maximum(ishigami(u), heap)
    found = moment_independent(u, y, rng=np.random.default_rng(0))
    with_dummy = np.column_stack([u, np.random.default_rng(0).random(y.size)])
    problem = {"num_vars": 4, "names": list("abcd"), "bounds": [[0.0, 1.0]] * 4}
    other = pawn.analyze(problem, with_dummy, y, S=SLICES)
    np.testing.assert_allclose([*found.distance, found.dummy], other["mean"], rtol=1e-12)
    np.testing.assert_allclose(found.largest, other["maximum"][:3], rtol=1e-12)


def test_distance_is_the_mean_kolmogorov_smirnov_statistic_over_slices() -> None:
    # SciPy's two-sample statistic on sixteen equal slices is the second method.
    u = points_of(sample_plan(1, 3, 4096))
    y = ishigami(u)
    found = moment_independent(u, y, rng=np.random.default_rng(0))
    edges = np.quantile(u[:, 1], np.linspace(0.0, 1.0, 17))
    slices = [y[(u[:, 1] >= a) & (u[:, 1] < b)] for a, b in pairwise(edges)]
    expected = np.mean([stats.ks_2samp(part, y, method="asymp").statistic for part in slices])
    assert found.distance[1] == pytest.approx(expected, rel=1e-12)


def test_leading_input_of_known_functions_is_named() -> None:
    u = points_of(sample_plan(1, 8, 16384))
    found = moment_independent(u, sobol_g(u), rng=np.random.default_rng(0))
    assert found.leading == 0
    assert np.argsort(-found.distance)[:3].tolist() == [0, 1, 2]
    # The four that hardly matter don't stand out of an input that tells nothing.
    assert (np.sort(found.distance)[:4] < 1.5 * found.dummy).all()


def test_a_rare_far_value_does_not_carry_it() -> None:
    # One point in a thousand lies far out because of x1: nearly all of the variance, little of the order.
    u = points_of(sample_plan(1, 2, 16384))
    y = ndtri(u[:, 1]) + 1000.0 * (u[:, 0] > 0.999)
    assert moment_independent(u, y, rng=np.random.default_rng(0)).leading == 1


def test_no_opinion_where_nothing_stands_out() -> None:
    rng = np.random.default_rng(1)
    x, y = rng.random((4096, 2)), rng.normal(size=4096)
    distances = [moment_independent(x, y, rng=np.random.default_rng(s)) for s in range(10)]
    assert any(d.leading is None for d in distances)
    assert all(d.distance.max() < 1.3 * d.dummy for d in distances)


def test_opinion_repeats_with_the_same_generator_and_leaves_numpy_s_global_state_alone() -> None:
    u = points_of(sample_plan(1, 3, 2048))
    before = np.random.get_state()[1].copy()  # noqa: NPY002 - the global state is what is looked at
    found = [moment_independent(u, ishigami(u), rng=np.random.default_rng(0)) for _ in range(2)]
    assert np.array_equal(found[0].distance, found[1].distance)
    plans = [elementary_plan(3, 5, rng=np.random.default_rng(0)) for _ in range(2)]
    assert np.array_equal(*plans)
    assert np.array_equal(before, np.random.get_state()[1])  # noqa: NPY002 - the global state again


def test_elementary_effects_of_morris_s_own_function() -> None:
    rng = np.random.default_rng(1)
    points = elementary_plan(20, 40, rng=rng)
    assert points.shape == (40 * 21, 20)
    assert (points.min(), points.max()) == RANGE
    found = elementary_effects(points, morris_1991(points), rng=rng)
    assert found.mean_size[:10].min() > 3.0 * found.mean_size[10:].max()
    # 8 to 10 are all but linear, the others curved or bound up with each other.
    assert (found.spread[7:10] < 0.3 * found.mean_size[7:10]).all()
    assert (found.spread[:6] > 0.5 * found.mean_size[0]).all()


def test_elementary_effects_of_a_linear_law_are_its_slopes_over_the_range() -> None:
    rng = np.random.default_rng(2)
    points = elementary_plan(3, 10, rng=rng)
    found = elementary_effects(points, points @ np.array([3.0, -2.0, 0.5]), rng=rng)
    span = RANGE[1] - RANGE[0]
    np.testing.assert_allclose(found.mean, np.array([3.0, -2.0, 0.5]) * span, rtol=1e-9)
    np.testing.assert_allclose(found.spread, 0.0, atol=1e-9)


def test_bad_input_is_refused() -> None:
    rng = np.random.default_rng(0)
    with pytest.raises(ValueError, match="at least 800 rows"):
        moment_independent(rng.random((100, 2)), rng.random(100), rng=rng)
    with pytest.raises(ValueError, match="finite"):
        moment_independent(np.ones((1000, 1)), np.full(1000, np.nan), rng=rng)
    with pytest.raises(ValueError, match="finite"):
        elementary_effects(elementary_plan(2, 4, rng=rng), np.full(12, np.inf), rng=rng)
