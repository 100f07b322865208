"""The gas model's own composition against Saha's equation, an electron affinity, flames, and other solvers."""

import tomllib
from itertools import pairwise
from pathlib import Path

import cantera as ct
import numpy as np
import pytest
from physics.simple_flames import ATMOSPHERE, NITROGEN, composed, seeded, simple_density
from slow_reference import gas as slow_gas

from explorer.physics import cross_sections
from explorer.physics import gas as gas_model
from explorer.physics.gas import ALKALI_SPECIES, BASE_SPECIES, data_digest, gas_states, phase, temperature_at

REFERENCE = tomllib.loads((Path(__file__).parents[1] / "reference/gas.toml").read_text(encoding="utf-8"))

#: A stoichiometric ethanol and oxygen flame with a little potassium, mol/kg.
ETHANOL_FLAME = {"C": 14.0, "H": 42.0, "O": 49.25, "N": 0.02, "K": 0.25}


def states(elements, temperature, pressure, alkali="K", **options):
    return gas_states(phase(alkali), elements, np.array(temperature), np.array(pressure), **options)


def test_the_species_are_those_of_the_model():
    """Listed in MODEL.md, section 1, and written down independently in the slow reference."""
    assert set(BASE_SPECIES) == set(slow_gas.BASE)
    for alkali, species in slow_gas.ALKALI.items():
        assert set(ALKALI_SPECIES[alkali]) == set(species), alkali


@pytest.mark.parametrize("alkali", ["K", "Cs"])
def test_a_trace_of_alkali_in_nitrogen_ionises_by_saha(alkali):
    """Rows 1 and 2: Saha's equation (derived); ionisation energies NIST (memory)."""
    row = REFERENCE["saha"][alkali]
    for T, expected in zip(row["temperature"], row["constant"], strict=True):
        gas = phase(alkali)
        gas.TPX = T, 1e5, {"N2": 1.0, alkali: 1e-6}
        gas_model.equilibrium(gas, T, 1e5)
        density = dict(zip(gas.species_names, gas.concentrations * ct.avogadro, strict=True))
        assert density["Electron"] == pytest.approx(density[f"{alkali}+"], rel=1e-6)
        constant = density["Electron"] * density[f"{alkali}+"] / density[alkali]
        assert constant == pytest.approx(expected, rel=row["tolerance"])


def test_the_species_data_hold_the_electron_affinity_of_hydroxyl():
    """Row 3: Goldfarb et al., J. Chem. Phys. 2004 (read); the electron's enthalpy at 298 K taken out."""
    row = REFERENCE["hydroxide_affinity"]
    species = {s.name: s.thermo for s in phase("K").species()}
    enthalpy = {name: species[name].h(298.15) / 1e3 for name in ("OH", "OH-", "Electron")}
    released = enthalpy["OH"] + enthalpy["Electron"] - enthalpy["OH-"] - row["electron_enthalpy"]
    affinity_eV = released / (ct.faraday / 1e3)
    assert affinity_eV == pytest.approx(row["electron_affinity_eV"], abs=row["tolerance_eV"])


def test_hydroxide_and_attachment_take_the_share_of_electrons_that_thermodynamics_says():
    """Row 6: hydrogen–air with 1 mol % K (derived from NASA thermo data)."""
    row = REFERENCE["attachment"]
    moles = seeded({"H2O": 2.0, "N2": NITROGEN}, "K", 0.01)
    neutral = tuple(name for name in BASE_SPECIES if not name.endswith(("+", "-")))
    for T, expected in zip(row["temperature"], row["ratio"], strict=True):
        full = composed(phase("K"), moles, T)
        simple = composed(phase(None, species=(*neutral, "K", "K+")), moles, T)
        assert full["Electron"] / simple["Electron"] == pytest.approx(expected, rel=row["tolerance"])


def test_charge_balances_in_the_simple_chemistry():
    density = simple_density(seeded({"H2O": 2.0, "N2": NITROGEN}, "K", 0.01), "K", 2500.0)
    assert density["Electron"] == pytest.approx(density["K+"], rel=1e-6)


@pytest.mark.parametrize(
    ("fuel", "formula", "enthalpy_of_formation"),
    # gaseous fuels, standard tables, kJ/mol (memory)
    [
        ("hydrogen", {"H": 2}, 0.0),
        ("methane", {"C": 1, "H": 4}, -74.6),
        ("propane", {"C": 3, "H": 8}, -104.68),
    ],
)
def test_flames_with_air_burn_at_the_textbook_temperature(fuel, formula, enthalpy_of_formation):
    row = REFERENCE["flame"]
    oxygen = formula.get("C", 0) + formula["H"] / 4
    elements = {"C": formula.get("C", 0), "H": formula["H"], "O": 2 * oxygen, "N": 2 * NITROGEN * oxygen}
    mass = sum(ct.Element(e).weight * n for e, n in elements.items()) / 1e3
    per_kg = {element: amount / mass for element, amount in elements.items()}
    T = temperature_at(
        phase(None), per_kg, ATMOSPHERE, enthalpy=enthalpy_of_formation * 1e3 / mass, low=1000.0, high=4000.0
    )
    assert pytest.approx(row[fuel], abs=row["tolerance_K"]) == T


