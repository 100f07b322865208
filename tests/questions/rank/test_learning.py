"""What measurements teach: closed forms of the value of information through `rank`, and what must never happen."""

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, stats
from study.known_models import NO_MODEL_ERROR, reference, replace_stage, study_of

from explorer import StudyError, rank
from explorer.space import Correlation
from explorer.studyfile import Amount, Measurement, ReadingUncertainty

CASES = reference("information")
VOLT, WALL, ARC = "electrodes.main.source.voltage", "channel.wall_temperature", "electrodes.main.arc_voltage"


def reading(random: float, common: float = 0.0) -> ReadingUncertainty:
    return ReadingUncertainty(Amount(random), Amount(common))


def learnt(model, inputs, measurements, *, base=4096, rng=1, **options):
    return rank(
        model,
        inputs,
        target="y",
        rng=rng,
        base=base,
        measurements=measurements,
        test_guesses=False,
        **options,
    )


def posterior(prior, rows, noise):
    """Covariance after reading H θ + e: (Σ⁻¹ + H' R⁻¹ H)⁻¹."""
    h = np.atleast_2d(rows)
    return np.linalg.inv(np.linalg.inv(np.diag(prior)) + h.T @ np.diag(1.0 / np.asarray(noise)) @ h)


def check_left(row, variance: float) -> None:
    """Within five of its sampling errors, a few degrees of freedom in mind; these must be small."""
    left, error = row["left"], row["left_standard_error"]
    assert error < 0.02 * left
    assert abs(left - np.sqrt(variance)) < 5.0 * error + 2e-3 * np.sqrt(variance), (
        left,
        np.sqrt(variance),
        error,
    )


# Closed forms


@pytest.mark.parametrize("i", range(3))
def test_linear_gaussian_readings_of_outputs_leave_the_posterior_variances(i: int) -> None:
    case = CASES["linear_gaussian"]
    h = np.array(case["observation"])

    def model(v):
        theta = np.stack([v["t1"], v["t2"], v["t3"]])
        return {"y": theta[i], "z1": h[0] @ theta, "z2": h[1] @ theta}

    inputs = {f"t{k + 1}": f"0 ± {np.sqrt(s):.12g}" for k, s in enumerate(case["prior_variance"])}
    noise = np.sqrt(case["noise_variance"])
    both = Measurement("both", 1.0, observes={"z1": reading(noise[0]), "z2": reading(noise[1])})
    alone = [Measurement(f"z{k + 1}", 1.0, observes={f"z{k + 1}": reading(noise[k])}) for k in range(2)]
    table = learnt(model, inputs, [both, *alone]).measurements
    check_left(table.loc["both"], case["posterior_variance"][i])
    for k in range(2):
        exact = posterior(case["prior_variance"], h[k], [case["noise_variance"][k]])[i, i]
        check_left(table.loc[f"z{k + 1}"], exact)
    # One uncertainty whatever the readings turn out to be.
    for end in ("left_range_low", "left_range_high"):
        assert table.loc["both", end] == pytest.approx(table.loc["both", "left"], rel=0.06)


def test_expected_information_of_two_readings_is_that_of_their_variances() -> None:
    # ½ ln det(I + H Σ H' R⁻¹) compares the determinants of prior and posterior: the target is taken along the
    # posterior's three eigenvectors, whose variances multiply to its determinant.
    case = CASES["linear_gaussian"]
    prior, h = np.array(case["prior_variance"]), np.array(case["observation"])
    after = posterior(prior, h, case["noise_variance"])
    values, vectors = np.linalg.eigh(after)
    inputs = {f"t{k + 1}": f"0 ± {np.sqrt(s):.12g}" for k, s in enumerate(prior)}
    noise = np.sqrt(case["noise_variance"])
    both = Measurement("both", 1.0, observes={"z1": reading(noise[0]), "z2": reading(noise[1])})
    left = []
    for vector in vectors.T:

        def model(v, vector=vector):
            theta = np.stack([v["t1"], v["t2"], v["t3"]])
            return {"y": vector @ theta, "z1": h[0] @ theta, "z2": h[1] @ theta}

        left.append(learnt(model, inputs, [both]).measurements.loc["both", "left"] ** 2)
    np.testing.assert_allclose(left, values, rtol=0.07)
    nats = 0.5 * (np.log(np.prod(prior)) - np.log(np.prod(left)))
    assert nats == pytest.approx(2.794092, abs=0.06)


