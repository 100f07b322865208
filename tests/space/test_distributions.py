import math
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from explorer.space import Cut, Distribution, Lognormal, Normal, Rectangular, StudentT, Triangular
from explorer.units import Scale

REFERENCE = tomllib.loads(
    (Path(__file__).parents[1] / "reference/distributions.toml").read_text(encoding="utf-8")
)
TESLA = Scale("T", "T")
Z = stats.norm.ppf(0.975)

# Each beside the same distribution of SciPy, the second method.
PAIRS = {
    "normal": (Normal(0.48, 0.02), stats.norm(0.48, 0.02)),
    "rectangular": (Rectangular(20.0, 60.0), stats.uniform(20.0, 40.0)),
    "triangular": (Triangular(0.5, 0.85, 0.98), stats.triang(0.35 / 0.48, 0.5, 0.48)),
    "triangular, peak at the low end": (Triangular(1.0, 1.0, 3.0), stats.triang(0.0, 1.0, 2.0)),
    "triangular, peak at the high end": (Triangular(1.0, 3.0, 3.0), stats.triang(1.0, 1.0, 2.0)),
    "lognormal": (Lognormal(0.005, 2.5), stats.lognorm(math.log(2.5) / Z, scale=0.005)),
    "t": (StudentT(5.0, 0.003, 4), stats.t(4, 5.0, 0.003)),
    "cut normal": (Cut(Normal(0.96, 0.01), 0.92, 0.985), stats.truncnorm(-4.0, 2.5, 0.96, 0.01)),
    "half normal": (Cut(Normal(0.0, 1.0), 0.0, math.inf), stats.halfnorm()),
    "cut rectangular": (Cut(Rectangular(0.6, 1.2), 0.0, 1.0), stats.uniform(0.6, 0.4)),
}
both = pytest.mark.parametrize(("ours", "reference"), PAIRS.values(), ids=PAIRS.keys())


@both
def test_quantiles_and_probabilities_agree_with_scipy(
    ours: Distribution, reference: stats.rv_continuous
) -> None:
    u = np.array([1e-6, 1e-3, 0.025, 0.3, 0.5, 0.8, 0.975, 0.999, 1 - 1e-6])
    np.testing.assert_allclose(ours.quantile(u), reference.ppf(u), rtol=1e-9, atol=1e-12)
    x = reference.ppf(u)
    np.testing.assert_allclose(ours.cumulative(x), reference.cdf(x), rtol=1e-9, atol=1e-12)


@both
def test_means_and_standard_uncertainties_agree_with_scipy(
    ours: Distribution, reference: stats.rv_continuous
) -> None:
    assert ours.mean == pytest.approx(float(reference.mean()), rel=1e-8)
    assert ours.standard_uncertainty == pytest.approx(float(reference.std()), rel=1e-6)


@both
def test_nothing_lies_beyond_the_ends(ours: Distribution, reference: stats.rv_continuous) -> None:
    low, high = reference.support()
    far = 10 * ours.standard_uncertainty
    if math.isfinite(low):
        assert ours.cumulative(np.array([low - far]))[0] == 0.0
    if math.isfinite(high):
        assert ours.cumulative(np.array([high + far]))[0] == 1.0


@both
@given(u=st.floats(1e-5, 1 - 1e-5))
def test_quantile_and_probability_are_inverse(
    ours: Distribution, reference: stats.rv_continuous, u: float
) -> None:
    assert ours.cumulative(ours.quantile(np.array([u])))[0] == pytest.approx(u, rel=1e-8)


def test_a_lognormal_holds_95_per_cent_within_its_factor_and_its_mean_lies_above_the_median() -> None:
    known = Lognormal(1.0, 1.8)
    np.testing.assert_allclose(
        known.cumulative(np.array([1 / 1.8, 1.0, 1.8])), [0.025, 0.5, 0.975], rtol=1e-12
    )
    assert known.mean == pytest.approx(math.exp(0.5 * (math.log(1.8) / 1.959963985) ** 2), rel=1e-9)


@pytest.mark.parametrize("row", range(3))
def test_t_factors_are_those_of_the_gums_table(row: int) -> None:
    table = REFERENCE["coverage"]
    t = StudentT(0.0, 1.0, table["degrees_of_freedom"][row])
    assert float(t.quantile(np.array([0.975]))[0]) == pytest.approx(table["t_95"][row], abs=0.005)


def test_words_say_what_a_reader_should_expect() -> None:
    assert Normal(0.48, 0.0204).words(TESLA) == "19 times in 20 between 0.44 and 0.52 T"
    assert Rectangular(20, 60).words(Scale("V", "V")) == "anywhere between 20 and 60 V, all equally likely"
    assert Triangular(0.5, 0.85, 0.98).words(Scale("1", "1")) == "between 0.5 and 0.98, most likely 0.85"
    assert (
        Lognormal(1.0, 1.8).words(Scale("1", "1"))
        == "19 times in 20 between 0.5556 and 1.8, as likely above 1 as below"
    )
    assert StudentT(0.477, 0.0025, 3).words(TESLA).endswith("T, from 4 readings")
    cut = Cut(Normal(0.96, 0.01), 0.92, 0.985).words(Scale("1", "1"))
    assert cut.endswith("mean 0.9598 and standard uncertainty 0.00977 after the cut")
    assert Normal(293.15, 2.0).words(Scale("K", "°C")) == "19 times in 20 between 16.08 and 23.92 °C"
