"""Worked examples of the guides to measurement uncertainty through `propagate`, inputs in the value grammar."""

import numpy as np
import pytest
from scipy import optimize, stats
from study.known_models import reference, total

from explorer import propagate
from explorer.space import Correlation, StudentT

GUIDES = reference("propagation")
OWN = reference("study_uq")
ROOT_3 = "1.7320508075688772"


def close(found, figure: str, exact: float, *, quantity: str = "y", half_digit: float = 1e-6) -> None:
    """Within five of its own sampling errors, which must be small against the standard uncertainty.

    Exact values have six decimals or more; printed ones bring half of their last digit.
    """
    row = found.quantities.loc[quantity]
    error = row[f"{figure}_standard_error"]
    assert error < 0.005 * row["standard_uncertainty"]
    assert abs(row[figure] - exact) <= 5.0 * error + half_digit, (figure, row[figure], exact, error)


def spearman(copula_parameter: float) -> float:
    """Rank correlation of a Gaussian copula (Kruskal 1958)."""
    return 6.0 / np.pi * np.arcsin(copula_parameter / 2.0)


def test_sum_of_four_normals() -> None:
    case = GUIDES["sum_of_normals"]
    found = propagate(total, {f"x{i}": "0 ± 1" for i in range(4)}, rng=1)
    close(found, "standard_uncertainty", case["exact"]["standard_uncertainty"])
    close(found, "low", case["exact"]["interval"][0])
    close(found, "high", case["exact"]["interval"][1])
    close(found, "low", case["printed"]["interval"][0], half_digit=0.005)
    close(found, "high", case["printed"]["interval"][1], half_digit=0.005)
    law = found.first_order.table.loc["y"]
    assert law["standard_uncertainty"] == pytest.approx(2.0, rel=1e-12)
    assert law["verdict"] == "validated"


def test_sum_of_four_rectangulars() -> None:
    case = GUIDES["sum_of_rectangulars"]
    found = propagate(total, {f"x{i}": f"-{ROOT_3} .. {ROOT_3}" for i in range(4)}, rng=1)
    close(found, "standard_uncertainty", case["exact"]["standard_uncertainty"])
    close(found, "low", case["exact"]["interval"][0])
    close(found, "high", case["exact"]["interval"][1])
    close(found, "low", case["printed"]["interval"][0], half_digit=0.005)
    close(found, "high", case["printed"]["interval"][1], half_digit=0.005)


def test_one_wide_rectangular_is_where_the_first_order_law_fails() -> None:
    case = OWN["one_wide_rectangular"]
    wide = "17.320508075688775"
    inputs = {f"x{i}": f"0 limits {ROOT_3}" for i in range(3)} | {"x3": f"0 limits {wide}"}
    found = propagate(total, inputs, rng=1)
    close(found, "standard_uncertainty", case["exact"]["standard_uncertainty"])
    close(found, "high", case["exact"]["interval_end"])
    close(found, "low", -case["exact"]["interval_end"])
    row, law = found.quantities.loc["y"], found.first_order.table.loc["y"]
    assert [round(row["low"], 1), round(row["high"], 1)] == case["printed"]["interval"]
    assert [round(law["low"], 1), round(law["high"], 1)] == case["printed"]["first_order_interval"]
    assert law["verdict"] == "not validated"


def mass_difference(v):
    """JCGM 101:2008, equation (29), in milligrams."""
    buoyancy = 1.0 + (v["rho_a"] - 1.2) * (1.0 / v["rho_w"] - 1.0 / v["rho_r"])
    return {"y": (v["m_r"] + v["dm_r"]) * buoyancy - 100_000.0}


MASS_INPUTS = {
    "m_r": "100000.000 ± 0.050",
    "dm_r": "1.234 ± 0.020",
    "rho_a": "1.10 .. 1.30",
    "rho_w": "7000 .. 9000",
    "rho_r": "7950 .. 8050",
}


def test_mass_calibration_and_its_first_order_law_that_is_not_validated() -> None:
    case = GUIDES["mass_calibration"]
    found = propagate(mass_difference, MASS_INPUTS, rng=1)
    close(found, "mean", case["exact"]["value"], half_digit=5e-7)
    close(found, "standard_uncertainty", case["exact"]["standard_uncertainty"])
    close(found, "low", case["exact"]["interval"][0])
    close(found, "high", case["exact"]["interval"][1])
    law = found.first_order.table.loc["y"]
    assert law["value"] == pytest.approx(1.234, abs=1e-9)
    assert law["standard_uncertainty"] == pytest.approx(case["first_order"], abs=5e-8)
    assert law["tolerance"] == 0.0005
    assert law["verdict"] == "not validated"
    # The printed sample gave one more unit in the last digit of the estimate and of u than is exact.
    row = found.quantities.loc["y"]
    assert row["mean"] == pytest.approx(case["printed"]["value"], abs=1.5e-4)
    assert row["standard_uncertainty"] == pytest.approx(case["printed"]["standard_uncertainty"], abs=1.5e-4)


