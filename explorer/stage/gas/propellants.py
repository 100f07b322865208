"""What is burnt and with what it is seeded, and the gas that it becomes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from numpy.typing import ArrayLike

from explorer.physics import propellant
from explorer.physics.compounds import Compound

#: Alkali mass fraction in the gas that stands for none [-]: seed chosen, but nothing fed or vaporized. It conducts a
#: two thousandth of what a usual seed does.
LEAST_ALKALI: Final[float] = 1e-9


@dataclass(frozen=True)
class Propellants:
    """The three compounds."""

    fuel: Compound
    oxidizer: Compound
    seed: Compound | None

    @property
    def alkali(self) -> str | None:
        """The seed's metal."""
        return propellant.alkali_metal(self.seed) if self.seed else None

    @property
    def identity(self) -> str:
        """All that shapes the gas, as text."""
        parts = (self.fuel, self.oxidizer, self.seed)
        return "; ".join("none" if c is None else f"{c.name} {sorted(c.formula.items())}" for c in parts)

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


def composition(propellants: Propellants, values: Mapping[str, ArrayLike]) -> propellant.GasComposition:
    """Mass fractions in the gas, from numbers by address."""
    return propellant.gas_composition(
        mixture_ratio=values["gas.mixture_ratio"],
        seed_fraction=values["gas.seed_fraction"],
        seed_water=values["gas.seed_water"],
        seed_vaporized=values["gas.seed_vaporized"],
        seed=propellants.seed,
    )
