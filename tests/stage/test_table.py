"""The gas table against Cantera between its nodes, its axes, and how wide it must be."""

import numpy as np
import pytest
from stage.stages import BENCH, design_and_values, ranges_over, solved, tables_over

from explorer import constants as c
from explorer import run
from explorer.physics import gas as gas_model
from explorer.stage.gas.extent import supersonic_pressure_ratio
from explorer.stage.gas.lookup import (
    conductivity_slope,
    contract,
    electrical,
    entropy,
    gas_space,
    inside,
    temperature,
    thermo,
    wall_enthalpy,
)
from explorer.stage.gas.table import SHEAR, Axis


def contracted(table, coordinates):
    gas = gas_space(table.axes, table.coefficients.shape[3])
    return gas if contract(table.coefficients, table.axes, tuple(coordinates), gas) else None


@pytest.fixture(scope="module")
def varied():
    """A table in which all three composition coordinates vary, with its design."""
    ranges = ranges_over([BENCH]) | {
        "gas.mixture_ratio": (1.8, 2.1),
        "gas.seed_fraction": (0.006, 0.012),
        "gas.seed_water": (0.9, 1.2),
        "gas.chamber_pressure": (11e5, 13e5),
    }
    design = design_and_values(BENCH)[0]
    return design, run.table_for(design, ranges, jobs=2)


#: Temperatures and pressures [K, Pa] along the expansion, none of them a node.
PLACES = [
    (2310.0, 0.83e5),
    (2310.0, 2.17e5),
    (2633.0, 0.83e5),
    (2633.0, 2.17e5),
    (2987.0, 2.17e5),
    (2987.0, 9.1e5),
]


def deviations(design, table, mixtures, places=PLACES):
    """The table's largest deviations from Cantera's equilibria at mixtures and states that are no nodes: enthalpy (as a
    relative error of temperature), p/ρ, entropy, conductivity, mobility."""
    worst = np.zeros(5)
    for ratio, alkali, water in mixtures:
        gas = contracted(table, (ratio, np.log(alkali), water))
        T, p = (np.array(column) for column in zip(*places, strict=True))
        elements = design.propellants.elements(ratio, alkali, water)
        exact = gas_model.gas_states(gas_model.phase("K"), elements, T, p)
        z = np.log(p)
        xi = np.log(T) - SHEAR * z
        for n in range(T.size):
            assert inside(gas, xi[n], z[n])
            h, h_xi, _, v, _, _ = thermo(gas, xi[n], z[n])
            s, _, _ = entropy(gas, xi[n], z[n])
            sigma, mobility = electrical(gas, xi[n], z[n], p[n])
            exact_mobility = exact.conductivity[n] / (c.e * exact.electron_density[n])
            off = [
                (h - exact.enthalpy[n]) / h_xi,  # as a relative error of temperature, about
                v / exact.pressure_over_density[n] - 1,
                (s - exact.entropy[n]) / exact.entropy[n],
                sigma / exact.conductivity[n] - 1,
                mobility / exact_mobility - 1,
            ]
            worst = np.maximum(worst, np.abs(off))
    return worst


def test_the_table_agrees_with_cantera_between_its_nodes(varied, capsys):
    """Second method: equilibria straight at mixtures and states that are no nodes. Half of the accuracy asked."""
    design, table = varied
    assert min(table.axes[:3, 2]) >= 4
    mixtures = ((1.85, 0.0071, 0.0153), (1.93, 0.0105, 0.0201), (2.07, 0.0083, 0.0119))
    worst = deviations(design, table, mixtures)
    with capsys.disabled():
        names = ("T(h)", "p/ρ", "s", "σ", "µ")
        print(
            "\ntable against Cantera: " + ", ".join(f"{n} {w:.1e}" for n, w in zip(names, worst, strict=True))
        )
    assert (worst < [1.5e-3, 1.5e-3, 1.5e-3, 0.01, 0.01]).all()


@pytest.mark.parametrize(
    ("fuel", "oxidizer", "low", "high"),
    [
        ("propane", "nitrous oxide", 7.5, 9.5),
        ("hydrogen", "oxygen", 3.0, 5.0),
        ("hydrogen", "air", 28.0, 40.0),
        ("methane", "air", 15.0, 20.0),
        ("htpb", "nitrous oxide", 5.0, 9.5),
    ],
)
def test_a_table_s_mixtures_lie_close_enough_for_every_pair_of_propellants(fuel, oxidizer, low, high):
    """Second method as above, on both sides of the stoichiometric mixture where the range holds it."""
    middle = 0.5 * (low + high)
    inputs = BENCH | {"gas.fuel": fuel, "gas.oxidizer": oxidizer, "gas.mixture_ratio": middle}
    design = design_and_values(inputs)[0]
    table = run.table_for(design, ranges_over([inputs]) | {"gas.mixture_ratio": (low, high)}, jobs=2)
    assert 5 <= table.axes[0, 2] <= 32
    alkali, water = float(np.exp(table.axes[1, 0])), float(table.axes[2, 0])
    ratios = low + (high - low) * np.array([0.11, 0.37, 0.48, 0.61, 0.83])
    places = PLACES[:2] if oxidizer == "air" else PLACES  # a flame with air is colder than the others
    worst = deviations(design, table, [(ratio, alkali, water) for ratio in ratios], places)
    assert (worst < [1.5e-3, 1.5e-3, 1.5e-3, 0.01, 0.01]).all()


