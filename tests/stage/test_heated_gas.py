"""A gas that is heated without a flame, against closed forms of a perfect gas and an integration of its own."""

import cantera as ct
import numpy as np
import pytest
from physics import perfect_gas
from study.texts import study_named

from explorer.physics.compounds import ATOMIC_MASS
from explorer.physics.feed.heated_gas import (
    CARRIERS,
    carrier,
    check_shares,
    known_components,
    metal_mass_fraction,
)
from explorer.questions.solve.point import solve
from explorer.studyfile.study import study_of

R = 8.314462618


def cold_nitrogen(tmp_path, temperature):
    """Nitrogen alone, through a channel short of friction and heat."""
    return study_named("heated", tmp_path).replaced(
        {
            "gas.seed": "none",
            "gas.stagnation_temperature": f"{temperature} K",
            "channel.wall_temperature": "500 K",
        }
    )


def nitrogen():
    species = [s for s in ct.Species.list_from_file("nasa_gas.yaml") if s.name == "N2"]
    return ct.Solution(thermo="ideal-gas", species=species)


def heat_capacity_ratio(temperature):
    gas = nitrogen()
    gas.TP = temperature, 1e5
    return gas.cp / gas.cv


@pytest.mark.parametrize("temperature", [1400, 2000])
def test_cold_nitrogen_is_a_perfect_gas(temperature, tmp_path):
    """c* and the inlet's state between the closed forms (NACA report 1135) of γ at the chamber and at 500 K below it.

    γ rises from 1.30 to 1.34 on the way down, so that neither end's closed form is exact and both bound it.
    """
    study = cold_nitrogen(tmp_path, temperature)
    found, values = solve(study).quantities, study.central()
    assert found["chamber_temperature"] == pytest.approx(temperature, rel=1e-9)
    assert np.isnan(found["flame_temperature"])
    speeds, machs = [], []
    throat = np.pi / 4 * values["nozzle.throat_diameter"] ** 2 * values["nozzle.discharge_coefficient"]
    area_ratio = values["channel.gap_in"] * values["channel.width_in"] / throat
    for T in (temperature, 0.5 * temperature):
        g = heat_capacity_ratio(T)
        speeds.append(np.sqrt(R / 28.014e-3 * temperature / g) * ((g + 1) / 2) ** ((g + 1) / (2 * (g - 1))))
        grid = np.linspace(1.01, 4, 20000)
        ratios = [perfect_gas.area_ratio(m, g) for m in grid]
        machs.append(float(np.interp(area_ratio, ratios, grid)))
    assert min(speeds) < found["characteristic_velocity"] < max(speeds)
    assert max(speeds) / min(speeds) < 1.03
    assert min(machs) - 0.01 < found["inlet_mach"] < max(machs) + 0.01
    assert max(machs) / min(machs) < 1.06


def test_cold_nitrogen_expands_as_its_heat_capacity_says(tmp_path):
    """Cantera's nitrogen alone, frozen, the largest mass flux of its isentrope found on a grid."""
    T, p = 1800.0, 8e5
    gas = nitrogen()
    gas.TP = T, p
    s, h = gas.entropy_mass, gas.enthalpy_mass
    fluxes = []
    for share in np.linspace(0.4, 0.7, 301):
        gas.SP = s, share * p
        fluxes.append(gas.density * np.sqrt(2 * (h - gas.enthalpy_mass)))
    found = solve(cold_nitrogen(tmp_path, 1800)).quantities
    assert found["characteristic_velocity"] == pytest.approx(p / max(fluxes), rel=1e-4)


#: Molar masses [kg/mol] of the noble gases, CIAAW 2021.
NOBLE = {"He": 4.0026e-3, "Ar": 39.95e-3, "Kr": 83.798e-3, "Xe": 131.293e-3}


@pytest.mark.parametrize("name", NOBLE)
def test_a_noble_gas_is_a_perfect_gas_of_five_thirds(name, tmp_path):
    """c*, critical flow, and the state at inlet and exit in closed form (NACA report 1135); no friction, no heat.

    Xenon, the easiest to ionise, has less than one ion in a million atoms at 3600 K (Saha).
    """
    T, g = 3600.0, 5 / 3
    study = study_named("heated", tmp_path).replaced(
        {
            "gas.components": f"{name} 1",
            "gas.seed": "none",
            "gas.stagnation_temperature": f"{T} K",
            "channel.friction_coefficient": "0",
            "channel.heat_transfer_factor": "0",
        }
    )
    found, values = solve(study).quantities, study.central()
    speed = np.sqrt(R / NOBLE[name] * T / g) * ((g + 1) / 2) ** ((g + 1) / (2 * (g - 1)))
    throat = np.pi / 4 * values["nozzle.throat_diameter"] ** 2 * values["nozzle.discharge_coefficient"]
    assert found["characteristic_velocity"] == pytest.approx(speed, rel=1e-4)
    assert found["gas_flow"] == pytest.approx(values["gas.chamber_pressure"] * throat / speed, rel=1e-4)
    outlet = values["channel.gap_out"] * values["channel.width_out"]
    areas = {
        "inlet": values["channel.gap_in"] * values["channel.width_in"],
        "outlet": outlet,
        "exit": outlet * values["exit.area_ratio"],
    }
    for place, area in areas.items():
        grid = np.linspace(1.01, 10, 20000)
        mach = float(np.interp(area / throat, [perfect_gas.area_ratio(m, g) for m in grid], grid))
        expected = T / (1 + (g - 1) / 2 * mach**2)
        assert found[f"{place}_temperature"] == pytest.approx(expected, rel=1e-4), place


