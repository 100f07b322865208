"""A pair on its source: lines, limits, thresholds, leaks and signs (MODEL.md, section 4)."""

import numpy as np
import pytest
from stage.stages import BENCH, LOAD, solved

SUPPLY = "electrodes.main.source"
ON_GAS = ("lorentz_force", "gas_power", "joule_heating", "electrode_drop_power", "plasma_current")


def test_layers_and_plateau_join_without_a_jump():
    """r_d → 0 and V_arc → ∞ lead to the pair without them; V_arc through the drop's own value has no jump."""
    bare = {**BENCH, "electrodes.main.drop_resistance": 0.0, "electrodes.main.arc_voltage": np.inf}
    exact = solved(bare)["plasma_current"]
    thin = solved({**bare, "electrodes.main.drop_resistance": 1e-9})["plasma_current"]
    assert thin == pytest.approx(exact, rel=1e-6)
    far = solved({**bare, "electrodes.main.arc_voltage": 1e6})["plasma_current"]
    assert far == exact
    sweep = np.linspace(40.0, 90.0, 41)  # the drop of the bench pair lies within
    current = [solved({**BENCH, "electrodes.main.arc_voltage": V})["plasma_current"] for V in sweep]
    steps = np.diff(current)
    assert (steps <= 1e-9).all()
    assert abs(steps).max() < 0.1 * (max(current) - min(current))
    constricted = [
        "constricted" in solved({**BENCH, "electrodes.main.arc_voltage": V})["warnings"] for V in (40.0, 90.0)
    ]
    assert constricted == [True, False]


@pytest.mark.parametrize("voltage", [60.0, 150.0, 400.0])
def test_a_supply_s_terminals_lie_on_its_line(voltage):
    found = solved({**BENCH, f"{SUPPLY}.voltage": voltage, f"{SUPPLY}.current_limit": np.inf})
    assert found["terminal_voltage"] == pytest.approx(voltage - 0.1 * found["current"], rel=1e-6)
    assert found["current"] > 0.0


@pytest.mark.parametrize("limit", [0.5, 3.0, 6.0])
def test_a_supply_s_current_limit_holds_and_its_voltage_gives(limit):
    found = solved({**BENCH, f"{SUPPLY}.current_limit": limit})
    assert found["current"] == pytest.approx(limit, rel=1e-6)
    assert found["terminal_voltage"] < 150.0 - 0.1 * limit


def test_a_current_limit_above_the_current_changes_nothing():
    free = solved({**BENCH, f"{SUPPLY}.current_limit": np.inf})
    near = solved({**BENCH, f"{SUPPLY}.current_limit": free["current"] * 1.001})
    assert near["current"] == pytest.approx(free["current"], rel=1e-7)


def test_the_current_limit_joins_the_line_without_a_jump():
    free = solved({**BENCH, f"{SUPPLY}.current_limit": np.inf})
    held = solved({**BENCH, f"{SUPPLY}.current_limit": free["current"] * (1 - 1e-6)})
    assert held["thrust_gain"] == pytest.approx(free["thrust_gain"], rel=1e-5)


@pytest.mark.parametrize("resistance", [0.0, 0.05, 5.0, 500.0])
def test_a_load_s_terminals_lie_on_its_line(resistance):
    found = solved({**LOAD, f"{SUPPLY}.resistance": resistance})
    assert found["terminal_voltage"] == pytest.approx(-resistance * found["current"], rel=1e-6, abs=1e-6)
    assert found["current"] < 0.0


def test_extraction_has_the_signs_of_a_brake():
    found = solved(LOAD)
    assert found["status"] == "ok"
    for name in (
        "current",
        "plasma_current",
        "electrical_power",
        "lorentz_force",
        "gas_power",
        "thrust_gain",
    ):
        assert found[name] < 0.0, name
    for name in ("terminal_voltage", "power_delivered", "joule_heating", "electrode_drop_power"):
        assert found[name] > 0.0, name
    assert found["terminal_voltage"] < found["back_emf"] - 8.0
    assert found["thrust_gain"] < found["thrust_gain_heating"]


def test_acceleration_has_the_signs_of_a_motor():
    found = solved(BENCH)
    for name in (
        "current",
        "lorentz_force",
        "gas_power",
        "thrust_gain",
        "joule_heating",
        "exit_pressure_change",
    ):
        assert found[name] > 0.0, name
    assert found["power_delivered"] == -found["electrical_power"] < 0.0