PRIOR = {"a": 3.0, "b": 2.0, "c": 1.0}
INSTRUMENT = {"a": 1.0, "b": 0.5, "c": 0.1}


def sum_of_three(v):
    return {"y": v["a"] + v["b"] + v["c"]}


THREE = {name: f"0 ± {u:g}" for name, u in PRIOR.items()}


def after_pin(name: str) -> float:
    """Variance of an input left by an instrument: 1/(1/u² + 1/v²)."""
    return 1.0 / (1.0 / PRIOR[name] ** 2 + 1.0 / INSTRUMENT[name] ** 2)


def test_every_set_of_pins_leaves_its_posterior_variance() -> None:
    pins = [Measurement(f"pin_{n}", 1.0, pins={n: reading(INSTRUMENT[n])}) for n in PRIOR]
    found = learnt(sum_of_three, THREE, pins).learning.measurements
    for judged in (*found.each, *found.best, found.furthest):
        names = judged.names if hasattr(judged, "names") else (judged.name,)
        pinned = {name.removeprefix("pin_") for name in names}
        exact = sum(after_pin(n) if n in pinned else PRIOR[n] ** 2 for n in PRIOR)
        check_left({"left": float(judged.left), "left_standard_error": judged.left.error}, exact)
        assert judged.hours == len(pinned)


def test_left_if_known_is_the_limit_of_ever_better_instruments() -> None:
    left = []
    for u in (1.0, 0.1, 0.001):
        pin = Measurement("pin", 1.0, pins={"a": reading(u)})
        found = learnt(sum_of_three, THREE, [pin])
        left.append(found.measurements.loc["pin", "left"])
    known = found.inputs.loc[("a", "unknown"), "left_if_known"]
    assert left[0] > left[1] > left[2] - 1e-3
    assert left[2] == pytest.approx(known, rel=2e-3)
    assert known == pytest.approx(np.sqrt(5.0), rel=0.01)


def test_partial_knowledge_of_the_two_choice_example_leaves_the_other_terms() -> None:
    case = CASES["two_choices"]
    weights, deviations = np.array(case["weights"]), np.array(case["standard_deviations"])

    def worth(v):
        return {"y": case["constant"] + sum(w * v[f"t{i}"] for i, w in enumerate(weights))}

    inputs = {f"t{i}": f"0 ± {s:g}" for i, s in enumerate(deviations)}
    table = learnt(worth, inputs, ()).inputs
    parts = (weights * deviations) ** 2
    for i, part in enumerate(parts):
        left = table.loc[(f"t{i}", "unknown"), "left_if_known"]
        assert left == pytest.approx(np.sqrt(parts.sum() - part), rel=0.01)


def test_repeats_lessen_what_is_random_and_leave_what_is_common() -> None:
    # Prior 1, random 2, common 0.5: left² = 1/(1 + 1/(0.25 + 4/n)).
    kept = []
    for n in (1, 4, 16, 10_000):
        pin = Measurement("pin", 1.0, pins={"a": reading(2.0, 0.5)}, repeats=n)
        table = learnt(lambda v: {"y": v["a"]}, {"a": "0 ± 1", "b": "0 ± 1"}, [pin]).measurements
        left, error = table.loc["pin", "left"], table.loc["pin", "left_standard_error"]
        assert error < 0.02 * left
        # Student's t with 7 degrees: beyond 5.4 once in a thousand; a thousandth for the points' finite number.
        exact = np.sqrt(1.0 / (1.0 + 1.0 / (0.25 + 4.0 / n)))
        assert left == pytest.approx(exact, abs=5.4 * error + 1e-3 * exact)
        kept.append(left)
    assert sorted(kept, reverse=True) == kept
    assert kept[-1] > 0.9 * np.sqrt(0.2)