def test_argon_with_a_trace_of_cesium_flows_as_argon_and_conducts(tmp_path):
    """1e-4 of cesium by mole moves c* by less than 2e-4, and gives a conductivity that argon alone has not."""
    study = study_named("heated", tmp_path).replaced({"gas.components": "Ar 1", "gas.seed": "none"})
    gas = study.document["gas"] | {"components": {"Ar": 0.9999, "Cs": 1e-4}}
    for key in ("seed", "seed_fraction", "seed_vaporized"):
        gas.pop(key, None)
    pure, seeded = (
        solve(study).quantities,
        solve(study_of({**study.document, "gas": gas}, None, {})).quantities,
    )
    assert seeded["characteristic_velocity"] == pytest.approx(pure["characteristic_velocity"], rel=2e-4)
    assert seeded["inlet_conductivity"] > 1e3 * pure["inlet_conductivity"]


def test_shares_by_mole_and_by_mass_are_the_same_gas():
    """By hand: 0.98 mol N2 and 0.02 mol Cs weigh 27.454 g and 2.658 g."""
    by_mole = {"N2": 0.98, "Cs": 0.02}
    fraction = metal_mass_fraction(by_mole, "mole")
    assert fraction == pytest.approx(2.6581 / (27.4537 + 2.6581), rel=1e-4)
    assert metal_mass_fraction({"N2": 1 - fraction, "Cs": fraction}, "mass") == pytest.approx(fraction)
    air = carrier({"N2": 0.79, "O2": 0.21}, "mole")
    again = carrier(
        {"N2": 0.79 * 28.014 / air.molar_mass / 1e3, "O2": 0.21 * 31.998 / air.molar_mass / 1e3}, "mass"
    )
    assert again.formula == pytest.approx(air.formula, rel=1e-9)
    assert air.molar_mass == pytest.approx(28.85e-3, rel=1e-3)


def test_a_metal_among_the_components_is_the_seed(tmp_path):
    """2 % of cesium by mass, all of it vapour, as a seed or as a component."""
    seeded = study_named("heated", tmp_path).replaced({"gas.seed_vaporized": "1"})
    text = seeded.document["gas"] | {"components": {"N2": 0.98, "Cs": 0.02}, "components_by": "mass"}
    for key in ("seed", "seed_fraction", "seed_vaporized"):
        text.pop(key)
    component = study_of({**seeded.document, "gas": text}, None, {})
    one, other = (solve(study).quantities for study in (seeded, component))
    for output in ("thrust", "inlet_conductivity", "seed_fraction", "mass_flow"):
        assert one[output] == pytest.approx(other[output], rel=1e-9), output


def test_what_is_no_gas_is_refused():
    for shares, words in (
        ({"N2": 0.9}, "add up to 0.9"),
        ({"K": 0.5, "Cs": 0.5}, "one alkali metal"),
        ({"Cs": 1.0}, "no alkali metal"),
        ({"N2": 1.1}, "not above 1"),
        ({"XeF2": 1.0}, "not known"),
    ):
        with pytest.raises(ValueError, match=words):
            check_shares(shares)
    check_shares({"N2": 0.98, "Cs": 0.02 + 5e-7})


def test_carriers_have_the_formation_enthalpies_of_the_species_data():
    data = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    for name, (formula, enthalpy) in CARRIERS.items():
        assert data[name].composition == formula
        assert data[name].thermo.h(298.15) / 1e3 == pytest.approx(enthalpy, abs=150.0), name
        assert sum(ATOMIC_MASS[symbol] * n for symbol, n in formula.items()) == pytest.approx(
            data[name].molecular_weight * 1e-3, rel=1e-5
        )
    assert {"N2", "Cs"} <= set(known_components())


def test_cesium_ionises_in_hot_nitrogen_as_saha_says(tmp_path):
    """Saha's equation for cesium, 3.894 eV, statistical weights 2 and 1 (handbooks), at the inlet's state."""
    found = solve(study_named("heated", tmp_path).replaced({"gas.nozzle_lag": "1"})).quantities
    T, p = found["inlet_temperature"], found["inlet_pressure"]
    k, h, m, e = 1.380649e-23, 6.62607015e-34, 9.1093837e-31, 1.602176634e-19
    mass_share = 0.02 * 0.9 / (1 - 0.02 * 0.1)  # of the gas
    moles = mass_share / 132.905, (1 - mass_share) / 28.014
    cesium = p / (k * T) * moles[0] / sum(moles)
    right = 2 * (1 / 2) * (2 * np.pi * m * k * T / h**2) ** 1.5 * np.exp(-3.894 * e / (k * T))
    electrons = (-right + np.sqrt(right**2 + 4 * right * cesium)) / 2
    assert found["inlet_electron_density"] == pytest.approx(electrons, rel=0.02)
