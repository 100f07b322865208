"""Several pairs one behind the other, each with its own isolated circuit (MODEL.md, section 4)."""

import numpy as np
import pytest
from stage.cases import STRONG, TWO_PAIRS
from stage.stages import BENCH, pair_names, solved, with_pairs

SUPPLY = "electrodes.main.source"


def test_two_half_pairs_with_the_same_source_do_what_the_whole_one_does():
    """Isolated circuits at one voltage, without resistance: cutting the pair in two changes nothing."""
    whole = {
        **STRONG,
        f"{SUPPLY}.resistance": 0.0,
        f"{SUPPLY}.current_limit": np.inf,
        "electrodes.main.leak_conductance": 0.0,
    }
    halves = with_pairs(whole, front={"length": 0.03}, back={"start": 0.045, "length": 0.03})
    one, two = solved(whole), solved(halves)
    for name in ("thrust", "current", "lorentz_force", "joule_heating", "thrust_gain", "thrust_gain_heating"):
        assert two[name] == pytest.approx(one[name], rel=1e-6), name
    assert np.isnan(two["terminal_voltage"])


def test_outputs_that_add_are_the_sums_over_pairs():
    found = solved(TWO_PAIRS)
    names = pair_names(TWO_PAIRS)
    assert names == ["front", "back"]
    for name in ("current", "plasma_current", "electrical_power", "lorentz_force", "electrode_drop_power"):
        assert found[name] == pytest.approx(sum(found[f"electrodes.{p}.{name}"] for p in names), rel=1e-12), (
            name
        )
    for name in ("terminal_voltage", "back_emf", "load_factor", "max_current_density"):
        assert np.isnan(found[name]), name
        assert all(np.isfinite(found[f"electrodes.{p}.{name}"]) for p in names), name


def test_a_pair_out_of_contact_behind_one_that_runs_is_left_open():
    stage = with_pairs(
        STRONG, front={"length": 0.03}, back={"start": 0.05, "length": 0.02, "source.voltage": 10.0}
    )
    found = solved(stage)
    assert found["status"] == "ok"
    assert found["electrodes.back.plasma_current"] == 0.0
    assert found["electrodes.back.lorentz_force"] == 0.0
    alone = solved(with_pairs(STRONG, front={"length": 0.03}))
    assert found["electrodes.front.current"] == pytest.approx(alone["current"], rel=1e-9)
    assert found["thrust"] == pytest.approx(alone["thrust"], rel=1e-8)


def test_a_pair_in_contact_behind_one_that_is_not_runs_as_if_alone():
    stage = with_pairs(
        STRONG, front={"length": 0.03, "source.voltage": 10.0}, back={"start": 0.05, "length": 0.02}
    )
    found = solved(stage)
    assert found["status"] == "ok"
    assert found["electrodes.front.plasma_current"] == 0.0
    alone = solved(with_pairs(STRONG, back={"start": 0.05, "length": 0.02}))
    assert found["electrodes.back.current"] == pytest.approx(alone["current"], rel=1e-6)


def test_two_pairs_of_which_neither_touches_the_gas_are_no_contact():
    stage = with_pairs(
        BENCH,
        front={"length": 0.02, "source.voltage": 5.0},
        back={"start": 0.05, "length": 0.02, "source.voltage": 5.0},
    )
    found = solved(stage)
    assert found["status"] == "no_contact"
    assert found["thrust_gain"] == found["thrust_gain_heating"] == 0.0


def test_a_pair_over_the_whole_channel_leaves_no_gap():
    found = solved({**BENCH, "electrodes.main.start": 0.0, "electrodes.main.length": 0.09})
    near = solved({**BENCH, "electrodes.main.start": 1e-7, "electrodes.main.length": 0.09 - 2e-7})
    assert found["status"] == "ok"
    assert found["current"] == pytest.approx(near["current"], rel=1e-4)
