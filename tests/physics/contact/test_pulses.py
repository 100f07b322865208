"""Pulses of coil and capacitor: SciPy's integration of the same circuits, energy, and limits by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from explorer.physics.contact import pulses

COIL = {
    "energy": 0.06,
    "peak_voltage": 42e3,
    "inductance": 40.0,
    "resistance": 8e3,
    "time": 0.01,
    "breakdown_voltage": 8e3,
    "diffuse_current": 0.0,
    "diffuse_resistance": math.inf,
    "diffuse_drop": 0.0,
    "electrode_voltage": 350.0,
    "column_voltage": 500.0,
    "back_emf": 10.0,
}
CAPACITOR = {
    "capacitance": 1e-4,
    "voltage": 400.0,
    "resistance": 0.1,
    "inductance": 5e-6,
    "time": 0.1,
    "electrode_voltage": 30.0,
    "column_voltage": 20.0,
    "back_emf": 10.0,
}


def ledger(pulse):
    """All that a pulse's energy went into, and what is left of it."""
    return pulse.gas_heat + pulse.electrode_energy + pulse.work + pulse.circuit_heat + pulse.remaining_energy


def integrated_coil(case):
    """Charge, ∫ i² dt and last current after the spark, by DOP853 until the current ends or the time is over."""
    left = case["energy"] * (1 - (case["breakdown_voltage"] / case["peak_voltage"]) ** 2)
    L, V = case["inductance"], case["electrode_voltage"] + case["column_voltage"] + case["back_emf"]

    def ends(_, y):
        return y[0]

    ends.terminal, ends.direction = True, -1
    found = solve_ivp(
        lambda _, y: [(-V - case["resistance"] * y[0]) / L, y[0], y[0] ** 2],
        (0.0, case["time"]),
        [math.sqrt(2 * left / L), 0.0, 0.0],
        method="DOP853",
        events=ends,
        rtol=1e-11,
        atol=1e-14,
    )
    return found.y[:, -1]


@pytest.mark.parametrize(
    "change",
    [{}, {"resistance": 0.0}, {"resistance": 1e-3}, {"resistance": 2e5}, {"time": 5e-4}, {"back_emf": 400.0}],
    ids=str,
)
def test_a_coil_s_pulse_agrees_with_scipy_s_integration(change):
    case = COIL | change
    pulse, sparks = pulses.coil_pulse(**case)
    assert sparks
    current, charge, square = integrated_coil(case)
    own = 2 * case["energy"] / case["peak_voltage"] ** 2 * case["breakdown_voltage"]  # C V_b
    assert pulse.charge - own == pytest.approx(charge, rel=1e-6)
    assert pulse.circuit_heat == pytest.approx(case["resistance"] * square, rel=1e-6, abs=1e-9)
    assert pulse.remaining_energy == pytest.approx(0.5 * 40.0 * current**2, rel=1e-6, abs=1e-12)
    assert pulse.work == pytest.approx(pulse.charge * case["back_emf"], rel=1e-12)
    assert ledger(pulse) == pytest.approx(case["energy"], rel=1e-13)


def test_a_coil_by_hand():
    """No resistance: 60 mJ, of which (8/42)² = 3.63 % in the spark, the rest against 860 V: 67.2 µC and 2.72 µC."""
    pulse, _ = pulses.coil_pulse(**(COIL | {"resistance": 0.0}))
    assert pulse.charge == pytest.approx(0.06 * (1 - (8 / 42) ** 2) / 860.0 + 2 * 0.06 / 42e3**2 * 8e3)
    assert pulse.duration == pytest.approx(40.0 * pulse.peak_current / 860.0)
    assert pulse.circuit_heat == pytest.approx(0.0, abs=1e-15)


def test_a_coil_s_mean_current_on_unseeded_gas_is_as_expected():
    """contact.md, section 3 (estimates): a 42 kV coil, 60 mJ, 100 Hz, 40 H: 3 to 10 mA mean, 2e-5 to 6e-5 N."""
    pulse, _ = pulses.coil_pulse(**COIL)
    assert 3e-3 <= 100.0 * pulse.charge <= 10e-3
    assert 2e-5 <= 100.0 * pulse.charge * 0.48 * 0.0118 <= 6e-5


