"""Would the instruments see it: pairs of on and off against what the metrologist's formulas say."""

import numpy as np
import pytest
from study.known_models import NO_MODEL_ERROR, bench_text, replace_stage, study_of

from explorer import parse_study, rank
from explorer.study.visibility import SEEN, change_quantity, visibility

WALL = "channel.wall_temperature"


def instrument(name: str, reads: str, **parts: str) -> str:
    lines = "".join(f'{key} = "{value}"\n' for key, value in parts.items())
    return f'[[instrument]]\nname = "{name}"\nreads = "{reads}"\n{lines}\n'


def seen(extra: str, **effects: tuple[float, float]):
    return visibility(study_of({WALL: "800 ± 10 K"}, NO_MODEL_ERROR + extra), effects)


def pairs(effect: float, random: float, common: float) -> float:
    """Fewest pairs n with effect ≥ 2 √(common² + random²/n)."""
    n = 1
    while effect < SEEN * np.hypot(common, random / np.sqrt(n)):
        n += 1
        if n > 1_000_000:
            return np.inf
    return float(n)


@pytest.mark.parametrize(
    ("effect", "random", "percent"), [(0.05, 0.3, 0.5), (0.05, 0.3, 30.0), (9.0, 0.05, 1.0), (0.1, 0.05, 0.1)]
)
def test_pairs_are_the_fewest_that_make_the_effect_stand_out(
    effect: float, random: float, percent: float
) -> None:
    extra = instrument("cell", "thrust_gain", random=f"{random} N", common=f"{percent} % of reading")
    row = seen(extra, thrust_gain=(effect, 0.01)).loc["cell"]
    common = effect * percent / 100.0
    assert row["pairs"] == pairs(effect, random, common)
    assert row["ratio"] == pytest.approx(effect / np.hypot(random, common))
    assert (row["effect"], row["effect_uncertainty"]) == (effect, 0.01)


def test_readings_on_and_off_bring_twice_the_variance_of_a_stated_difference() -> None:
    extra = instrument("pressure", "exit_pressure", random="1 mbar") + instrument(
        "difference", "exit_pressure_change", random="1 mbar"
    )
    found = seen(extra, exit_pressure_change=(100.0, 10.0))
    assert found.loc["difference", "random"] == pytest.approx(100.0)
    assert found.loc["pressure", "random"] == pytest.approx(np.sqrt(2.0) * 100.0)
    assert found.loc["pressure", "pairs"] == pytest.approx(2.0 * found.loc["difference", "pairs"], abs=1.0)


def test_a_zero_that_on_and_off_have_in_common_cancels_and_a_scale_error_does_not() -> None:
    extra = "".join(
        instrument(name, "thrust_gain", random="0.01 N", common=common)
        for name, common in (("zero", "5 N"), ("scale", "60 % of reading"))
    )
    found = seen(extra, thrust_gain=(0.05, 0.01))
    assert found.loc["zero", "pairs"] == 1.0
    assert np.isinf(found.loc["scale", "pairs"])


def test_a_noise_in_per_cent_of_the_reading_is_one_of_the_whole_reading(monkeypatch) -> None:
    # The cell reads 90 N with the power off and on: half a per cent of that, not of the 0.05 N between them.
    replace_stage(
        monkeypatch,
        {"thrust_gain": lambda v: 0.05 + 1e-4 * (v[WALL] - 800), "thrust": lambda v: 90 + 0 * v[WALL]},
    )
    extra = instrument("cell", "thrust", random="0.5 % of reading")
    found = rank(study_of({WALL: "800 ± 10 K"}, NO_MODEL_ERROR + extra), base=1024, test_guesses=False)
    assert found.instruments.loc["cell", "random"] == pytest.approx(0.45 * np.sqrt(2.0), rel=0.05)


def test_an_effect_may_be_a_loss_or_nothing_and_some_readings_tell_none() -> None:
    extra = instrument("cell", "thrust_gain", random="0.3 N") + instrument(
        "flow", "mass_flow", random="1 g/s"
    )
    gain, loss, nothing = (seen(extra, thrust_gain=(e, 0.0)) for e in (0.05, -0.05, 0.0))
    assert gain.loc["cell", "pairs"] == loss.loc["cell", "pairs"]
    assert np.isinf(nothing.loc["cell", "pairs"])
    assert nothing.loc["cell", "ratio"] == 0.0
    assert np.isnan(gain.loc["flow", "pairs"])
    assert change_quantity("mass_flow", "acceleration") is None


def test_effects_are_those_of_the_study_the_model_s_error_included(monkeypatch) -> None:
    functions = {
        "thrust_gain": lambda v: 1.0 + 0.01 * (v[WALL] - 800.0),
        "current": lambda v: 9.0 + 0.0 * v[WALL],
    }
    replace_stage(monkeypatch, functions)
    extra = instrument("cell", "thrust_gain", random="0.3 N") + instrument(
        "ammeter", "current", random="0.05 A"
    )
    errors = '[model_error]\nthrust_gain = "1e-9 %"\ncurrent = "10 %"\n'
    found = rank(study_of({WALL: "800 ± 10 K"}, errors + extra), base=1024, test_guesses=False).instruments
    assert found.loc["cell", "effect"] == pytest.approx(1.0, rel=1e-3)
    assert found.loc["cell", "effect_uncertainty"] == pytest.approx(0.1, rel=0.01)
    assert found.loc["ammeter", "effect_uncertainty"] == pytest.approx(0.9, rel=0.02)


def test_on_the_bench_the_load_cell_needs_many_pairs_and_the_ammeter_one() -> None:
    found = rank(parse_study(bench_text()), base=256, measurements=(), jobs=2, test_guesses=False).instruments
    assert 30 < found.loc["load_cell", "pairs"] < 1000
    assert found.loc["load_cell", "effect"] < 0.1
    assert found.loc["ammeter", "pairs"] == 1.0
    assert 5.0 < found.loc["ammeter", "effect"] < 15.0
    assert found.loc["ammeter", "ratio"] > 20.0
    assert found["ratio"].idxmin() == "load_cell"
