"""Substances, mixing and streams against thermochemical tables, atomic weights and sums done another way."""

import tomllib
from pathlib import Path

import cantera
import numpy as np
import pytest

from explorer.physics.compounds import (
    ATOMIC_MASS,
    FUELS,
    OXIDIZERS,
    SEEDS,
    WATER,
    Compound,
    custom_compound,
    formula_atoms,
    hydrogen_peroxide,
    molar_mass,
)
from explorer.physics.propellant import (
    alkali_mass_fraction,
    alkali_metal,
    elements_per_kg,
    gas_composition,
    injected_fractions,
    oxygen_to_carbon,
    reactant_enthalpy,
    stoichiometric_mixture_ratio,
)
from explorer.physics.streams import seed_dissolves, seed_solubility, solution_density, stream_flows

REFERENCE_FILE = Path(__file__).parents[1] / "reference/propellant.toml"
REFERENCE = tomllib.loads(REFERENCE_FILE.read_text(encoding="utf-8"))
SUBSTANCES = {"water": WATER, **FUELS, **OXIDIZERS, **{k: v for k, v in SEEDS.items() if v is not None}}
SEEDED = [name for name, seed in SEEDS.items() if seed is not None]


@pytest.fixture(scope="module")
def enthalpy_at_298():
    """Molar enthalpy [kJ/mol] of Cantera's NASA species at 298.15 K."""
    species = {
        s.name: s
        for file in ("nasa_gas.yaml", "nasa_condensed.yaml")
        for s in cantera.Species.list_from_file(file)
    }
    return lambda name: species[name].thermo.h(298.15) / 1e6


def test_atomic_masses_are_those_of_the_gas_model():
    """Cantera's element table (IUPAC standard atomic weights)."""
    for symbol, mass in ATOMIC_MASS.items():
        assert mass == pytest.approx(cantera.Element(symbol).weight * 1e-3, rel=1e-6)


@pytest.mark.parametrize("name", REFERENCE["gases"]["species"])
def test_a_gas_has_the_enthalpy_of_the_species_data(name, enthalpy_at_298):
    """NASA polynomials in Cantera."""
    row = REFERENCE["gases"]
    expected = enthalpy_at_298(row["species"][name])
    assert SUBSTANCES[name].enthalpy_of_formation / 1e3 == pytest.approx(expected, abs=row["tolerance"])


@pytest.mark.parametrize("name", REFERENCE["condensed"]["species"])
def test_a_liquid_or_solid_has_the_enthalpy_of_the_species_data(name, enthalpy_at_298):
    """NASA polynomials of condensed species in Cantera."""
    row = REFERENCE["condensed"]
    expected = enthalpy_at_298(row["species"][name])
    assert SUBSTANCES[name].enthalpy_of_formation / 1e3 == pytest.approx(expected, abs=row["tolerance"])


@pytest.mark.parametrize("name", REFERENCE["vaporization"]["values"])
def test_a_liquid_lies_its_heat_of_vaporization_below_the_gas(name, enthalpy_at_298):
    """NASA polynomials of the gas in Cantera, heats of vaporization from memory."""
    row = REFERENCE["vaporization"]
    expected = enthalpy_at_298(row["gas_species"][name]) - row["values"][name]
    assert SUBSTANCES[name].enthalpy_of_formation / 1e3 == pytest.approx(expected, abs=row["tolerance"])


def heat_of_combustion(fuel, enthalpy_of_water):
    """MJ/kg, to carbon dioxide (-393.51 kJ/mol, from memory), water and nitrogen."""
    products = -393.51e3 * fuel.formula["C"] + enthalpy_of_water * 0.5 * fuel.formula["H"]
    return (fuel.enthalpy_of_formation - products) / fuel.molar_mass / 1e6


@pytest.mark.parametrize("name", REFERENCE["combustion"]["net"])
def test_a_surrogate_fuel_has_the_net_heat_of_combustion_of_the_fuel(name):
    low, high = REFERENCE["combustion"]["net"][name]
    assert low < heat_of_combustion(FUELS[name], -241.82e3) < high