@pytest.mark.parametrize("repeats", [1, 4, 8, 32, 100])
def test_repeats_of_a_firing_average_the_scatter_that_it_meets(repeats: int) -> None:
    # z = a + s, s scatters by 3, the instrument by 1: left² = 1/(1 + n/(9 + 1)).
    shot = Measurement("shot", 1.0, observes={"z": reading(1.0)}, repeats=repeats)
    inputs = {"a": "0 ± 1", "s": {"value": 0, "scatter": 3}}
    found = learnt(lambda v: {"y": v["a"], "z": v["a"] + v["s"]}, inputs, [shot], base=8192)
    check_left(found.measurements.loc["shot"], 1.0 / (1.0 + repeats / 10.0))


def test_scatter_cannot_be_learnt_by_a_reading() -> None:
    inputs = {"a": {"value": 0, "unknown": 1, "scatter": 2}, "b": "0 ± 0.1"}
    sharp = [
        Measurement("pin", 1.0, pins={"a": reading(1e-4)}, repeats=10_000),
        Measurement("shot", 1.0, observes={"y": reading(1e-4)}),
    ]
    found = learnt(lambda v: {"y": v["a"] + v["b"]}, inputs, sharp)
    floor = float(found.shares.scatter_variance.value)
    assert floor == pytest.approx(4.0, rel=0.02)
    assert found.measurements.loc["pin", "left"] == pytest.approx(np.sqrt(4.01), rel=0.01)
    # One firing tells a + s in that firing: 1.01 of 5.01 is what is fixed of it.
    fixed = 1.01
    assert found.measurements.loc["shot", "left"] ** 2 == pytest.approx(
        4.0 + 1.0 / (1.0 / fixed + 0.25), rel=0.02
    )


@pytest.mark.parametrize("rank_correlation", [0.0, 0.7])
def test_scatter_that_two_inputs_have_in_common_cannot_be_learnt_either(rank_correlation: float) -> None:
    inputs = {n: {"value": 0, "unknown": 0.1, "scatter": 1} for n in ("a", "b")}
    together = [Correlation(("a", "b"), rank_correlation, "scatter")] if rank_correlation else []
    pins = [Measurement(f"pin_{n}", 1.0, pins={n: reading(0.01)}) for n in ("a", "b")]
    found = learnt(lambda v: {"y": v["b"]}, inputs, pins, correlations=together)
    for left in found.measurements["left"]:
        assert left == pytest.approx(np.sqrt(1.01), rel=5e-3)


def test_pinning_one_of_two_correlated_inputs_teaches_the_other() -> None:
    # Copula parameter 0.8: knowing b leaves 1 − 0.64 of a.
    together = [Correlation(("a", "b"), 6.0 / np.pi * np.arcsin(0.4))]
    pin = Measurement("pin", 1.0, pins={"b": reading(1e-3)})
    found = learnt(lambda v: {"y": v["a"]}, {"a": "0 ± 1", "b": "0 ± 1"}, [pin], correlations=together)
    assert found.measurements.loc["pin", "left"] == pytest.approx(0.6, rel=0.01)
    assert found.inputs.loc[("b", "unknown"), "left_if_known"] == pytest.approx(0.6, rel=0.01)


def test_what_the_uncertainty_may_turn_out_to_be_has_its_range() -> None:
    # Y = a·b: knowing a leaves |a|, whose mean square is 1.25.
    pin = Measurement("pin", 1.0, pins={"a": reading(1e-4)})
    found = learnt(lambda v: {"y": v["a"] * v["b"]}, {"a": "1 ± 0.5", "b": "0 ± 1"}, [pin])
    row = found.measurements.loc["pin"]
    exact = np.abs(stats.norm(1.0, 0.5).ppf((np.arange(100_000) + 0.5) / 100_000))
    assert row["left"] == pytest.approx(np.sqrt(1.25), rel=0.01)
    low, high = np.quantile(exact, [0.05, 0.95])
    assert row["left_range_low"] == pytest.approx(low, abs=0.1)
    assert row["left_range_high"] == pytest.approx(high, rel=0.05)