def test_mass_calibration_to_two_digits_by_the_adaptive_rule() -> None:
    case = GUIDES["mass_calibration"]["exact"]
    found = propagate(mass_difference, MASS_INPUTS, rng=1, digits=2)
    assert found.digits is not None
    assert found.digits.reached
    assert found.digits.tolerances == {"y": 0.0005}
    assert found.digits.blocks >= 10
    row = found.quantities.loc["y"]
    for figure, exact in zip(
        ("mean", "standard_uncertainty", "low", "high"),
        (case["value"], case["standard_uncertainty"], *case["interval"]),
        strict=True,
    ):
        assert abs(row[figure] - exact) < 0.0005


def power(v):
    """JCGM 101:2008, 9.4: comparison loss, in units of 1e-6."""
    return {"y": (v["x1"] ** 2 + v["x2"] ** 2) * 1e6}


@pytest.mark.parametrize("case", GUIDES["comparison_loss"]["cases"], ids=lambda c: f"{c['correlation']}")
def test_comparison_loss_with_and_without_correlation(case) -> None:
    r, x1 = case["correlation"], case["x1"]
    together = [Correlation(("x1", "x2"), spearman(r))] if r else []
    inputs = {"x1": f"{x1} ± 0.005", "x2": "0 ± 0.005"}
    found = propagate(power, inputs, rng=1, correlations=together)
    close(found, "mean", case["value"], half_digit=0.005)
    close(found, "standard_uncertainty", case["standard_uncertainty"], half_digit=0.005)
    row = found.quantities.loc["y"]
    # The ends of a shortest interval are noisy, its width and what it covers are not.
    low, high = row["shortest_low"], row["shortest_high"]
    assert high - low == pytest.approx(case["interval"][1] - case["interval"][0], rel=0.01)
    z = np.random.default_rng(1).standard_normal((2, 1_000_000))
    second = r * z[0] + np.sqrt(1.0 - r**2) * z[1]
    y = ((x1 + 0.005 * z[0]) ** 2 + (0.005 * second) ** 2) * 1e6
    assert np.mean((low <= y) & (y <= high)) == pytest.approx(0.95, abs=0.002)
    assert high - low < row["high"] - row["low"]
    law = found.first_order.table.loc["y"]
    assert law["standard_uncertainty"] == pytest.approx(2.0 * x1 * 0.005 * 1e6, abs=1e-9)
    assert law["verdict"] == "not validated"


def end_gauge(v):
    """GUM, H.1 and JCGM 101:2008, 9.5: length of an end gauge less its nominal one, in nanometres."""
    theta, nominal = v["theta"], 50_000_000.0
    fixed = v["standard"] + v["difference"]
    return {
        "y": fixed - v["standard"] * (v["d_alpha"] * theta + v["alpha"] * v["d_theta"]) - nominal,
    }


def test_end_gauge_by_the_first_order_law_and_beyond_it() -> None:
    case = GUIDES["end_gauge"]
    order = ("standard", "difference", "d_alpha", "theta", "alpha", "d_theta")
    stated = zip(order, case["central"], case["standard_uncertainties"], strict=True)
    inputs = {name: f"{middle:.10g} ± {u:.10g}" for name, middle, u in stated}
    found = propagate(end_gauge, inputs, rng=1)
    law = found.first_order.table.loc["y"]
    assert law["value"] == pytest.approx(838.0, abs=0.5)
    assert law["standard_uncertainty"] == pytest.approx(case["standard_uncertainty"], abs=0.5)
    row = found.quantities.loc["y"]
    assert row["standard_uncertainty"] == pytest.approx(
        OWN["end_gauge_second_order"]["standard_uncertainty"], abs=0.5
    )
    # Two products of two: 11.7 nm and 1.7 nm (GUM H.1.7) are what the law leaves out.
    left_out = np.sqrt(row["standard_uncertainty"] ** 2 - law["standard_uncertainty"] ** 2)
    assert left_out == pytest.approx(np.hypot(11.7, 1.7), abs=0.2)