@pytest.mark.parametrize("name", REFERENCE["combustion"]["gross"])
def test_a_surrogate_fuel_has_the_gross_heat_of_combustion_of_the_fuel(name):
    low, high = REFERENCE["combustion"]["gross"][name]
    assert low < heat_of_combustion(FUELS[name], -285.83e3) < high


@pytest.mark.parametrize("name", REFERENCE["dissolution"]["ions"])
def test_a_salt_lies_its_heat_of_solution_below_its_ions_in_water(name):
    """Key values of the ions and heats of solution, from memory."""
    row = REFERENCE["dissolution"]
    expected = row["ions"][name] - row["heat_of_solution"][name]
    assert SEEDS[name].enthalpy_of_formation / 1e3 == pytest.approx(expected, abs=row["tolerance"])


def test_every_substance_states_its_source_and_the_surrogates_say_so():
    assert all(substance.source for substance in SUBSTANCES.values())
    for name in ("kerosene", "paraffin", "htpb"):
        assert "surrogate" in FUELS[name].source
        assert "memory" in FUELS[name].source


def test_a_formula_reads_as_its_atoms_and_may_be_fractional():
    assert formula_atoms("C2H6O") == {"C": 2.0, "H": 6.0, "O": 1.0}
    assert formula_atoms("CH3OH") == {"C": 1.0, "H": 4.0, "O": 1.0}
    assert formula_atoms("C7.075H10.65O0.223N.063") == {"C": 7.075, "H": 10.65, "O": 0.223, "N": 0.063}
    assert formula_atoms("Cs2CO3") == {"Cs": 2.0, "C": 1.0, "O": 3.0}
    assert molar_mass(formula_atoms("C2H6O")) == pytest.approx(46.069e-3, rel=2e-5)  # handbook, from memory


@pytest.mark.parametrize(
    "text", ["", "c2h6o", "C2 H6", "(CH2)2", "2H2O", "C-2", "C2H6O+", "C1.2.3", "C2,5H6"]
)
def test_text_that_is_no_formula_is_refused(text):
    with pytest.raises(ValueError, match="no chemical formula"):
        formula_atoms(text)


def test_an_element_outside_the_species_data_is_refused_by_name():
    with pytest.raises(ValueError, match="do not carry Cl"):
        formula_atoms("NH4ClO4")
    with pytest.raises(ValueError, match="zero atoms of H"):
        formula_atoms("CH0")


def test_a_custom_compound_keeps_what_it_is_given_and_cannot_hide_the_seed():
    fuel = custom_compound("my fuel", "C8H18", enthalpy_of_formation=-250e3, phase="liquid")
    assert fuel.formula == {"C": 8.0, "H": 18.0}
    assert fuel.enthalpy_of_formation == -250e3
    assert hash(fuel) == hash(
        custom_compound("my fuel", "C8H18", enthalpy_of_formation=-250e3, phase="liquid")
    )
    with pytest.raises(ValueError, match="as the seed"):
        custom_compound("my fuel", "C2H5OK", enthalpy_of_formation=0.0, phase="liquid")


def test_hydrogen_peroxide_mixes_by_mass_with_water():
    """Two separate substances weighed together."""
    strength = 0.9
    mixed = hydrogen_peroxide(strength)
    pure = OXIDIZERS["hydrogen peroxide"]
    per_kg = strength / pure.molar_mass * pure.enthalpy_of_formation
    per_kg += (1 - strength) / WATER.molar_mass * WATER.enthalpy_of_formation
    oxygen = 2 * strength / pure.molar_mass + (1 - strength) / WATER.molar_mass
    assert mixed.enthalpy_of_formation / mixed.molar_mass == pytest.approx(per_kg, rel=1e-12)
    assert mixed.formula["O"] / mixed.molar_mass == pytest.approx(oxygen, rel=1e-12)
    assert hydrogen_peroxide(1.0).enthalpy_of_formation == pytest.approx(pure.enthalpy_of_formation)


@pytest.mark.parametrize(("percent", "density"), REFERENCE["peroxide_density"]["points"])
def test_hydrogen_peroxide_has_about_the_density_of_makers_tables(percent, density):
    tolerance = REFERENCE["peroxide_density"]["tolerance"]
    assert hydrogen_peroxide(percent / 100).density == pytest.approx(density, rel=tolerance)