def test_a_gas_that_draws_more_than_the_coil_has_loads_it_and_no_spark_comes():
    """Then its current decays through the gas; an insulating gap that doesn't break down keeps the energy."""
    loaded, sparks = pulses.coil_pulse(
        **(COIL | {"diffuse_current": 0.2, "diffuse_resistance": 4e3, "diffuse_drop": 3.0})
    )
    assert not sparks
    assert loaded.peak_current == pytest.approx(math.sqrt(2 * 0.06 / 40))
    assert ledger(loaded) == pytest.approx(0.06, rel=1e-13)
    assert loaded.charge <= loaded.peak_current * 0.01
    assert loaded.gas_heat / loaded.circuit_heat == pytest.approx(4e3 / 8e3)
    kept, sparks = pulses.coil_pulse(**(COIL | {"breakdown_voltage": 50e3}))
    assert not sparks
    assert (kept.charge, kept.remaining_energy) == (0.0, 0.06)


def test_a_coil_without_a_field_and_without_a_drop_is_a_decay():
    """By hand: I_0 L/R (1 − e^(−t R/L)) with 12 kΩ for 10 ms against nothing; an insulating gap keeps the energy."""
    bare = COIL | {"diffuse_current": 0.2, "diffuse_resistance": 4e3, "back_emf": 0.0}
    pulse, _ = pulses.coil_pulse(**bare)
    decayed = math.sqrt(2 * 0.06 / 40) * 40 / 12e3 * -math.expm1(-0.01 * 12e3 / 40)
    assert pulse.charge == pytest.approx(decayed, rel=1e-12)
    assert ledger(pulse) == pytest.approx(0.06, rel=1e-13)
    kept, sparks = pulses.coil_pulse(**(bare | {"breakdown_voltage": 50e3, "diffuse_resistance": math.inf}))
    assert not sparks
    assert (kept.charge, kept.remaining_energy, kept.duration) == (0.0, 0.06, 0.0)


@pytest.mark.parametrize("resistance", [0.0, 0.1, 20.0])
def test_a_single_pulse_has_all_the_time_it_needs(resistance):
    case = CAPACITOR | {"resistance": resistance}
    once, long = (pulses.capacitor_pulse(**(case | {"time": time})) for time in (math.inf, 10.0))
    assert (once.charge, once.charge_moved) == pytest.approx((long.charge, long.charge_moved))
    assert once.duration == (math.inf if resistance == 20.0 else long.duration)


def integrated_capacitor(case):
    """Net charge, ∫|i|, ∫ i² and last voltage by SciPy, half-wave by half-wave."""
    C, L, R, V_a = (
        case["capacitance"],
        case["inductance"],
        case["resistance"],
        case["electrode_voltage"] + case["column_voltage"],
    )
    v, moved, square, t, current = case["voltage"], 0.0, 0.0, 0.0, 0.0
    while abs(v - case["back_emf"]) > V_a and t < case["time"]:
        s = math.copysign(1.0, v - case["back_emf"])

        def slopes(_, y, s=s):
            return [s * (y[1] - case["back_emf"]) / L - (V_a + R * y[0]) / L, -s * y[0] / C, y[0], y[0] ** 2]

        def jacobian(_, y, s=s):
            return [
                [-R / L, s / L, 0.0, 0.0],
                [-s / C, 0.0, 0.0, 0.0],
                [1.0, 0.0, 0.0, 0.0],
                [2.0 * y[0], 0.0, 0.0, 0.0],
            ]

        def ends(_, y):
            return y[0]

        ends.terminal, ends.direction = True, -1
        found = solve_ivp(
            slopes,
            (t, case["time"]),
            [0.0, v, moved, square],
            events=ends,
            atol=1e-13,
            # A circuit that creeps is stiff.
            **(
                {"method": "Radau", "jac": jacobian, "rtol": 1e-10}
                if R > 5.0
                else {"method": "DOP853", "rtol": 1e-11}
            ),
        )
        t, (current, v, moved, square) = found.t[-1], found.y[:, -1]
    return C * (case["voltage"] - v), moved, square, v, current if t >= case["time"] else 0.0


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"resistance": 0.0},
        {"resistance": 0.5},  # creeps
        {"resistance": 2 * math.sqrt(5e-6 / 1e-4)},  # critical
        {"resistance": 20.0},
        {"resistance": 20.0, "time": 1e-3},
        {"time": 5e-5},
        {"resistance": 0.01, "back_emf": 120.0},
        {"resistance": 0.01, "back_emf": -120.0},  # the exhaust helps: extraction's sign
        {"resistance": 0.01, "time": 1e-4},
    ],
    ids=str,
)
def test_a_capacitor_s_pulse_agrees_with_scipy_s_integration(change):
    case = CAPACITOR | change
    pulse = pulses.capacitor_pulse(**case)
    charge, moved, square, end, current = integrated_capacitor(case)
    assert pulse.charge == pytest.approx(charge, rel=1e-6)
    assert pulse.charge_moved == pytest.approx(moved, rel=1e-6)
    assert pulse.end_voltage == pytest.approx(end, rel=1e-6, abs=1e-6 * 400)
    stored = 0.5 * 1e-4 * 400.0**2
    assert pulse.circuit_heat == pytest.approx(case["resistance"] * square, rel=1e-6, abs=1e-8 * stored)
    left = 0.5 * 1e-4 * end**2 + 0.5 * 5e-6 * current**2
    assert pulse.remaining_energy == pytest.approx(left, rel=1e-6)
    assert ledger(pulse) == pytest.approx(stored, rel=1e-13)
    assert pulse.work == pytest.approx(pulse.charge * case["back_emf"], rel=1e-12)