class Arcsine:
    """U-shaped between two ends, JCGM 101:2008, 6.4.6."""

    def __init__(self, low: float, high: float) -> None:
        self.mean, self.half = 0.5 * (low + high), 0.5 * (high - low)
        self.standard_uncertainty = self.half / np.sqrt(2.0)

    def quantile(self, u):
        return self.mean - self.half * np.cos(np.pi * u)

    def cumulative(self, x):
        return np.arccos(np.clip((self.mean - x) / self.half, -1.0, 1.0)) / np.pi

    def words(self, scale) -> str:
        return "between two ends, most often near them"


def test_end_gauge_with_its_distributions() -> None:
    case = OWN["end_gauge_distributions"]

    def model(v):
        # A curvilinear trapezium (6.4.3) from two rectangular quantities: an inexact limit, then a point within.
        def between(half: float, inexact: float, limit, point):
            return (half + inexact * limit) * point

        return end_gauge(
            {
                "standard": v["l_s"],
                "difference": v["d"] + v["d1"] + v["d2"],
                "alpha": v["alpha"],
                "theta": v["theta_0"] + v["delta"],
                "d_alpha": between(1e-6, 1e-7, v["r1"], v["r2"]),
                "d_theta": between(0.050, 0.025, v["r3"], v["r4"]),
            }
        )

    inputs = {
        "l_s": StudentT(50_000_623.0, 25.0, 18.0),
        "d": StudentT(215.0, 6.0, 24.0),
        "d1": StudentT(0.0, 4.0, 5.0),
        "d2": StudentT(0.0, 7.0, 8.0),
        "alpha": "9.5e-6 .. 13.5e-6",
        "theta_0": "-0.1 ± 0.2",
        "delta": Arcsine(-0.5, 0.5),
        **{f"r{i}": "-1 .. 1" for i in range(1, 5)},
    }
    found = propagate(model, inputs, rng=1)
    close(found, "mean", case["exact"]["value"])
    close(found, "standard_uncertainty", case["exact"]["standard_uncertainty"])
    row = found.quantities.loc["y"]
    assert round(row["mean"]) == case["printed"]["value"]
    assert round(row["standard_uncertainty"]) == case["printed"]["standard_uncertainty"]


def impedance(v):
    """GUM, H.2: resistance, reactance and impedance."""
    z = v["volt"] / v["ampere"]
    return {"R": z * np.cos(v["radian"]), "X": z * np.sin(v["radian"]), "Z": z}


IMPEDANCE = ("volt", "ampere", "radian")
PAIRS = (("volt", "ampere"), ("volt", "radian"), ("ampere", "radian"))


def correlation_of_readings(pair) -> float:
    case = GUIDES["impedance"]
    return float(np.corrcoef(case[pair[0]], case[pair[1]])[0, 1])


def check_output_correlations(found, inputs_correlation) -> None:
    contributions = found.first_order.contributions
    covariance = contributions.T.to_numpy() @ inputs_correlation @ contributions.to_numpy()
    u = np.sqrt(np.diag(covariance))
    np.testing.assert_allclose(u, found.first_order.table["standard_uncertainty"], rtol=1e-6)
    r = covariance / np.outer(u, u)
    assert r[0, 1] == pytest.approx(GUIDES["impedance"]["exact"]["correlation_r_x"], abs=5e-6)
    assert round(r[0, 2], 3) == OWN["impedance_correlations"]["resistance_impedance"]
    assert round(r[1, 2], 3) == OWN["impedance_correlations"]["reactance_impedance"]


def test_impedance_from_correlated_means() -> None:
    case, table = GUIDES["impedance"], OWN["impedance_correlations"]
    inputs = {
        name: f"{np.mean(case[name]):.12g} ± {np.std(case[name], ddof=1) / np.sqrt(5):.12g}"
        for name in IMPEDANCE
    }
    between = {pair: correlation_of_readings(pair) for pair in PAIRS}
    for (a, b), r in between.items():
        assert round(r, 2) == table[f"{a}_{b}"]
    together = [Correlation(pair, spearman(r)) for pair, r in between.items()]
    found = propagate(impedance, inputs, rng=1, correlations=together)
    law = found.first_order.table
    np.testing.assert_allclose(law["value"], case["exact"]["values"], atol=5e-5)
    np.testing.assert_allclose(
        law["standard_uncertainty"], case["exact"]["standard_uncertainties"], atol=5.5e-6
    )
    for name, exact, u in zip(
        ("R", "X", "Z"), case["exact"]["values"], case["exact"]["standard_uncertainties"], strict=True
    ):
        # Curvature moves the mean by some 0.003 u off the value at the means, and u by less than that.
        close(found, "mean", exact, quantity=name, half_digit=0.004 * u)
        close(found, "standard_uncertainty", u, quantity=name, half_digit=2e-4 * u)
    matrix = np.eye(3)
    for (a, b), r in between.items():
        i, j = IMPEDANCE.index(a), IMPEDANCE.index(b)
        matrix[i, j] = matrix[j, i] = r
    check_output_correlations(found, matrix)


