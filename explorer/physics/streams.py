"""Flows of the streams into the chamber, and what the seed's carrier water can hold at 20 °C.

Handbook values from memory and a simple estimate of the solution's density: good enough to size a pump or an
orifice, to be measured before it decides a test.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.physics.compounds import WATER_DENSITY, Compound
from explorer.physics.propellant import FloatArray, injected_fractions

#: Solubility in water at 20 °C [kg of compound per kg of water], from memory.
SOLUBILITY: Final[Mapping[str, float]] = {
    "potassium carbonate": 1.1,
    "potassium nitrate": 0.316,
    "potassium hydroxide": 1.12,
    "cesium carbonate": 2.6,
    "sodium carbonate": 0.215,
}

#: Density [kg/m³] that the dissolved compound seems to have beside water's own 998.2, at 20 °C. Worked back
#: from one handbook density a compound (from memory): K2CO3 50 % 1540, KOH 50 % 1511, KNO3 20 % 1133,
#: Na2CO3 14 % 1146. Weaker solutions come out up to 3 % too light. Cesium carbonate is assumed, no source.
APPARENT_DENSITY: Final[Mapping[str, float]] = {
    "potassium carbonate": 3367.0,
    "potassium nitrate": 2454.0,
    "potassium hydroxide": 3108.0,
    "cesium carbonate": 5300.0,
    "sodium carbonate": 12700.0,
}


@dataclass(frozen=True)
class Stream:
    """One stream into the chamber."""

    name: str  #: what flows
    mass_flow: FloatArray  #: [kg/s]
    volume_flow: FloatArray | None  #: [m³/s] of a liquid at 20 °C, where its density is known


def seed_solubility(seed: Compound | None) -> float | None:
    """Return the compound that a kilogram of water dissolves at 20 °C, None where it is not known [kg/kg]."""
    return None if seed is None else SOLUBILITY.get(seed.name)


def seed_dissolves(seed_water: ArrayLike, seed: Compound | None) -> NDArray[np.bool_]:
    """Return whether the carrier water dissolves the seed at 20 °C.

    True as well without water (a powder, or a seed dissolved in the fuel) and where no limit is known.

    Parameters
    ----------
    seed_water : array_like
        [-] carrier water mass over seed compound mass.
    """
    water = np.asarray(seed_water, dtype=np.float64)
    limit = seed_solubility(seed)
    if limit is None:
        return np.ones(water.shape, dtype=np.bool_)
    dissolves: NDArray[np.bool_] = (water == 0.0) | (water * limit >= 1.0)
    return dissolves


def solution_density(seed_water: ArrayLike, seed: Compound) -> FloatArray:
    """Return the density of the seed solution at 20 °C, NaN without water or for an unknown compound [kg/m³].

    Water's volume plus that of the compound at the density that it seems to have in solution.

    Parameters
    ----------
    seed_water : array_like
        [-] carrier water mass over seed compound mass.
    """
    water = np.asarray(seed_water, dtype=np.float64)
    apparent = APPARENT_DENSITY.get(seed.name, np.nan)
    return np.where(water > 0.0, (1.0 + water) / (1.0 / apparent + water / WATER_DENSITY), np.nan)


def stream_flows(
    mass_flow: ArrayLike,
    *,
    mixture_ratio: ArrayLike,
    seed_fraction: ArrayLike,
    seed_water: ArrayLike,
    fuel: Compound,
    oxidizer: Compound | None,
    seed: Compound | None,
    seed_solution_density: float | None = None,
) -> tuple[Stream, ...]:
    """Return the streams of fuel, oxidizer (where there is one) and seed solution (where there is a seed).

    What is injected is stated as in `injected_fractions`.

    Parameters
    ----------
    mass_flow : array_like
        [kg/s] everything injected, condensed mass included.
    oxidizer : Compound or None
        None for a gas that is only heated, which then stands as the fuel at a mixture ratio of 0.
    seed_solution_density : float, optional
        [kg/m³] estimated where it is not given.
    """
    total = np.asarray(mass_flow, dtype=np.float64)
    fractions = injected_fractions(
        mixture_ratio=mixture_ratio, seed_fraction=seed_fraction, seed_water=seed_water, seed=seed
    )
    fuel_flow, oxidizer_flow, compound_flow, carrier_flow = (total * fraction for fraction in fractions)
    streams = [
        Stream(compound.name, flow, None if compound.density is None else flow / compound.density)
        for compound, flow in ((fuel, fuel_flow), (oxidizer, oxidizer_flow))
        if compound is not None
    ]
    if seed is not None:
        flow = compound_flow + carrier_flow
        density = np.asarray(seed_solution_density or solution_density(seed_water, seed))
        name = f"{seed.name} in water" if np.any(carrier_flow > 0.0) else seed.name
        streams.append(Stream(name, flow, flow / density if np.all(np.isfinite(density)) else None))
    return tuple(streams)