def test_an_open_load_shows_the_back_emf_less_the_drop():
    """A short pair into ten megohms: its terminals rise to u B g − V_0."""
    short = {
        "electrodes.main.start": 0.045,
        "electrodes.main.length": 1e-4,
        "electrodes.main.leak_conductance": 0.0,
    }
    found = solved({**LOAD, **short, f"{SUPPLY}.resistance": 1e7})
    assert abs(found["plasma_current"]) < 1e-5
    assert found["terminal_voltage"] == pytest.approx(found["back_emf"] - 8.0, rel=2e-3)
    assert abs(found["thrust_gain"]) < 1e-9 * found["thrust"]


def test_a_supply_below_the_threshold_drives_only_the_leak():
    threshold = solved(BENCH)["threshold_voltage"]
    below = solved({**BENCH, f"{SUPPLY}.voltage": 0.99 * threshold})
    assert below["status"] == "no_contact"
    assert below["plasma_current"] == below["lorentz_force"] == below["thrust_gain"] == 0.0
    assert below["thrust_gain_heating"] == 0.0
    assert below["thrust"] == below["thrust_open_circuit"]
    assert below["terminal_voltage"] == pytest.approx(0.99 * threshold / (1 + 0.1 * 0.01), rel=1e-12)
    assert below["current"] == pytest.approx(0.01 * below["terminal_voltage"], rel=1e-12)
    above = solved({**BENCH, f"{SUPPLY}.voltage": 1.01 * threshold})
    assert above["status"] == "ok"
    assert above["plasma_current"] > 0.0


def test_current_grows_from_nothing_at_the_threshold():
    threshold = solved(BENCH)["threshold_voltage"] * 1.001
    current = [
        solved({**BENCH, f"{SUPPLY}.voltage": threshold * f})["plasma_current"]
        for f in (1 + 1e-5, 1 + 1e-3, 1.1)
    ]
    assert 0.0 < current[0] < current[1] < current[2]
    assert current[0] < 1e-5 * current[2]


def test_a_load_whose_drop_exceeds_the_back_emf_makes_no_contact():
    """The highest u B g along the pair decides."""
    emf = solved(LOAD)["back_emf"]
    no = solved({**LOAD, "electrodes.main.voltage_drop": 1.1 * emf})
    assert no["status"] == "no_contact"
    assert no["current"] == no["terminal_voltage"] == no["thrust_gain"] == 0.0
    yes = solved({**LOAD, "electrodes.main.voltage_drop": 0.95 * emf})
    assert yes["status"] == "ok"


def test_the_leak_adds_its_current_and_no_force():
    """With no resistance in the supply the gas doesn't notice it."""
    stiff = {**BENCH, f"{SUPPLY}.resistance": 0.0}
    dry, wet = (solved({**stiff, "electrodes.main.leak_conductance": G}) for G in (0.0, 0.02))
    assert wet["current"] - dry["current"] == pytest.approx(0.02 * 150.0, rel=1e-9)
    assert wet["leak_current"] == pytest.approx(0.02 * 150.0, rel=1e-9)
    for name in (*ON_GAS, "thrust", "wall_heat"):
        assert wet[name] == pytest.approx(dry[name], rel=1e-9), name
    assert wet["electrical_power"] - dry["electrical_power"] == pytest.approx(0.02 * 150.0**2, rel=1e-9)


def test_the_leak_shunts_a_generator():
    dry, wet = (solved({**LOAD, "electrodes.main.leak_conductance": G}) for G in (0.0, 0.05))
    assert wet["power_delivered"] < dry["power_delivered"]
    assert wet["plasma_current"] < dry["plasma_current"] < 0.0


def test_a_leak_that_takes_the_whole_limit_leaves_nothing_for_the_gas():
    """G V reaches the current limit below the threshold: the supply cannot reach the gas."""
    found = solved({**BENCH, "electrodes.main.leak_conductance": 1.0, f"{SUPPLY}.current_limit": 10.0})
    assert found["status"] == "no_contact"
    assert found["current"] == pytest.approx(10.0, rel=1e-9)
    assert found["terminal_voltage"] == pytest.approx(10.0, rel=1e-9)
