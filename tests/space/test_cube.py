import math
import time
import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from explorer.space import (
    Correlation,
    CorrelationError,
    InputSpace,
    Lognormal,
    Normal,
    Rectangular,
    StudentT,
    Triangular,
    Uncertain,
)

REFERENCE = tomllib.loads(
    (Path(__file__).parents[1] / "reference/distributions.toml").read_text(encoding="utf-8")
)


def cube(space: InputSpace, n: int, seed: int = 7) -> np.ndarray:
    return np.random.default_rng(seed).random((n, space.dimension))


def four(distribution: Normal | Rectangular) -> InputSpace:
    return InputSpace(tuple(Uncertain(f"x{i}", distribution) for i in range(4)))


@pytest.mark.parametrize(
    ("case", "distribution"),
    [
        ("sum_of_four_normal", Normal(0.0, 1.0)),
        ("sum_of_four_rectangular", Rectangular(-math.sqrt(3), math.sqrt(3))),
    ],
)
def test_sums_of_four_agree_with_jcgm_101(case: str, distribution: Normal | Rectangular) -> None:
    n = 1_000_000
    space = four(distribution)
    total = np.sum(list(space.values(cube(space, n)).values()), axis=0)
    reference = REFERENCE[case]
    assert total.std() == pytest.approx(reference["standard_uncertainty"], abs=4 * 2.0 / math.sqrt(2 * n))
    ends = np.quantile(total, [0.025, 0.975])
    # sampling error of a 2.5 % quantile: √(0.025 · 0.975/n) over the density there, near 0.029
    error = math.sqrt(0.025 * 0.975 / n) / 0.029
    np.testing.assert_allclose(ends, [-reference["interval_end"], reference["interval_end"]], atol=4 * error)


def test_the_copulas_parameter_gives_the_published_rank_correlation() -> None:
    published = REFERENCE["copula"]
    correlation = Correlation(("x0", "x1"), published["spearman"])
    assert correlation.copula_parameter == pytest.approx(published["parameter"], abs=1e-6)


@pytest.mark.parametrize("rank", [0.482584, 0.8, -0.6])
def test_samples_carry_the_rank_correlation_asked_for_whatever_the_distributions(rank: float) -> None:
    n = 200_000
    inputs = (
        Uncertain("a", Lognormal(1.0, 3.0)),
        Uncertain("b", Triangular(0.0, 0.9, 1.0)),
        Uncertain("c", Normal(0, 1)),
    )
    space = InputSpace(inputs, (Correlation(("a", "b"), rank),))
    values = space.values(cube(space, n))
    assert stats.spearmanr(values["a"], values["b"]).statistic == pytest.approx(rank, abs=4 / math.sqrt(n))
    assert abs(stats.spearmanr(values["a"], values["c"]).statistic) < 4 / math.sqrt(n)
    assert values["a"].mean() == pytest.approx(inputs[0].centre, rel=0.01)  # margins stay as they are
    assert stats.kstest(values["b"], stats.triang(0.9, 0.0, 1.0).cdf).pvalue > 0.001


def test_product_moment_correlations_out_of_the_copula_have_their_closed_form_for_lognormals() -> None:
    first, second, rank = Lognormal(1.0, 1.8), Lognormal(5.0, 3.0), 0.7
    space = InputSpace((Uncertain("a", first), Uncertain("b", second)), (Correlation(("a", "b"), rank),))
    z = stats.norm.ppf(0.975)
    s, t, rho = math.log(1.8) / z, math.log(3.0) / z, 2 * math.sin(math.pi * rank / 6)
    exact = math.expm1(rho * s * t) / math.sqrt(math.expm1(s * s) * math.expm1(t * t))
    assert space.product_moment_correlations()[0, 1] == pytest.approx(exact, rel=1e-9)


def test_between_normals_the_product_moment_correlation_is_the_copulas_parameter() -> None:
    space = InputSpace(
        (Uncertain("a", Normal(0, 1)), Uncertain("b", Normal(2, 3), Normal(2, 1))),
        (Correlation(("a", "b"), 0.5),),
    )
    matrix = space.product_moment_correlations()
    assert matrix[0, 1] == pytest.approx(2 * math.sin(math.pi / 12), rel=1e-9)
    assert matrix[0, 2] == 0.0


