import numpy as np
import pytest
from analysis.known_functions import outputs_of, reference
from scipy import stats
from scipy.special import ndtri

from explorer.analysis.scrambles import estimate, root
from explorer.analysis.statistics import (
    chance,
    distribution,
    mean_over_firings,
    met,
    quantile,
    shortest_interval,
    standard_uncertainties,
    symmetric_interval,
    variance_parts,
)
from explorer.sampling import sample_plan, twin_plan

CASES = reference("propagation")
POINTS = 131_072


def sampled(function, dimensions: int) -> np.ndarray:
    return outputs_of(sample_plan(1, dimensions, POINTS), function)[:, 0]


def within(figure, exact: float, *, errors: float = 4.5, rounding: float = 5e-7) -> bool:
    return abs(float(figure.value) - exact) <= errors * float(figure.standard_error) + rounding


def mass_calibration(u: np.ndarray) -> np.ndarray:
    """JCGM 101, equation (36), in mg."""
    m_r, dm_r = 100_000.0 + 0.05 * ndtri(u[:, 0]), 1.234 + 0.02 * ndtri(u[:, 1])
    air, weight, standard = 1.1 + 0.2 * u[:, 2], 7000 + 2000 * u[:, 3], 7950 + 100 * u[:, 4]
    return (m_r + dm_r) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0


@pytest.mark.parametrize(
    ("case", "function"),
    [
        ("sum_of_normals", lambda u: ndtri(u).sum(axis=1)),
        ("sum_of_rectangulars", lambda u: ((2.0 * u - 1.0) * np.sqrt(3.0)).sum(axis=1)),
    ],
)
def test_sums_of_four_agree_with_jcgm_101(case: str, function) -> None:
    found = distribution(sampled(function, 4))
    exact, printed = CASES[case]["exact"], CASES[case]["printed"]
    assert within(found.standard_uncertainty, exact["standard_uncertainty"])
    assert within(found.low, exact["interval"][0])
    assert within(found.high, exact["interval"][1])
    assert float(found.standard_uncertainty.value) == pytest.approx(
        printed["standard_uncertainty"], abs=0.005
    )
    assert float(found.high.value) == pytest.approx(printed["interval"][1], abs=0.01)
    assert abs(float(found.mean.value)) < 1e-3
    assert abs(float(found.median.value)) < 0.01


def test_mass_calibration_agrees_with_jcgm_101() -> None:
    found = distribution(sampled(mass_calibration, 5))
    exact, printed = CASES["mass_calibration"]["exact"], CASES["mass_calibration"]["printed"]
    assert within(found.mean, exact["value"])
    assert within(found.standard_uncertainty, exact["standard_uncertainty"])
    assert within(found.low, exact["interval"][0])
    assert within(found.high, exact["interval"][1])
    # The printed figures come from the guide's own sample: one unit of the last digit.
    assert float(found.mean.value) == pytest.approx(printed["value"], abs=1.5e-4)
    assert float(found.standard_uncertainty.value) == pytest.approx(
        printed["standard_uncertainty"], abs=1.5e-4
    )


@pytest.mark.parametrize("case", CASES["comparison_loss"]["cases"])
def test_comparison_loss_agrees_with_jcgm_101(case: dict) -> None:
    def loss(u: np.ndarray) -> np.ndarray:
        z = ndtri(u)
        r = case["correlation"]
        x1 = case["x1"] + 0.005 * z[:, 0]
        x2 = 0.005 * (r * z[:, 0] + np.sqrt(1.0 - r**2) * z[:, 1])
        return 1e6 * (x1**2 + x2**2)

    values = sampled(loss, 2)
    found = distribution(values)
    assert within(found.mean, case["value"])
    assert within(found.standard_uncertainty, case["standard_uncertainty"], rounding=0.005)
    # The shortest interval's ends are noisy, its minimum being flat: its width and what it holds are checked.
    low, high = float(found.shortest_low.value), float(found.shortest_high.value)
    assert high - low == pytest.approx(case["interval"][1] - case["interval"][0], rel=0.005)
    assert np.mean((values >= case["interval"][0]) & (values <= case["interval"][1])) == pytest.approx(
        0.95, abs=0.001
    )
    assert high - low <= float(found.high.value - found.low.value)


def test_exact_quantiles_are_numpy_s_and_intervals_count_as_the_guide_does() -> None:
    values = np.sort(np.random.default_rng(0).normal(size=1001))
    for probability in (0.0, 0.025, 0.5, 0.77, 1.0):
        assert quantile(values, probability) == pytest.approx(np.quantile(values, probability), abs=1e-15)
    ordered = np.arange(1.0, 101.0)
    # M = 100, q = 95, r = (100 − 95 + 1)/2 = 3: y(3) … y(98).
    assert symmetric_interval(ordered) == (3.0, 98.0)
    skewed = ordered**2
    assert shortest_interval(skewed) == (1.0, 96.0**2)
    with pytest.raises(ValueError, match="too few"):
        symmetric_interval(ordered[:5])
    with pytest.raises(ValueError, match="coverage must lie"):
        symmetric_interval(ordered, 1.0)


