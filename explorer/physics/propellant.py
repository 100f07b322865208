"""What is injected, what of it becomes gas, and the elements and enthalpy that the gas brings along.

Fuel and oxidizer burn in the mixture ratio; the seed compound comes in its carrier water. A share of the
compound leaves as inert condensed mass, all the water takes part, and composition and enthalpy are counted
per kilogram of gas. Three coordinates then fix the gas: mixture ratio, alkali metal and carrier water in it;
the rest is fuel and oxidizer. The seed enters as the solid compound and its water as liquid, so that the heat
of solution is left out. All functions take numbers or arrays and broadcast.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.physics.compounds import ALKALI_METALS, ATOMIC_MASS, WATER, Compound

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class GasComposition:
    """Mass balance from injector to gas; NaN where seed and water leave no room for fuel."""

    condensed_fraction: FloatArray  #: [-] inert condensed mass per mass injected
    alkali_fraction: FloatArray  #: [-] alkali metal per mass of gas
    carrier_water_fraction: FloatArray  #: [-] carrier water per mass of gas
    fuel_fraction: FloatArray  #: [-] fuel per mass of gas
    oxidizer_fraction: FloatArray  #: [-] oxidizer per mass of gas


def alkali_metal(seed: Compound) -> str:
    """Return the symbol of the alkali metal that a seed carries.

    Raises
    ------
    ValueError
        Where the compound does not carry exactly one alkali metal.
    """
    metals = [symbol for symbol in ALKALI_METALS if symbol in seed.formula]
    if len(metals) != 1:
        raise ValueError(f"a seed carries exactly one of {' '.join(ALKALI_METALS)}; {seed.name} does not")
    return metals[0]


def alkali_mass_fraction(seed: Compound) -> float:
    """Return the alkali metal's share of the seed compound's mass [-]."""
    metal = alkali_metal(seed)
    return seed.formula[metal] * ATOMIC_MASS[metal] / seed.molar_mass


def injected_fractions(
    *, mixture_ratio: ArrayLike, seed_fraction: ArrayLike, seed_water: ArrayLike, seed: Compound | None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return fuel, oxidizer, seed compound and carrier water per mass injected; NaN without fuel [-].

    Parameters
    ----------
    mixture_ratio : array_like
        [-] oxidizer mass over fuel mass.
    seed_fraction : array_like
        [-] alkali metal injected over everything injected.
    seed_water : array_like
        [-] carrier water mass over seed compound mass.
    seed : Compound or None
        None for an unseeded gas.

    Raises
    ------
    ValueError
        Where there is a seed fraction but no seed.
    """
    ratio, alkali, water = np.broadcast_arrays(
        *(np.asarray(value, dtype=np.float64) for value in (mixture_ratio, seed_fraction, seed_water))
    )
    if seed is None:
        if np.any(alkali != 0.0):
            raise ValueError("seed_fraction must be 0 where the seed is 'none'")
        compound = np.zeros_like(alkali)
    else:
        compound = alkali / alkali_mass_fraction(seed)
    carrier = water * compound
    propellant = 1.0 - compound - carrier
    propellant = np.where(propellant > 0.0, propellant, np.nan)
    fuel = propellant / (1.0 + ratio)
    return fuel, ratio * fuel, compound, carrier


def gas_composition(
    *,
    mixture_ratio: ArrayLike,
    seed_fraction: ArrayLike,
    seed_water: ArrayLike,
    seed_vaporized: ArrayLike,
    seed: Compound | None,
) -> GasComposition:
    """Return what becomes gas of what is injected, stated as in `injected_fractions`.

    Parameters
    ----------
    seed_vaporized : array_like
        [-] share of the seed compound that evaporates, the rest leaves as inert condensed mass.
    """
    vaporized = np.asarray(seed_vaporized, dtype=np.float64)
    fuel, oxidizer, compound, carrier = injected_fractions(
        mixture_ratio=mixture_ratio, seed_fraction=seed_fraction, seed_water=seed_water, seed=seed
    )
    condensed = (1.0 - vaporized) * compound + 0.0 * fuel  # NaN wherever there is no room for fuel
    gas = 1.0 - condensed
    alkali = np.asarray(seed_fraction, dtype=np.float64) * vaporized
    return GasComposition(condensed, alkali / gas, carrier / gas, fuel / gas, oxidizer / gas)


