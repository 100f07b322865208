"""The electrode pair's local circuit: its law, its limits, and that it joins without a jump."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer.physics.electrodes import current_density, effective_conductivity, hall_field

drive = st.floats(-500.0, 500.0)
pair = st.fixed_dictionaries(
    {
        "gap_resistance": st.floats(1e-4, 1.0),
        "voltage_drop": st.floats(0.0, 50.0),
        "drop_resistance": st.one_of(st.just(0.0), st.floats(1e-4, 0.1)),
        "arc_above": st.one_of(st.just(math.inf), st.floats(0.0, 150.0)),
    }
)


def local(driving_voltage, pair):
    return current_density(
        driving_voltage,
        pair["gap_resistance"],
        pair["voltage_drop"],
        pair["drop_resistance"],
        pair["voltage_drop"] + pair["arc_above"],
    )


@given(drive, pair)
def test_gas_and_electrodes_share_the_driving_voltage(d, pair):
    """|d| = V_d + |j| g/σ_e with V_d = min(V_0 + r_d |j|, V_arc) wherever current flows (MODEL.md, section 4)."""
    j, drop, _, constricted = local(d, pair)
    if j == 0.0:
        assert abs(d) <= pair["voltage_drop"]
        return
    assert math.copysign(1.0, j) == math.copysign(1.0, d)
    assert abs(d) == pytest.approx(drop + abs(j) * pair["gap_resistance"], rel=1e-9, abs=1e-9)
    plateau = pair["voltage_drop"] + pair["arc_above"]
    rising = pair["voltage_drop"] + pair["drop_resistance"] * abs(j)
    assert drop == pytest.approx(min(rising, plateau), rel=1e-9, abs=1e-9)
    assert constricted == (drop == plateau and rising > plateau)


@given(drive, pair)
def test_reversing_the_drive_reverses_the_current(d, pair):
    j, drop, slope, constricted = local(d, pair)
    assert local(-d, pair) == (-j, drop, slope, constricted)


@given(drive, st.floats(1e-9, 100.0), pair)
def test_current_rises_with_the_drive(d, more, pair):
    assert local(d + more, pair)[0] >= local(d, pair)[0]


@given(drive, st.floats(1e-9, 1e-3), pair)
def test_current_has_no_jump_anywhere(d, step, pair):
    """No change larger than the gas alone would let through."""
    rise = local(d + step, pair)[0] - local(d, pair)[0]
    assert rise <= step / pair["gap_resistance"] * (1 + 1e-6) + 1e-9


@given(pair)
def test_resistance_and_plateau_of_the_drop_join(pair):
    """At the drive where V_0 + r_d |j| reaches V_arc both laws give the same current."""
    if not (math.isfinite(pair["arc_above"]) and pair["drop_resistance"] > 0.0):
        return
    j_joint = pair["arc_above"] / pair["drop_resistance"]
    d = pair["voltage_drop"] + pair["arc_above"] + j_joint * pair["gap_resistance"]
    below, above = local(d * (1 - 1e-9), pair), local(d * (1 + 1e-9), pair)
    assert above[0] == pytest.approx(below[0], abs=3e-9 * d / pair["gap_resistance"])
    assert above[1] == pytest.approx(
        below[1], abs=3e-9 * d * (1 + pair["drop_resistance"] / pair["gap_resistance"])
    )


@given(drive, pair)
def test_the_slope_is_the_derivative_of_the_current(d, pair):
    h = 1e-4
    j, _, slope, constricted = local(d, pair)
    low, high = local(d - h, pair), local(d + h, pair)
    if {low[3], high[3]} != {constricted} or 0.0 in (low[0], high[0], j):
        return  # a kink in between
    assert slope == pytest.approx((high[0] - low[0]) / (2 * h), rel=1e-4)


def test_a_hand_calculation_of_the_local_current():
    """By hand: 100 V over 8 V of sheaths, 5 mΩ m² of layers and 11 mm of gas at 2.2 S/m (another 5 mΩ m²)."""
    j, drop, _, constricted = current_density(100.0, 0.011 / 2.2, 8.0, 0.005, math.inf)
    assert j == pytest.approx(9200.0)
    assert drop == pytest.approx(54.0)
    assert not constricted


def test_a_plateau_at_the_drop_itself_makes_the_drop_constant():
    """V_arc = V_0: the resistance of the cool layers never shows, and the discharge is constricted at once."""
    j, drop, _, constricted = current_density(30.0, 0.01, 10.0, 0.02, 10.0)
    assert j == pytest.approx(2000.0)
    assert drop == 10.0
    assert constricted


def test_no_current_flows_below_the_drop():
    assert current_density(9.99, 0.01, 10.0, 0.0, math.inf) == (0.0, 10.0, 0.0, False)
    assert current_density(-10.0, 0.01, 10.0, 0.0, math.inf)[0] == 0.0


@given(st.floats(0.01, 200.0), st.floats(0.0, 5.0))
def test_continuous_electrodes_lose_one_plus_the_square_of_the_hall_parameter(sigma, hall):
    segmented = effective_conductivity(sigma, hall, True)
    assert segmented == sigma
    assert segmented / effective_conductivity(sigma, hall, False) == pytest.approx(1 + hall**2, rel=1e-12)


def test_the_hall_field_of_segments_is_the_current_s_force_on_its_electrons():
    """By hand: 1 A/cm² in 0.5 T with 1e20 electrons in a cubic metre: 312 V/m."""
    assert hall_field(-1e4, 0.5, 1e20, True) == pytest.approx(1e4 * 0.5 / (1.602176634e-19 * 1e20))
    assert hall_field(1e4, 0.5, 1e20, True) == pytest.approx(312.08, rel=1e-4)
    assert hall_field(1e4, 0.5, 1e20, False) == 0.0
