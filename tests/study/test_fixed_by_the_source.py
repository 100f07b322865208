"""The model's own error stays off what a supply fixes: the voltage below its current limit, the current at it."""

import numpy as np
import pytest
from questions.optimize.known_designs import known
from study.known_models import NO_MODEL_ERROR, study_of
from study.texts import study_named

from explorer import propagate, rank
from explorer.study.model_error import off, off_found
from explorer.studyfile import Measurement, ReadingUncertainty
from explorer.studyfile.sections.instruments import Amount

SUPPLY = "electrodes.main.source"
ERROR = '\n[model_error]\nterminal_voltage = "15 %"\ncurrent = "15 %"\n'
FACTOR = np.array([0.5, 1.0, 1.5])


def test_below_its_limit_a_supply_fixes_the_voltage_and_at_it_the_current() -> None:
    # 150 V behind 0.1 ohm, 50 A at most: the corner lies at 145 V.
    study = study_of({})
    below, at_limit = np.full(3, 149.0), np.full(3, 120.0)
    np.testing.assert_array_equal(off(study, "terminal_voltage", below, FACTOR, {}), below)
    np.testing.assert_allclose(off(study, "terminal_voltage", at_limit, FACTOR, {}), [60.0, 120.0, 145.0])
    np.testing.assert_allclose(off(study, "current", np.full(3, 40.0), FACTOR, {}), [20.0, 40.0, 50.0])
    np.testing.assert_array_equal(off(study, "current", np.full(3, 50.0), FACTOR, {}), np.full(3, 50.0))
    # By its own address, with inputs that are drawn, and without any limit.
    drawn = {
        f"{SUPPLY}.voltage": np.array([149.0, 151.0, 153.0]),
        f"{SUPPLY}.current_limit": np.full(3, 400.0),
    }
    pair = "electrodes.main.terminal_voltage"
    np.testing.assert_array_equal(off(study, pair, at_limit, FACTOR, drawn), at_limit)
    free = {f"{SUPPLY}.current_limit": np.inf}
    np.testing.assert_array_equal(off(study, pair, at_limit, FACTOR, free), at_limit)
    np.testing.assert_allclose(off(study, "current", below, FACTOR, free), below * FACTOR)
    # Everything else is the model's.
    for quantity in ("thrust_gain", "electrical_power", "back_emf"):
        np.testing.assert_allclose(off(study, quantity, below, FACTOR, {}), below * FACTOR)


def test_what_leaks_at_a_voltage_that_a_supply_fixes_is_as_sure_as_the_film() -> None:
    # 0.02 S at 149 V; at the limit the voltage, and with it the leak, is the model's up to the corner at 145 V.
    study, film = study_of({}), {"electrodes.main.leak_conductance": np.full(3, 0.02)}
    below, at_limit = np.full(3, 2.98), np.full(3, 2.4)
    for quantity in ("leak_current", "electrodes.main.leak_current"):
        np.testing.assert_array_equal(off(study, quantity, below, FACTOR, film), below)
        np.testing.assert_allclose(off(study, quantity, at_limit, FACTOR, film), [1.2, 2.4, 2.9])
    np.testing.assert_array_equal(off(study, "leak_current", np.zeros(3), FACTOR, {}), np.zeros(3))
    # Of the voltage over what the flow induces the supply fixes one half only.
    np.testing.assert_allclose(off(study, "load_factor", below, FACTOR, film), below * FACTOR)


def test_a_load_fixes_nothing(tmp_path) -> None:
    study = study_named("extraction", tmp_path)
    values = np.full(3, 5.0)
    for quantity in ("terminal_voltage", "current"):
        np.testing.assert_allclose(off(study, quantity, values, FACTOR, {}), values * FACTOR)


@pytest.mark.parametrize("quantity", ["terminal_voltage", "electrodes.main.terminal_voltage"])
def test_on_the_stage_the_voltage_is_as_sure_as_the_supply(quantity: str) -> None:
    # 200 V ± 2 V less some 1 V across 0.1 ohm: no 15 % of it.
    study = study_of({f"{SUPPLY}.voltage": "200 ± 2 V"}, ERROR)
    own = propagate(study, quantities=[quantity], samples=1024).figures[quantity]
    assert own.spread == pytest.approx(2.0, rel=0.05)
    assert 190.0 < float(own.low) < float(own.high) < 204.5
    current = propagate(study, quantities=["current"], samples=1024).figures["current"]
    assert current.spread / float(current.mean) == pytest.approx(0.15, rel=0.1)  # must differ


def test_a_voltmeter_behind_a_supply_reads_the_supply_and_not_the_model(monkeypatch) -> None:
    # Gain V/1000, V known to 1 V; a voltmeter good to 0.1 V leaves 0.1/√(1 + 0.01) of it, linear-Gaussian. With the
    # model's 15 % on the reading it would leave all.
    volt = f"{SUPPLY}.voltage"
    known(monkeypatch, {"thrust_gain": lambda v: 1e-3 * v[volt], "terminal_voltage": lambda v: v[volt]})
    study = study_of({volt: "150 ± 1 V"}, f'{NO_MODEL_ERROR}terminal_voltage = "15 %"\n')
    meter = Measurement("meter", 1.0, observes={"terminal_voltage": ReadingUncertainty(Amount(0.1))})
    found = rank(study, base=1024, measurements=[meter], rng=1, test_guesses=False)
    assert found.measurements["left"].iloc[0] == pytest.approx(1e-4 / np.sqrt(1.01), rel=0.05)


def test_of_several_pairs_sum_the_parts_at_their_limits_carry_no_error_of_the_model(tmp_path) -> None:
    """Closed form: 50 A of the pair at its limit, and 10 A of the other times the factor, at most 50 A."""
    study = study_named("two pairs", tmp_path)
    names = [f"electrodes.{pair}.current" for pair in study.pairs]
    for currents, sums in {
        (50.0, 10.0): [55.0, 60.0, 65.0],
        (50.0, 50.0): [100.0, 100.0, 100.0],
        (20.0, 40.0): [30.0, 60.0, 80.0],  # 40 A go no further than 50 A
    }.items():
        found = {name: np.full(3, own) for name, own in zip(names, currents, strict=True)}
        found["current"] = np.full(3, sum(currents))
        np.testing.assert_allclose(off_found(study, "current", found, FACTOR, {}), sums)
        each = [off(study, name, found[name], FACTOR, {}) for name in names]
        np.testing.assert_allclose(off_found(study, "current", found, FACTOR, {}), np.sum(each, axis=0))


def test_on_the_stage_the_sum_of_two_pairs_never_exceeds_their_supplies_limits(tmp_path) -> None:
    low = {f"electrodes.{pair}.source.current_limit": "2 A" for pair in ("main", "rear")}
    sure = study_named("two pairs", tmp_path).replaced({"channel.wall_temperature": "800 ± 20 K", **low})
    held = propagate(sure, quantities=["current"], samples=1024).figures["current"]
    assert (float(held.mean), held.spread) == (pytest.approx(4.0, rel=1e-6), pytest.approx(0.0, abs=1e-5))
    half = sure.replaced({"electrodes.rear.source.current_limit": "200 A"})
    rear = propagate(half, quantities=["electrodes.rear.current"], samples=1024).figures[
        "electrodes.rear.current"
    ]
    both = propagate(half, quantities=["current"], samples=1024).figures["current"]
    assert both.spread == pytest.approx(rear.spread, rel=0.02)
    assert rear.spread / float(rear.mean) == pytest.approx(
        0.15, rel=0.3
    )  # must differ: the model's own error
