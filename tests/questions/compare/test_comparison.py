"""Designs held against each other: what is shared drops out, what is apart stays, failed points, limits, bad input."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from questions.optimize.known_designs import FACTOR, VOLT, WALL, known
from scipy import stats
from study.known_models import NO_MODEL_ERROR, STUDIES, bench_text, study_of
from study.texts import PLAIN

from explorer import StudyError, compare, parse_study, rank, read_study, solve
from explorer.questions.compare.comparison import Comparison
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Study

#: The bench's stated field, and blocks in its place.
BLOCKS = (
    'field = { value = "0.48 T", unknown = "0.015 T", scatter = "0.01 T" }',
    'blocks = { grade = "N42", length = "100 mm", height = "50 mm", thickness = "40 mm", spacing = "40 mm" }',
)


def of(found: Comparison, figure: str, *, other: str | None = None, row: str = "thrust_gain") -> float:
    """A figure of the difference from the first design."""
    return found.differences.loc[row, (other or found.names[1], figure)]


def gaussian(found: Comparison, spread: float, *, mean: float = 0.0) -> None:
    """The difference is Gaussian: its figures within five of their own sampling errors, which are small."""
    quantile = stats.norm.ppf(0.975)
    exact = {
        "mean": mean,
        "standard_uncertainty": spread,
        "low": mean - quantile * spread,
        "high": mean + quantile * spread,
    }
    for figure, value in exact.items():
        error = of(found, f"{figure}_standard_error")
        assert error < 0.03 * spread
        assert of(found, figure) == pytest.approx(value, abs=5 * error + 1e-12)


# What is drawn once, and what apart


def both(
    inputs: Mapping[str, object], other: Mapping[str, object] | None = None, **sections: str
) -> list[Study]:
    extra = NO_MODEL_ERROR + "".join(f"{key} = {value}\n" for key, value in sections.items())
    return [study_of(inputs, extra), study_of(other or inputs, extra)]


def test_two_designs_with_everything_shared_and_equal_differ_by_exactly_nothing() -> None:
    # On the stage itself: same table, same points, same arithmetic.
    inputs = {
        "magnet.field": {"value": "0.48 T", "unknown": "0.02 T", "shared": "probe"},
        FACTOR: {"median": 1, "factor": 1.8, "shared": "water"},
        "electrodes.main.drop_resistance": {"median": "0.005 ohm m^2", "factor": 2.5, "shared": "layer"},
    }
    found = compare(both(inputs, shared='"100 %"'), samples=512)
    told = found.differences[found.names[1]]
    told = told[told["verdict"] != ""]  # the magnet's mass is not known
    assert (told[["mean", "low", "high", "standard_uncertainty", "larger"]] == 0.0).all(axis=None)
    assert set(told["verdict"]) == {"the same"}
    assert {"thrust_gain", "current", "interaction_parameter"} <= set(told.index)
    assert found.quantities.loc["thrust_gain", (found.names[0], "standard_uncertainty")] > 0.0


@pytest.mark.parametrize("changed", ["not shared", "another name", "the model's own error"])
def test_and_differ_by_something_once_one_of_them_is_drawn_apart(changed: str) -> None:
    shared = {"value": "0.48 T", "unknown": "0.02 T", "shared": "probe"}
    other = {"not shared": "0.48 ± 0.02 T", "another name": {**shared, "shared": "another"}}.get(
        changed, shared
    )
    share = '"99 %"' if changed == "the model's own error" else '"100 %"'
    extra = f'\n[model_error]\nthrust_gain = "10 %"\nshared = {share}\n'
    found = compare([study_of({"magnet.field": f}, extra) for f in (shared, other)], samples=512)
    assert of(found, "standard_uncertainty") > 0.0
    assert of(found, "low") < 0.0 < of(found, "high")
    assert of(found, "verdict") == "not told apart"


def test_what_is_shared_drops_out_of_the_difference_and_the_rest_adds_in_squares(monkeypatch) -> None:
    # Gains c + T/100 here and there, c known to 0.3 and T to 10 K: by hand.
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] + 0.01 * (v[WALL] - 800.0)})
    own = {"value": 2.0, "unknown": 0.3}
    apart = compare(both({FACTOR: own, WALL: "800 ± 10 K"}))
    once = compare(both({FACTOR: {**own, "shared": "water"}, WALL: "800 ± 10 K"}))
    gaussian(apart, np.sqrt(2 * (0.3**2 + 0.1**2)))
    gaussian(once, np.sqrt(2 * 0.1**2))
    assert once.shared == {"water": ((once.names[0], FACTOR), (once.names[1], FACTOR))}
    assert apart.shared == {}
    # Each design by itself is as unsure as before.
    for found in (apart, once):
        alone = found.quantities["Invented, for tests 1"].loc["thrust_gain"]
        error = alone["standard_uncertainty_standard_error"]
        assert alone["standard_uncertainty"] == pytest.approx(np.hypot(0.3, 0.1), abs=5 * error)


def test_the_same_address_alone_is_not_the_same_thing_and_another_address_may_be(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] + v["gas.nozzle_lag"]})
    tape = {"value": 0.8, "unknown": 0.02, "shared": "probe"}
    first, second = {FACTOR: tape, "gas.nozzle_lag": 0.8}, {FACTOR: 0.8, "gas.nozzle_lag": tape}
    assert of(compare(both(first, second)), "standard_uncertainty") == pytest.approx(0.0, abs=1e-9)


def test_scatter_of_what_is_shared_falls_anew_in_each_design(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR]})
    written = {"value": 2.0, "unknown": 0.3, "scatter": 0.1, "shared": "water"}
    gaussian(compare(both({FACTOR: written})), np.sqrt(2) * 0.1)


def test_more_than_two_designs_are_each_held_against_the_first(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] + 0.01 * v[WALL]})
    water = {"value": 2.0, "unknown": 0.3, "shared": "water"}
    walls = ("800 ± 10 K", "900 ± 20 K", "700 ± 30 K")
    found = compare([study_of({FACTOR: water, WALL: wall}) for wall in walls])
    assert len(found.names) == 3
    assert list(found.differences.columns.unique("design")) == list(found.names[1:])
    for name, mean, spread in zip(found.names[1:], (1.0, -1.0), (0.2, 0.3), strict=True):
        assert of(found, "mean", other=name) == pytest.approx(mean, abs=1e-3)
        assert of(found, "standard_uncertainty", other=name) == pytest.approx(np.hypot(0.1, spread), rel=0.01)


@pytest.mark.parametrize("share", [0.0, 0.6, 1.0])
def test_the_models_own_error_has_a_part_in_common(monkeypatch, share: float) -> None:
    # X = exp(C + A), Y = exp(C + B), var(ln X) = v = ln(1 + r²), C having the share s of it:
    # E[(X − Y)²] = 2 (exp(2 v) − exp(v (1 + s))).
    known(monkeypatch, {"thrust_gain": lambda v: 1.0 + 0.0 * v[VOLT]})
    extra = f'\n[model_error]\nthrust_gain = "20 %"\nshared = "{100 * share:g} %"\n'
    found = compare([study_of({VOLT: "150 ± 1 V"}, extra) for _ in range(2)])
    v = np.log1p(0.2**2)
    exact = np.sqrt(2.0 * (np.exp(2.0 * v) - np.exp(v * (1.0 + share))))
    assert found.model_share == share
    assert of(found, "standard_uncertainty") == pytest.approx(exact, rel=0.02, abs=1e-12)


def test_the_common_part_is_a_share_of_the_smallest_error(monkeypatch) -> None:
    # s of the smaller variance v in common: var = e^2v − e^v + e^2w − e^w − 2 e^((v + w)/2) (e^(s v) − 1).
    known(monkeypatch, {"thrust_gain": lambda v: 1.0 + 0.0 * v[VOLT]})
    extras = [f'\n[model_error]\nthrust_gain = "{e} %"\nshared = "50 %"\n' for e in (10, 30)]
    found = compare([study_of({VOLT: "150 ± 1 V"}, extra) for extra in extras])
    v, w = np.log1p(0.1**2), np.log1p(0.3**2)
    variances = np.exp(2 * v) - np.exp(v) + np.exp(2 * w) - np.exp(w)
    exact = np.sqrt(variances - 2.0 * np.exp(0.5 * (v + w)) * np.expm1(0.5 * v))
    assert of(found, "standard_uncertainty") == pytest.approx(exact, rel=0.02)


def test_the_first_study_that_states_what_models_have_in_common_decides(monkeypatch) -> None:
    known(monkeypatch, {})
    silent, stated = NO_MODEL_ERROR, f'{NO_MODEL_ERROR}shared = "70 %"\n'
    for extras, share in (((silent, silent), 0.5), ((silent, stated), 0.7), ((stated, silent), 0.7)):
        studies = [study_of({VOLT: "150 ± 1 V"}, extra) for extra in extras]
        assert compare(studies, samples=256).model_share == share


def test_inputs_that_depend_on_each_other_in_one_design_stay_so(monkeypatch) -> None:
    # Both gaps known to 0.1 mm, rank correlation 0.8: var(a + b) = 2 u² (1 + 2 sin(π 0.8/6)), Gaussian.
    known(monkeypatch, {"thrust_gain": lambda v: 1e3 * (v["channel.gap_in"] + v["channel.gap_out"])})
    inputs = {"channel.gap_in": "11 ± 0.1 mm", "channel.gap_out": "12 ± 0.1 mm"}
    tied = '\n[[correlation]]\nbetween = ["channel.gap_in", "channel.gap_out"]\nrank = 0.8\n'
    plain, other = study_of(inputs), study_of(inputs)
    correlated, as_well = (study_of(inputs, f"{tied}{NO_MODEL_ERROR}") for _ in range(2))
    rho = 2.0 * np.sin(np.pi * 0.8 / 6.0)
    gaussian(compare([plain, other]), 0.1 * np.sqrt(4.0))
    gaussian(compare([correlated, plain]), 0.1 * np.sqrt(4.0 + 2.0 * rho))
    gaussian(compare([correlated, as_well]), 0.1 * np.sqrt(4.0 + 4.0 * rho))


def test_what_is_shared_may_hang_together_with_what_is_not(monkeypatch) -> None:
    # c is shared and tied to the lag in the first design only: var(lag₁ − lag₂ + c − c) holds no covariance,
    # var(c + lag₁) does.
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] + v["gas.nozzle_lag"]})
    inputs = {FACTOR: {"value": 2.0, "unknown": 0.1, "shared": "water"}, "gas.nozzle_lag": "0.7 ± 0.05"}
    tied = f'\n[[correlation]]\nbetween = ["{FACTOR}", "gas.nozzle_lag"]\nrank = 0.6\n'
    found = compare([study_of(inputs, f"{tied}{NO_MODEL_ERROR}"), study_of(inputs)])
    gaussian(found, 0.05 * np.sqrt(2.0))
    rho = 2.0 * np.sin(np.pi * 0.6 / 6.0)
    spreads = [found.quantities.loc["thrust_gain", (name, "standard_uncertainty")] for name in found.names]
    together = np.sqrt(0.1**2 + 0.05**2 + 2 * rho * 0.1 * 0.05)
    np.testing.assert_allclose(spreads, [together, np.hypot(0.1, 0.05)], rtol=0.01)


def test_a_ranked_difference_is_as_unsure_as_a_compared_one(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: np.exp(v[FACTOR]) * (v[WALL] / 800.0) ** 2})
    water = {"value": 1.0, "unknown": 0.2, "shared": "water"}
    extra = '\n[model_error]\nthrust_gain = "10 %"\nshared = "60 %"\n'
    studies = [study_of({FACTOR: water, WALL: wall}, extra) for wall in ("800 ± 40 K", "850 ± 20 K")]
    found = compare(studies, samples=65_536)
    ranked = rank(studies[1], against=studies[0], base=8192, test_guesses=False)
    for figure in ("mean", "standard_uncertainty"):
        ranked_figure = getattr(ranked, figure)
        error = np.hypot(ranked_figure.error, of(found, f"{figure}_standard_error"))
        assert of(found, figure) == pytest.approx(float(ranked_figure), abs=5 * error)


# The same hardware with a change


def test_a_change_of_one_rig_is_judged_with_all_else_the_same_and_between_firings_with_its_scatter(
    monkeypatch,
) -> None:
    # Gain c · V/150: c known to 0.3 and scattering by 0.1, V set from 150 to 153 V. The change is 0.02 c, so its mean
    # is 0.04 and its spread 0.02 · √(0.3² + 0.1²); between one firing of each 1.02 c' − c adds the scatter of both.
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] * v[VOLT] / 150.0})
    base = study_of({FACTOR: {"value": 2.0, "unknown": 0.3, "scatter": 0.1}})
    found = compare([base, base.replaced({VOLT: "153 V"})])
    assert found.names == ("Invented, for tests", f"{VOLT} = 153 V")
    gaussian(found, 0.02 * np.hypot(0.3, 0.1), mean=0.04)
    assert of(found, "verdict") == "larger"
    (other,) = found.others
    between = other.between_firings["thrust_gain"]
    apart = np.sqrt((0.02 * 0.3) ** 2 + (1.02**2 + 1.0) * 0.1**2)
    assert float(between.standard_uncertainty) == pytest.approx(
        apart, abs=5 * between.standard_uncertainty.error
    )
    assert between.verdict == "not told apart"
    # Must differ: two rigs of one text, the same change.
    twins = compare([base, study_of({FACTOR: {"value": 2.0, "unknown": 0.3, "scatter": 0.1}, VOLT: "153 V"})])
    gaussian(twins, np.hypot(0.3, 0.1) * np.hypot(1.0, 1.02), mean=0.04)
    assert of(twins, "verdict") == "not told apart"


def test_one_rig_has_the_models_own_error_in_common_in_full(monkeypatch) -> None:
    # Twice the gain, one factor X on both: the difference is X, whose standard deviation is r for a mean of √(1 + r²).
    known(monkeypatch, {"thrust_gain": lambda v: v[VOLT] / 150.0})
    extra = '\n[model_error]\nthrust_gain = "20 %"\nshared = "0 %"\n'
    base = study_of({WALL: "800 ± 10 K"}, extra)
    found = compare([base, base.replaced({VOLT: "300 V"})])
    v = np.log1p(0.2**2)
    assert found.model_share == 1.0
    assert of(found, "standard_uncertainty") == pytest.approx(np.sqrt(np.exp(2 * v) - np.exp(v)), rel=0.01)


def test_what_is_replaced_is_its_own_and_replaced_alike_one_thing_again(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[FACTOR] + 0.01 * v[WALL] + 0.01 * v[VOLT]})
    base = study_of({FACTOR: "2.0 ± 0.3", WALL: "800 ± 10 K"})
    anew = base.replaced({WALL: "800 ± 20 K"})
    gaussian(compare([base, anew]), 0.01 * np.hypot(10.0, 20.0))
    further = base.replaced({WALL: "800 ± 20 K", VOLT: "160 V"})
    assert of(compare([anew, further]), "standard_uncertainty") == pytest.approx(0.0, abs=1e-9)


def test_a_replaced_input_still_hangs_together_with_what_is_one_thing(monkeypatch) -> None:
    # Gaps a (one thing) and b (one each), b tied to a by ρ: given a the two b are independent, so that
    # var(b₁ − b₂) = 2 u² (1 − ρ²). Conditional variances of the normal distribution.
    known(monkeypatch, {"thrust_gain": lambda v: 1e3 * v["channel.gap_out"]})
    tied = '\n[[correlation]]\nbetween = ["channel.gap_in", "channel.gap_out"]\nrank = 0.9\n'
    inputs = {"channel.gap_in": "11 ± 0.1 mm", "channel.gap_out": "12 ± 0.1 mm"}
    base = study_of(inputs, f"{tied}{NO_MODEL_ERROR}")
    rho = 2.0 * np.sin(np.pi * 0.9 / 6.0)
    found = compare([base, base.replaced({"channel.gap_out": "12.0 ± 0.1 mm"})])
    gaussian(found, 0.1 * np.sqrt(2.0 * (1.0 - rho**2)))


def test_on_the_stage_a_likeness_is_certain_of_what_its_twin_cannot_tell(tmp_path: Path) -> None:
    # Only the magnets' spacing differs: certain, and within what bends in between what solve says; a second build of
    # the same drawing tells nothing apart.
    hardware = bench_text().partition("[[instrument]]")[0]
    (tmp_path / "base.toml").write_text(hardware.replace(*BLOCKS), encoding="utf-8")
    change = 'like = "base.toml"\n{}\n[magnet.blocks]\nspacing = "34 mm"\n'
    (tmp_path / "same.toml").write_text(change.format(""), encoding="utf-8")
    (tmp_path / "twin.toml").write_text(change.format('rig = "another"'), encoding="utf-8")
    base, same, twin = (read_study(tmp_path / f"{name}.toml") for name in ("base", "same", "twin"))
    assert same.study_hash == twin.study_hash
    found = compare([base, same], samples=2048)
    (other,) = found.others
    by_solve = solve(same).quantities["thrust_gain"] - solve(base).quantities["thrust_gain"]
    assert of(found, "verdict") == "larger"
    centres = other.figures["thrust_gain"].centre - found.first.figures["thrust_gain"].centre
    assert centres == pytest.approx(by_solve, rel=1e-3)
    assert of(found, "mean") == pytest.approx(by_solve, rel=0.2)
    apart = compare([base, twin], samples=2048)
    assert of(apart, "verdict") == "not told apart"
    assert of(apart, "standard_uncertainty") > 5 * of(found, "standard_uncertainty")


# Verdicts


@pytest.mark.parametrize(
    ("step", "verdict"),
    [(0.0, "not told apart"), (3.0, "larger"), (-3.0, "smaller"), (1.0, "not told apart")],
)
def test_a_difference_is_real_where_zero_lies_outside_its_interval(
    monkeypatch, step: float, verdict: str
) -> None:
    # A Gaussian difference of `step` standard uncertainties; the border is 1.96.
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]})
    second = f"{800 + step * 10 * np.sqrt(2):.6f} ± 10 K"
    found = compare(both({WALL: "800 ± 10 K"}, {WALL: second}))
    assert of(found, "verdict") == verdict
    chance, error = of(found, "larger"), of(found, "larger_standard_error")
    assert chance == pytest.approx(stats.norm.cdf(step), abs=5 * error + 1e-4)


def test_a_difference_at_the_border_is_not_decided_until_there_are_points_enough(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]})
    step = stats.norm.ppf(0.975) + 0.05
    studies = both({WALL: "800 ± 10 K"}, {WALL: f"{800 + step * 10 * np.sqrt(2):.6f} ± 10 K"})
    assert of(compare(studies, samples=512), "verdict") == "not decided"
    assert of(compare(studies, samples=1 << 18, jobs=2), "verdict") == "larger"


def test_an_exact_design_beside_an_unsure_one_is_a_column_without_an_interval(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]})
    found = compare([study_of({}), study_of({WALL: "900 ± 10 K"})])
    exact = found.quantities[found.names[0]].loc["thrust_gain"]
    assert [exact["mean"], exact["low"]] == pytest.approx([800.0, 800.0])
    assert exact["standard_uncertainty"] == pytest.approx(0.0, abs=1e-5)
    gaussian(found, 10.0, mean=100.0)


# Points without numbers, contact


def failing(limit: float):
    """Choked above a wall temperature."""
    return lambda v: np.where(v[WALL] > limit, 2, 0).astype(np.int8)


def test_points_without_numbers_in_either_design_are_left_out_of_the_difference_and_counted(
    monkeypatch,
) -> None:
    # T ~ N(800, 10) and N(800, 20), each choked above 810 K: truncated normals, by hand.
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]}, failing(810.0))
    found = compare(both({WALL: "800 ± 10 K"}, {WALL: "800 ± 20 K"}))
    runs = [stats.norm.cdf(1.0), stats.norm.cdf(0.5)]
    for name, share, spread in zip(found.names, runs, (10.0, 20.0), strict=True):
        own = found.quantities[name].loc["thrust_gain"]
        assert own["missing"] == pytest.approx(1 - share, abs=1e-3)
        assert own["mean"] == pytest.approx(stats.truncnorm.mean(-np.inf, 10 / spread, 800, spread), abs=0.05)
        assert found.statuses.loc["choked", (name, "share")] == pytest.approx(1 - share, abs=1e-3)
    assert of(found, "missing") == pytest.approx(1 - runs[0] * runs[1], abs=1e-3)
    means = [stats.truncnorm.mean(-np.inf, 10 / spread, 800, spread) for spread in (10.0, 20.0)]
    assert of(found, "mean") == pytest.approx(means[1] - means[0], abs=0.1)


def test_a_design_that_hardly_runs_is_named(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]}, failing(790.0))
    studies = [study_of({WALL: wall}) for wall in ("700 ± 10 K", "900 ± 10 K")]
    with pytest.raises(NoNumbers, match=r"tests 2: hardly any point carries a number \(100.0% choked\)"):
        compare(studies)


def test_no_contact_is_told_first_and_figures_given_contact_stand_apart(monkeypatch) -> None:
    # Contact above 150.5 V in the first design, N(150, 1); always in the second.
    functions = {"thrust_gain": lambda v: np.where(v[VOLT] > 150.5, v[WALL] - 790.0, 0.0)}
    known(monkeypatch, functions, lambda v: np.where(v[VOLT] > 150.5, 0, 1).astype(np.int8))
    found = compare(both({VOLT: "150 ± 1 V", WALL: "800 ± 2 K"}, {VOLT: "170 V", WALL: "805 ± 2 K"}))
    p = stats.norm.sf(0.5)
    first, second = (found.contact[name] for name in found.names)
    assert float(first.value) == pytest.approx(p, abs=5 * float(first.standard_error))
    assert float(second.value) == 1.0
    given = found.given_contact[found.names[0]].loc["thrust_gain"]
    assert given["mean"] == pytest.approx(10.0, abs=0.1)
    assert given["standard_uncertainty"] == pytest.approx(2.0, rel=0.02)
    assert found.quantities.loc["thrust_gain", (found.names[0], "mean")] == pytest.approx(10 * p, abs=0.05)
    both_in = found.differences_given_contact[found.names[1]].loc["thrust_gain"]
    assert both_in["mean"] == pytest.approx(5.0, abs=0.1)
    assert both_in["standard_uncertainty"] == pytest.approx(2.0 * np.sqrt(2.0), rel=0.02)
    assert of(found, "mean") == pytest.approx(15.0 - 10.0 * p, abs=0.1)


def test_without_doubt_about_contact_nothing_stands_apart(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]})
    found = compare(both({WALL: "800 ± 10 K"}), samples=256)
    assert found.given_contact.empty
    assert found.differences_given_contact.empty


def test_a_ratio_to_nothing_is_missing_where_it_is_not_defined(monkeypatch) -> None:
    known(
        monkeypatch,
        {
            "thrust_per_power": lambda v: np.where(v[WALL] > 800.0, v[WALL], np.nan),
            "thrust_gain": lambda v: v[WALL],
        },
    )
    found = compare(both({WALL: "800 ± 10 K"}))
    assert of(found, "missing") == 0.0
    assert of(found, "missing", row="thrust_per_power") == pytest.approx(0.75, abs=2e-3)


# Limits


@pytest.mark.parametrize(
    ("bound", "wanted", "verdict"), [(790, 0.8, "met"), (790, 0.9, "not met"), (801, 0.46, "not decided")]
)
def test_each_studys_own_requirement_is_judged(
    monkeypatch, bound: float, wanted: float, verdict: str
) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]})
    text = PLAIN + f'at_least = "{bound} N"\nchance = {wanted}\n'
    first = study_of({WALL: "800 ± 10 K"}, text=text)
    found = compare([first, study_of({WALL: "800 ± 10 K"})], samples=1024)
    (row,) = found.limits.to_dict("records")
    assert (row["design"], row["source"], row["quantity"]) == (found.names[0], "target", "thrust_gain")
    assert row["chance"] == pytest.approx(
        stats.norm.sf((bound - 800) / 10), abs=5 * row["standard_error"] + 1e-3
    )
    assert row["verdict"] == verdict


def test_a_point_without_a_number_meets_no_limit(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]}, failing(810.0))
    studies = [study_of({WALL: "800 ± 10 K"}, text=PLAIN + 'at_least = "1 N"\n') for _ in range(2)]
    chances = compare(studies).limits["chance"]
    np.testing.assert_allclose(chances, stats.norm.cdf(1.0), atol=1e-3)


def test_a_limit_that_says_what_the_target_says_is_judged_once(monkeypatch) -> None:
    known(monkeypatch, {"thrust_gain": lambda v: v[WALL]})
    text = PLAIN + 'at_least = "790 N"\nchance = 0.8\n'
    limit = '\n[[limit]]\nquantity = "thrust_gain"\nat_least = "{} N"\nchance = 0.8\n'
    for bound, judged in ((790, 1), (795, 2)):
        study = study_of({WALL: "800 ± 10 K"}, limit.format(bound) + NO_MODEL_ERROR, text)
        found = compare([study, study_of({WALL: "800 ± 10 K"})], samples=256)
        assert len(found.limits) == judged


LIMITS = """
[[limit]]
quantity = "current"
at_most = "805 A"
chance = 0.6