def _moles_per_kg(
    mixture_ratio: ArrayLike,
    alkali_fraction: ArrayLike,
    carrier_water_fraction: ArrayLike,
    fuel: Compound,
    oxidizer: Compound,
    seed: Compound | None,
) -> list[tuple[Compound, FloatArray]]:
    ratio, alkali, water = np.broadcast_arrays(
        *(np.asarray(v, dtype=np.float64) for v in (mixture_ratio, alkali_fraction, carrier_water_fraction))
    )
    rest = 1.0 - water
    moles = [(WATER, water / WATER.molar_mass)]
    if seed is not None:
        vaporized = alkali / alkali_mass_fraction(seed)
        rest = rest - vaporized
        moles.append((seed, vaporized / seed.molar_mass))
    elif np.any(alkali != 0.0):
        raise ValueError("alkali_fraction must be 0 where the seed is 'none'")
    moles.append((fuel, rest / (1.0 + ratio) / fuel.molar_mass))
    moles.append((oxidizer, rest * ratio / (1.0 + ratio) / oxidizer.molar_mass))
    return moles


def elements_per_kg(
    *,
    mixture_ratio: ArrayLike,
    alkali_fraction: ArrayLike,
    carrier_water_fraction: ArrayLike,
    fuel: Compound,
    oxidizer: Compound,
    seed: Compound | None,
) -> dict[str, FloatArray]:
    """Return the amount of each element in the gas [mol/kg].

    Parameters
    ----------
    mixture_ratio : array_like
        [-] oxidizer mass over fuel mass.
    alkali_fraction : array_like
        [-] alkali metal per mass of gas; its compound's other elements come with it.
    carrier_water_fraction : array_like
        [-] carrier water per mass of gas.
    seed : Compound or None
        None for an unseeded gas.

    Raises
    ------
    ValueError
        Where there is alkali metal but no seed.
    """
    elements: dict[str, FloatArray] = {}
    for compound, moles in _moles_per_kg(
        mixture_ratio, alkali_fraction, carrier_water_fraction, fuel, oxidizer, seed
    ):
        for symbol, count in compound.formula.items():
            elements[symbol] = elements.get(symbol, np.zeros_like(moles)) + count * moles
    return elements


def reactant_enthalpy(
    *,
    mixture_ratio: ArrayLike,
    alkali_fraction: ArrayLike,
    carrier_water_fraction: ArrayLike,
    fuel: Compound,
    oxidizer: Compound,
    seed: Compound | None,
) -> FloatArray:
    """Return the enthalpy that the reactants of the gas bring in at 298.15 K, stated as in `elements_per_kg` [J/kg].

    The alkali comes as the solid seed compound, the carrier water as a liquid.

    Raises
    ------
    ValueError
        Where there is alkali metal but no seed.
    """
    parts = [
        compound.enthalpy_of_formation * moles
        for compound, moles in _moles_per_kg(
            mixture_ratio, alkali_fraction, carrier_water_fraction, fuel, oxidizer, seed
        )
    ]
    return np.asarray(sum(parts), dtype=np.float64)


def stoichiometric_mixture_ratio(fuel: Compound, oxidizer: Compound) -> float:
    """Return oxidizer over fuel mass at complete combustion, to CO2 and H2O [-].

    NaN where the fuel lacks no oxygen or the oxidizer gives none.

    Parameters
    ----------
    fuel, oxidizer : Compound
    """

    def lacking(compound: Compound) -> float:
        atoms = compound.formula
        return 2.0 * atoms.get("C", 0.0) + 0.5 * atoms.get("H", 0.0) - atoms.get("O", 0.0)

    lacks, gives = lacking(fuel), -lacking(oxidizer)
    if not (lacks > 0.0 and gives > 0.0):
        return float("nan")
    return float(lacks / fuel.molar_mass * oxidizer.molar_mass / gives)


def oxygen_to_carbon(elements: Mapping[str, FloatArray]) -> FloatArray:
    """Return oxygen atoms over carbon atoms in the gas, infinite without carbon [-].

    Below 1 solid carbon forms, which the gas model does not carry: such a mixture is refused.

    Parameters
    ----------
    elements : mapping of str to array
        [mol/kg] amount of each element.
    """
    oxygen = elements.get("O", np.zeros(()))
    carbon = elements.get("C", np.zeros(()))
    oxygen, carbon = np.broadcast_arrays(oxygen, carbon)
    ratio = np.full(carbon.shape, np.inf)
    np.divide(oxygen, carbon, out=ratio, where=carbon > 0.0)
    return ratio
