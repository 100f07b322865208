import numpy as np
import pytest
from analysis.known_functions import points_of, reference
from scipy import stats
from scipy.special import ndtri

from explorer.analysis.measurement import (
    Choice,
    MoreThanPerfect,
    decision_value,
    left_after,
    left_range,
    reading_uncertainty,
    refuse_more_than_perfect,
    verdict_value,
)
from explorer.analysis.regression import centred, regressors
from explorer.analysis.scrambles import estimate, root
from explorer.sampling import sample_plan

CASES = reference("information")


def normal(points: int, dimensions: int, *, number: int = 1) -> np.ndarray:
    plan = sample_plan(number, dimensions, points)
    return ndtri(plan.arranged(points_of(plan))[:, 0])


def test_linear_gaussian_readings_leave_the_posterior_variances() -> None:
    case = CASES["linear_gaussian"]
    z = normal(65536, 5)
    theta = z[..., :3] * np.sqrt(case["prior_variance"])
    observed = theta @ np.array(case["observation"]).T + z[..., 3:] * np.sqrt(case["noise_variance"])
    known = regressors(observed)
    for i, exact in enumerate(case["posterior_variance"]):
        target, _ = centred(theta[..., i])
        found = left_after(known, [0, 1], target)
        assert float(found.value) == pytest.approx(exact, rel=0.01)
        assert abs(float(found.value) - exact) < 5.0 * float(found.standard_error) + 1e-3 * exact
        # One uncertainty whatever the readings turn out to be.
        low, high = left_range(known, [0, 1], target)
        assert low == pytest.approx(np.sqrt(exact), rel=0.03)
        assert high == pytest.approx(np.sqrt(exact), rel=0.03)


def test_fall_in_variance_of_a_sum_has_its_closed_form() -> None:
    case = CASES["linear_gaussian"]
    prior, h = np.diag(case["prior_variance"]), np.array(case["observation"])
    c = np.array([1.0, -0.5, 2.0])
    gain = prior @ h.T @ np.linalg.inv(h @ prior @ h.T + np.diag(case["noise_variance"])) @ h @ prior
    z = normal(65536, 5)
    theta = z[..., :3] * np.sqrt(case["prior_variance"])
    observed = theta @ h.T + z[..., 3:] * np.sqrt(case["noise_variance"])
    target, _ = centred(theta @ c)
    known = regressors(observed)
    fall = float(left_after(known, [], target).value - left_after(known, [0, 1], target).value)
    assert fall == pytest.approx(float(c @ gain @ c), rel=0.01)


def test_range_of_what_the_uncertainty_may_turn_out_to_be() -> None:
    # Y = (1 + z1/2)(2 + z2/2): knowing z1 leaves |1 + z1/2|/2.
    z = normal(65536, 2)
    target, _ = centred((1.0 + 0.5 * z[..., 0]) * (2.0 + 0.5 * z[..., 1]))
    exact = np.quantile(
        0.5 * np.abs(1.0 + 0.5 * stats.norm.ppf((np.arange(100_000) + 0.5) / 100_000)), [0.05, 0.95]
    )
    low, high = left_range(regressors(z), [0], target)
    assert low == pytest.approx(exact[0], abs=0.02)
    assert high == pytest.approx(exact[1], abs=0.02)
    now = float(root(left_after(regressors(z), [], target)).value)
    assert left_range(regressors(z), [], target) == (now, now)


@pytest.mark.parametrize("i", range(4))
def test_partial_information_has_its_closed_form(i: int) -> None:
    case = CASES["two_choices"]
    theta = normal(131_072, 4) * np.array(case["standard_deviations"])
    worth = case["constant"] + theta @ np.array(case["weights"])
    benefits = [np.column_stack([np.zeros(len(b)), b]) for b in worth]
    known = regressors(theta)
    found = decision_value(known, [i], benefits)
    assert float(found.value.value) == pytest.approx(case["partial"][i], abs=3e-4)
    assert found.perfect == pytest.approx(case["perfect"], abs=1e-4)
    sd = case["weights"][i] * case["standard_deviations"][i]
    change = stats.norm.sf(-case["constant"] / abs(sd))
    assert float(found.change.value) == pytest.approx(change, abs=2e-3)
    every = decision_value(known, [0, 1, 2, 3], benefits)
    assert float(every.value.value) == pytest.approx(case["perfect"], abs=1e-4)