def test_the_highest_current_is_that_of_the_circuit():
    """By hand, no resistance: (V_0 − V_a − u B g) √(C/L); creeping, near (V_0 − V_a − u B g)/R."""
    assert pulses.capacitor_pulse(**(CAPACITOR | {"resistance": 0.0})).peak_current == pytest.approx(
        340.0 * math.sqrt(1e-4 / 5e-6)
    )
    assert pulses.capacitor_pulse(**(CAPACITOR | {"resistance": 50.0})).peak_current == pytest.approx(
        340.0 / 50.0, rel=0.01
    )


def test_the_droop_of_a_long_burn_is_exponential():
    """By hand: V_a + u B g and R C = 2 s: after 1 s the drive has fallen by e^(−1/2)."""
    case = CAPACITOR | {"capacitance": 1.0, "resistance": 2.0, "time": 1.0}
    pulse = pulses.capacitor_pulse(**case)
    assert pulse.end_voltage == pytest.approx(60.0 + 340.0 * math.exp(-0.5), rel=1e-5)


@given(st.floats(1e-6, 1e-2), st.floats(60.0, 5e3), st.floats(0.0, 5.0), st.floats(1e-7, 1e-3))
def test_a_force_is_never_cheaper_than_its_voltage_allows(capacitance, voltage, resistance, inductance):
    """Charge per energy delivered at most 1/(V_a + u B g): force per power B g/V_a (contact.md, section 4)."""
    case = CAPACITOR | {
        "capacitance": capacitance,
        "voltage": voltage,
        "resistance": resistance,
        "inductance": inductance,
    }
    pulse = pulses.capacitor_pulse(**case)
    spent = 0.5 * capacitance * voltage**2 - pulse.remaining_energy
    assert pulse.charge * 60.0 <= spent * (1 + 1e-9) + 1e-15
    assert pulse.charge_moved >= pulse.charge * (1 - 1e-12)
    assert ledger(pulse) == pytest.approx(0.5 * capacitance * voltage**2, rel=1e-12)
    power = pulses.charging_power(
        rate=10.0, capacitance=capacitance, voltage=voltage, end_voltage=pulse.end_voltage
    )
    assert power == pytest.approx(10.0 * (0.5 * capacitance * (voltage**2 - pulse.end_voltage**2)))


def test_a_voltage_below_what_stands_against_it_drives_nothing():
    pulse = pulses.capacitor_pulse(**(CAPACITOR | {"voltage": 59.0}))
    assert (pulse.charge, pulse.charge_moved, pulse.duration) == (0.0, 0.0, 0.0)


def test_a_discharge_is_a_glow_an_arc_or_between():
    """contact.md, section 4: 0.1 A and below, 1 A and above, the logarithm between."""
    found = pulses.column_value(np.array([0.0, 0.1, math.sqrt(0.1), 1.0, 50.0]), glow=400.0, arc=25.0)
    assert found == pytest.approx([400.0, 400.0, 100.0, 25.0, 25.0])
    length = pulses.discharge_length(
        gap=0.011,
        velocity=1800.0,
        duration=np.array([1e-6, 1e-2]),
        pair_length=0.06,
        carried=np.array([1.0, 0.5]),
    )
    assert length == pytest.approx([0.0146, 0.071])