@pytest.mark.parametrize("strength", [0.0, -0.1, 1.01, float("nan")])
def test_an_impossible_peroxide_is_refused(strength):
    with pytest.raises(ValueError, match="concentration"):
        hydrogen_peroxide(strength)


BENCH = {"mixture_ratio": 1.95, "seed_fraction": 0.01, "seed_water": 1.0, "seed_vaporized": 0.85}


def test_potassium_carbonate_carries_as_much_potassium_as_by_hand():
    """2 x 39.0983 of 138.205 g/mol, by hand."""
    seed = SEEDS["potassium carbonate"]
    assert alkali_metal(seed) == "K"
    assert alkali_mass_fraction(seed) == pytest.approx(78.1966 / 138.205, rel=1e-5)


def test_the_bench_mixture_is_what_a_calculator_gives():
    """By hand: compound 0.01/0.56580 = 0.017674, as much water, 15 % of the compound condenses."""
    gas = gas_composition(**BENCH, seed=SEEDS["potassium carbonate"])
    assert gas.condensed_fraction == pytest.approx(0.15 * 0.017674, rel=1e-4)
    assert gas.alkali_fraction == pytest.approx(0.0085 / (1 - 0.0026511), rel=1e-6)
    assert gas.carrier_water_fraction == pytest.approx(0.017674 / (1 - 0.0026511), rel=1e-4)
    assert gas.fuel_fraction == pytest.approx((1 - 2 * 0.017674) / 2.95 / (1 - 0.0026511), rel=1e-5)
    assert gas.oxidizer_fraction / gas.fuel_fraction == pytest.approx(1.95)


