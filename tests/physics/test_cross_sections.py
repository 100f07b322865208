"""Cross sections: the data file read as it is, held at its ends, and the assumptions where they stand."""

import tomllib
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from explorer.physics.conductivity import collision_frequencies, frost_1961
from explorer.physics.cross_sections import (
    ASSUMED_CONSTANT,
    ASSUMED_DIPOLE_MOMENT,
    UNKNOWN,
    WATER_DIPOLE_MOMENT,
    cross_section,
    cross_sections,
    has_cross_section,
)
from explorer.physics.gas import ALKALI_SPECIES, BASE_SPECIES, HEATED_SPECIES, heated_species, phase

TEXT = (files("explorer.physics") / "electron_momentum_transfer.csv").read_text(encoding="utf-8")
ROWS = [line.split(",") for line in TEXT.splitlines() if line and not line.startswith("#")]
NAMES = ROWS[0][1:]
ENERGY_EV = np.array([float(row[0]) for row in ROWS[1:]])
MEASURED = {name: np.array([float(row[i + 1]) for row in ROWS[1:]]) * 1e-20 for i, name in enumerate(NAMES)}


def test_the_measured_species_are_the_six_of_the_data_file_with_their_source():
    assert set(NAMES) == {"N2", "O2", "H2", "CO", "CO2", "H2O"}
    assert "LXCat" in TEXT


