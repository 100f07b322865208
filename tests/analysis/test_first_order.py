import numpy as np
import pytest
from analysis.known_functions import reference
from scipy import stats

from explorer.analysis.first_order import (
    difference_points,
    first_order_law,
    product_moment_correlation,
    welch_satterthwaite,
)

CASES = reference("propagation")


def test_impedance_with_correlated_readings_agrees_with_the_guide() -> None:
    case = CASES["impedance"]
    readings = np.array([case["volt"], case["ampere"], case["radian"]])
    central, u = readings.mean(axis=1), readings.std(axis=1, ddof=1) / np.sqrt(5)
    x = difference_points(central, u)
    ratio = x[:, 0] / x[:, 1]
    outputs = np.column_stack([ratio * np.cos(x[:, 2]), ratio * np.sin(x[:, 2]), ratio])
    found = first_order_law(outputs, ["V", "I", "φ"], correlation=np.corrcoef(readings))
    exact, printed = case["exact"], case["printed"]
    np.testing.assert_allclose(found.values, exact["values"], atol=5e-5)
    np.testing.assert_allclose(found.standard_uncertainties, exact["standard_uncertainties"], atol=5e-6)
    assert found.correlation[0, 1] == pytest.approx(exact["correlation_r_x"], abs=5e-6)
    np.testing.assert_allclose(found.values, printed["values"], atol=6e-4)
    # The guide rounds its correlations before it goes on: one unit of its last digit.
    np.testing.assert_allclose(found.standard_uncertainties, printed["standard_uncertainties"], atol=1e-3)
    # Without the correlations it would be another answer.
    alone = first_order_law(outputs, ["V", "I", "φ"])
    assert abs(alone.standard_uncertainties[1] - exact["standard_uncertainties"][1]) > 0.05


def end_gauge(x: np.ndarray) -> np.ndarray:
    standard, difference, expansion, temperature, alpha, cold = x.T
    return standard + difference - standard * (expansion * temperature + alpha * cold)


def test_end_gauge_has_the_guide_s_effective_degrees_of_freedom() -> None:
    case = CASES["end_gauge"]
    points = difference_points(case["central"], case["standard_uncertainties"])
    names = ["l_s", "d", "δα", "θ", "α_s", "δθ"]
    found = first_order_law(end_gauge(points), names, degrees_of_freedom=case["degrees_of_freedom"])
    assert found.standard_uncertainties[0] == pytest.approx(case["standard_uncertainty"], abs=0.5)
    assert np.floor(found.degrees_of_freedom[0]) == case["effective_degrees"]
    assert found.expanded_uncertainty(coverage=0.99) == pytest.approx(case["expanded_99"], abs=0.5)
    # Printed contributions in nm: 25, 9.7, 2.9, 0, 0, 16.6 (the two zeros matter in second order only).
    np.testing.assert_allclose(
        np.abs(found.contributions[0].to_numpy()), [25.0, 9.7, 2.9, 0.0, 0.0, 16.7], atol=0.06
    )


def test_mass_calibration_shows_the_first_order_law_s_own_limit() -> None:
    case = CASES["mass_calibration"]
    central = [100_000.0, 1.234, 1.2, 8000.0, 8000.0]
    u = [0.05, 0.02, 0.1 / np.sqrt(3), 1000 / np.sqrt(3), 50 / np.sqrt(3)]
    x = difference_points(central, u)
    y = (x[:, 0] + x[:, 1]) * (1 + (x[:, 2] - 1.2) * (1 / x[:, 3] - 1 / x[:, 4])) - 100_000
    found = first_order_law(y, list("abcde"))
    assert found.standard_uncertainties[0] == pytest.approx(case["first_order"], abs=5e-8)
    # The law's interval is far too narrow: the exact one reaches 0.149 to each side.
    assert found.interval()[1] - found.values[0] == pytest.approx(1.959964 * case["first_order"], rel=1e-6)


def test_a_minimum_has_no_first_order_uncertainty() -> None:
    x = difference_points([0.0, 0.0], [0.005, 0.005])
    found = first_order_law((x**2).sum(axis=1), ["x1", "x2"])
    assert found.standard_uncertainties.tolist() == [0.0]
    assert np.isnan(found.correlation).all()


def test_what_rounding_leaves_of_an_input_that_does_nothing_is_no_contribution() -> None:
    x = difference_points([12.0, 0.3], [0.1, 0.2])
    law = first_order_law(x[:, 0] * (1.0 + 1e-16 * x[:, 1]) + 1e-15 * (x[:, 1] > 0.3), ["heard", "not heard"])
    assert law.contributions.loc["not heard", 0] == 0.0
    assert law.contributions.loc["heard", 0] == pytest.approx(0.1)


def test_welch_satterthwaite_limits() -> None:
    # One input alone keeps its degrees; two equal ones add up; infinite ones don't count.
    assert welch_satterthwaite([[3.0]], [7.0]).tolist() == [7.0]
    assert welch_satterthwaite([[1.0], [1.0]], [6.0, 6.0]).tolist() == [pytest.approx(12.0)]
    assert np.isinf(welch_satterthwaite([[1.0], [1.0]], [np.inf, np.inf])).all()
    with pytest.raises(ValueError, match="positive"):
        welch_satterthwaite([[1.0]], [0.0])


def test_product_moment_correlation_out_of_the_copula() -> None:
    case = CASES["copula"]

    def uniform(u: np.ndarray) -> np.ndarray:
        return u

    # The product-moment correlation of two uniform variables is their rank correlation.
    found = product_moment_correlation(uniform, uniform, case["parameter"])
    assert found == pytest.approx(case["spearman"], abs=5e-7)
    assert product_moment_correlation(stats.norm.ppf, stats.norm.ppf, 0.3) == pytest.approx(0.3, abs=1e-9)
    # Two lognormals: (exp(ρ s1 s2) − 1)/√((exp s1² − 1)(exp s2² − 1)), any textbook.
    s1, s2, rho = 0.3, 0.6, -0.7
    exact = np.expm1(rho * s1 * s2) / np.sqrt(np.expm1(s1**2) * np.expm1(s2**2))
    found = product_moment_correlation(
        lambda u: np.exp(s1 * stats.norm.ppf(u)), lambda u: np.exp(s2 * stats.norm.ppf(u)), rho
    )
    assert found == pytest.approx(exact, abs=1e-6)
    with pytest.raises(ValueError, match="correlation must lie"):
        product_moment_correlation(uniform, uniform, 1.2)


def test_bad_input_is_refused() -> None:
    with pytest.raises(ValueError, match="2 inputs need 5 points; got 3"):
        first_order_law(np.ones(3), ["a", "b"])
    with pytest.raises(ValueError, match="finite"):
        first_order_law([1.0, np.nan, 1.0], ["a"])
    correlated = [[1.0, 0.5], [0.5, 1.0]]
    with pytest.raises(ValueError, match="independent inputs only"):
        first_order_law(np.arange(5.0), ["a", "b"], correlation=correlated, degrees_of_freedom=[3, 3])
