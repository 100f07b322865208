import numpy as np
import pytest
from analysis.known_functions import points_of, reference
from analysis.search.published_designs import ranges
from scipy import stats
from scipy.special import ndtri

from explorer.analysis.search.chance_limits import event_margin, exact_chance, quantile_margin
from explorer.analysis.search.continuous_search import continuous_search
from explorer.analysis.search.design_space import Assessed, Record
from explorer.sampling import sample_plan

CASES = reference("optimisation")
SCENARIOS = 16_384


def test_the_least_value_that_holds_with_a_chance_is_the_quantile_of_the_normal_distribution() -> None:
    case = CASES["chance_of_one"]
    xi = np.random.default_rng(1).standard_normal(SCENARIOS)
    found = {}
    for level in (case["chance"], 0.9):

        def assess(designs: np.ndarray, level: float = level) -> Assessed:
            return Assessed(designs, quantile_margin(designs - xi, level=level, scale=1.0)[:, None])

        record = Record(assess)
        found[level] = continuous_search(
            ranges((0.0, 5.0)), record, budget=80, rng=np.random.default_rng(2)
        ).wishes[0]
    # Standard error of a sample's quantile: sqrt(c (1 − c)/n) over the density there.
    z = stats.norm.ppf(case["chance"])
    error = np.sqrt(case["chance"] * (1.0 - case["chance"]) / SCENARIOS) / stats.norm.pdf(z)
    assert error < 0.03
    assert found[case["chance"]] == pytest.approx(case["optimum"], abs=4.0 * error)
    # On these scenarios themselves the search leaves next to nothing.
    assert found[case["chance"]] == pytest.approx(np.quantile(xi, case["chance"]), abs=1e-3)
    assert found[0.9] == pytest.approx(stats.norm.ppf(0.9), abs=0.06)


def test_the_most_of_two_that_hold_together_with_a_chance_is_that_of_the_closed_form() -> None:
    case = CASES["chance_of_two"]
    plan = sample_plan(3, 2, SCENARIOS)
    xi = 1.0 + case["standard_deviation"] * ndtri(points_of(plan))

    def assess(designs: np.ndarray) -> Assessed:
        kept = quantile_margin(1.0 - designs @ xi.T, level=case["chance"], scale=1.0)
        return Assessed(-designs.sum(axis=1)[:, None], kept[:, None])

    record = Record(assess)
    found = continuous_search(
        ranges((0.0, 1.0), (0.0, 1.0)), record, budget=300, rng=np.random.default_rng(4)
    )
    # The margin's quantile has the standard error sqrt(c (1 − c)/n) s/φ(z), and falls by 1/optimum a unit of the sum.
    z, spread = stats.norm.ppf(case["chance"]), case["standard_deviation"] * np.linalg.norm(case["design"])
    error = np.sqrt(case["chance"] * (1.0 - case["chance"]) / SCENARIOS) * spread / stats.norm.pdf(z)
    assert -found.wishes[0] == pytest.approx(case["optimum"], abs=4.0 * error * case["optimum"])
    # The sum is flat along the limit, where it falls by 0.17 of the square of the two's difference: 0.04 off loses
    # 0.001, half a standard error of plain sampling.
    np.testing.assert_allclose(found.values, case["design"], atol=0.04)


@pytest.mark.parametrize("row", CASES["clopper_pearson"]["rows"])
def test_the_exact_interval_is_that_of_the_tables(row) -> None:
    found = exact_chance(np.arange(row["points"]) < row["successes"])
    assert found.low == pytest.approx(row["low"], abs=5e-5)
    assert found.high == pytest.approx(row["high"], abs=5e-5)


@pytest.mark.parametrize("chance", [0.02, 0.1, 0.5, 0.95])
def test_the_exact_interval_holds_the_chance_at_least_as_often_as_it_says(chance: float) -> None:
    points = 40
    shares = stats.binom.pmf(np.arange(points + 1), points, chance)
    found = [exact_chance(np.arange(points) < k) for k in range(points + 1)]
    held = np.array([one.low <= chance <= one.high for one in found])
    assert shares[held].sum() >= 0.95
    # The interval from the share's own standard error does not.
    share = np.arange(points + 1) / points
    half = 1.96 * np.sqrt(share * (1.0 - share) / points)
    assert shares[np.abs(share - chance) <= half].sum() < 0.95


def test_a_margin_is_the_interpolated_quantile_over_its_scale_and_holds_the_chance_on_its_scenarios() -> None:
    margins = np.random.default_rng(5).normal(0.3, 1.0, (6, 501))
    kept = quantile_margin(margins, level=0.9, scale=2.0)
    np.testing.assert_allclose(kept, np.quantile(margins, 0.1, axis=1) / 2.0)
    shifted = margins - 2.0 * kept[:, None]
    np.testing.assert_allclose((shifted >= -1e-12).mean(axis=1), 0.9, atol=1.0 / 501)
    np.testing.assert_allclose(quantile_margin(margins, level=1.0, scale=1.0), margins.min(axis=1))


def test_scenarios_without_a_number_count_as_missed_and_fewer_of_them_are_better() -> None:
    margins = np.ones((4, 100))
    for design, lost in enumerate([0, 5, 20, 100]):
        margins[design, :lost] = np.nan
    kept = quantile_margin(margins, level=0.9, scale=1.0)
    assert np.isfinite(kept).all()
    assert kept[0] == kept[1] == 1.0
    assert 0.0 > -10.0 > kept[2] > kept[3]


def test_a_limit_on_an_event_is_missed_by_what_its_share_lacks() -> None:
    holds = np.arange(10)[None, :] < np.array([[10], [9], [5]])
    np.testing.assert_allclose(event_margin(holds, level=0.9), [0.1, 0.0, -0.4], atol=1e-15)
