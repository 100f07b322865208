"""What `propagate` does with every form of value and switch, with points that carry no number, and with bad input."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from study.known_models import NO_MODEL_ERROR, bench_text, replace_stage, shuffled, study_of, total

from explorer import StudyError, parse_study, propagate
from explorer.space import Correlation, CorrelationError
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Study

VOLT = "electrodes.main.source.voltage"
Z_95 = stats.norm.ppf(0.975)
READINGS = [1.02, 0.97, 1.05, 1.01, 0.98, 0.99]
S, N = np.std(READINGS, ddof=1), len(READINGS)

#: Value, its distribution by SciPy.
FORMS = {
    "one standard uncertainty": ("1.0 ± 0.1", stats.norm(1.0, 0.1)),
    "plus minus in words": ("1.0 +/- 0.1", stats.norm(1.0, 0.1)),
    "expanded": ("1.0 ± 0.1 (k=2)", stats.norm(1.0, 0.05)),
    "limits": ("1.0 limits 0.1", stats.uniform(0.9, 0.2)),
    "a range": ("0.9 .. 1.2", stats.uniform(0.9, 0.3)),
    "triangular": ({"low": 0.8, "peak": 1.0, "high": 1.6}, stats.triang(0.25, 0.8, 0.8)),
    "lognormal": ({"median": 1.0, "factor": 1.5}, stats.lognorm(np.log(1.5) / Z_95)),
    "cut normal": (
        {"mean": 1.0, "sd": 0.2, "low": 0.9, "high": 1.1},
        stats.truncnorm(-0.5, 0.5, 1.0, 0.2),
    ),
    "readings of what is unknown": (
        {"values": READINGS},
        stats.t(N - 1, np.mean(READINGS), S / np.sqrt(N)),
    ),
    "readings of what scatters": (
        {"values": READINGS, "part": "scatter"},
        stats.t(N - 1, np.mean(READINGS), S * np.sqrt(1.0 + 1.0 / N)),
    ),
    "scatter alone": ({"value": 1.0, "scatter": 0.1}, stats.norm(1.0, 0.1)),
    "relative, of a quantity with a unit": ("2.0 T ± 4 %", stats.norm(2.0, 0.08)),
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_of_value_has_the_moments_and_the_interval_of_its_distribution(form: str) -> None:
    written, exact = FORMS[form]
    found = propagate(lambda v: {"y": v["a"]}, {"a": written}, rng=0)
    row = found.quantities.loc["y"]
    u = float(exact.std())
    assert row["mean"] == pytest.approx(float(exact.mean()), abs=1e-3 * u)
    assert row["median"] == pytest.approx(float(exact.median()), abs=3e-3 * u)
    # Readings have the fourth moment of t with 5 degrees: none of its own to speak of, so the widest tolerance.
    assert row["standard_uncertainty"] == pytest.approx(u, rel=4e-3)
    low, high = exact.interval(0.95)
    assert row["low"] == pytest.approx(low, abs=0.02 * u)
    assert row["high"] == pytest.approx(high, abs=0.02 * u)
    part, other = (
        ("scatter", "unknown") if "scatter" in form or "scatters" in form else ("unknown", "scatter")
    )
    assert row[part] == row["standard_uncertainty"]
    assert row[other] == 0.0


def test_no_two_forms_say_the_same() -> None:
    inputs = {form: written for form, (written, _) in FORMS.items() if form != "plus minus in words"}
    rows = [
        propagate(lambda v: {"y": v["a"]}, {"a": written}, rng=0, samples=4096)
        .quantities.loc["y", ["mean", "low", "high", "unknown", "scatter"]]
        .astype(float)
        for written in inputs.values()
    ]
    for i, one in enumerate(rows):
        for other in rows[i + 1 :]:
            assert not np.allclose(one, other, rtol=1e-3)


def test_unknown_and_scatter_add_in_squares_and_scatter_is_the_floor() -> None:
    both = {"value": 0, "unknown": 3, "scatter": 4}
    found = propagate(lambda v: {"y": v["a"]}, {"a": both}, rng=1)
    row = found.quantities.loc["y"]
    for figure, exact in (("standard_uncertainty", 5.0), ("unknown", 3.0), ("scatter", 4.0)):
        # Far points carry most of the error, so that it is not Gaussian: five standard errors are too few.
        assert abs(row[figure] - exact) < 8.0 * row[f"{figure}_standard_error"]
        assert row[f"{figure}_standard_error"] < 0.01
    assert row["standard_uncertainty"] ** 2 == pytest.approx(
        row["unknown"] ** 2 + row["scatter"] ** 2, rel=1e-4
    )
    # The mean over firings doesn't scatter: its interval is that of the unknown part.
    assert row["mean_high"] == pytest.approx(3.0 * Z_95, abs=5.0 * row["mean_high_standard_error"])
    assert row["mean_low"] == pytest.approx(-3.0 * Z_95, abs=5.0 * row["mean_low_standard_error"])
    assert row["mean_high_standard_error"] < 0.1
    known = propagate(lambda v: {"y": v["a"]}, {"a": {"value": 0, "scatter": 4}}, rng=1)
    assert known.quantities.loc["y", "standard_uncertainty"] == pytest.approx(4.0, abs=0.01)


def test_an_interaction_of_unknown_and_scatter_is_scatter() -> None:
    # Y = a·s: E[Y|a] = 0 and Var(Y|a) = a²: nothing that a test could remove.
    inputs = {"a": "2 ± 1", "s": {"value": 0, "scatter": 1}}
    row = propagate(lambda v: {"y": v["a"] * v["s"]}, inputs, rng=1).quantities.loc["y"]
    assert row["scatter"] == pytest.approx(np.sqrt(5.0), rel=2e-3)
    assert row["unknown"] < 0.05


def test_first_order_law_takes_each_part_of_an_input_as_its_own_row() -> None:
    both = {"value": 0, "unknown": 3, "scatter": 4}
    found = propagate(lambda v: {"y": 2.0 * v["a"]}, {"a": both}, rng=1, samples=4096)
    assert found.first_order.contributions["y"].to_dict() == pytest.approx(
        {"a (unknown)": 6.0, "a (scatter)": 8.0}
    )
    assert found.first_order.table.loc["y", "standard_uncertainty"] == pytest.approx(10.0)


def test_where_contact_changes_within_one_standard_uncertainty_the_law_does_not_apply(monkeypatch) -> None:

    def outcomes(v):
        return np.where(v[VOLT] > 150.5, 0, 1).astype(np.int8)

    def gain(v):
        return np.where(v[VOLT] > 150.5, v[VOLT] - 150.5, 0.0)

    replace_stage(monkeypatch, {"thrust_gain": gain}, outcomes)
    found = propagate(study_of({VOLT: "150 ± 1 V"}), samples=8192)
    law = found.first_order.table.loc["thrust_gain"]
    assert law["verdict"] == "does not apply here"
    assert np.isnan(law["standard_uncertainty"])
    further = propagate(study_of({VOLT: "150 ± 0.2 V"}), samples=8192).first_order.table
    assert further.loc["thrust_gain", "verdict"] != "does not apply here"


def test_the_law_leaves_physical_bounds_alone() -> None:
    # One standard uncertainty below the expectation of a wide lognormal lies below zero, where no value can be.
    seen = []

    def model(v):
        seen.append(float(np.min(v["electrodes.main.drop_resistance"])))
        return {"y": np.sqrt(np.maximum(v["electrodes.main.drop_resistance"], 0.0))}

    inputs = {"electrodes.main.drop_resistance": {"median": "0.005 ohm m^2", "factor": 10}}
    found = propagate(model, inputs, quantities=["y"], rng=1, samples=8192)
    assert min(seen) >= 0.0 or found.first_order.table.loc["y", "verdict"] == "does not apply here"


# Points without numbers, and no contact


def contact_case(monkeypatch, threshold: float) -> Study:
    """Gain 1 + (V − threshold) above a threshold, no contact and no gain below it; V is 150 ± 1."""

    def gain(v):
        over = v[VOLT] - threshold
        return np.where(over > 0.0, 1.0 + over, 0.0)

    def outcomes(v):
        return np.where(v[VOLT] > threshold, 0, 1).astype(np.int8)

    replace_stage(monkeypatch, {"thrust_gain": gain}, outcomes)
    return study_of({VOLT: "150 ± 1 V", "target.at_least": "1.5 N"})


def test_no_contact_is_an_outcome_and_the_mixture_is_told(monkeypatch) -> None:
    study = contact_case(monkeypatch, 150.5)
    found = propagate(study)
    p = stats.norm.sf(0.5)
    cut = stats.truncnorm(0.5, np.inf, loc=0.5, scale=1.0)  # 1 + (V − 150.5), V − 150 above 0.5
    assert found.mixture is not None
    contact = found.mixture.contact
    # In one dimension every repeat has the same share, to one point of 16 384.
    assert float(contact.value) == pytest.approx(p, abs=1e-4)
    assert float(contact.standard_error) < 1e-3
    given, whole = found.mixture.given_contact.loc["thrust_gain"], found.quantities.loc["thrust_gain"]
    assert given["mean"] == pytest.approx(cut.mean(), abs=5e-4)
    assert given["median"] == pytest.approx(cut.median(), abs=5e-4)
    assert whole["mean"] == pytest.approx(p * cut.mean(), abs=5e-4)
    second = p * (cut.var() + cut.mean() ** 2)
    assert whole["standard_uncertainty"] == pytest.approx(np.sqrt(second - (p * cut.mean()) ** 2), rel=2e-3)
    assert whole["low"] == 0.0 < given["low"]
    # Shares of each status add up, and are told with what drives them.
    assert sum(found.points.values()) == found.samples
    shares = found.status_shares
    assert shares["share"].sum() == pytest.approx(1.0)
    assert shares.loc["no_contact", "drivers"].startswith("electrodes.main.source.voltage (unknown)")
    # Met with contact alone: gain above 1.5 means V above 151.
    assert found.chance_met is not None
    assert float(found.chance_met.value) == pytest.approx(stats.norm.sf(1.0), abs=1e-4)


@pytest.mark.parametrize("threshold", [147.0, 153.0])
def test_nearly_sure_or_nearly_excluded_contact_is_no_mixture(monkeypatch, threshold: float) -> None:
    study = contact_case(monkeypatch, threshold)
    assert propagate(study, samples=8192).mixture is None


def test_a_mixture_with_few_points_in_contact_is_told_all_the_same(monkeypatch) -> None:
    # Two or three points of each repeat make contact: too few for an interval, not for an answer.
    study = contact_case(monkeypatch, 152.2)
    found = propagate(study, samples=2048)
    assert found.mixture is not None
    assert float(found.mixture.contact.value) == pytest.approx(stats.norm.sf(2.2), rel=0.2)


def test_points_without_numbers_are_counted_and_never_filled_in() -> None:
    def model(v):
        return {"y": np.where(v["a"] > 1.0, np.nan, v["a"])}

    found = propagate(model, {"a": "0 ± 1", "b": "0 ± 1"}, quantities=["y"], rng=1)
    cut = stats.truncnorm(-np.inf, 1.0)
    row = found.quantities.loc["y"]
    assert row["mean"] == pytest.approx(cut.mean(), abs=2e-3)
    assert row["standard_uncertainty"] == pytest.approx(cut.std(), rel=2e-3)
    assert row["high"] <= 1.0
    assert np.isfinite(found.histogram_values["y"]).all()
    lost = found.points["not_converged"] / found.samples
    assert lost == pytest.approx(stats.norm.sf(1.0), abs=1e-3)
    assert found.status_shares.loc["not_converged", "share"] == lost
    assert found.status_shares.loc["not_converged", "drivers"].startswith("a (unknown)")


def test_numbers_that_failed_points_would_have_had_change_nothing() -> None:
    def model(fill):
        return lambda v: {"y": np.where(v["a"] > 1.0, fill, v["a"])}

    inputs = {"a": "0 ± 1"}
    one, other = (
        propagate(model(fill), inputs, quantities=["y"], rng=1, samples=4096) for fill in (np.nan, np.inf)
    )
    pd.testing.assert_frame_equal(one.quantities, other.quantities)


def test_a_callable_may_say_its_status() -> None:
    def model(v):
        on = v["a"] > 0.0
        return {"y": np.where(on, v["a"], 0.0), "status": np.where(on, 0, 1)}

    found = propagate(model, {"a": "0 ± 1"}, quantities=["y"], rng=1, samples=4096)
    assert found.points["no_contact"] == 2048
    assert found.mixture is not None


@pytest.mark.parametrize("status", [2, 3, 4])
def test_a_target_that_is_never_ok_is_said_with_the_status(monkeypatch, status: int) -> None:
    replace_stage(
        monkeypatch, {"thrust_gain": lambda v: v[VOLT]}, lambda v: np.full(v[VOLT].size, status, np.int8)
    )
    word = {2: "choked", 3: "outside table", 4: "not converged"}[status]
    with pytest.raises(NoNumbers, match=f"100.0% {word}.*move the design or narrow the ranges"):
        propagate(study_of({VOLT: "150 ± 1 V"}), samples=4096)


def test_a_quantity_without_any_number_is_said_where_others_have_theirs() -> None:
    def model(v):
        return {"y": v["a"], "mass": np.full(v["a"].size, np.nan), "status": np.zeros(v["a"].size, np.int8)}

    with pytest.raises(NoNumbers, match="mass has a number at 0 of 4096 points"):
        propagate(model, {"a": "0 ± 1"}, quantities=["y", "mass"], rng=1, samples=4096)


def test_a_constant_quantity_has_no_spread_and_no_division_by_zero() -> None:
    found = propagate(lambda v: {"y": 3.0 + 0.0 * v["a"]}, {"a": "0 ± 1"}, rng=1, samples=4096)
    row = found.quantities.loc["y"].drop("unit").astype(float)
    assert row[["mean", "median", "low", "high", "mean_low", "mean_high"]].tolist() == [3.0] * 6
    assert row["standard_uncertainty"] == 0.0


def test_a_few_points_that_all_carry_numbers_are_not_called_failed() -> None:
    # 128 points are few, but each carries a number: figures, or a refusal that says the right thing.
    try:
        found = propagate(total, {"a": "0 ± 1"}, rng=1, samples=128)
    except NoNumbers as error:
        pytest.fail(f"said of points that are all ok: {error}")
    except StudyError as error:
        assert "samples" in str(error)  # noqa: PT017 - either answer will do
    else:
        assert found.quantities.loc["y", "standard_uncertainty"] == pytest.approx(1.0, rel=0.1)


# Switches of a study


def linear_gain(v):
    return 0.1 * (v["electrodes.main.source.voltage"] - 140.0)


def test_model_error_widens_the_target_and_can_be_told_apart(monkeypatch) -> None:
    # Gain 1 ± 0.1 times a factor of relative uncertainty r: mean 1·√(1 + r²), V = (1.01)(1 + r²)² − (1 + r²).
    replace_stage(monkeypatch, {"thrust_gain": linear_gain})
    found = {}
    for r in (0.0, 0.1, 0.3):
        error = NO_MODEL_ERROR if r == 0.0 else f'[model_error]\nthrust_gain = "{100 * r:g} %"\n'
        row = propagate(study_of({VOLT: "150 ± 1 V"}, error)).quantities.loc["thrust_gain"]
        factor = 1.0 + r**2
        assert row["mean"] == pytest.approx(np.sqrt(factor), rel=1e-3)
        assert row["standard_uncertainty"] == pytest.approx(np.sqrt(1.01 * factor**2 - factor), rel=5e-3)
        found[r] = row["standard_uncertainty"]
    assert found[0.0] < found[0.1] < found[0.3]


def test_model_error_of_another_output_changes_nothing(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": linear_gain})
    stated = [
        study_of({VOLT: "150 ± 1 V"}, f'[model_error]\nthrust_gain = "10 %"\ncurrent = "{r} %"\n')
        for r in (5, 50)
    ]
    one, other = (propagate(study, samples=4096).quantities for study in stated)
    pd.testing.assert_frame_equal(one, other)


def test_the_requirement_and_the_target_change_what_is_told(monkeypatch) -> None:
    functions = {"thrust_gain": linear_gain, "current": lambda v: v[VOLT]}
    replace_stage(monkeypatch, functions)
    study = study_of({VOLT: "150 ± 1 V"})
    assert propagate(study, samples=4096).chance_met is None
    for bounds, exact in (
        ({"target.at_least": "1.1 N"}, stats.norm.sf(1.0)),
        ({"target.at_most": "1.1 N"}, stats.norm.cdf(1.0)),
        ({"target.at_least": "0.9 N", "target.at_most": "1.1 N"}, 1.0 - 2.0 * stats.norm.sf(1.0)),
    ):
        chance = propagate(study.replaced(bounds), samples=8192).chance_met
        assert chance is not None
        assert float(chance.value) == pytest.approx(exact, abs=2e-3)
    other = propagate(study.replaced({"target.quantity": "current"}), samples=4096)
    assert other.quantities.index.tolist() == ["current"]
    several = propagate(study, quantities=["thrust_gain", "current"], samples=4096)
    assert several.quantities["unit"].to_dict() == {"thrust_gain": "N", "current": "A"}


def test_a_shared_name_changes_no_figure_of_one_study(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": lambda v: v["gas.conductivity_factor"]})
    written = {"median": 1, "factor": 1.8}
    one = propagate(study_of({"gas.conductivity_factor": written}), samples=4096)
    other = propagate(study_of({"gas.conductivity_factor": {**written, "shared": "water"}}), samples=4096)
    pd.testing.assert_frame_equal(one.quantities, other.quantities)


def test_random_numbers_from_zero_on_differ_and_each_repeats() -> None:
    inputs = {"a": "0 ± 1", "b": "0 .. 1"}

    def run(number, **options):
        return propagate(
            lambda v: {"y": np.exp(v["a"]) * v["b"]}, inputs, rng=number, samples=4096, **options
        )

    frames = [run(number).quantities for number in (0, 1, 2)]
    assert not frames[0].equals(frames[1])
    assert not frames[1].equals(frames[2])
    pd.testing.assert_frame_equal(run(0).quantities, frames[0])
    generated = [run(np.random.default_rng(7)) for _ in range(2)]
    pd.testing.assert_frame_equal(generated[0].quantities, generated[1].quantities)
    assert run(generated[0].random_number).quantities.equals(generated[0].quantities)


def test_the_number_of_threads_changes_no_bit() -> None:
    inputs = {"a": {"value": 0, "unknown": 1, "scatter": 1}, "b": "0 .. 1"}
    one, two = (
        propagate(lambda v: {"y": np.exp(v["a"]) * v["b"]}, inputs, rng=3, samples=65_536, jobs=jobs)
        for jobs in (1, 2)
    )
    pd.testing.assert_frame_equal(one.quantities, two.quantities, check_exact=True)
    np.testing.assert_array_equal(one.histogram_values["y"], two.histogram_values["y"])


def test_order_of_the_file_comments_and_threads_change_no_figure_of_the_stage() -> None:
    text = bench_text()
    reordered = shuffled(text)
    assert reordered != text
    studies = [parse_study(t) for t in (text, reordered, f"# another comment\n{text}")]
    found = [
        propagate(study, samples=2048, quantities=["thrust_gain", "current"], jobs=jobs)
        for study, jobs in zip(studies, (1, 2, 1), strict=True)
    ]
    for other in found[1:]:
        pd.testing.assert_frame_equal(found[0].quantities, other.quantities, check_exact=True)
        pd.testing.assert_frame_equal(found[0].first_order.table, other.first_order.table, check_exact=True)
        assert found[0].points == other.points
    assert parse_study(text).study_hash == parse_study(f"# another comment\n{text}").study_hash


def test_the_bench_study_is_propagated_to_a_sane_answer() -> None:
    found = propagate(parse_study(bench_text()), samples=4096, jobs=2)
    row = found.quantities.loc["thrust_gain"]
    assert 0.0 < row["low"] < row["median"] < row["high"] < 0.3
    assert row["unknown"] > row["scatter"] > 0.0
    assert found.chance_met is not None
    assert 0.0 < float(found.chance_met.value) < 1.0
    assert found.points["ok"] > 0.95 * found.samples


# Bad input


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ({"a": "0 ± 0"}, "uncertainty must be above zero"),
        ({"a": "0 ± -1"}, "uncertainty must be above zero"),
        ({"a": "2 .. 1"}, "low end must lie below the high end"),
        ({"a": {"low": 3, "peak": 2, "high": 1}}, "in this order"),
        ({"a": {"median": 1, "factor": 0.5}}, "factor"),
        ({"a": {"values": [1, 2, 3]}}, "at least 4 readings"),
        ({"a": "1"}, "nothing is uncertain"),
        ({}, "nothing is uncertain"),
        (None, "a callable needs `inputs`"),
    ],
)
def test_bad_inputs_are_refused_in_one_sentence(inputs, message: str) -> None:
    with pytest.raises(StudyError, match=message) as caught:
        propagate(lambda v: {"y": v["a"]}, inputs, rng=1, samples=4096)
    assert "\n" not in str(caught.value)


def test_more_bad_input_is_refused_in_one_sentence() -> None:
    inputs = {"a": "0 ± 1", "b": "0 ± 1", "c": "0 ± 1"}
    with pytest.raises(StudyError, match="2 samples are fewer than the 3 uncertain rows"):
        propagate(total, inputs, rng=1, samples=2)
    with pytest.raises(ValueError, match="zero or positive; got -1"):
        propagate(total, inputs, rng=-1, samples=4096)
    contradiction = [Correlation(p, r) for p, r in ((("a", "b"), 0.9), (("b", "c"), 0.9), (("a", "c"), -0.9))]
    with pytest.raises(CorrelationError, match="contradict each other"):
        propagate(total, inputs, rng=1, samples=4096, correlations=contradiction)
    with pytest.raises(CorrelationError, match="without an uncertain unknown part: d"):
        propagate(total, inputs, rng=1, samples=4096, correlations=[Correlation(("a", "d"), 0.5)])
    with pytest.raises(StudyError, match="is not an output of this study"):
        propagate(study_of({VOLT: "150 ± 1 V"}), quantities=["thrust_gian"], samples=4096)
    with pytest.raises(StudyError, match="leave `inputs` out"):
        propagate(study_of({VOLT: "150 ± 1 V"}), {"a": "0 ± 1"}, samples=4096)
    with pytest.raises(StudyError, match="1 to 4 digits"):
        propagate(total, inputs, rng=1, digits=0)


def test_a_quantity_that_a_callable_does_not_give_is_named() -> None:
    with pytest.raises(StudyError, match='"z"'):
        propagate(total, {"a": "0 ± 1"}, quantities=["z"], rng=1, samples=4096)


def test_a_callable_that_gives_one_number_for_all_points_is_taken_at_its_word() -> None:
    found = propagate(lambda v: {"y": 3.0}, {"a": "0 ± 1"}, quantities=["y"], rng=1, samples=4096)
    assert found.quantities.loc["y", "mean"] == 3.0