# Verdicts, through the text of a study


def verdict_study(measurement: str, requirement: float, decision: str = ""):
    """Gain g = (V − 150) + (T − 800)/10, both terms of unit variance, to be at least a requirement."""
    return study_of(
        {VOLT: "150 ± 1 V", WALL: "800 ± 10 K", "target.at_least": f"{requirement} N"},
        f"{NO_MODEL_ERROR}\n{decision}\n{measurement}",
    )


def gain(v):
    return (v[VOLT] - 150.0) + 0.1 * (v[WALL] - 800.0)


def pin_table(random: float, repeats: int = 1) -> str:
    return f"""
[[measurement]]
name = "voltmeter"
hours = 1
repeats = {repeats}
pins = {{ "{VOLT}" = {{ random = "{random} V" }} }}
"""


def expected_best(requirement: float, noise: float, benefits) -> tuple[float, float]:
    """E[best choice given a reading of the first term] less the best choice without it; chance that it changes.

    `benefits(p)` are what the choices bring at a chance p of meeting the requirement. By quadrature over the reading.
    """
    shrink = 1.0 / (1.0 + noise**2)
    spread = np.sqrt(1.0 - shrink + 1.0)

    def p(m):
        return stats.norm.sf((requirement - m) / spread)

    p0 = stats.norm.sf(requirement / np.sqrt(2.0))
    without = int(np.argmax(benefits(p0)))
    density = stats.norm(0.0, np.sqrt(shrink)).pdf
    value, _ = integrate.quad(lambda m: density(m) * max(benefits(p(m))), -9, 9, limit=400, points=[-1, 0, 1])
    change, _ = integrate.quad(
        lambda m: density(m) * float(np.argmax(benefits(p(m))) != without),
        -9,
        9,
        limit=400,
        points=[-1, 0, 1],
    )
    return value - max(benefits(p0)), change


@pytest.mark.parametrize("noise", [0.01, 1.0])
def test_wrong_verdicts_avoided_have_their_closed_form(monkeypatch, noise: float) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    found = rank(verdict_study(pin_table(noise), 0.5), base=8192, test_guesses=False)
    row = found.measurements.loc["voltmeter"]
    value, change = expected_best(0.5, noise, lambda p: (p, 1.0 - p))
    assert row["value"] == pytest.approx(value, abs=0.004)
    assert row["change"] == pytest.approx(change, abs=0.02)
    assert 0.0 < row["value_standard_error"] < 0.004
    assert found.learning.measurements.best_value.perfect == pytest.approx(
        stats.norm.sf(0.5 / np.sqrt(2.0)), abs=2e-3
    )