@pytest.mark.parametrize(("T", "p"), [(3200.0, 12e5), (2500.0, 1e5), (1500.0, 2e4), (700.0, 2e5)])
def test_a_state_agrees_with_another_equilibrium_solver(T, p):
    """Second method: Cantera's VCS solver."""
    found = states(ETHANOL_FLAME, [T], [p])
    gas = phase("K")
    moles = {"CO2": 14.0, "H2O": 20.875, "O2": 0.0625, "N2": 0.01, "KOH": 0.25}
    density = composed(gas, moles, T, pressure=p)
    assert found.enthalpy[0] == pytest.approx(gas.enthalpy_mass, rel=1e-7)
    assert found.entropy[0] == pytest.approx(gas.entropy_mass, rel=1e-8)
    assert found.pressure_over_density[0] == pytest.approx(gas.P / gas.density, rel=1e-8)
    assert found.electron_density[0] == pytest.approx(density["Electron"], rel=1e-5, abs=1e6)


@pytest.mark.parametrize("T", [5100.0, 5800.0])
def test_states_at_the_hot_end_of_a_table_agree_with_another_equilibrium_solver(T):
    """Above 5000 K the first solver gives up, and the second must find the same equilibrium."""
    found = states(ETHANOL_FLAME, [T], [8e5])
    gas = phase("K")
    composed(gas, {"CO2": 14.0, "H2O": 20.875, "O2": 0.0625, "N2": 0.01, "KOH": 0.25}, T, pressure=8e5)
    assert found.enthalpy[0] == pytest.approx(gas.enthalpy_mass, rel=1e-6)
    assert found.pressure_over_density[0] == pytest.approx(gas.P / gas.density, rel=1e-6)


def test_a_composition_that_no_solver_moved_is_not_taken_for_an_equilibrium():
    """Two of Cantera's solvers fail on this simple chemistry, one of them silently: ten to the twenty are free."""
    gas = phase(None, species=("H2O", "N2", "K", "K+", "Electron"))
    gas.TPX = 2500.0, ATMOSPHERE, {"H2O": 1.0, "N2": 1.88, "K": 0.03}
    try:
        gas_model.equilibrium(gas, 2500.0, ATMOSPHERE)
    except ArithmeticError:
        return
    assert gas["Electron"].X[0] == pytest.approx(4.347e-5, rel=0.01)  # VCS


def test_the_order_of_states_does_not_matter():
    T, p = np.array([3000.0, 2200.0, 1500.0, 2600.0]), np.array([10e5, 2e5, 5e4, 1e5])
    forward = states(ETHANOL_FLAME, T, p)
    backward = states(ETHANOL_FLAME, T[::-1], p[::-1])
    for name in ("enthalpy", "entropy", "pressure_over_density", "electron_density", "conductivity"):
        assert getattr(forward, name) == pytest.approx(getattr(backward, name)[::-1], rel=1e-7), name


def test_enthalpy_entropy_and_volume_obey_the_second_law():
    """dh = T ds + v dp in equilibrium, where the composition shifts along."""
    T, p, d = 2800.0, 6e5, 1e-3
    hot = states(ETHANOL_FLAME, [T * (1 - d), T * (1 + d)], [p, p], electrical=False)
    assert np.diff(hot.enthalpy)[0] == pytest.approx(T * np.diff(hot.entropy)[0], rel=1e-5)
    dense = states(ETHANOL_FLAME, [T, T], [p * (1 - d), p * (1 + d)], electrical=False)
    change = T * np.diff(dense.entropy)[0] + dense.pressure_over_density.mean() * 2 * d
    assert np.diff(dense.enthalpy)[0] == pytest.approx(change, rel=1e-4)


def test_a_temperature_is_found_again_from_enthalpy_and_from_entropy():
    found = states(ETHANOL_FLAME, [2400.0], [3e5], electrical=False)
    for key, value in (("enthalpy", found.enthalpy[0]), ("entropy", found.entropy[0])):
        T = temperature_at(phase("K"), ETHANOL_FLAME, 3e5, low=600.0, high=4000.0, **{key: float(value)})
        assert pytest.approx(2400.0, abs=0.5) == T


def test_a_flame_outside_the_bounds_is_refused():
    with pytest.raises(ArithmeticError, match="colder than 600 K or hotter than 1000 K"):
        temperature_at(phase("K"), ETHANOL_FLAME, 1e5, enthalpy=0.0, low=600.0, high=1000.0)


def test_a_mixture_with_less_oxygen_than_carbon_is_refused():
    with pytest.raises(ValueError, match="less oxygen than carbon"):
        states({"C": 10.0, "H": 20.0, "O": 9.0}, [2000.0], [1e5], None)


def test_electrical_properties_are_missing_where_they_were_not_wanted():
    found = states(ETHANOL_FLAME, [2500.0], [1e5], electrical=False)
    assert np.isnan(found.conductivity).all()
    assert np.isnan(found.electron_density).all()


def test_conductivity_rises_with_temperature_and_with_seed():
    T = np.array([2000.0, 2300.0, 2600.0, 2900.0])
    little, much = (
        states({**ETHANOL_FLAME, "K": amount}, T, np.full(4, 2e5)).conductivity for amount in (0.05, 0.25)
    )
    assert all(a < b for a, b in pairwise(little))
    assert (much > little).all()


def test_the_digest_of_the_data_follows_the_cross_sections(monkeypatch):
    before = data_digest.__wrapped__()
    assert before == data_digest()
    monkeypatch.setitem(cross_sections.ASSUMED_CONSTANT, "H", 26.0)
    assert data_digest.__wrapped__() != before


def test_the_digest_of_the_data_follows_the_species(monkeypatch):
    before = data_digest()
    monkeypatch.setattr(gas_model, "BASE_SPECIES", BASE_SPECIES[:-2] + BASE_SPECIES[-1:])
    assert data_digest.__wrapped__() != before
