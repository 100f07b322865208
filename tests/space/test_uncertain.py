import math

import numpy as np
import pytest
from scipy import stats

from explorer.space import Lognormal, Normal, Rectangular, StudentT, Uncertain
from explorer.units import Scale

TESLA = Scale("T", "T")


def draws(item: Uncertain, n: int = 200_000, seed: int = 1) -> np.ndarray:
    cube = np.random.default_rng(seed).random((n, len(item.parts)))
    return item.values(*cube.T)


def test_unknown_and_scatter_are_two_parts_whose_deviations_add_about_the_centre() -> None:
    field = Uncertain("magnet.field", Normal(0.48, 0.015), Normal(0.48, 0.01))
    assert field.parts == ("unknown", "scatter")
    assert field.centre == 0.48
    assert field.standard_uncertainty == pytest.approx(math.hypot(0.015, 0.01), rel=1e-12)
    assert draws(field).std() == pytest.approx(math.hypot(0.015, 0.01), rel=5e-3)
    median = np.array([0.5])
    assert field.values(median, np.array([stats.norm.cdf(1.0)]))[0] == pytest.approx(0.49, rel=1e-9)
    assert field.values(np.array([stats.norm.cdf(1.0)]), median)[0] == pytest.approx(0.495, rel=1e-9)


def test_a_skewed_scatter_does_not_move_the_expectation() -> None:
    item = Uncertain("x", Rectangular(9.0, 11.0), Lognormal(1.0, 3.0))
    assert item.centre == 10.0
    assert draws(item).mean() == pytest.approx(10.0, abs=4 * item.standard_uncertainty / math.sqrt(200_000))


def test_scatter_alone_is_one_part_and_says_so() -> None:
    item = Uncertain("x", scatter=Normal(1.0, 0.1))
    assert item.parts == ("scatter",)
    assert item.words(TESLA) == "19 times in 20 between 0.804 and 1.196 T, anew at each firing"


def test_an_input_without_any_part_is_refused() -> None:
    with pytest.raises(ValueError, match="neither"):
        Uncertain("x")


def test_the_share_outside_is_that_of_the_whole_input() -> None:
    single = Uncertain("x", Normal(1.0, 0.25), low=0.0)
    assert single.share_outside == pytest.approx(stats.norm.cdf(-4.0), rel=1e-9)
    both = Uncertain("x", Normal(1.0, 0.2), Normal(1.0, 0.15), low=0.0)
    assert both.share_outside == pytest.approx(stats.norm.cdf(-4.0), rel=1e-6)
    upper = Uncertain("x", Rectangular(0.0, 0.9), Rectangular(0.4, 0.6), high=0.95)
    # triangle of height 1/(0.9 × 0.2) over the corner in which both are large
    assert upper.share_outside == pytest.approx(0.05**2 / 2 / (0.9 * 0.2), rel=0.02)


def test_a_tail_is_cut_and_said_but_a_negligible_one_is_not() -> None:
    near = Uncertain("x", Normal(1.0, 0.2), low=0.0)
    assert 1e-12 < near.share_outside < 1e-6
    assert near.words(TESLA).endswith("; a tail of 3e-07 beyond the physical bounds is cut")
    assert near.values(np.array([1e-12]))[0] > 0.0
    far = Uncertain("x", Normal(1.0, 0.02), low=0.0)
    assert "tail" not in far.words(TESLA)
    assert far.centre == 1.0


def test_two_parts_cut_together_follow_the_truncated_distribution() -> None:
    item = Uncertain("x", Normal(0.9, 0.08), Normal(0.9, 0.05), low=0.0, high=1.0)
    values = draws(item)
    assert values.min() >= 0.0
    assert values.max() <= 1.0
    # the same by rejection, an independent method: unknown cut, then scatter given the unknown
    rng = np.random.default_rng(2)
    unknown = rng.normal(0.9, 0.08, 400_000)
    unknown = unknown[unknown <= 1.0]
    total = np.full(unknown.size, np.nan)
    while np.isnan(total).any():
        left = np.isnan(total)
        trial = unknown[left] + rng.normal(0.0, 0.05, left.sum())
        total[left] = np.where(trial <= 1.0, trial, np.nan)
    assert item.words(TESLA).endswith("T after the cut")
    assert stats.ks_2samp(values[:50_000], total[:50_000]).pvalue > 0.01
    assert item.centre == pytest.approx(total.mean(), abs=4 * total.std() / math.sqrt(total.size))
    assert item.standard_uncertainty == pytest.approx(total.std(), rel=0.01)


def test_a_heavy_tail_counts_as_what_it_is() -> None:
    item = Uncertain("x", StudentT(0.48, 0.01, 3), low=0.0)
    assert item.share_outside == pytest.approx(stats.t.cdf(-48.0, 3), rel=1e-9)
