"""The model's own error stays off what a supply fixes: the voltage below its current limit, the current at it."""

import numpy as np
import pytest
from study.known_models import study_of
from study.texts import study_named

from explorer import propagate
from explorer.study.model_error import off

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
