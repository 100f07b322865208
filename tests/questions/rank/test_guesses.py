"""Whether the first choice survives other ranges: cases with an obvious answer, and what happens at the edges."""

import numpy as np
import pytest
from study.known_models import NO_MODEL_ERROR, bench_text, replace_stage, study_of

from explorer import parse_study, rank
from explorer.questions.rank.guesses import FirstChoice, Guesses, guesses, widened
from explorer.space import Lognormal, Normal, Rectangular
from explorer.study.problem import problem_of

VOLT, WALL, ARC = "electrodes.main.source.voltage", "channel.wall_temperature", "electrodes.main.arc_voltage"


def gain(v):
    return (v[VOLT] - 150.0) + 0.1 * (v[WALL] - 800.0) + 0.01 * (v[ARC] - 100.0)


def pins(hours: float = 1) -> str:
    return "".join(
        f'[[measurement]]\nname = "{n}"\nhours = {h}\npins = {{ "{a}" = {{ random = "{u}" }} }}\n'
        for n, a, u, h in (("volt", VOLT, "1 mV", 1), ("wall", WALL, "0.01 K", hours))
    )


def changes(found: Guesses) -> list[tuple[str, float, str]]:
    return sorted((guess.address, guess.factor, guess.choice) for guess in found.changed)


UNSURE = {VOLT: "150 ± 1.2 V", WALL: "800 ± 10 K", ARC: "100 ± 3 V"}


def test_the_first_measurement_changes_where_its_range_is_halved_or_the_others_doubled(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    found = rank(study_of(UNSURE, NO_MODEL_ERROR + pins()), base=1024).guesses
    assert found is not None
    assert (found.kind, found.first) == ("measurement", "volt")
    assert changes(found) == [(WALL, 2.0, "wall"), (VOLT, 0.5, "wall")]
    assert {(guess.address, guess.factor) for guess in found.tried} == {
        (a, f) for a in (VOLT, WALL, ARC) for f in (0.5, 2.0)
    }


def test_hours_count_in_the_first_choice(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    found = rank(study_of(UNSURE, NO_MODEL_ERROR + pins(0.25)), base=1024).guesses
    assert found is not None
    assert found.first == "wall"


def test_without_measurements_the_choice_is_between_inputs(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    found = rank(study_of(UNSURE, NO_MODEL_ERROR), base=1024).guesses
    assert found is not None
    assert (found.kind, found.first) == ("input", VOLT)
    assert changes(found) == [(WALL, 2.0, WALL), (VOLT, 0.5, WALL)]


def test_a_choice_far_ahead_stands(monkeypatch) -> None:
    replace_stage(monkeypatch, {"thrust_gain": gain})
    found = rank(study_of({**UNSURE, VOLT: "150 ± 8 V"}, NO_MODEL_ERROR + pins()), base=1024).guesses
    assert found is not None
    assert found.changed == ()


def test_at_most_five_ranges_are_tried_the_largest_first() -> None:
    inputs = {f"x{i}": f"0 ± {10 - i}" for i in range(8)}
    found = rank(lambda v: {"y": sum(v.values())}, inputs, target="y", rng=1, base=1024).guesses
    assert found is not None
    assert [guess.address for guess in found.tried if guess.factor == 2.0] == [f"x{i}" for i in range(5)]


@pytest.mark.parametrize("base", [Normal(5.0, 2.0), Rectangular(2.0, 15.0), Lognormal(3.0, 2.0)])
@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_a_widened_range_is_as_much_wider_as_it_says(base, factor: float) -> None:
    u = np.linspace(0.001, 0.999, 999)
    wide = widened(base, factor)
    if isinstance(base, Lognormal):
        np.testing.assert_allclose(np.log(wide.quantile(u) / 3.0), factor * np.log(base.quantile(u) / 3.0))
    else:
        np.testing.assert_allclose(wide.quantile(u) - base.mean, factor * (base.quantile(u) - base.mean))
        assert wide.standard_uncertainty == pytest.approx(factor * base.standard_uncertainty)
    np.testing.assert_allclose(wide.cumulative(wide.quantile(u)), u, atol=1e-12)


def test_a_widened_range_is_cut_at_physical_bounds(monkeypatch) -> None:
    drop = "electrodes.main.voltage_drop"
    lowest = []

    def model(v):
        lowest.append(float(v[drop].min()))
        return v[drop] + 0.0

    replace_stage(monkeypatch, {"thrust_gain": model})
    rank(study_of({drop: "2 .. 15 V", VOLT: "150 ± 1 V"}, NO_MODEL_ERROR), base=1024)
    assert 0.0 <= min(lowest) < 0.1


@pytest.mark.slow
def test_a_doubled_range_loses_no_points_in_silence() -> None:
    # Beyond the ranges stated the gas has no table: points there carry no number.
    study = parse_study(bench_text()).replaced({"gas.mixture_ratio": "1.8 .. 2.1"})
    problem = problem_of(study, None, ["thrust_gain"], jobs=2)
    first = FirstChoice("input", "gas.mixture_ratio")
    found = guesses(problem, ["gas.mixture_ratio"], first, (), study, 1, jobs=2)
    assert max(guess.lost for guess in found.tried) < 0.01
