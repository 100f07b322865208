"""What is injected, and what of it becomes gas: elements and enthalpy of one kilogram of gas.

Enthalpies of formation at 298.15 K are standard-table values recalled from memory (kJ/mol, phase in
brackets). Atomic weights are Cantera's. Air is 79/21 nitrogen and oxygen by mole. The heat of solution of
seed in its carrier (water or fuel) is left out, as is the enthalpy of what does not vaporise.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import cantera as ct

FUELS: dict[str, tuple[str, float]] = {
    "ethanol": ("C2H6O", -277.6),  # (l)
    "methanol": ("CH4O", -239.2),  # (l)
    "methane": ("CH4", -74.6),  # (g)
    "propane": ("C3H8", -104.68),  # (g)
    "hydrogen": ("H2", 0.0),  # (g)
}
OXIDIZERS: dict[str, tuple[tuple[str, float, float], ...]] = {  # formula, enthalpy of formation, moles
    "oxygen": (("O2", 0.0, 1.0),),
    "nitrous oxide": (("N2O", 81.6, 1.0),),  # (g)
    "air": (("N2", 0.0, 0.79), ("O2", 0.0, 0.21)),
}
SEEDS: dict[str, tuple[str, str, float]] = {
    "potassium carbonate": ("K", "K2CO3", -1151.0),  # (s)
    "potassium hydroxide": ("K", "KOH", -424.76),  # (s)
    "potassium nitrate": ("K", "KNO3", -494.6),  # (s)
    "cesium carbonate": ("Cs", "Cs2CO3", -1139.7),  # (s)
    "sodium carbonate": ("Na", "Na2CO3", -1130.7),  # (s)
}
WATER = ("H2O", -285.83)  # (l)


@dataclass(frozen=True)
class Mixture:
    """One kilogram of gas: its atoms and its enthalpy, and the inert mass that leaves beside it."""

    elements: Mapping[str, float]  #: kmol of atoms per kg of gas
    enthalpy: float  #: of the injected propellants that became gas [J/kg of gas]
    inert_fraction: float  #: unvaporised seed compound per kg injected [-]
    alkali: str | None


def atoms(formula: str) -> Counter[str]:
    """Atoms of a formula without brackets, such as C2H6O."""
    counted: Counter[str] = Counter()
    for symbol, number in re.findall(r"([A-Z][a-z]?)(\d*)", formula):
        counted[symbol] += int(number or 1)
    return counted


def molar_mass(formula: str) -> float:
    """Molar mass [kg/kmol]."""
    return float(sum(number * ct.Element(symbol).weight for symbol, number in atoms(formula).items()))


def mixture_from(inputs: Mapping[str, object]) -> Mixture:
    """The gas of a point, per kilogram of gas."""
    number = {key: float(value) for key, value in inputs.items() if isinstance(value, int | float)}
    seed = str(inputs["gas.seed"])
    alkali, compound, water, vaporized = None, 0.0, 0.0, 1.0
    streams: list[tuple[str, float, float]] = []  # formula, kg per kg injected, kJ/mol
    if seed != "none":
        alkali, formula, formation = SEEDS[seed]
        metal = atoms(formula)[alkali] * ct.Element(alkali).weight
        compound = number["gas.seed_fraction"] * molar_mass(formula) / metal
        water = number.get("gas.seed_water", 0.0) * compound
        vaporized = number.get("gas.seed_vaporized", 1.0)
        streams += [(formula, vaporized * compound, formation), (WATER[0], water, WATER[1])]
    propellant = 1.0 - compound - water
    fuel = propellant / (1.0 + number["gas.mixture_ratio"])
    fuel_formula, fuel_formation = FUELS[str(inputs["gas.fuel"])]
    streams.append((fuel_formula, fuel, fuel_formation))
    parts = OXIDIZERS[str(inputs["gas.oxidizer"])]
    molar = sum(moles * molar_mass(formula) for formula, _, moles in parts)
    for formula, formation, moles in parts:
        streams.append((formula, (propellant - fuel) * moles * molar_mass(formula) / molar, formation))

    inert = (1.0 - vaporized) * compound
    elements: defaultdict[str, float] = defaultdict(float)
    enthalpy = 0.0
    for formula, mass, formation in streams:
        kmol = mass / molar_mass(formula) / (1.0 - inert)
        enthalpy += kmol * formation * 1e6
        for symbol, count in atoms(formula).items():
            elements[symbol] += kmol * count
    if elements["O"] < elements["C"]:
        raise ValueError("less oxygen than carbon: soot is outside the species set")
    kept = {symbol: amount for symbol, amount in elements.items() if amount > 0.0}
    return Mixture(kept, enthalpy, inert, alkali if alkali in kept else None)
