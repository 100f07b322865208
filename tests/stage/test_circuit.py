"""A pair's circuit: threshold, residual and the voltage on which source and plasma agree, by second methods."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from stage.stages import BENCH, LOAD, solved, tables_over

from explorer.stage.circuit import Excess, Source, open_voltage, proposed_voltage, residual
from explorer.stage.pair_current import FROZEN, Electrodes, Picture, frozen_current, threshold_voltage

SUPPLY = "electrodes.main.source"
NO_CURVE = np.zeros((2, 2))  # the cathode gives what is asked


def frozen_pair(emf):
    """A pair with a back EMF [V] along it, 5 mΩ m² of gas, 600 mm² in all."""
    frozen = np.empty(len(emf), dtype=FROZEN)
    frozen["back_emf"] = emf
    frozen["gap_resistance"] = 0.005
    frozen["weight"] = 6e-4 / len(emf)
    return frozen


def electrodes(drop, layer=0.004, arc=np.inf):
    return Electrodes(drop, layer, arc, False, 0.0)


def picture(back_emf, pair):
    return Picture(frozen_pair(back_emf), pair, NO_CURVE)


def test_the_threshold_is_the_smallest_back_emf_plus_the_drop_where_the_drop_is_large():
    """MODEL.md, section 4: where V_0 exceeds half the spread of u B g along the pair."""
    places = [10.0, 11.0, 12.0, 14.0]
    assert threshold_voltage(picture(places, electrodes(8.0)), 0.0) == 18.0
    assert threshold_voltage(picture(places, electrodes(2.0)), 0.0) == pytest.approx(12.0)


def test_without_a_drop_the_threshold_is_the_mean_back_emf():
    """Places that drive current backward must be outweighed first; all have the same resistance here."""
    pair = picture([10.0, 11.0, 12.0, 15.0], electrodes(0.0))
    assert threshold_voltage(pair, 0.0) == pytest.approx(12.0, rel=1e-9)


@given(st.lists(st.floats(1.0, 60.0), min_size=3, max_size=9), st.floats(0.0, 20.0))
def test_net_current_turns_positive_at_the_threshold(emf, drop):
    pair = picture(emf, electrodes(drop))
    threshold = threshold_voltage(pair, 0.0)
    assert frozen_current(pair, threshold * (1 + 1e-9) + 1e-9)[0] > 0.0
    assert frozen_current(pair, threshold * (1 - 1e-9) - 1e-9)[0] <= 0.0


def test_the_slope_of_the_frozen_current_is_its_derivative():
    pair = picture([10.0, 11.0, 12.0], electrodes(8.0, arc=30.0))
    for V in (25.0, 60.0):
        _, slope = frozen_current(pair, V)
        high, low = (frozen_current(pair, V + d)[0] for d in (1e-5, -1e-5))
        assert slope == pytest.approx((high - low) / 2e-5, rel=1e-6)


sources = st.builds(
    Source,
    supplies=st.just(True),
    voltage=st.floats(40.0, 500.0),
    current_limit=st.one_of(st.just(np.inf), st.floats(1.0, 50.0)),
    resistance=st.floats(0.0, 5.0),
    leak_conductance=st.floats(0.0, 0.1),
)


@settings(max_examples=200)
@given(sources, st.floats(0.0, 15.0), st.one_of(st.just(np.inf), st.floats(15.0, 60.0)))
def test_the_proposed_voltage_is_the_root_that_brent_finds(source, drop, arc):
    """Second method: SciPy's brentq on the frozen picture."""
    pair = picture([10.0, 11.0, 12.5], electrodes(drop, arc=arc))
    high = open_voltage(source)
    low = 0.9 * min(threshold_voltage(pair, 0.0), high)

    def excess(V):
        return residual(source, V, frozen_current(pair, V)[0])

    if not excess(low) < 0.0 < excess(high):
        return
    found = proposed_voltage(pair, source, low, high, Excess(0.0, 0.0, high, False))
    assert found == pytest.approx(brentq(excess, low, high, xtol=1e-12), rel=1e-8)


@given(sources, st.floats(0.0, 200.0), st.floats(-20.0, 100.0), st.floats(1e-6, 10.0))
def test_the_residual_never_falls_with_voltage_or_current(source, voltage, current, more):
    here = residual(source, voltage, current)
    assert residual(source, voltage + more, current) >= here
    assert residual(source, voltage, current + more) >= here
    assert residual(source, voltage + more, current + more) > here


def test_the_open_voltage_is_held_down_by_the_leak_and_the_limit():
    """By hand: 100 V behind 1 Ω into 0.1 S is 90.91 V; 5 A through 0.1 S are 50 V."""
    assert open_voltage(Source(True, 100.0, np.inf, 1.0, 0.1)) == pytest.approx(100 / 1.1)
    assert open_voltage(Source(True, 100.0, 5.0, 1.0, 0.1)) == pytest.approx(50.0)
    assert open_voltage(Source(False, 0.0, np.inf, 1.0, 0.1)) == 0.0


def test_the_operating_voltage_is_where_a_sweep_of_stiff_supplies_crosses_the_line():
    """Second method: the same pair on supplies without resistance, at voltages around the one found."""
    found, tables = solved(BENCH), tables_over([BENCH])
    stiff = {**BENCH, f"{SUPPLY}.current_limit": np.inf, f"{SUPPLY}.resistance": 0.0}

    def off_the_line(V):
        current = solved({**stiff, f"{SUPPLY}.voltage": V}, tables=tables)["current"]
        return V - 150.0 + 0.1 * current

    crossing = brentq(off_the_line, 140.0, 150.0, xtol=1e-9)
    assert found["terminal_voltage"] == pytest.approx(crossing, rel=1e-7)


def test_a_load_s_voltage_is_where_its_line_crosses_the_pair_s():
    """Second method: the pair's current–voltage curve from a sweep of loads, the line from another one."""
    tables = tables_over([LOAD])

    def curve(resistance):
        point = solved({**LOAD, f"{SUPPLY}.resistance": resistance}, tables=tables)
        return point["terminal_voltage"], point["current"]

    (V_1, I_1), (V, current), (V_2, I_2) = (curve(R) for R in (4.99, 5.0, 5.01))
    assert V_1 < V < V_2
    assert current == pytest.approx(np.interp(V, [V_1, V_2], [I_1, I_2]), rel=1e-6)
