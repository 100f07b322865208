import numpy as np
import pytest
from scipy import stats

from explorer.analysis.scrambles import estimate, finite, order


def test_interval_is_student_s_with_seven_degrees_for_eight_scrambles() -> None:
    values = np.random.default_rng(0).normal(size=(8, 3))
    found = estimate(values)
    # SciPy's one-sample t interval is the second method.
    expected = stats.ttest_1samp(values, 0.0).confidence_interval(0.95)
    np.testing.assert_allclose(found.low, expected.low, rtol=1e-12)
    np.testing.assert_allclose(found.high, expected.high, rtol=1e-12)
    # t for 7 degrees, 97.5 %: 2.365 in any printed table.
    np.testing.assert_allclose((found.high - found.value) / found.standard_error, 2.365, atol=5e-4)


def test_one_scramble_has_no_sampling_error_rather_than_none() -> None:
    found = estimate(np.array([[1.0, 2.0]]))
    assert found.value.tolist() == [1.0, 2.0]
    assert np.isnan([found.standard_error, found.low, found.high]).all()


def test_order_is_claimed_only_beyond_the_interval_of_the_difference() -> None:
    rng = np.random.default_rng(1)
    common = rng.normal(size=8)
    # The first two move together, so their small difference stands out of their own large errors.
    a, b, c = estimate(common + 0.1), estimate(common), estimate(rng.normal(size=8))
    assert (order(a, b), order(b, a)) == ("above", "below")
    assert order(a, c) == order(c, a) == order(a, a) == "level"


def test_finite_says_how_many_values_are_not() -> None:
    with pytest.raises(ValueError, match="outputs must be finite; 2 of 3 values are not"):
        finite([1.0, np.nan, np.inf], "outputs")
