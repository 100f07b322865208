"""Learning from firings of callables whose posterior is known.

Source: closed forms of linear models with normal errors.
"""

from collections.abc import Mapping

import numpy as np
import pytest

from explorer.questions.calibrate.calibrate import calibrate
from explorer.questions.calibrate.posterior import NoPosterior
from explorer.studyfile import StudyError

Arrays = Mapping[str, np.ndarray]


def line(values: Arrays) -> dict[str, np.ndarray]:
    return {"y": values["a"] + values["x"] * values["b"], "z": values["b"] + 0.0 * values["x"]}


def seconds(x: float, y: float, random: float = 0.1, name: str = "", **more: object) -> dict[str, object]:
    return {"name": name, "settings": {"x": x}, "readings": {"y": {"value": y, "random": random, **more}}}


PRIOR = {"a": "0 ± 1", "b": "0 ± 2", "x": 0.0}
FIRINGS = [seconds(0.0, 0.9, name="one"), seconds(1.0, 1.6, name="two"), seconds(2.0, 2.7, name="three")]


def closed_form(x: np.ndarray, y: np.ndarray, noise: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    h = np.column_stack([np.ones_like(x), x])
    covariance = np.linalg.inv(np.diag([1.0, 0.25]) + h.T @ np.linalg.solve(noise, h))
    return covariance @ h.T @ np.linalg.solve(noise, y), covariance


@pytest.fixture(scope="module")
def found():
    return calibrate(line, PRIOR, FIRINGS, rng=1, particles=2000, target="z")


def test_a_linear_model_gets_the_posterior_of_its_closed_form(found) -> None:
    mean, covariance = closed_form(np.arange(3.0), np.array([0.9, 1.6, 2.7]), 0.01 * np.eye(3))
    table = found.inputs.loc[["a", "b"]]
    spread = np.sqrt(np.diag(covariance))
    assert table["mean_after"].to_numpy() == pytest.approx(mean, abs=0.1 * spread.max())
    assert table["standard_uncertainty_after"].to_numpy() == pytest.approx(spread, rel=0.08)
    assert found.sample[["a", "b"]].corr().loc["a", "b"] == pytest.approx(
        covariance[0, 1] / spread.prod(), abs=0.04
    )


def test_the_target_is_predicted_from_what_was_learnt(found) -> None:
    _, covariance = closed_form(np.arange(3.0), np.zeros(3), 0.01 * np.eye(3))
    spread = found.prediction["standard_uncertainty"]
    assert spread["before", False] == pytest.approx(2.0, rel=0.06)
    assert spread["after", False] == pytest.approx(np.sqrt(covariance[1, 1]), rel=0.08)


def test_a_firing_is_predicted_from_the_others_as_the_closed_form_does(found) -> None:
    x, y = np.array([0.0, 2.0]), np.array([0.9, 2.7])
    mean, covariance = closed_form(x, y, 0.01 * np.eye(2))
    h = np.array([1.0, 1.0])
    row = found.readings.loc[("two", "", "y")]
    spread = np.sqrt(h @ covariance @ h + 0.01)
    assert row["mean_left_out"] == pytest.approx(h @ mean, abs=0.15 * spread)
    assert row["high_left_out"] - row["low_left_out"] == pytest.approx(2 * 1.96 * spread, rel=0.12)


def test_the_order_of_firings_does_not_matter(found) -> None:
    turned = calibrate(line, PRIOR, FIRINGS[::-1], rng=1, particles=2000, target="z")
    assert turned.sample.equals(found.sample)
    assert turned.by_firing.equals(found.by_firing)


def test_without_left_out_firings_the_sample_is_the_same(found) -> None:
    quick = calibrate(line, PRIOR, FIRINGS, rng=1, particles=2000, target="z", explain=False)
    assert quick.sample.equals(found.sample)


def test_an_error_that_readings_share_is_one_error() -> None:
    firings = [
        seconds(0.0, y, 0.1, str(n), common={"gauge": 0.5}) for n, y in enumerate((0.3, 0.5, 0.4, 0.4))
    ]
    found = calibrate(line, {"a": "0 ± 1", "b": 0.0}, firings, rng=2, particles=2000, explain=False)
    noise = 0.01 * np.eye(4) + 0.25
    precision = 1.0 + np.ones(4) @ np.linalg.solve(noise, np.ones(4))
    row = found.inputs.loc["a"]
    assert row["standard_uncertainty_after"] == pytest.approx(precision**-0.5, rel=0.06)
    assert row["mean_after"] == pytest.approx(
        np.ones(4) @ np.linalg.solve(noise, [0.3, 0.5, 0.4, 0.4]) / precision, abs=0.05
    )
    assert found.errors.loc["common error: gauge", "mean_after"] == pytest.approx(
        0.25 * 0.4 / (1.2525) * 2, abs=0.06
    )


def test_repeats_lessen_the_random_part_and_not_the_common_one() -> None:
    reading = {"value": 0.4, "random": 0.4, "repeats": 16, "common": {"gauge": 0.5}}
    found = calibrate(
        line,
        {"a": "0 ± 1", "b": 0.0},
        [{"settings": {"x": 0.0}, "readings": {"y": reading}}],
        rng=2,
        particles=2000,
    )
    spread = (1.0 + 1.0 / (0.01 + 0.25)) ** -0.5
    assert found.inputs.loc["a", "standard_uncertainty_after"] == pytest.approx(spread, rel=0.06)


def test_a_difference_of_steps_is_free_of_the_common_error_and_of_scatter() -> None:
    def shot(values: Arrays) -> dict[str, np.ndarray]:
        return {"y": values["drift"] + values["x"] * values["b"]}

    prior = {"drift": {"value": 0.0, "unknown": 1.0, "scatter": 3.0}, "b": "0 ± 2"}
    steps = [{"name": "off", "settings": {"x": 0.0}}, {"name": "on", "settings": {"x": 1.0}}]
    difference = {"quantity": "y", "step": "on", "less": "off", "reading": (0.7, 0.1)}
    found = calibrate(shot, prior, [{"steps": steps, "differences": [difference]}], rng=3, particles=2000)
    assert found.inputs.loc["b", "standard_uncertainty_after"] == pytest.approx(
        (0.25 + 100.0) ** -0.5, rel=0.06
    )
    assert found.inputs.loc["b", "mean_after"] == pytest.approx(0.7, abs=0.02)
    assert found.inputs.loc["drift", "left"] == pytest.approx(1.0, abs=0.06)


def test_scatter_is_told_apart_from_what_is_unknown() -> None:
    prior = {"a": {"value": 0.0, "unknown": 1.0, "scatter": 0.5}, "b": 0.0}
    read = [0.6, 1.3, 0.8, 1.1]
    found = calibrate(
        line, prior, [seconds(0.0, y, 0.1, str(n)) for n, y in enumerate(read)], rng=4, particles=2000
    )
    precision = 1.0 + 4.0 / (0.25 + 0.01)
    assert found.inputs.loc["a", "standard_uncertainty_after"] == pytest.approx(precision**-0.5, rel=0.06)
    assert found.inputs.loc["a", "mean_after"] == pytest.approx(sum(read) / 0.26 / precision, abs=0.05)


def test_a_setting_with_an_uncertainty_is_a_latent_of_its_firing() -> None:
    firing = {"settings": {"x": "1 ± 0.2"}, "readings": {"y": (2.0, 0.1)}}
    found = calibrate(line, {"a": "0 ± 1", "b": "2 ± 0.001"}, [firing], rng=5, particles=2000)
    spread = (1.0 + 1.0 / (0.01 + 0.16)) ** -0.5
    assert found.inputs.loc["a", "standard_uncertainty_after"] == pytest.approx(spread, rel=0.06)


def test_a_setting_with_a_shared_name_is_one_thing_in_all_firings() -> None:
    shift = {"value": 1.0, "unknown": 0.5, "shared": "worn edge"}
    firings = [{"name": n, "settings": {"x": shift}, "readings": {"y": (1.4, 0.1)}} for n in ("p", "q")]
    found = calibrate(line, {"a": 0.0, "b": "1 ± 0.001"}, firings, rng=5, particles=2000)
    assert found.inputs.loc["worn edge", "standard_uncertainty_after"] == pytest.approx(
        (4.0 + 200.0) ** -0.5, rel=0.06
    )


def test_few_degrees_of_freedom_let_a_reading_be_far_off() -> None:
    """A t with 2 degrees gives way to the prior where a normal reading doesn't (closed form by quadrature)."""
    from scipy.stats import norm, t

    def mean(degrees: float) -> float:
        reading = {"value": 3.0, "random": 0.3, "degrees_of_freedom": degrees}
        firing = {"settings": {"x": 0.0}, "readings": {"y": reading}}
        return calibrate(line, {"a": "0 ± 1", "b": 0.0}, [firing], rng=6, particles=2000).inputs.loc[
            "a", "mean_after"
        ]

    a = np.linspace(-6.0, 6.0, 4001)
    for degrees, density in ((2.0, t.pdf((3.0 - a) / 0.3, 2.0)), (np.inf, norm.pdf((3.0 - a) / 0.3))):
        weight = density * norm.pdf(a)
        assert mean(degrees) == pytest.approx(weight @ a / weight.sum(), abs=0.06)


def test_no_number_is_a_reading_too() -> None:
    def lit(values: Arrays) -> dict[str, np.ndarray]:
        return {"y": np.where(values["a"] > values["x"], 1.0, np.nan)}

    dark = {"name": "dark", "settings": {"x": 0.5}, "readings": {"y": (float("nan"), 0.1)}}
    burning = {"name": "lit", "settings": {"x": -0.5}, "readings": {"y": (1.0, 0.1)}}
    found = calibrate(lit, {"a": "0 ± 1"}, [dark, burning], rng=7, particles=2000)
    assert found.sample["a"].between(-0.5, 0.5).all()
    assert found.by_firing["impossible"].to_dict() == pytest.approx({"dark": 0.309, "lit": 0.309}, abs=0.03)


def test_a_firing_that_the_model_can_never_give_is_named() -> None:
    def never(values: Arrays) -> dict[str, np.ndarray]:
        return {"y": np.full_like(values["a"], np.nan)}

    with pytest.raises(NoPosterior, match="shot 3"):
        calibrate(never, {"a": "0 ± 1"}, [{"name": "shot 3", "readings": {"y": (1.0, 0.1)}}], rng=1)


def test_a_planted_surprise_is_found_with_what_would_explain_it() -> None:
    firings = [seconds(x, 1.0 + 0.5 * x, 0.05, f"at {x:g}") for x in (0.0, 1.0, 2.0, 3.0)]
    firings.append(seconds(1.0, 1.85, 0.05, "wrong"))
    found = calibrate(line, {"a": "0 ± 2", "b": "0 ± 2"}, firings, rng=8, particles=2000)
    assert list(found.by_firing.index[found.by_firing["surprise"]]) == ["wrong"]
    setting = found.surprises[found.surprises["what"] == "x"].iloc[0]
    assert setting["needed"] == pytest.approx(1.7, abs=0.15)  # 1 + 0.5 x = 1.85


@pytest.mark.parametrize(
    ("firings", "said"),
    [
        ([], "no firings"),
        ([{"readings": {"w": (1.0, 0.1)}}], '"w" is not among'),
        ([{"readings": {"y": (1.0, 0.0)}}], "above zero"),
        ([seconds(0.0, 1.0, name="same"), seconds(0.0, 1.0, name="same")], "two firings"),
    ],
)
def test_what_cannot_be_learnt_from_is_refused_in_one_sentence(
    firings: list[dict[str, object]], said: str
) -> None:
    with pytest.raises(StudyError, match=said):
        calibrate(line, PRIOR, firings, rng=1)


def test_an_input_that_must_lie_less_far_out_explains_better() -> None:
    """Plain logic: of two inputs that do the same to what is read, the more uncertain one is the likelier culprit."""

    def both(values: Arrays) -> dict[str, np.ndarray]:
        return {"y": values["tight"] + values["loose"] + values["x"]}

    prior = {
        "tight": {"value": 0.0, "unknown": 0.1, "scatter": 0.05},
        "loose": {"value": 0.0, "unknown": 0.1, "scatter": 0.3},
        "x": 0.0,
    }
    firings = [seconds(0.0, y, 0.05, f"{place}") for place, y in enumerate((0.1, -0.2, 0.2, 0.0, 2.0))]
    found = calibrate(both, prior, firings, rng=9, particles=1000).surprises
    score = found.set_index("what")["score"]
    assert score["loose"] > score["tight"] + 1.0


def test_what_is_known_only_of_a_sum_stays_known_where_one_part_explains_a_firing() -> None:
    """Closed form: y = a + b was read to be 1, each known to 2 before, so that a is 0.5; a firing that reads 3 needs 2
    more of it, whatever a is, and other readings leave no other value."""

    def summed(values: Arrays) -> dict[str, np.ndarray]:
        return {"y": values["a"] + values["b"] + values["x"]}

    firings = [seconds(0.0, y, 0.05, f"{place}") for place, y in enumerate((1.0, 0.97, 1.04, 0.98, 3.0))]
    found = calibrate(
        summed, {"a": "0 ± 2", "b": "0 ± 2", "x": 0.0}, firings, rng=9, particles=1000
    ).surprises
    a = found.set_index("what").loc["a"]
    assert a["needed"] - a["value"] == pytest.approx(2.0, abs=0.1)
    assert a["low"] > a["value"] + 1.8
    assert a["high"] < a["value"] + 2.2


@pytest.mark.slow
def test_a_sharp_instrument_and_a_firing_that_went_wrong_are_settled() -> None:
    """Readings to half a per cent, a model that may be off, and one firing far out: the sample still forgets.

    Bounds are those of the diagnostics that every posterior must pass, tightened.
    """
    rng = np.random.default_rng(12)

    def three(values: Arrays) -> dict[str, np.ndarray]:
        return {"y": (5.0 + 0.5 * values["a"] + values["x"] * values["b"] + values["s"])}

    prior = {"a": "0 ± 1", "b": "1 ± 0.5", "s": {"value": 0.0, "unknown": 0.01, "scatter": 0.2}, "x": 0.0}
    x = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 2.5])
    y = 5.3 + 1.2 * x + 0.2 * np.array([0.3, -0.8, 0.5, -6.0, 1.1, -0.4])
    firings = [seconds(a, b + 0.03 * rng.standard_normal(), 0.03, f"{a}") for a, b in zip(x, y, strict=True)]
    found = calibrate(three, prior, firings, rng=1, particles=1000, explain=False, model_error={"y": 0.1})
    assert found.diagnostics.correlation_left < 0.1
    assert found.diagnostics.acceptance > 0.3
    assert found.diagnostics.unique > 950