@pytest.mark.parametrize("size", range(3))
def test_sample_information_has_its_closed_form(size: int) -> None:
    case = CASES["two_choices"]
    z = normal(131_072, 5)
    theta = z[..., :4] * np.array(case["standard_deviations"])
    worth = case["constant"] + theta @ np.array(case["weights"])
    u = reading_uncertainty(random=1.0, repeats=case["sample_sizes"][size])
    benefits = [np.column_stack([np.zeros(len(b)), b]) for b in worth]
    found = decision_value(regressors(theta[..., :1] + u * z[..., 4:]), [0], benefits)
    assert float(found.value.value) == pytest.approx(case["sample"][size], abs=1e-3)


def test_wrong_verdicts_avoided_are_the_textbook_difference() -> None:
    # Met where z1 + z2 > 0.5; knowing z1: E[max(p, 1 − p)] − max(p0, 1 − p0) by quadrature.
    z = normal(131_072, 2)
    met = [(block.sum(axis=-1) > 0.5).astype(float) for block in z]
    p = stats.norm.cdf(np.linspace(-9.0, 9.0, 40_001) - 0.5)
    density = stats.norm.pdf(np.linspace(-9.0, 9.0, 40_001)) * 18.0 / 40_000
    p0 = stats.norm.sf(0.5 / np.sqrt(2.0))
    exact = float(np.sum(density * np.maximum(p, 1.0 - p)) - max(p0, 1.0 - p0))
    found = verdict_value(regressors(z), [0], Choice(met))
    assert float(found.value.value) == pytest.approx(exact, abs=1.5e-3)
    assert float(found.value.value) <= found.perfect == pytest.approx(p0, abs=1e-3)
    assert float(found.change.value) == pytest.approx(stats.norm.sf(0.5), abs=0.01)


def test_pay_offs_shift_the_verdict() -> None:
    # Gain 1, loss 3: go ahead only where p > 3/4. Without readings p0 = 1/2 says no; knowing z says go
    # where z > 0, and is right each time.
    z = normal(32768, 1)
    met = [(block[:, 0] > 0.0).astype(float) for block in z]
    found = verdict_value(regressors(z), [0], Choice(met, (1.0, -3.0), (0.0, 0.0)))
    assert float(found.value.value) == pytest.approx(0.5, abs=0.01)
    assert found.perfect == pytest.approx(0.5, abs=1e-3)


def test_readings_of_nothing_are_worth_nothing_within_their_error() -> None:
    z = normal(32768, 2)
    met = [(block[:, 0] > 0.4).astype(float) for block in z]
    found = verdict_value(regressors(z), [1], Choice(met))
    assert abs(float(found.value.value)) < 4.0 * float(found.value.standard_error) + 1e-12
    target, _ = centred(z[..., 0])
    assert float(left_after(regressors(z), [1], target).value) == pytest.approx(1.0, abs=0.01)


def test_readings_never_teach_more_than_perfect_knowledge() -> None:
    z = normal(16384, 3)
    target, _ = centred(z[..., 0] + z[..., 1])
    perfect = left_after(regressors(z), [0], target)
    for noise in (1.0, 0.1, 1e-3):
        reading = regressors(z[..., :1] + noise * z[..., 2:])
        after = left_after(reading, [0], target)
        refuse_more_than_perfect(after, perfect, "a reading")
        assert float(after.value) > float(perfect.value) - 4.0 * float(perfect.standard_error)
    # The must-fail twin: a reading that gives away the other input too.
    cheat = left_after(regressors(z[..., :2].sum(axis=-1, keepdims=True)), [0], target)
    with pytest.raises(MoreThanPerfect, match="a cheat would leave a variance of"):
        refuse_more_than_perfect(cheat, perfect, "a cheat")


def test_repeats_lessen_what_falls_anew_and_not_what_is_common() -> None:
    assert reading_uncertainty(random=3.0, scatter=4.0) == pytest.approx(5.0)
    assert reading_uncertainty(random=3.0, scatter=4.0, repeats=25) == pytest.approx(1.0)
    assert reading_uncertainty(random=3.0, common=2.0, scatter=4.0, repeats=10**9) == pytest.approx(2.0)
    with pytest.raises(ValueError, match="at least one"):
        reading_uncertainty(random=1.0, repeats=0)


def test_a_value_s_error_is_what_repeats_scatter_by() -> None:
    values, errors = [], []
    for number in range(40):
        z = normal(8192, 2, number=number)
        met = [(block.sum(axis=-1) > 0.5).astype(float) for block in z]
        found = verdict_value(regressors(z), [0], Choice(met)).value
        values.append(float(found.value))
        errors.append(float(found.standard_error))
    assert 0.6 < np.sqrt(np.mean(np.square(errors))) / np.std(values, ddof=1) < 1.6
    assert isinstance(estimate(values).value, np.ndarray)
