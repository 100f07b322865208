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
    """Mass balance from injector to gas; NaN where seed and water leave no room for fuel.

    Attributes
    ----------
    condensed_fraction : array
        Inert condensed mass per mass injected. [-]
    alkali_fraction : array
        Alkali metal per mass of gas. [-]
    carrier_water_fraction : array
        Carrier water per mass of gas. [-]
    fuel_fraction : array
        Fuel per mass of gas. [-]
    oxidizer_fraction : array
        Oxidizer per mass of gas. [-]
    """

    condensed_fraction: FloatArray
    alkali_fraction: FloatArray
    carrier_water_fraction: FloatArray
    fuel_fraction: FloatArray
    oxidizer_fraction: FloatArray


def alkali_metal(seed: Compound) -> str:
    """Return the symbol of the alkali metal that a seed carries.

    Parameters
    ----------
    seed : Compound
        Seed compound. [-]

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
    """Return the alkali metal's share of the seed compound's mass. [-]

    Parameters
    ----------
    seed : Compound
        Seed compound. [-]
    """
    metal = alkali_metal(seed)
    return seed.formula[metal] * ATOMIC_MASS[metal] / seed.molar_mass


def injected_fractions(
    *, mixture_ratio: ArrayLike, seed_fraction: ArrayLike, seed_water: ArrayLike, seed: Compound | None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return fuel, oxidizer, seed compound and carrier water per mass injected; NaN without fuel. [-]

    Parameters
    ----------
    mixture_ratio : array_like
        Oxidizer mass over fuel mass. [-]
    seed_fraction : array_like
        Alkali metal injected over everything injected. [-]
    seed_water : array_like
        Carrier water mass over seed compound mass. [-]
    seed : Compound or None
        Seed compound, None for an unseeded gas. [-]

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
    """Return what becomes gas of what is injected.

    Parameters
    ----------
    mixture_ratio : array_like
        Oxidizer mass over fuel mass. [-]
    seed_fraction : array_like
        Alkali metal injected over everything injected. [-]
    seed_water : array_like
        Carrier water mass over seed compound mass. [-]
    seed_vaporized : array_like
        Share of the seed compound that evaporates, the rest leaves as inert condensed mass. [-]
    seed : Compound or None
        Seed compound, None for an unseeded gas. [-]
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
    """Return the amount of each element in the gas. [mol/kg]

    Parameters
    ----------
    mixture_ratio : array_like
        Oxidizer mass over fuel mass. [-]
    alkali_fraction : array_like
        Alkali metal per mass of gas; its compound's other elements come with it. [-]
    carrier_water_fraction : array_like
        Carrier water per mass of gas. [-]
    fuel : Compound
        Fuel. [-]
    oxidizer : Compound
        Oxidizer. [-]
    seed : Compound or None
        Seed compound, None for an unseeded gas. [-]

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
    """Return the enthalpy that the reactants of the gas bring in at 298.15 K. [J/kg]

    Parameters
    ----------
    mixture_ratio : array_like
        Oxidizer mass over fuel mass. [-]
    alkali_fraction : array_like
        Alkali metal per mass of gas, brought by the solid seed compound. [-]
    carrier_water_fraction : array_like
        Carrier water per mass of gas, brought as a liquid. [-]
    fuel : Compound
        Fuel. [-]
    oxidizer : Compound
        Oxidizer. [-]
    seed : Compound or None
        Seed compound, None for an unseeded gas. [-]

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


def oxygen_to_carbon(elements: Mapping[str, FloatArray]) -> FloatArray:
    """Return oxygen atoms over carbon atoms in the gas, infinite without carbon. [-]

    Below 1 solid carbon forms, which the gas model does not carry: such a mixture is refused.

    Parameters
    ----------
    elements : mapping of str to array
        Amount of each element. [mol/kg]
    """
    oxygen = elements.get("O", np.zeros(()))
    carbon = elements.get("C", np.zeros(()))
    oxygen, carbon = np.broadcast_arrays(oxygen, carbon)
    ratio = np.full(carbon.shape, np.inf)
    np.divide(oxygen, carbon, out=ratio, where=carbon > 0.0)
    return ratio