def test_where_nearly_all_values_lie_together_the_shortest_interval_is_the_shortest_seen() -> None:
    """A quartic through such lengths is not determined: no warning is printed, and the smallest length stands."""
    together = 1e-17 * np.arange(1, 41)
    values = np.concatenate([[-0.001], together, np.linspace(0.1, 0.9, 339), np.linspace(1.0, 1.02, 20)])
    lengths = values[380:] - values[:20]
    low, high = shortest_interval(np.sort(values))
    assert high - low == lengths.min()


def test_sampling_errors_are_what_repeated_samples_scatter_by() -> None:
    figures, errors = [], []
    for number in range(60):
        plan = sample_plan(number, 3, 8192)
        found = distribution(outputs_of(plan, lambda u: np.exp(0.5 * ndtri(u)).prod(axis=1))[:, 0])
        row = [found.mean, found.median, found.standard_uncertainty, found.low, found.high]
        figures.append([float(f.value) for f in row])
        errors.append([float(f.standard_error) for f in row])
    seen, told = np.std(figures, axis=0, ddof=1), np.sqrt(np.mean(np.square(errors), axis=0))
    # 60 repeats know a standard deviation to 9 %, and a spread over eight tails a little less.
    assert np.all((told > 0.7 * seen) & (told < 1.5 * seen))


def test_chance_counts_the_bounds_in_and_has_the_closed_form() -> None:
    values = sampled(lambda u: ndtri(u[:, 0]) + ndtri(u[:, 1]), 2)
    found = chance(values, at_least=1.0)
    assert within(found, stats.norm.sf(1.0 / np.sqrt(2.0)))
    both = chance(values, at_least=-1.0, at_most=1.0)
    assert within(both, 1.0 - 2.0 * stats.norm.sf(1.0 / np.sqrt(2.0)))
    assert met(np.array([0.9, 1.0, 1.1]), at_least=1.0).tolist() == [0.0, 1.0, 1.0]
    assert met(np.array([0.9, 1.0, 1.1]), at_most=1.0).tolist() == [1.0, 1.0, 0.0]
    with pytest.raises(ValueError, match="at_least, at_most"):
        met(values)


def firing(u: np.ndarray) -> np.ndarray:
    """Unknown a and b, scatter s: Y = a + (2 + b) s with standard deviations 1, 0.5 and 0.25."""
    z = ndtri(u)
    return z[:, 0] + (2.0 + 0.5 * z[:, 1]) * 0.25 * z[:, 2]


def test_unknown_and_scatter_have_their_closed_forms_and_add_up() -> None:
    twins = outputs_of(twin_plan(1, 3, POINTS, redrawn=[2]), firing)
    found = variance_parts(twins)
    scatter = (2.0**2 + 0.5**2) * 0.25**2
    assert within(found.unknown, 1.0)
    assert within(found.scatter, scatter)
    np.testing.assert_allclose(found.total.value, twins.var(), rtol=1e-12)
    roots = standard_uncertainties(found)
    np.testing.assert_allclose(
        [float(r.value) for r in roots], np.sqrt([1.0, scatter, 1.0 + scatter]), rtol=3e-3
    )


def test_no_scatter_is_exactly_zero_and_pure_scatter_leaves_nothing_unknown() -> None:
    still = outputs_of(twin_plan(1, 3, 8192, redrawn=[2]), lambda u: ndtri(u[:, 0]))
    assert float(variance_parts(still).scatter.value) == 0.0
    noise = outputs_of(twin_plan(1, 3, 8192, redrawn=[2]), lambda u: ndtri(u[:, 2]))
    parts = variance_parts(noise)
    assert within(parts.unknown, 0.0)
    assert parts.unknown.by_scramble.min() < 0.0 < parts.unknown.by_scramble.max()


def test_mean_over_firings_is_exact_where_gaussian_and_close_elsewhere() -> None:
    gaussian = outputs_of(twin_plan(1, 2, POINTS, redrawn=[1]), lambda u: ndtri(u[:, 0]) + ndtri(u[:, 1]))
    low, high = mean_over_firings(gaussian)
    assert within(low, -1.959964, errors=5.0)
    assert within(high, 1.959964, errors=5.0)
    low, high = mean_over_firings(outputs_of(twin_plan(1, 3, POINTS, redrawn=[2]), firing))
    np.testing.assert_allclose([float(low.value), float(high.value)], [-1.959964, 1.959964], atol=0.02)


def test_root_of_a_variance_carries_its_error() -> None:
    found = root(estimate(np.array([3.8, 4.2, 4.0, 4.1, 3.9])))
    assert float(found.value) == pytest.approx(2.0)
    assert float(found.standard_error) == pytest.approx(
        np.std([3.8, 4.2, 4.0, 4.1, 3.9], ddof=1) / 5**0.5 / 4
    )
    below = root(estimate(np.array([-0.3, 0.1, 0.05])))
    assert float(below.value) == 0.0 < float(below.high)


def test_missing_numbers_are_refused() -> None:
    values = np.ones((8, 2, 64))
    values[0, 0, 0] = np.nan
    for analysis in (distribution, variance_parts, mean_over_firings):
        with pytest.raises(ValueError, match="finite"):
            analysis(values)
    with pytest.raises(ValueError, match="finite"):
        chance(values, at_most=1.0)