def test_pay_offs_of_a_decision_change_what_a_measurement_is_worth(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    worth = {}
    for gained, lost in ((1.0, 1.0), (1.0, 3.0), (10.0, 10.0), (5.0, 1.0)):
        decision = f'[decision]\ngain_if_met = {gained}\nloss_if_not = {lost}\nunit = "hours"'
        found = rank(verdict_study(pin_table(0.5), 0.5, decision), base=16_384, test_guesses=False)
        value, _ = expected_best(0.5, 0.5, lambda p, g=gained, c=lost: (p * g - (1.0 - p) * c, 0.0))
        worth[gained, lost] = found.measurements.loc["voltmeter", "value"]
        assert worth[gained, lost] == pytest.approx(value, abs=0.008 * max(gained, lost))
    assert worth[10.0, 10.0] == pytest.approx(10.0 * worth[1.0, 1.0], rel=1e-6)
    assert len({round(w, 3) for w in worth.values()}) == 4


def test_the_hours_cost_of_a_decision_changes_something(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    results = []
    for cost in (0, 100):
        decision = f'[decision]\ngain_if_met = 1\nloss_if_not = 1\ncost_per_hour = {cost}\nunit = "euro"'
        found = rank(verdict_study(pin_table(0.5), 0.5, decision), base=1024, test_guesses=False)
        results.append((found.measurements, found.best_set))
    (table, best), (other_table, other_best) = results
    assert not (table.equals(other_table) and best.equals(other_best))


def test_without_a_requirement_no_verdict_is_spoken_of(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    study = study_of({VOLT: "150 ± 1 V", WALL: "800 ± 10 K"}, NO_MODEL_ERROR + pin_table(0.5))
    found = rank(study, base=1024, test_guesses=False)
    assert "value" not in found.measurements
    assert found.learning.measurements.best_value is None
    assert found.chance_met is None


# Sets, set-ups and hours, through the text of a study


def bench_of_three(hours: str = "", setup: str = "stand") -> str:
    setups = '[[setup]]\nname = "stand"\nhours = 6\n\n[[setup]]\nname = "bench"\nhours = 1\n'
    rows = [
        f"""
[[measurement]]
name = "{name}"
hours = {h}
setup = "{place}"
pins = {{ "{address}" = {{ random = "{u}" }} }}
"""
        for name, h, place, address, u in (
            ("volt", 1, setup, VOLT, "0.1 V"),
            ("wall", 2, setup, WALL, "1 K"),
            ("arc", 3, "bench", ARC, "1 V"),
        )
    ]
    return "\n".join([NO_MODEL_ERROR, hours, setups, *rows])


UNSURE = {VOLT: "150 ± 1 V", WALL: "800 ± 8 K", ARC: "100 ± 4 V"}


def three_terms(v):
    return (v[VOLT] - 150.0) + 0.1 * (v[WALL] - 800.0) + 0.1 * (v[ARC] - 100.0)


def test_hours_of_a_set_up_count_once_a_set(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": three_terms})
    found = rank(study_of(UNSURE, bench_of_three()), base=1024, test_guesses=False).learning.measurements
    hours = {own.name: own.hours for own in found.each}
    assert (hours["volt"], hours["wall"]) == (7.0, 8.0)
    assert found.furthest.hours == 13.0
    # A set-up of its own for each instead: one more.
    apart = rank(
        study_of(UNSURE, bench_of_three().replace('2\nsetup = "stand"', '2\nsetup = "bench"')),
        base=1024,
        test_guesses=False,
    ).learning.measurements
    assert apart.furthest.hours == 10.0 + 3.0


def test_the_best_set_stays_within_the_hours_and_its_steps_are_told(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": three_terms})
    variance = {"volt": 1.0, "wall": 0.64, "arc": 0.16}
    after = {"volt": 1 / (1 + 100), "wall": 1 / (1 / 0.64 + 100), "arc": 1 / (1 / 0.16 + 100)}
    chosen = {}
    for given in (3.0, 4.0, 7.0, 8.5, 9.0, 13.0, None):
        pay = "" if given is None else f"[decision]\ngain_if_met = 1\nloss_if_not = 1\nhours = {given}"
        best = rank(study_of(UNSURE, bench_of_three(pay)), base=1024, test_guesses=False).best_set
        chosen[given] = set(best["name"])
        if len(best):
            assert best["hours"].iloc[-1] <= (given or 13.0)
        assert best["hours"].is_monotonic_increasing
        assert best["left"].is_monotonic_decreasing
        done: set[str] = set()
        for _, step in best.iterrows():
            done.add(step["name"])
            exact = sum(after[n] if n in done else variance[n] for n in variance)
            assert step["left"] ** 2 == pytest.approx(exact, rel=0.06)
    assert chosen == {
        3.0: set(),
        4.0: {"arc"},
        7.0: {"volt"},
        8.5: {"volt"},
        9.0: {"volt", "wall"},
        13.0: {"volt", "wall", "arc"},
        None: {"volt", "wall", "arc"},
    }


def test_thirteen_measurements_are_searched_in_sets_of_any_size() -> None:
    inputs = {f"x{i}": f"0 ± {1 + 0.1 * i:g}" for i in range(13)}
    pins = [Measurement(f"pin_{i}", 1.0, pins={f"x{i}": reading(0.01)}) for i in range(13)]
    found = learnt(lambda v: {"y": sum(v.values())}, inputs, pins, base=2048)
    # Each takes away between 1 and 8 % of the variance, so all thirteen are worth it, the largest first.
    assert found.learning.measurements.search.exact
    assert set(found.best_set["name"]) == {f"pin_{i}" for i in range(13)}
    assert found.best_set["name"].iloc[0] in ("pin_12", "pin_11")


# What observing an output meets


OBSERVE = """
[[measurement]]
name = "{name}"
hours = 1
settings = {{ "electrodes.main.source.voltage" = "{volt}" }}
observes = {{ current = {{ random = "{random}" }} }}
"""


def test_a_reading_is_taken_at_its_settings(monkeypatch) -> None:
    # Current = (V − 100)·(T − 700)/100: at 100 V it tells nothing of T, at 300 V all.
    functions = {
        "thrust_gain": lambda v: v[WALL] - 700.0,
        "current": lambda v: (v[VOLT] - 100) * (v[WALL] - 700) / 100,
    }
    replace_stage(monkeypatch, functions)
    extra = "".join(
        OBSERVE.format(name=n, volt=v, random="1 A") for n, v in (("low", "100 V"), ("high", "300 V"))
    )
    study = study_of({WALL: "800 ± 10 K", VOLT: "150 ± 1 V"}, NO_MODEL_ERROR + extra)
    table = rank(study, base=4096, test_guesses=False).measurements
    assert table.loc["low", "left"] == pytest.approx(10.0, rel=0.01)
    assert table.loc["high", "left"] == pytest.approx(1.0 / np.sqrt(1.0 / 100 + 4.0), rel=0.02)


LIMIT = "electrodes.main.source.current_limit"  #: far above the current, which a supply at it would fix


def test_two_measurements_of_the_same_output_meet_the_same_error_of_the_model(monkeypatch) -> None:
    # Current 100 A·exp(t) times the model's own factor: two sharp readings know the product, never t alone.
    functions = {"thrust_gain": lambda v: v[WALL] - 700.0, "current": lambda v: v[WALL] - 700.0}
    replace_stage(monkeypatch, functions)
    extra = "".join(
        OBSERVE.format(name=n, volt=v, random="0.01 A") for n, v in (("one", "140 V"), ("two", "160 V"))
    )
    errors = '[model_error]\nthrust_gain = "1e-9 %"\ncurrent = "10 %"\n'
    study = study_of({WALL: "800 ± 10 K", VOLT: "150 ± 1 V", LIMIT: "500 A"}, errors + extra)
    found = rank(study, base=4096, test_guesses=False).learning.measurements
    alone = float(found.each[0].left)
    # Prior 10 K, the model's factor 10 % of 100 A: half the variance, up to the product of the two.
    assert alone == pytest.approx(10.0 / np.sqrt(2.0), rel=0.03)
    assert len(found.best) == 1  # the other one adds nothing
    sure = study_of(
        {WALL: "800 ± 10 K", VOLT: "150 ± 1 V", LIMIT: "500 A"}, errors.replace("10 %", "1e-9 %") + extra
    )
    assert rank(sure, base=1024, test_guesses=False).measurements.loc["one", "left"] < 0.2


def test_the_model_is_wrong_by_the_same_factor_under_both_names_of_one_pair_s_output(monkeypatch) -> None:
    functions = {
        q: (lambda v: v[WALL] - 700.0) for q in ("thrust_gain", "current", "electrodes.main.current")
    }
    replace_stage(monkeypatch, functions)
    one = OBSERVE.format(name="one", volt="140 V", random="0.01 A")
    two = OBSERVE.format(name="two", volt="160 V", random="0.01 A").replace(
        "{ current", '{ "electrodes.main.current"'
    )
    errors = '[model_error]\nthrust_gain = "1e-9 %"\ncurrent = "10 %"\n'
    study = study_of({WALL: "800 ± 10 K", VOLT: "150 ± 1 V", LIMIT: "500 A"}, errors + one + two)
    found = rank(study, base=4096, test_guesses=False).learning.measurements
    assert len(found.best) == 1  # the other one adds nothing


def test_the_calibration_of_one_instrument_is_wrong_alike_in_two_measurements(monkeypatch) -> None:
    # Read twice by the same instrument, its common part stays: as with repeats of one measurement.
    functions = {"thrust_gain": lambda v: v[WALL] - 700.0, "current": lambda v: v[WALL] - 700.0}
    replace_stage(monkeypatch, functions)
    instrument = '[[instrument]]\nname = "ammeter"\nreads = "current"\nrandom = "0.01 A"\ncommon = "10 A"\n'
    rows = "".join(
        f'[[measurement]]\nname = "{n}"\nhours = 1\nobserves = ["ammeter"]\n' for n in ("one", "two", "three")
    )
    study = study_of({WALL: "800 ± 10 K", VOLT: "150 ± 1 V"}, NO_MODEL_ERROR + instrument + rows)
    found = rank(study, base=4096, test_guesses=False).learning.measurements
    assert float(found.each[0].left) == pytest.approx(10.0 / np.sqrt(2.0), rel=0.02)
    assert len(found.best) == 1  # the others add nothing


def test_observing_the_target_itself_meets_the_target_s_own_model_error(monkeypatch) -> None:
    # A firing tells the target, the model's error included: of all that is unknown nothing is left.
    replace_stage(monkeypatch, {"thrust_gain": lambda v: v[WALL] - 700.0})
    shot = '[[measurement]]\nname = "shot"\nhours = 1\nobserves = { thrust_gain = { random = "0.1 N" } }\n'
    study = study_of({WALL: "800 ± 10 K"}, '[model_error]\nthrust_gain = "10 %"\n' + shot)
    found = rank(study, base=4096, test_guesses=False)
    assert float(found.standard_uncertainty) == pytest.approx(np.sqrt(200.0), rel=0.02)
    assert found.measurements.loc["shot", "left"] < 0.25


# What must never happen


@pytest.mark.parametrize("number", range(3))
def test_readings_never_teach_more_than_perfect_knowledge(number: int) -> None:
    inputs = {"a": "1 ± 0.5", "b": {"value": 2, "unknown": 0.5, "scatter": 1}}
    sharp = [Measurement(f"pin_{n}", 1.0, pins={n: reading(1e-6)}, repeats=1_000_000) for n in ("a", "b")] + [
        Measurement("shot", 1.0, observes={"y": reading(1e-6)}, repeats=8)
    ]
    found = learnt(lambda v: {"y": v["a"] * v["b"]}, inputs, sharp, rng=number, base=4096)
    floor = found.shares.scatter_variance
    for judged in found.learning.measurements.each:
        left = float(judged.left)
        error = np.hypot(2.0 * left * judged.left.error, floor.error)
        assert left**2 > float(floor) - 4.0 * error
    assert float(floor.value) == pytest.approx(1.25, rel=0.03)


def test_a_measurement_that_tells_nothing_leaves_everything() -> None:
    pins = [
        Measurement("idle", 1.0, pins={"b": reading(0.1)}),
        Measurement("useful", 2.0, pins={"a": reading(0.1)}),
    ]
    found = learnt(lambda v: {"y": v["a"]}, {"a": "0 ± 1", "b": "0 ± 1"}, pins)
    assert found.measurements.loc["idle", "left"] == pytest.approx(1.0, rel=0.01)
    assert found.best_set["name"].tolist() == ["useful"]
    assert {own.row.address: own.informative for own in found.learning.known} == {"a": True, "b": False}


def test_the_order_of_measurements_changes_no_bit() -> None:
    pins = [Measurement(f"pin_{n}", 1.0, pins={n: reading(INSTRUMENT[n])}) for n in PRIOR]
    shot = Measurement("shot", 2.0, observes={"y": reading(0.3)})
    one, other = (
        learnt(sum_of_three, THREE, order, base=1024) for order in ([*pins, shot], [shot, *reversed(pins)])
    )
    pd.testing.assert_frame_equal(one.measurements, other.measurements, check_exact=True)
    pd.testing.assert_frame_equal(one.best_set, other.best_set, check_exact=True)


# Bad input


def test_a_measurement_that_pins_nothing_uncertain_is_refused() -> None:
    for inputs, address in (
        ({"a": "0 ± 1", "b": "1"}, "b"),
        ({"a": "0 ± 1", "b": {"value": 1, "scatter": 1}}, "b"),
        ({"a": "0 ± 1"}, "zz"),
    ):
        pin = Measurement("pin", 1.0, pins={address: reading(0.1)})
        with pytest.raises(StudyError, match=f"pins {address}, of which nothing is unknown"):
            learnt(lambda v: {"y": v["a"]}, inputs, [pin], base=1024)
    with pytest.raises(StudyError, match="no unknown part that it could pin down"):
        study_of({WALL: "800 ± 10 K"}, NO_MODEL_ERROR + pin_table(0.5))


def test_what_cannot_be_measured_is_refused_in_one_sentence() -> None:
    extra = OBSERVE.format(name="one", volt="140 V", random="1 A")
    uncertain = {WALL: "800 ± 10 K"}
    with pytest.raises(StudyError, match="curent"):
        study_of(uncertain, extra.replace("{ current", "{ curent"))
    with pytest.raises(StudyError, match="no setup"):
        study_of(uncertain, extra + 'setup = "nowhere"\n')
    with pytest.raises(StudyError, match="hours"):
        study_of(uncertain, extra.replace("hours = 1", "hours = 0"))
    with pytest.raises(StudyError, match="neither pins"):
        study_of(uncertain, '[[measurement]]\nname = "one"\nhours = 1\n')


def test_an_observed_quantity_that_a_callable_does_not_give_is_named() -> None:
    shot = Measurement("shot", 1.0, observes={"z": reading(0.1)})
    with pytest.raises(StudyError, match='"z"'):
        learnt(lambda v: {"y": v["a"]}, {"a": "0 ± 1"}, [shot], base=1024)


def test_a_reading_that_fails_takes_no_row_and_is_told() -> None:
    shot = Measurement("shot", 1.0, observes={"z": reading(0.1)})

    def model(v):
        return {"y": v["a"] + v["b"], "z": np.where(v["a"] > stats.norm.ppf(0.6), np.nan, v["a"])}

    inputs = {"a": "0 ± 1", "b": "0 ± 1"}
    found, without = learnt(model, inputs, [shot]), learnt(model, inputs, [])
    assert found.shares.how == "design"
    assert found.learning.lost == 0.0
    assert found.learning.failing == {"shot": pytest.approx(0.4, abs=0.01)}
    # Nothing that is said of the target hangs on what could be measured.
    pd.testing.assert_frame_equal(found.inputs, without.inputs)
    np.testing.assert_array_equal(found.distribution.mean.by_scramble, without.distribution.mean.by_scramble)
    assert float(found.mean) == pytest.approx(0.0, abs=0.02)


def test_a_measurement_that_always_fails_is_one_sentence() -> None:
    shot = Measurement("shot", 1.0, observes={"z": reading(0.1)})
    with pytest.raises(StudyError, match="shot: its firing never gives a number"):
        learnt(lambda v: {"y": v["a"], "z": v["a"] * np.nan}, {"a": "0 ± 1"}, [shot])
