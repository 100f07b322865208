"""What is burnt, or only heated, and with what it is seeded, and the gas that it becomes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.physics import gas, propellant
from explorer.physics.compounds import METAL_SEEDS, WATER, Compound

#: Alkali mass fraction in the gas below which it counts as unseeded [-]: it would conduct a hundredth of what a usual
#: seed does.
LEAST_ALKALI: Final[float] = 1e-6

#: Least trace of it that a gas without seed may be stated to hold [-].
LEAST_TRACE: Final[float] = 1e-8

#: ln of the alkali mass fraction that stands for an unseeded gas where a seed is chosen, but none is fed or vaporized.
LN_UNSEEDED: Final[float] = float(np.log(1e-9))


@dataclass(frozen=True)
class Propellants:
    """The three compounds."""

    fuel: Compound
    oxidizer: Compound
    seed: Compound | None
    trace: bool = False  #: whether the seed is none that is fed, but a trace of alkali in what else is

    @property
    def burns(self) -> bool:
        """Whether a flame heats it."""
        return True

    @property
    def species(self) -> tuple[str, ...] | None:
        """Its species, where they are not those of every exhaust."""
        return None

    @property
    def alkali(self) -> str | None:
        """The seed's metal."""
        return propellant.alkali_metal(self.seed) if self.seed else None

    @property
    def identity(self) -> str:
        """All that shapes the gas, as text."""
        parts = (self.fuel, self.oxidizer, self.seed)
        return "; ".join("none" if c is None else f"{c.name} {sorted(c.formula.items())}" for c in parts)

    @property
    def stoichiometric_ratio(self) -> float:
        """Mixture ratio at complete combustion [-]; NaN where there is none."""
        return propellant.stoichiometric_mixture_ratio(self.fuel, self.oxidizer)

    def elements(self, mixture_ratio: float, alkali: float, carrier_water: float) -> dict[str, float]:
        """Elements of a kilogram of gas at one place of the gas table [mol/kg].

        Parameters
        ----------
        alkali, carrier_water : float
            [-] mass fractions in the gas.
        """
        amounts = propellant.elements_per_kg(
            mixture_ratio=mixture_ratio,
            alkali_fraction=alkali,
            carrier_water_fraction=carrier_water,
            fuel=self.fuel,
            oxidizer=self.oxidizer,
            seed=self.seed,
        )
        return {element: float(amount) for element, amount in amounts.items()}

    def reactant_enthalpy(
        self, mixture_ratio: ArrayLike, alkali: ArrayLike, carrier_water: ArrayLike
    ) -> NDArray[np.float64]:
        """Enthalpy that the gas brings in at 298.15 K, at places of the gas table [J/kg]."""
        return propellant.reactant_enthalpy(
            mixture_ratio=mixture_ratio,
            alkali_fraction=alkali,
            carrier_water_fraction=carrier_water,
            fuel=self.fuel,
            oxidizer=self.oxidizer,
            seed=self.seed,
        )


@dataclass(frozen=True)
class HeatedGas:
    """A gas that is brought to a stated temperature without a flame: the mixture ratio counts for nothing."""

    carrier: Compound
    seed: Compound | None
    trace: bool = False  #: as of propellants

    @property
    def burns(self) -> bool:
        """Whether a flame heats it."""
        return False

    @property
    def species(self) -> tuple[str, ...]:
        """Species of the elements that it has."""
        seed = self.seed.formula if self.seed else {}
        wet = {} if self.seed is None or self.seed.name in METAL_SEEDS.values() else WATER.formula
        return gas.heated_species({*self.carrier.formula, *seed, *wet})

    @property
    def _as_propellants(self) -> Propellants:
        return Propellants(self.carrier, self.carrier, self.seed, self.trace)

    @property
    def alkali(self) -> str | None:
        """The seed's metal."""
        return self._as_propellants.alkali

    @property
    def identity(self) -> str:
        """All that shapes the gas, as text."""
        return f"heated {self._as_propellants.identity}"

    def elements(self, mixture_ratio: float, alkali: float, carrier_water: float) -> dict[str, float]:
        """Elements of a kilogram of gas, as of propellants [mol/kg]."""
        return self._as_propellants.elements(0.0, alkali, carrier_water)

    def reactant_enthalpy(
        self, mixture_ratio: ArrayLike, alkali: ArrayLike, carrier_water: ArrayLike
    ) -> NDArray[np.float64]:
        """Enthalpy of the cold gas and its seed at 298.15 K, as of propellants [J/kg]."""
        return self._as_propellants.reactant_enthalpy(0.0, alkali, carrier_water)


#: What a stage's gas is made of.
Substances = Propellants | HeatedGas


def least_alkali(propellants: Substances) -> float:
    """Alkali mass fraction in the gas below which it counts as unseeded [-]."""
    return LEAST_TRACE if propellants.trace else LEAST_ALKALI


def ln_alkali(propellants: Substances, alkali: ArrayLike) -> NDArray[np.float64]:
    """Coordinate of the gas table for alkali mass fractions in the gas [-]."""
    alkali, least = np.asarray(alkali, dtype=np.float64), least_alkali(propellants)
    return np.where(alkali < least, LN_UNSEEDED, np.log(np.maximum(alkali, least)))


def composition(propellants: Substances, values: Mapping[str, ArrayLike]) -> propellant.GasComposition:
    """Mass fractions in the gas, from numbers by address."""
    if propellants.trace:
        return propellant.gas_composition(
            mixture_ratio=values["gas.mixture_ratio"],
            seed_fraction=values["gas.trace_alkali"],
            seed_water=0.0,
            seed_vaporized=1.0,
            seed=propellants.seed,
        )
    return propellant.gas_composition(
        mixture_ratio=values["gas.mixture_ratio"],
        seed_fraction=values["gas.seed_fraction"],
        seed_water=values["gas.seed_water"],
        seed_vaporized=values["gas.seed_vaporized"],
        seed=propellants.seed,
    )
