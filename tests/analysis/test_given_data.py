import numpy as np
import pytest
from analysis.known_functions import correlated_gaussian, ishigami, points_of, reference

from explorer.analysis.given_data import bin_means, default_bins, given_data_first_order
from explorer.analysis.sensitivity import ConstantOutput
from explorer.sampling import sample_plan

CASES = reference("sensitivity")


def scrambled(points: int, *, number: int = 1, kind: str = "sobol") -> np.ndarray:
    plan = sample_plan(number, 3, points, kind=kind)  # type: ignore[arg-type]
    return np.moveaxis(plan.arranged(points_of(plan)), 1, 0)[0]


@pytest.mark.parametrize("kind", ["sobol", "random"])
def test_correlated_gaussian_inputs_have_their_closed_form(kind: str) -> None:
    x = correlated_gaussian(scrambled(131_072, kind=kind))
    found = given_data_first_order(x, x.sum(axis=-1))
    tolerance = 0.002 if kind == "sobol" else 0.006
    np.testing.assert_allclose(found.first.value, CASES["correlated_linear"]["first"], atol=tolerance)
    assert found.total is None


def test_one_plain_sample_of_a_hundred_thousand_rows_and_a_hundred_bins_is_right_to_0_002() -> None:
    exact, errors = np.array(CASES["correlated_linear"]["first"]), []
    for seed in range(20):
        x = correlated_gaussian(np.random.default_rng(seed).uniform(1e-9, 1.0, size=(100_000, 3)))
        found = given_data_first_order([x], [x.sum(axis=1)], bins=100)
        assert np.isnan(found.first.standard_error).all()
        errors.append(found.first.value - exact)
    assert np.sqrt(np.mean(np.square(errors))) < 0.0025


def test_ishigami_agrees_with_the_closed_form_without_extra_runs() -> None:
    u = scrambled(32768)
    found = given_data_first_order(u, [ishigami(block) for block in u])
    np.testing.assert_allclose(found.first.value, CASES["ishigami"]["first"], atol=0.003)
    assert found.variance.value == pytest.approx(CASES["ishigami"]["variance"], rel=0.01)


def test_within_bin_scatter_is_not_taken_for_an_effect() -> None:
    # Nothing but noise: without taking the scatter off, 64 bins of 16 rows would show about 1/16.
    rng = np.random.default_rng(3)
    x, y = rng.random((8, 1024, 3)), rng.normal(size=(8, 1024))
    found = given_data_first_order(x, y)
    assert np.all(np.abs(found.first.value) < 0.012)
    single = given_data_first_order(x[:1], y[:1])
    assert np.all(np.abs(single.first.value) < 0.04)
    raw = np.mean(bin_means(y[0][np.argsort(x[0, :, 0])][None], 64) ** 2) / y[0].var()
    assert raw > 0.04


def test_balanced_rows_do_not_bias_it() -> None:
    # In a balanced design the analysis-of-variance correction alone would be off by about 64/1024 here.
    u = scrambled(8192)
    found = given_data_first_order(u, u.sum(axis=-1))
    np.testing.assert_allclose(found.first.value, 1.0 / 3.0, atol=0.002)


@pytest.mark.slow
def test_interval_covers_with_independent_rows() -> None:
    exact, held = np.array(CASES["correlated_linear"]["first"]), []
    for number in range(200):
        x = correlated_gaussian(scrambled(32768, number=number, kind="random"))
        first = given_data_first_order(x, x.sum(axis=-1)).first
        held.append((first.low <= exact) & (exact <= first.high))
    assert 0.92 <= np.mean(held) <= 0.975


def test_scrambles_that_lost_rows_are_accepted() -> None:
    u = scrambled(32768)
    kept = [block[block[:, 0] < 0.9] for block in u]
    found = given_data_first_order(kept, [block.sum(axis=1) for block in kept])
    # Among the rows kept x1 is uniform on (0, 0.9): variances 0.81 : 1 : 1.
    np.testing.assert_allclose(found.first.value, np.array([0.81, 1.0, 1.0]) / 2.81, atol=0.003)


def test_bad_input_is_refused() -> None:
    u = scrambled(8192)
    y = u.sum(axis=-1)
    with pytest.raises(ValueError, match="at least three"):
        given_data_first_order(u[:2], y[:2])
    with pytest.raises(ValueError, match="shape"):
        given_data_first_order([*u[:7], u[7, :, :2]], y)
    with pytest.raises(ValueError, match="bins must lie"):
        given_data_first_order(u, y, bins=1000)
    with pytest.raises(ConstantOutput):
        given_data_first_order(u, np.ones_like(y))
    y[0, 0] = np.nan
    with pytest.raises(ValueError, match="finite"):
        given_data_first_order(u, y)
    assert default_bins(1024) == 64