[[limit]]
quantity = "chance.choked"
at_most = {choked}

[[limit]]
quantity = "chance.no_contact"
at_most = "1 %"
"""


@pytest.mark.parametrize(("choked", "verdict"), [('"20 %"', "met"), ('"10 %"', "not met")])
def test_limits_on_results_and_on_statuses_are_judged(monkeypatch, choked: str, verdict: str) -> None:
    known(monkeypatch, {"current": lambda v: v[WALL]}, failing(810.0))
    limited = study_of({WALL: "800 ± 10 K"}, LIMITS.format(choked=choked) + NO_MODEL_ERROR)
    found = compare([study_of({WALL: "800 ± 10 K"}), limited])
    rows = found.limits.set_index("quantity")
    assert set(rows["design"]) == {found.names[1]}
    assert rows.loc["current", "chance"] == pytest.approx(stats.norm.cdf(0.5), abs=2e-3)
    assert rows.loc["chance.choked", "chance"] == pytest.approx(stats.norm.sf(1.0), abs=2e-3)
    assert rows.loc["chance.no_contact", "chance"] == 0.0
    assert list(rows["verdict"]) == ["met", verdict, "met"]


# Inputs


def test_inputs_are_told_alike_by_all_that_is_stated(monkeypatch) -> None:
    known(monkeypatch, {})
    first = {WALL: "800 ± 10 K", VOLT: "150 ± 2 V", FACTOR: {"median": 1, "factor": 1.8, "shared": "water"}}
    second = {WALL: "800 ± 10 K", VOLT: "150 ± 3 V", FACTOR: {"median": 1, "factor": 1.8, "shared": "water"}}
    found = compare(both(first, second), samples=256)
    alike = found.inputs["", "alike"]
    assert not alike[VOLT]
    assert alike.drop(VOLT).all()
    assert found.apart == (WALL,)
    assert found.inputs.loc[WALL, (found.names[0], "value")] == 800.0
    assert found.inputs.loc[WALL, (found.names[0], "standard_uncertainty")] == pytest.approx(10.0)
    assert found.inputs.loc["gas.fuel", (found.names[0], "value")] == "ethanol"


# The stage


def test_rows_of_pairs_are_matched_by_their_names() -> None:
    studies = [read_study(STUDIES / f"{name}.toml") for name in ("bench", "two-pair")]
    found = compare(studies, samples=512, jobs=2)
    assert found.names == ("bench", "two-pair")
    means = found.quantities.xs("mean", axis=1, level="figure")
    assert means.loc[["thrust_gain", "current"]].notna().all(axis=None)
    assert "load_factor" not in means.index
    assert means.loc["electrodes.main.load_factor"].notna().all()
    assert list(means.loc["electrodes.rear.load_factor"].notna()) == [False, True]
    assert found.differences.loc["electrodes.rear.load_factor", ("two-pair", "verdict")] == ""
    single = read_study(STUDIES / "bench.toml")
    alone = compare([single, single], samples=512, jobs=2)
    assert alone.names == ("bench 1", "bench 2")
    assert "load_factor" in alone.quantities.index


def test_outcomes_of_another_mode_are_left_blank_unless_asked_for() -> None:
    studies = [read_study(STUDIES / f"{name}.toml") for name in ("bench", "bench-extraction")]
    means = compare(studies, samples=512, jobs=2).quantities.xs("mean", axis=1, level="figure")
    assert list(means.loc["power_delivered"].notna()) == [False, True]
    assert list(means.loc["electrical_power"].notna()) == [True, False]
    asked = compare(studies, quantities=["electrical_power"], samples=512, jobs=2)
    assert asked.quantities.loc["electrical_power"].xs("mean", level="figure").notna().all()


def test_sharing_the_cross_section_narrows_the_difference_of_two_stages() -> None:
    text = bench_text()
    apart = text.replace(', shared = "water cross section"', "")
    assert apart != text
    spreads = {}
    for name, own in (("shared", text), ("apart", apart)):
        studies = [parse_study(own), parse_study(own, replacements={"magnet.field": "0.5 T"})]
        found = compare(studies, samples=2048, jobs=2)
        spreads[name] = of(found, "standard_uncertainty")
    assert spreads["shared"] < 0.95 * spreads["apart"]


def test_random_numbers_from_zero_on_differ_and_jobs_change_nothing() -> None:
    studies = [read_study(STUDIES / f"{name}.toml") for name in ("bench", "sounding")]
    zero, one, again = (
        compare(studies, rng=number, samples=256, jobs=jobs).differences
        for number, jobs in ((0, 1), (1, 1), (0, 2))
    )
    pd.testing.assert_frame_equal(zero, again, check_exact=True)
    assert not zero.equals(one)


# Bad input


def test_what_cannot_be_compared_is_refused_in_one_sentence(monkeypatch) -> None:
    known(monkeypatch, {})
    unsure = study_of({WALL: "800 ± 10 K"})
    with pytest.raises(StudyError, match="two studies or more; got 1"):
        compare([unsure])
    with pytest.raises(StudyError, match="nothing is uncertain in any of these studies"):
        compare([study_of({}), study_of({})])
    with pytest.raises(StudyError, match=r'"magnet\.field" is an input, not an output'):
        compare([unsure, unsure], quantities=["magnet.field"])
    with pytest.raises(StudyError, match=r'"electrodes\.rear\.current" is not an output of any'):
        compare([unsure, unsure], quantities=["electrodes.rear.current"])
    with pytest.raises(LookupError, match='did you mean "thrust"'):
        compare([unsure, unsure], quantities=["thurst"])
    with pytest.raises(StudyError, match=r"samples are fewer than the .* uncertain rows"):
        compare([unsure, unsure], samples=2)
    with pytest.raises(StudyError, match="too few for an interval: ask for 256 or more"):
        compare([unsure, unsure], samples=128)


def test_what_is_shared_but_stated_differently_is_refused_and_named(monkeypatch) -> None:
    known(monkeypatch, {})
    studies = both(
        {FACTOR: {"median": 1, "factor": 1.8, "shared": "water"}},
        {FACTOR: {"median": 1, "factor": 1.5, "shared": "water"}},
    )
    with pytest.raises(
        StudyError, match=f'"water" is stated differently .{FACTOR} of Invented, for tests 1, '
    ):
        compare(studies)
    with pytest.raises(StudyError, match='"water" is stated differently'):
        rank(studies[0], against=studies[1], base=256)


def test_correlations_of_what_is_shared_must_agree(monkeypatch) -> None:
    known(monkeypatch, {})
    inputs = {
        FACTOR: {"value": 2.0, "unknown": 0.1, "shared": "water"},
        "gas.nozzle_lag": {"value": 0.7, "unknown": 0.05, "shared": "lag"},
    }
    tied = '\n[[correlation]]\nbetween = ["{}", "gas.nozzle_lag"]\nrank = {}\n'
    studies = [study_of(inputs, tied.format(FACTOR, rank) + NO_MODEL_ERROR) for rank in (0.5, 0.6)]
    with pytest.raises(StudyError, match=r"the correlation of .* is stated differently"):
        compare(studies)
