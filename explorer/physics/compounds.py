"""Fuels, oxidizers and seeds: formula, enthalpy of formation at 298.15 K, phase, density.

Enthalpies are those of the standard thermochemical tables, from memory; the tests hold them against the
species data that the gas model itself uses. Kerosene, paraffin and HTPB are surrogates: one formula stands
for a mixture that varies from batch to batch, and the source says so. Reactants enter at 298.15 K in the
phase stated: gases as gases whatever the tank holds, so that cold liquid oxygen must be given as a custom
oxidizer.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

Phase = Literal["gas", "liquid", "solid"]

#: Atomic masses [kg/mol], IUPAC standard atomic weights, from memory (the tests compare Cantera's).
ATOMIC_MASS: Final[Mapping[str, float]] = {
    "H": 1.008e-3,
    "C": 12.011e-3,
    "N": 14.007e-3,
    "O": 15.999e-3,
    "Na": 22.98976928e-3,
    "K": 39.0983e-3,
    "Cs": 132.90545196e-3,
    "He": 4.002602e-3,
    "Ar": 39.95e-3,
    "Kr": 83.798e-3,
    "Xe": 131.293e-3,
}
ALKALI_METALS: Final = ("K", "Cs", "Na")
NOBLE_GASES: Final = ("He", "Ar", "Kr", "Xe")  #: in a heated gas; no fuel, oxidizer or seed holds them

_TABLES: Final = "standard tables, from memory"
_TERM: Final = re.compile(r"([A-Z][a-z]?)(\d+(?:\.\d*)?|\.\d+)?")


@dataclass(frozen=True)
class Compound:
    """A substance that is injected."""

    name: str  #: in a study
    #: [-] atoms of each element in one molecule, fractional for surrogates and mixtures
    formula: Mapping[str, float] = field(hash=False)
    enthalpy_of_formation: float  #: [J/mol] at 298.15 K, in the phase stated
    phase: Phase  #: "gas", "liquid" or "solid" at room conditions
    source: str  #: where formula and enthalpy come from
    #: [kg/m³] of a liquid at 20 °C; None for gases, solids and where it is not known
    density: float | None = None

    @property
    def molar_mass(self) -> float:
        """Molar mass [kg/mol]."""
        return molar_mass(self.formula)


def formula_atoms(text: str) -> dict[str, float]:
    """Return the atoms of each element in a formula such as "C2H6O" or "C7.075H10.65O0.223".

    Parameters
    ----------
    text : str
        Element symbols, each followed by its count, which may be fractional and is 1 when left out.

    Raises
    ------
    ValueError
        For text that is no formula, an element that the gas's species don't carry, or a count of zero.
    """
    if not re.fullmatch(f"(?:{_TERM.pattern})+", text):
        raise ValueError(f"'{text}' is no chemical formula; write element symbols and counts, as in 'C2H6O'")
    atoms: dict[str, float] = {}
    for symbol, count in _TERM.findall(text):
        if symbol not in ATOMIC_MASS or symbol in NOBLE_GASES:
            known = " ".join(symbol for symbol in ATOMIC_MASS if symbol not in NOBLE_GASES)
            raise ValueError(f"the gas's species do not carry {symbol} (formula '{text}'); known: {known}")
        number = float(count) if count else 1.0
        if number == 0.0:
            raise ValueError(f"formula '{text}' counts zero atoms of {symbol}; leave it out")
        atoms[symbol] = atoms.get(symbol, 0.0) + number
    return atoms


def molar_mass(formula: Mapping[str, float]) -> float:
    """Return the molar mass of a formula [kg/mol].

    Parameters
    ----------
    formula : mapping of str to float
        [-] atoms of each element in one molecule.
    """
    return sum(count * ATOMIC_MASS[symbol] for symbol, count in formula.items())


def custom_compound(name: str, formula: str, *, enthalpy_of_formation: float, phase: Phase) -> Compound:
    """Return a fuel or oxidizer that the user describes.

    Parameters
    ----------
    name : str
        Name in the study.
    formula : str
        Chemical formula, counts may be fractional.
    enthalpy_of_formation : float
        [J/mol] per mole of that formula, at 298.15 K in the phase stated.
    phase : str
        "gas", "liquid" or "solid".

    Raises
    ------
    ValueError
        Where the formula is none or carries an alkali metal, which belongs to the seed.
    """
    atoms = formula_atoms(formula)
    for metal in ALKALI_METALS:
        if metal in atoms:
            raise ValueError(f"{name} '{formula}' carries {metal}; give the alkali metal as the seed instead")
    return Compound(name, atoms, enthalpy_of_formation, phase, "given in the study")


def hydrogen_peroxide(concentration: float) -> Compound:
    """Return hydrogen peroxide in water as one mean molecule.

    The small heat of mixing (of the order of 1 kJ/mol) is left out; volumes are taken as additive.

    Parameters
    ----------
    concentration : float
        [-] mass fraction of hydrogen peroxide, the rest is liquid water.

    Raises
    ------
    ValueError
        Where the concentration lies outside (0, 1].
    """
    if not 0.0 < concentration <= 1.0:
        raise ValueError(f"concentration of hydrogen peroxide must lie in (0, 1]; got {concentration:g}")
    moles = concentration / _PEROXIDE.molar_mass
    moles_water = (1.0 - concentration) / WATER.molar_mass
    x = moles / (moles + moles_water)
    return Compound(
        "hydrogen peroxide",
        {"H": 2.0, "O": 1.0 + x},
        x * _PEROXIDE.enthalpy_of_formation + (1.0 - x) * WATER.enthalpy_of_formation,
        "liquid",
        f"{_PEROXIDE.source}; {100 * concentration:g} % by mass, the rest liquid water",
        1.0 / (concentration / _PEROXIDE_DENSITY + (1.0 - concentration) / WATER_DENSITY),
    )


def _tabulated(
    name: str,
    formula: str,
    kilojoules: float,
    phase: Phase,
    density: float | None = None,
    note: str = _TABLES,
) -> Compound:
    return Compound(name, formula_atoms(formula), 1e3 * kilojoules, phase, note, density)


#: Densities at 20 °C [kg/m³], handbook values, from memory.
WATER_DENSITY: Final = 998.2
_PEROXIDE_DENSITY: Final = 1450.0

WATER: Final = _tabulated("water", "H2O", -285.83, "liquid", WATER_DENSITY)
_PEROXIDE: Final = _tabulated("hydrogen peroxide", "H2O2", -187.78, "liquid", _PEROXIDE_DENSITY)

FUELS: Final[Mapping[str, Compound]] = {
    compound.name: compound
    for compound in (
        _tabulated("ethanol", "C2H6O", -277.6, "liquid", 789.0),
        _tabulated("methanol", "CH4O", -238.9, "liquid", 792.0),
        _tabulated("isopropanol", "C3H8O", -318.1, "liquid", 785.0),
        _tabulated("propane", "C3H8", -104.68, "gas"),
        _tabulated("methane", "CH4", -74.6, "gas"),
        _tabulated("hydrogen", "H2", 0.0, "gas"),
        _tabulated(
            "kerosene",
            "C12H23",
            -303.4,
            "liquid",
            810.0,
            f"surrogate C12H23 for liquid aviation kerosene; {_TABLES}; batches differ by some % in H/C",
        ),
        _tabulated(
            "paraffin",
            "C32H66",
            -968.0,
            "solid",
            None,
            f"surrogate n-dotriacontane, C32H66, for paraffin wax; {_TABLES}, tables differ by some 3 %",
        ),
        _tabulated(
            "htpb",
            "C7.075H10.65O0.223N0.063",
            -58.0,
            "solid",
            None,
            "surrogate for cured hydroxyl-terminated polybutadiene, 100 g of it; from memory, published "
            "enthalpies scatter by several hundred kJ/kg with the curing agent",
        ),
    )
}

#: Hydrogen peroxide stands here pure; `hydrogen_peroxide(concentration)` gives what a bottle holds.
OXIDIZERS: Final[Mapping[str, Compound]] = {
    compound.name: compound
    for compound in (
        _tabulated("oxygen", "O2", 0.0, "gas"),
        _tabulated("nitrous oxide", "N2O", 81.6, "gas"),
        _tabulated("air", "N1.58O0.42", 0.0, "gas", None, f"{_TABLES}; 79/21 nitrogen and oxygen by volume"),
        _PEROXIDE,
    )
}

SEEDS: Final[Mapping[str, Compound | None]] = {
    "potassium carbonate": _tabulated("potassium carbonate", "K2CO3", -1151.0, "solid"),
    "potassium nitrate": _tabulated("potassium nitrate", "KNO3", -494.6, "solid"),
    "potassium hydroxide": _tabulated("potassium hydroxide", "KOH", -424.76, "solid"),
    "cesium carbonate": _tabulated(
        "cesium carbonate", "Cs2CO3", -1139.7, "solid", None, f"{_TABLES}; not held against a second source"
    ),
    "sodium carbonate": _tabulated("sodium carbonate", "Na2CO3", -1130.7, "solid"),
    "cesium": _tabulated("cesium", "Cs", 0.0, "solid"),
    "potassium": _tabulated("potassium", "K", 0.0, "solid"),
    "sodium": _tabulated("sodium", "Na", 0.0, "solid"),
    "none": None,
}

#: Seeds that are nothing but the metal, by its symbol.
METAL_SEEDS: Final[Mapping[str, str]] = {"Cs": "cesium", "K": "potassium", "Na": "sodium"}