def test_the_wall_s_enthalpy_agrees_with_cantera(varied):
    design, table = varied
    gas = contracted(table, (1.95, np.log(0.009), 0.018))
    elements = design.propellants.elements(1.95, 0.009, 0.018)
    T = np.array([790.0, 800.0, 810.0])
    exact = gas_model.gas_states(gas_model.phase("K"), elements, T, np.full(3, 1.9e5), electrical=False)
    found = [wall_enthalpy(gas, float(t), np.log(1.9e5)) for t in T]
    assert found == pytest.approx(exact.enthalpy, abs=0.003 * 5e6)  # of what lies between gas and wall


def test_slopes_of_the_look_up_are_its_derivatives(varied):
    gas = contracted(varied[1], (1.95, np.log(0.009), 0.018))
    z, h = np.log(2e5), 1e-5
    xi = np.log(2600.0) - SHEAR * z
    _, h_xi, h_z, _, v_xi, v_z = thermo(gas, xi, z)
    up, down = thermo(gas, xi + h, z), thermo(gas, xi - h, z)
    assert (h_xi, v_xi) == pytest.approx(((up[0] - down[0]) / (2 * h), (up[3] - down[3]) / (2 * h)), rel=1e-6)
    up, down = thermo(gas, xi, z + h), thermo(gas, xi, z - h)
    assert (h_z, v_z) == pytest.approx(((up[0] - down[0]) / (2 * h), (up[3] - down[3]) / (2 * h)), rel=1e-5)
    up, down = (electrical(gas, xi + d, z, 2e5)[0] for d in (h, -h))
    assert conductivity_slope(gas, xi, z) == pytest.approx(np.log(up / down) / (2 * h), rel=1e-6)


def test_a_mixture_outside_the_table_is_told(varied):
    _, table = varied
    assert contracted(table, (1.95, np.log(0.009), 0.018)) is not None
    for k in range(3):
        coordinates = [1.95, np.log(0.009), 0.018]
        last = table.axes[k, 0] + (table.axes[k, 2] - 1) / table.axes[k, 1]
        for beyond in (table.axes[k, 0] - 1e-3, last + 1e-3):
            coordinates[k] = beyond
            assert contracted(table, coordinates) is None


def test_a_collapsed_coordinate_serves_its_own_value_only():
    table = tables_over([BENCH])(0, True)
    assert (table.axes[:3, 2] == 1).all()
    own = table.axes[:3, 0]
    assert contracted(table, own) is not None
    assert contracted(table, np.add(own, [0.01, 0.0, 0.0])) is None


def test_temperature_is_sheared_along_the_expansion():
    z = np.log(2e5)
    assert temperature(np.log(2500.0) - SHEAR * z, z) == pytest.approx(2500.0, rel=1e-14)


def test_an_axis_lies_on_a_lattice_so_that_near_ranges_share_it():
    assert Axis.over(1.83, 2.07, 0.12) == Axis.over(1.85, 2.05, 0.12)
    axis = Axis.over(1.83, 2.07, 0.12)
    assert axis.values[0] <= 1.83
    assert axis.last >= 2.07
    assert axis.last == pytest.approx(axis.values[-1])


def test_an_axis_that_does_not_vary_has_one_node_and_a_short_one_four():
    assert Axis.over(1.9, 1.9, 0.12).values.tolist() == [1.9]
    assert Axis.over(1.90, 1.91, 0.12).nodes == 4


def test_a_lattice_node_at_the_end_of_a_range_takes_no_further_one():
    assert Axis.over(0.0, 0.5, 0.1).nodes == 6


@pytest.mark.parametrize(("area_ratio", "expected"), [(1.0, 0.5283), (1.6875, 0.1278), (4.2346, 0.02722)])
def test_the_estimated_pressure_of_an_expansion_is_that_of_the_gas_tables(area_ratio, expected):
    """NACA Report 1135, γ 1.4, Mach 1, 2 and 3 (from memory)."""
    assert supersonic_pressure_ratio(area_ratio, 1.4) == pytest.approx(expected, rel=1e-3)


def test_wide_ranges_of_size_are_no_reason_to_refuse_the_gas():
    """The smallest throat with the largest outlet is a corner that no point takes: the table must be built.

    Throat 30 to 50 mm, outlet 60 × 50 to 80 × 60 mm, exit ratio up to 4: each point is an ordinary stage.
    """
    ranges = ranges_over([BENCH]) | {
        "nozzle.throat_diameter": (0.03, 0.05),
        "channel.gap_in": (0.045, 0.07),
        "channel.width_in": (0.04, 0.05),
        "channel.gap_out": (0.06, 0.08),
        "channel.width_out": (0.05, 0.06),
        "exit.area_ratio": (1.0, 4.0),
        "gas.combustion_efficiency": (0.9, 0.99),
        "gas.mixture_ratio": (1.5, 1.6),
        "gas.chamber_pressure": (6e5, 12e5),
    }
    table = run.table_for(design_and_values(BENCH)[0], ranges)
    assert np.isfinite(table.coefficients).all()


@pytest.mark.parametrize("area_ratio", [1.0, 4.0, 12.0, 30.0])
def test_an_exit_for_the_vacuum_is_modelled_down_to_cold_gas(area_ratio):
    """Rich and wide: the gas leaves at a few hundred kelvin less than the seed likes, but it leaves."""
    found = solved(
        {**BENCH, "gas.mixture_ratio": 1.5, "exit.area_ratio": area_ratio, "ambient.pressure": 0.0}
    )
    assert found["status"] == "ok"
    assert found["exit_temperature"] > 600.0