@pytest.mark.parametrize("name", NAMES)
def test_a_measured_set_goes_through_its_rows_and_is_linear_between(name):
    assert cross_section(name, ENERGY_EV) == pytest.approx(MEASURED[name], rel=1e-12)
    middle = 0.5 * (ENERGY_EV[1:] + ENERGY_EV[:-1])
    between = 0.5 * (MEASURED[name][1:] + MEASURED[name][:-1])
    assert cross_section(name, middle) == pytest.approx(between, rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_beyond_its_ends_a_measured_set_holds_the_end_value(name):
    outside = cross_section(name, np.array([0.0, ENERGY_EV[0] / 10, ENERGY_EV[-1] * 2]))
    assert outside == pytest.approx(MEASURED[name][[0, 0, -1]], rel=1e-12)


def test_nitrogen_has_its_resonance_and_hydrogen_none():
    """The ²Π_g shape resonance of N2 near 2.3 eV, common knowledge (no source)."""
    energy = np.array([1.0, 2.3, 5.0])
    nitrogen = cross_section("N2", energy)
    assert nitrogen[1] > 1.5 * max(nitrogen[0], nitrogen[2])


@pytest.mark.parametrize("name", ASSUMED_DIPOLE_MOMENT)
def test_strong_dipoles_follow_water_with_the_square_of_the_moment(name):
    """Assumed, no source: OH 1.655, CN 1.45, KOH 7.415, NaOH 6.8, CsOH 7.1 against water's 1.855 D."""
    expected = {"OH": 1.655, "CN": 1.45, "KOH": 7.415, "NaOH": 6.8, "CsOH": 7.1}[name]
    energy = np.geomspace(0.01, 3.0, 20)
    ratio = cross_section(name, energy) / cross_section("H2O", energy)
    assert ratio == pytest.approx((expected / 1.855) ** 2, rel=1e-12)
    assert WATER_DIPOLE_MOMENT == 1.855


def test_atoms_and_nitric_oxide_are_constants():
    """Assumed, no source: K, Na, Cs 400, H 25, O 5, NO and N 8, C 25 (1e-20 m²)."""
    expected = {"K": 400.0, "Na": 400.0, "Cs": 400.0, "H": 25.0, "O": 5.0, "NO": 8.0, "N": 8.0, "C": 25.0}
    assert expected == ASSUMED_CONSTANT
    for name, value in expected.items():
        assert cross_section(name, np.array([0.05, 1.0])) == pytest.approx(value * 1e-20)


def test_every_neutral_species_has_a_set_or_an_assumption_or_is_named_as_unknown():
    for name in {
        *BASE_SPECIES,
        *HEATED_SPECIES,
        *(each for group in ALKALI_SPECIES.values() for each in group),
    }:
        if name != "Electron" and not name.endswith(("+", "-")):
            assert has_cross_section(name) != (name in UNKNOWN), name
    assert (cross_section("HO2", ENERGY_EV) == 0.0).all()
    with pytest.raises(KeyError, match="XeF2"):
        cross_section("XeF2", ENERGY_EV)


def share_of_the_unknown(start, alkali, temperature, pressure):
    """By how much less the gas would conduct if all its unknown species were dipoles of 8.5 D, the strongest known."""
    species = heated_species({"K", "Cs", "Na", "H", "C", "N", "O", "Ar"})
    others = {name for metal, group in ALKALI_SPECIES.items() if metal != alkali for name in group}
    gas = phase(None, species=tuple(name for name in species if name not in others))
    gas.TPX = temperature, pressure, start
    gas.equilibrate("TP", solver="vcs", rtol=1e-9, max_steps=5000)
    density = dict(zip(gas.species_names, gas.concentrations * 6.02214076e26, strict=True))
    known = [name for name in density if has_cross_section(name)]
    frequency = collision_frequencies(known, np.array([density[name] for name in known]), temperature).sum(
        axis=0
    )
    dipoles = (8.5 / 1.855) ** 2 * sum(density.get(name, 0.0) for name in UNKNOWN)
    with_them = frequency + collision_frequencies(["H2O"], np.array([dipoles]), temperature)[0]
    less, more = (frost_1961(each, density["Electron"], temperature) for each in (with_them, frequency))
    return 1 - less / more


STARTS = {
    "rich flame": {"CO2": 2.0, "H2O": 4.0, "H2": 0.5, "CO": 0.3},
    "lean flame": {"H2O": 2.0, "O2": 1.5},
    "nitrogen": {"N2": 1.0},
    "argon": {"Ar": 1.0},
    "steam": {"H2O": 1.0},
}


@pytest.mark.parametrize("temperature", [1500.0, 2300.0, 3300.0])
@pytest.mark.parametrize("gas", STARTS)
@pytest.mark.parametrize("alkali", ["K", "Cs"])
def test_species_without_a_cross_section_could_change_little(gas, alkali, temperature):
    """A bound of our own: four per cent, where published cross sections of water differ by a factor 2."""
    start = STARTS[gas]
    found = share_of_the_unknown({**start, alkali: 0.02 * sum(start.values())}, alkali, temperature, 1e6)
    assert 0.0 <= found < 0.04


def test_in_dry_oxygen_the_oxides_of_the_seed_could_change_much():
    """The must-differ twin of the bound, and the figure of the study's own note."""
    assert 0.2 < share_of_the_unknown({"N2": 0.77, "O2": 0.21, "K": 0.02}, "K", 2000.0, 1e5) < 0.35


REFERENCE = tomllib.loads(
    (Path(__file__).parents[1] / "reference/conductivity.toml").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("name", ["He", "Ar", "Kr", "Xe"])
def test_a_noble_gas_has_the_cross_section_of_its_scattering_length_at_rest(name):
    """σ(0) = 4π A², with the scattering lengths of two papers, from memory."""
    row = REFERENCE["zero_energy"]
    expected = 4 * np.pi * (row[name] * 0.529177e-10) ** 2
    assert cross_section(name, np.array([0.0]))[0] == pytest.approx(expected, rel=row["tolerance"])


@pytest.mark.parametrize("name", ["Ar", "Kr", "Xe"])
def test_a_heavy_noble_gas_has_its_minimum_where_it_was_measured(name):
    energy = np.linspace(0.05, 2.0, 400)
    low, high = REFERENCE["minimum"][name]
    assert low <= energy[np.argmin(cross_section(name, energy))] <= high


def test_helium_has_no_minimum():
    assert (np.diff(cross_section("He", np.linspace(0.01, 1.5, 50))) > 0.0).all()


def test_several_species_stand_in_rows():
    energy = np.array([0.1, 0.5])
    table = cross_sections(["H2O", "K"], energy)
    assert table.shape == (2, 2)
    assert (table[1] == cross_section("K", energy)).all()