def test_contradicting_correlations_are_refused_and_the_pair_to_blame_is_named() -> None:
    inputs = tuple(Uncertain(name, Normal(0, 1)) for name in "abcd")
    stated = (
        Correlation(("a", "b"), 0.5),
        Correlation(("b", "c"), 0.5),
        Correlation(("a", "c"), -0.8),
        Correlation(("c", "d"), 0.1),
    )
    with pytest.raises(CorrelationError, match=r"a with c at -0.8 cannot hold together"):
        InputSpace(inputs, stated)
    InputSpace(inputs, stated[:2] + stated[3:])  # without the third they can all hold


@pytest.mark.parametrize(
    ("correlation", "message"),
    [
        (Correlation(("a", "a"), 0.5), "with itself"),
        (Correlation(("a", "b"), 1.0), "between -1 and 1"),
        (Correlation(("a", "zz"), 0.5), "zz"),
        (Correlation(("a", "b"), 0.5, "scatter"), "scatter part"),
    ],
)
def test_impossible_correlations_are_refused(correlation: Correlation, message: str) -> None:
    with pytest.raises(CorrelationError, match=message):
        InputSpace((Uncertain("a", Normal(0, 1)), Uncertain("b", Normal(0, 1))), (correlation,))


def test_the_same_pair_twice_is_refused_in_either_order() -> None:
    inputs = (Uncertain("a", Normal(0, 1)), Uncertain("b", Normal(0, 1)))
    with pytest.raises(CorrelationError, match="twice"):
        InputSpace(inputs, (Correlation(("a", "b"), 0.5), Correlation(("b", "a"), 0.4)))
    with pytest.raises(ValueError, match="twice"):
        InputSpace((inputs[0], inputs[0]))


def test_rows_follow_the_registry_whatever_the_order_of_the_file() -> None:
    a = Uncertain("magnet.field", Normal(0.48, 0.015), Normal(0.48, 0.01), shared="gaussmeter")
    b = Uncertain("gas.mixture_ratio", Normal(1.95, 0.04))
    space = InputSpace.in_registry_order([a, b])
    assert space == InputSpace.in_registry_order([b, a])
    assert [row.name for row in space.rows] == [
        "gas.mixture_ratio (unknown)",
        "magnet.field (unknown)",
        "magnet.field (scatter)",
    ]
    assert [row.shared for row in space.rows] == [None, "gaussmeter", None]
    np.testing.assert_allclose(space.standard_uncertainties(), [0.04, 0.015, 0.01])
    assert space.central() == {"gas.mixture_ratio": 1.95, "magnet.field": 0.48}


@pytest.mark.parametrize("bad", [0.0, 1.0, np.nan, -0.1])
def test_coordinates_without_a_value_are_refused(bad: float) -> None:
    space = four(Normal(0.0, 1.0))
    points = np.full((3, 4), 0.5)
    points[1, 2] = bad
    with pytest.raises(ValueError, match="above 0 and below 1"):
        space.values(points)
    with pytest.raises(ValueError, match="4 columns"):
        space.values(np.full((3, 5), 0.5))


def test_leaving_inputs_out_leaves_their_correlations_out() -> None:
    inputs = tuple(Uncertain(name, Normal(0, 1)) for name in "abc")
    space = InputSpace(inputs, (Correlation(("a", "b"), 0.5), Correlation(("b", "c"), 0.5)))
    left = space.without(["a"])
    assert [item.address for item in left.inputs] == ["b", "c"]
    assert left.correlations == (Correlation(("b", "c"), 0.5),)
    assert not left.without(["b"]).correlated


def test_an_empty_space_has_no_rows_and_no_values() -> None:
    assert InputSpace().dimension == 0
    assert InputSpace().values(np.empty((5, 0))) == {}


@pytest.mark.slow
def test_a_million_points_of_twenty_rows_take_a_few_seconds_at_most() -> None:
    kinds = (Normal(0, 1), Lognormal(1, 2), Triangular(0, 1, 2), Rectangular(0, 1), StudentT(0, 1, 5))
    space = InputSpace(tuple(Uncertain(f"x{i}", kinds[i % 5]) for i in range(20)))
    points = cube(space, 1_000_000)
    start = time.perf_counter()
    space.values(points)
    assert time.perf_counter() - start < 10
