import numpy as np
import pytest
from analysis.known_functions import outputs_of, reference
from scipy.special import ndtri

from explorer.analysis.adaptive import adaptive_distributions, numerical_tolerance, validation
from explorer.analysis.scrambles import estimate
from explorer.analysis.statistics import distribution
from explorer.sampling import Plan, Purpose, sample_plan

CASES = reference("propagation")


def blocks(function, dimensions: int):
    plan = Plan(3, Purpose.ADAPTIVE, dimensions, ((),), 16384, scrambles=1000)

    def block(number: int) -> np.ndarray:
        chunks = range(plan.rows // plan.chunk_rows)
        return np.concatenate([function(plan.points(number, chunk)) for chunk in chunks])

    return block


def normals(u: np.ndarray) -> np.ndarray:
    return ndtri(u).sum(axis=1)[:, None]


@pytest.mark.parametrize("case", CASES["numerical_tolerance"]["cases"])
def test_numerical_tolerance_is_that_of_jcgm_101(case: dict) -> None:
    assert numerical_tolerance(case["u"], case["digits"]) == pytest.approx(case["tolerance"], rel=1e-12)


def test_numerical_tolerance_of_an_uncertainty_that_rounds_up() -> None:
    assert numerical_tolerance(9.96, 2) == 0.5
    assert numerical_tolerance(9.94, 2) == 0.05
    with pytest.raises(ValueError, match="positive"):
        numerical_tolerance(0.0, 1)


@pytest.mark.parametrize("digits", [1, 2, 3])
def test_figures_are_right_to_the_digits_wanted(digits: int) -> None:
    found = adaptive_distributions(blocks(normals, 4), digits=digits)
    assert found.stable
    assert found.blocks >= 10
    assert found.tolerances == [pytest.approx(0.5 * 10.0 ** (1 - digits))]
    figures = found.distributions[0]
    exact = CASES["sum_of_normals"]["exact"]
    assert abs(float(figures.standard_uncertainty.value) - 2.0) < found.tolerances[0]
    assert abs(float(figures.low.value) - exact["interval"][0]) < found.tolerances[0]
    assert found.values.shape == (found.blocks, 16384, 1)


def test_all_outputs_must_be_stable_and_the_most_blocks_are_kept_to() -> None:
    def two(u: np.ndarray) -> np.ndarray:
        z = ndtri(u)
        return np.column_stack([z.sum(axis=1), np.exp(1.5 * z[:, 0])])

    found = adaptive_distributions(blocks(two, 2), digits=4, most=12)
    assert found.blocks == 12
    assert not found.stable
    assert len(found.distributions) == len(found.tolerances) == 2


def test_the_safeguards_hold() -> None:
    with pytest.raises(ValueError, match="at least 10 blocks"):
        adaptive_distributions(blocks(normals, 2), digits=2, fewest=2)
    with pytest.raises(ValueError, match="at least 10000 values"):
        adaptive_distributions(lambda n: np.random.default_rng(n).normal(size=(5000, 1)), digits=2)
    with pytest.raises(ValueError, match="at least 100000 values"):
        adaptive_distributions(blocks(normals, 2), digits=2, coverage=0.999)


def test_without_the_safeguards_the_rule_would_stop_erratically() -> None:
    # The must-fail twin: the bare rule from two small blocks on is often wrong about being done.
    wrong = 0
    for number in range(40):
        rng, figures = np.random.default_rng(number), []
        while len(figures) < 2 or 2.0 * np.std(figures, ddof=1) / np.sqrt(len(figures)) >= 0.05:
            figures.append(np.quantile(rng.normal(size=2000) * 2.0, 0.975))
        wrong += abs(np.mean(figures) - 3.919928) > 0.05
    assert wrong >= 4


def interval_of(function, dimensions: int, points: int = 1 << 20):
    return distribution(outputs_of(sample_plan(1, dimensions, points), function)[:, 0])


def test_first_order_law_is_validated_where_it_is_exact() -> None:
    found = interval_of(lambda u: ndtri(u).sum(axis=1), 4)
    verdict = validation((-3.919928, 3.919928), found.low, found.high, tolerance=0.05)
    assert verdict.verdict == "validated"
    assert max(verdict.low_difference, verdict.high_difference) < 0.01


def test_rectangular_sum_is_validated_to_two_digits_and_not_to_three() -> None:
    # JCGM 101:2008, 9.2.3: the Gaussian interval is ± 3.92, the right one ± 3.88.
    found = interval_of(lambda u: ((2.0 * u - 1.0) * np.sqrt(3.0)).sum(axis=1), 4)
    assert validation((-3.92, 3.92), found.low, found.high, tolerance=0.05).verdict == "validated"
    assert validation((-3.92, 3.92), found.low, found.high, tolerance=0.005).verdict == "not validated"


def test_a_coarse_sample_decides_nothing_but_a_gross_difference() -> None:
    rng = np.random.default_rng(0)
    low, high = estimate(-2.0 + 0.1 * rng.normal(size=8)), estimate(2.0 + 0.1 * rng.normal(size=8))
    near = validation((-2.0, 2.0), low, high, tolerance=0.05)
    assert near.verdict == "not decided"
    assert near.sampling_error > 0.05 / 5
    assert validation((-3.0, 3.0), low, high, tolerance=0.05).verdict == "not validated"
    single = estimate(np.array([2.0]))
    assert (
        validation((-2.0, 2.0), estimate(np.array([-2.0])), single, tolerance=0.05).verdict == "not decided"
    )
