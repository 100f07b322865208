"""Whether a pair with computed layers conducts, in what form, and with what current.

The orders are the estimates made by hand for this bench (layers of 0.06 mm, σ 2 S/m); they are held to a factor 3 to 4,
and what is known exactly to rounding. Nothing here was measured.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stage.stages import BENCH, solved

from explorer.physics.contact.cathode import Cathode, limited_current
from explorer.physics.contact.cathode_curve import CURVE_NODES, cathode_curve, limited
from explorer.physics.contact.cool_layer import CoolLayer
from explorer.stage.columns import ARC, DIFFUSE, NONE, SPARK

E = 1.602176634e-19  # [J] an electronvolt
MAIN = "electrodes.main."
COLD = {
    "layer": "computed",
    "voltage_drop": 1.5,
    "wall_temperature": 700.0,
    "work_function": 4.6 * E,
    "layer_factor": 1.0,
    "electron_lag": 1.0,
    "ion_factor": 1.0,
    "cathode_share": 0.5,
    "contact_current": 0.01,
    "strike_voltage": np.inf,
    "strike_share": 0.3,
    "dielectric_factor": 1.0,
    "arc_fall": 30.0,
    "arc_field": 2e3,
    "leak_conductance": 0.0,
    "source.voltage": 150.0,
    "source.current_limit": 50.0,
    "source.resistance": 0.1,
}
HOT = {"wall_temperature": 1800.0, "work_function": 2.8 * E}


def bench(seeded=True, **changes):
    """The bench with computed layers and such electrodes."""
    electrodes = {**COLD, **{key.replace("source_", "source."): value for key, value in changes.items()}}
    seed = {} if seeded else {"gas.seed": "none", "gas.seed_fraction": 0.0, "gas.seed_water": 0.0}
    without = {k: v for k, v in BENCH.items() if k != f"{MAIN}drop_resistance"}
    own = {key: value for key, value in electrodes.items() if key.startswith("gas.")}
    pair = {MAIN + key: value for key, value in electrodes.items() if key not in own}
    return solved({**without, **seed, **own, **pair})


def test_with_stated_layers_the_numbers_are_those_before_layers_could_be_computed():
    """Regression: thrust gain [N], current [A] and threshold [V] of this stage as they were."""
    found = solved(BENCH)
    assert found["thrust_gain"] == pytest.approx(0.04610545792583309, rel=1e-9)
    assert found["current"] == pytest.approx(8.706526888583003, rel=1e-10)
    assert found["threshold_voltage"] == pytest.approx(17.95147136113067, rel=1e-10)
    assert found["contact"] == DIFFUSE
    assert np.isnan(found["layer_resistance"])


@pytest.mark.parametrize(
    ("changes", "low", "high"),
    [
        ({"source_voltage": 30.0}, 0.02, 0.3),  # cathode-limited
        ({"source_voltage": 30.0, **HOT}, 0.25, 6.0),
        ({"source_voltage": 150.0}, 0.15, 1.8),
        ({"source_voltage": 150.0, **HOT}, 0.3, 20.0),
    ],
)
def test_the_current_has_the_order_of_the_estimate(changes, low, high):
    found = bench(**changes)
    assert found["contact"] == DIFFUSE
    assert low < found["current"] < high
    assert (
        "cathode_limited" in found["warnings"] or changes.get("wall_temperature") == HOT["wall_temperature"]
    )


@pytest.mark.parametrize(
    ("wall", "lag", "resistance"),
    [
        (2000, 0, 7e-4),
        (1600, 0, 0.016),
        (1200, 0, 4.0),
        (2000, 1, 1.4e-4),
        (1600, 1, 2.1e-4),
        (1200, 1, 2.9e-4),
    ],
)
def test_the_layers_resist_as_estimated_in_equilibrium_and_out_of_it(wall, lag, resistance):
    found = bench(wall_temperature=float(wall), electron_lag=float(lag))
    assert 1 / 2.5 < found["layer_resistance"] / resistance < 2.5


def test_unseeded_gas_between_cold_electrodes_takes_no_current_that_an_ammeter_sees():
    """Common practice, no source: an unseeded exhaust takes no noticeable current from a few tens of volts."""
    for volts in (30.0, 150.0, 400.0):
        found = bench(seeded=False, source_voltage=volts)
        assert (found["contact"], found["current"]) == (NONE, 0.0)
        assert found["threshold_voltage"] > 400.0


def test_below_its_threshold_a_pair_is_open_and_above_it_carries_the_contact_current():
    threshold = bench(contact_current=0.05)["threshold_voltage"]
    below, above = (
        bench(contact_current=0.05, source_voltage=threshold * share, source_resistance=0.0)
        for share in (0.97, 1.03)
    )
    assert (below["contact"], below["current"]) == (NONE, 0.0)
    assert below["contact_margin"] < 1.0
    assert above["contact"] == DIFFUSE
    assert above["current"] == pytest.approx(0.05, rel=0.2)


def test_an_arc_strikes_from_the_striking_voltage_on():
    striking = bench()["striking_voltage"]
    below, above = (bench(source_voltage=striking * share) for share in (0.95, 1.05))
    assert (below["contact"], above["contact"]) == (DIFFUSE, ARC)
    assert below["contact_margin"] == pytest.approx(0.95, abs=0.03)
    assert above["current"] > 20.0 * below["current"]


def test_a_stated_strike_voltage_is_that_of_one_layer():
    """The drop is shared by two layers: 60 V strike where 120 V drop."""
    found = bench(strike_voltage=60.0)
    assert found["contact"] == ARC
    assert bench(strike_voltage=60.0, source_voltage=115.0)["contact"] == DIFFUSE
    assert found["striking_voltage"] == pytest.approx(120.0 + found["back_emf"], rel=0.05)


def test_a_struck_arc_draws_what_its_circuit_gives_at_its_voltage():
    """V_f + E_a g + u B g at the terminals; its power is drop, Joule heat and work to rounding."""
    limited_by_source = bench(struck="yes")
    assert limited_by_source["contact"] == ARC
    assert limited_by_source["plasma_current"] == pytest.approx(50.0)
    through = bench(struck="yes", source_resistance=10.0)
    volts = 30.0 + 2e3 * 0.01175 + through["back_emf"]
    assert through["terminal_voltage"] == pytest.approx(volts, rel=0.03)
    assert through["plasma_current"] == pytest.approx((150.0 - through["terminal_voltage"]) / 10.0, rel=1e-6)
    for found in (limited_by_source, through):
        assert found["terminal_voltage"] * found["plasma_current"] == pytest.approx(
            found["electrode_drop_power"] + found["gas_power"], rel=1e-6
        )


def test_a_source_that_cannot_hold_an_arc_only_sparks():
    found = bench(struck="yes", source_resistance=2e3, source_current_limit=0.05)
    assert found["contact"] == SPARK
    assert found["current"] < 0.1


def test_a_colder_cathode_a_stronger_emitter_and_a_thinner_layer_do_what_they_must():
    cold = bench()["current"]
    assert bench(**HOT)["current"] > 3.0 * cold
    assert bench(layer_factor=0.5)["current"] > 2.0 * cold
    assert bench(ion_factor=3.0)["current"] == pytest.approx(3.0 * cold, rel=0.1)
    assert bench(**{**HOT, "work_function": 4.6 * E})["current"] < 0.5 * bench(**HOT)["current"]


def test_a_load_draws_through_computed_layers_too():
    found = bench(**{**HOT, "source.kind": "load", "source.resistance": 5.0}, voltage_drop=0.5)
    assert found["current"] < 0.0


def test_electrodes_of_a_stated_material_erode_under_an_arc_and_warm_up():
    """By hand: 50 A for 2 s at 10 µg/C take 1 mg off half of the downstream half of 60 mm × 10.25 mm of copper."""
    arc = bench(
        struck="yes",
        material="copper",
        erosion=1e-8,
        root_share=0.5,
        allowed_depth=5e-4,
        **{"gas.burn_time": 2.0},
    )
    depth = 50.0 * 2.0 * 1e-8 / (8960.0 * 0.25 * 0.060 * 0.01025)
    assert arc["erosion_depth"] == pytest.approx(depth, rel=1e-3)
    assert arc["firings_lasted"] == pytest.approx(5e-4 / depth, rel=1e-3)
    calm = bench(material="copper", erosion=1e-8, root_share=0.5, **{"gas.burn_time": 2.0})
    assert calm["erosion_depth"] == 0.0
    assert np.isnan(calm["firings_lasted"])
    # Copper, 5 mm, 5.4 MW/m², 2 s: within a factor 2 of what the flux warms it evenly (Carslaw & Jaeger: a slab).
    evenly = 2.0 * 5.4e6 / (8960.0 * 420.0 * 0.005)
    assert evenly * 0.5 < calm["electrode_temperature"] - 293.15 < 2.0 * evenly
    assert arc["electrode_temperature"] > calm["electrode_temperature"] + 50.0
    assert 0.0 < arc["allowed_burn_time"] < calm["allowed_burn_time"]
    assert "electrodes_too_hot" in arc["warnings"]
    assert np.isnan(bench()["allowed_burn_time"])


@settings(max_examples=60, deadline=None)
@given(st.floats(600, 2200), st.floats(1.5, 4.6), st.floats(1, 2000), st.floats(0.3, 3), st.floats(1e-3, 1))
def test_the_curve_of_a_cathode_limits_as_its_root_does(wall, work, volts, lag, resistance):
    layer = CoolLayer(wall, 2650.0, 1.7e5, 6e-5, 7e19, lag, 1.0, 1.0, 0.95)
    cathode = Cathode(layer, work * E, 1.0)
    voltages, densities = np.empty(CURVE_NODES), np.empty(CURVE_NODES)
    cathode_curve(cathode, voltages, densities)
    found, slope = limited(volts, resistance, 0.5, voltages, densities)
    expected, _ = limited_current(cathode, volts, resistance, 0.5)
    assert found == pytest.approx(float(expected), rel=0.015)
    assert slope >= 0.0


def test_electrons_that_never_recombine_live_on_in_the_layers():
    """Plain logic: less recombination never conducts worse, none at all included."""
    currents = [
        bench(**HOT, **{"gas.recombination_factor": factor})["current"] for factor in (1.0, 1e-3, 0.0)
    ]
    assert currents == sorted(currents)
    assert currents[2] == pytest.approx(currents[1], rel=0.01)


def test_an_arc_and_the_leak_beside_it_keep_the_supply_s_limit():
    """Kirchhoff's current law at the terminals."""
    found = bench(source_voltage=400.0, strike_voltage=100.0, leak_conductance=0.015)
    assert found["contact"] == ARC
    assert found["current"] == pytest.approx(50.0, rel=1e-6)
    assert found["plasma_current"] + 0.015 * found["terminal_voltage"] == pytest.approx(50.0, rel=1e-6)