def copula_parameter(product_moment: float) -> float:
    """The copula's parameter that gives two t-distributed quantities with 4 degrees this correlation."""
    score = np.linspace(-7.5, 7.5, 601)
    weights = stats.norm.pdf(score) / stats.norm.pdf(score).sum()

    def t(z):
        return stats.t.ppf(stats.norm.cdf(np.clip(z, -7.5, 7.5)), 4) / np.sqrt(2.0)

    def excess(rho: float) -> float:
        second = rho * score[:, None] + np.sqrt(1.0 - rho**2) * score[None, :]
        return float(weights @ (t(score)[:, None] * t(second)) @ weights) - product_moment

    return float(optimize.brentq(excess, -0.999, 0.999))


def test_impedance_from_its_readings() -> None:
    # Five readings say a t distribution of scale s/√5 with 4 degrees (JCGM 101:2008, 6.4.9.2), whose standard
    # deviation is √2 times the s/√5 that the GUM of 1993 works with.
    case = GUIDES["impedance"]
    units = {"volt": "V", "ampere": "A", "radian": "rad"}
    inputs = {name: {"values": [f"{x!r} {units[name]}" for x in case[name]]} for name in IMPEDANCE}
    parameters = {pair: copula_parameter(correlation_of_readings(pair)) for pair in PAIRS}
    together = [Correlation(pair, spearman(rho)) for pair, rho in parameters.items()]
    found = propagate(impedance, inputs, rng=1, correlations=together)
    law = found.first_order.table
    np.testing.assert_allclose(law["value"], case["exact"]["values"], atol=5e-5)
    np.testing.assert_allclose(
        law["standard_uncertainty"] / np.sqrt(2.0), case["exact"]["standard_uncertainties"], rtol=2e-3
    )


def test_product_of_independents_has_goodman_s_variance() -> None:
    case = reference("sensitivity")["product"]
    inputs = {
        name: f"{m} ± {s}"
        for name, m, s in zip("ab", case["means"], case["standard_deviations"], strict=True)
    }
    found = propagate(lambda v: {"y": v["a"] * v["b"]}, inputs, rng=1)
    close(found, "mean", 2.0)
    close(found, "standard_uncertainty", np.sqrt(case["variance"]))
    # The first-order law has no product of the two: V less s1² s2².
    law = found.first_order.table.loc["y", "standard_uncertainty"]
    assert law == pytest.approx(np.sqrt(case["variance"] - 0.0625), rel=1e-12)


@pytest.mark.parametrize("form", ["0 ± 1", "0 .. 1", {"median": 1, "factor": 5}])
def test_a_stated_rank_correlation_is_the_one_that_the_points_have(form) -> None:
    case, seen = OWN["copula"], []

    def model(v):
        seen.append(np.stack([v["a"], v["b"]]))
        return {"y": v["a"] + v["b"]}

    together = [Correlation(("a", "b"), case["spearman"])]
    propagate(
        model, {"a": form, "b": "5 ± 1"}, quantities=["y"], rng=1, samples=65_536, correlations=together
    )
    a, b = max(np.concatenate([s for s in seen if s.shape[1] > 100], axis=1).reshape(1, 2, -1))
    assert stats.spearmanr(a, b).statistic == pytest.approx(case["spearman"], abs=2e-3)
    assert stats.kendalltau(a, b).statistic == pytest.approx(case["kendall"], abs=2e-3)


def test_a_product_moment_correlation_out_of_the_copula_enters_the_first_order_law() -> None:
    # Two rectangular inputs: the product-moment correlation is the rank correlation itself.
    together = [Correlation(("a", "b"), 0.5)]
    found = propagate(total, {"a": "0 .. 1", "b": "0 .. 1"}, rng=1, correlations=together)
    exact = np.sqrt((2.0 + 2.0 * 0.5) / 12.0)
    assert found.first_order.table.loc["y", "standard_uncertainty"] == pytest.approx(exact, rel=1e-6)
    close(found, "standard_uncertainty", exact)