@pytest.mark.parametrize("seed", SEEDED)
def test_elements_injected_are_those_of_the_gas_and_the_condensed_seed(seed):
    """Counted substance by substance on the injected side."""
    compound, fuel, oxidizer = SEEDS[seed], FUELS["ethanol"], OXIDIZERS["oxygen"]
    case = {
        "mixture_ratio": np.array([1.2, 1.95]),
        "seed_fraction": 0.013,
        "seed_water": np.array([[0.4], [2.0]]),
    }
    vaporized = 0.7
    gas = gas_composition(**case, seed_vaporized=vaporized, seed=compound)
    elements = elements_per_kg(
        mixture_ratio=case["mixture_ratio"],
        alkali_fraction=gas.alkali_fraction,
        carrier_water_fraction=gas.carrier_water_fraction,
        fuel=fuel,
        oxidizer=oxidizer,
        seed=compound,
    )
    fractions = injected_fractions(**case, seed=compound)
    assert sum(fractions) == pytest.approx(np.ones((2, 2)), abs=1e-15)
    for symbol in elements:
        injected = sum(
            substance.formula.get(symbol, 0.0) / substance.molar_mass * fraction
            for substance, fraction in zip((fuel, oxidizer, compound, WATER), fractions, strict=True)
        )
        left = compound.formula.get(symbol, 0.0) / compound.molar_mass * gas.condensed_fraction
        assert elements[symbol] * (1 - gas.condensed_fraction) + left == pytest.approx(injected, rel=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("oxidizer", [*OXIDIZERS.values(), hydrogen_peroxide(0.85)], ids=lambda o: o.source)
def test_the_elements_of_a_kilogram_weigh_a_kilogram(seed, oxidizer):
    alkali, water = (0.0, 0.0) if SEEDS[seed] is None else (0.012, 0.02)
    for fuel in FUELS.values():
        elements = elements_per_kg(
            mixture_ratio=2.0,
            alkali_fraction=alkali,
            carrier_water_fraction=water,
            fuel=fuel,
            oxidizer=oxidizer,
            seed=SEEDS[seed],
        )
        assert sum(ATOMIC_MASS[symbol] * moles for symbol, moles in elements.items()) == pytest.approx(1.0)


def test_the_enthalpy_of_a_methane_oxygen_mixture_is_the_methane_alone():
    """By hand: oxygen brings nothing, a kilogram holds 1/(1 + r) of methane at -74.6 kJ per 16.043 g."""
    ratio = np.array([2.0, 3.0])
    enthalpy = reactant_enthalpy(
        mixture_ratio=ratio,
        alkali_fraction=0.0,
        carrier_water_fraction=0.0,
        fuel=FUELS["methane"],
        oxidizer=OXIDIZERS["oxygen"],
        seed=None,
    )
    assert enthalpy == pytest.approx(-74.6e3 / 16.043e-3 / (1 + ratio), rel=1e-6)


def test_seed_and_water_bring_the_enthalpy_of_the_solid_and_the_liquid():
    """By hand: a kilogram with 10 g potassium as carbonate and 20 g water in hydrogen and oxygen."""
    enthalpy = reactant_enthalpy(
        mixture_ratio=6.0,
        alkali_fraction=0.010,
        carrier_water_fraction=0.020,
        fuel=FUELS["hydrogen"],
        oxidizer=OXIDIZERS["oxygen"],
        seed=SEEDS["potassium carbonate"],
    )
    by_hand = 0.5 * 0.010 / 39.0983e-3 * -1151.0e3 + 0.020 / 18.015e-3 * -285.83e3
    assert enthalpy == pytest.approx(by_hand, rel=1e-6)


@pytest.mark.parametrize(
    ("fuel", "key"),
    [("methane", "methane_oxygen"), ("hydrogen", "hydrogen_oxygen"), ("ethanol", "ethanol_oxygen")],
)
def test_elements_balance_at_the_textbook_mixture_ratio(fuel, key):
    """At complete combustion O = 2 C + H/2; ratios from textbooks, from memory."""
    elements = elements_per_kg(
        mixture_ratio=REFERENCE["stoichiometric_mixture_ratio"][key],
        alkali_fraction=0.0,
        carrier_water_fraction=0.0,
        fuel=FUELS[fuel],
        oxidizer=OXIDIZERS["oxygen"],
        seed=None,
    )
    assert elements["O"] == pytest.approx(2 * elements.get("C", 0.0) + 0.5 * elements["H"], rel=1e-3)
    ratio = stoichiometric_mixture_ratio(FUELS[fuel], OXIDIZERS["oxygen"])
    assert ratio == pytest.approx(REFERENCE["stoichiometric_mixture_ratio"][key], rel=1e-3)


def test_what_lacks_no_oxygen_or_gives_none_has_no_stoichiometric_mixture():
    assert np.isnan(stoichiometric_mixture_ratio(OXIDIZERS["oxygen"], OXIDIZERS["oxygen"]))
    assert np.isnan(stoichiometric_mixture_ratio(FUELS["methane"], FUELS["methane"]))


def test_oxygen_covers_the_carbon_of_ethanol_from_the_ratio_found_by_hand():
    """C2H6O + n O2 has as much oxygen as carbon at n = 1/2: 15.999/46.069 by mass."""
    for ratio, enough in ((0.999 * 15.999 / 46.069, False), (1.001 * 15.999 / 46.069, True)):
        elements = elements_per_kg(
            mixture_ratio=ratio,
            alkali_fraction=0.0,
            carrier_water_fraction=0.0,
            fuel=FUELS["ethanol"],
            oxidizer=OXIDIZERS["oxygen"],
            seed=None,
        )
        assert (oxygen_to_carbon(elements) >= 1.0) == enough


def test_oxygen_over_carbon_is_infinite_without_carbon_and_zero_without_oxygen():
    assert oxygen_to_carbon({"H": np.array([1.0]), "O": np.array([2.0])}) == pytest.approx([np.inf])
    assert oxygen_to_carbon({"H": np.array([1.0]), "C": np.array([2.0])}) == pytest.approx([0.0])


def test_seed_that_leaves_no_room_for_fuel_has_no_composition():
    gas = gas_composition(
        mixture_ratio=2.0,
        seed_fraction=np.array([0.01, 0.3]),
        seed_water=1.0,
        seed_vaporized=0.9,
        seed=SEEDS["potassium carbonate"],
    )
    for values in (
        gas.condensed_fraction,
        gas.alkali_fraction,
        gas.carrier_water_fraction,
        gas.fuel_fraction,
    ):
        assert np.isfinite(values).tolist() == [True, False]


def test_without_a_seed_the_gas_is_fuel_and_oxidizer_and_a_seed_fraction_is_refused():
    case = {"mixture_ratio": 3.0, "seed_water": 1.0, "seed_vaporized": 0.9, "seed": None}
    gas = gas_composition(**case, seed_fraction=0.0)
    assert (gas.fuel_fraction, gas.oxidizer_fraction) == pytest.approx((0.25, 0.75))
    assert (gas.condensed_fraction, gas.alkali_fraction, gas.carrier_water_fraction) == (0.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="seed_fraction must be 0"):
        gas_composition(**case, seed_fraction=0.01)
    with pytest.raises(ValueError, match="alkali_fraction must be 0"):
        elements_per_kg(
            mixture_ratio=3.0,
            alkali_fraction=0.01,
            carrier_water_fraction=0.0,
            fuel=FUELS["methane"],
            oxidizer=OXIDIZERS["oxygen"],
            seed=None,
        )


def test_a_compound_without_an_alkali_metal_is_no_seed():
    with pytest.raises(ValueError, match="exactly one"):
        alkali_metal(WATER)


def test_potassium_carbonate_dissolves_down_to_its_solubility():
    """About 1.1 kg per kg at 20 °C, from memory; no water at all is no solution to warn of."""
    seed = SEEDS["potassium carbonate"]
    assert seed_solubility(seed) == 1.1
    assert seed_dissolves(np.array([0.0, 0.90, 0.92, 2.0]), seed).tolist() == [True, False, True, True]
    unknown = Compound("some salt", formula_atoms("K2CO3"), 0.0, "solid", "invented")
    assert seed_solubility(unknown) is None
    assert seed_solubility(None) is None
    assert seed_dissolves(0.1, unknown)


@pytest.mark.parametrize("name", [key for key in REFERENCE["solution_density"] if key in SEEDS])
def test_a_weaker_solution_than_the_one_fitted_has_about_the_handbook_density(name):
    percent, density = REFERENCE["solution_density"][name]
    estimate = solution_density(100.0 / percent - 1.0, SEEDS[name])
    assert estimate == pytest.approx(density, rel=REFERENCE["solution_density"]["tolerance"])


def test_streams_add_up_and_a_liquid_has_a_volume():
    """By hand: 25.6 g/s injected, 1 % potassium as carbonate in as much water, density 1.54 g/mL."""
    streams = stream_flows(
        0.0256,
        mixture_ratio=1.95,
        seed_fraction=0.01,
        seed_water=1.0,
        fuel=FUELS["ethanol"],
        oxidizer=OXIDIZERS["oxygen"],
        seed=SEEDS["potassium carbonate"],
    )
    fuel, oxidizer, solution = streams
    assert sum(stream.mass_flow for stream in streams) == pytest.approx(0.0256)
    assert solution.mass_flow == pytest.approx(0.0256 * 2 * 0.017674, rel=1e-4)
    assert solution.volume_flow * 6e7 == pytest.approx(0.0256 * 2 * 0.017674 / 1540 * 6e7, rel=1e-3)
    assert fuel.volume_flow == pytest.approx(fuel.mass_flow / 789.0)
    assert oxidizer.volume_flow is None
    assert [stream.name for stream in streams] == ["ethanol", "oxygen", "potassium carbonate in water"]


def test_a_seed_without_water_is_a_stream_without_volume_and_no_seed_is_none():
    case = {
        "mixture_ratio": 1.5,
        "fuel": FUELS["ethanol"],
        "oxidizer": OXIDIZERS["oxygen"],
        "seed_water": 0.0,
    }
    dry = stream_flows(1.0, **case, seed_fraction=0.015, seed=SEEDS["potassium hydroxide"])
    assert dry[-1].name == "potassium hydroxide"
    assert dry[-1].volume_flow is None
    assert len(stream_flows(1.0, **case, seed_fraction=0.0, seed=None)) == 2
