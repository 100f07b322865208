"""The exhaust: an ideal gas in chemical and ionisation equilibrium, composed by Cantera from NASA species data.

The species are exactly those listed here; condensed ones are left out. Nothing on the hot path calls this module:
it fills the gas table.
"""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import cantera as ct
import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer import constants as c
from explorer.physics.conductivity import collision_frequencies, energy_loss_rate, frost_1961
from explorer.physics.cross_sections import cross_sections

_NEUTRALS: Final = ("CO", "CO2", "H2", "H2O", "OH", "O", "O2", "H", "N2", "NO", "N", "HO2")
_CHARGED: Final = ("OH-", "O-", "O2-", "H-", "NO+", "H3O+", "Electron")

#: Species of the exhaust without its alkali.
BASE_SPECIES: Final[tuple[str, ...]] = (*_NEUTRALS, *_CHARGED)

#: Species that each alkali metal brings.
ALKALI_SPECIES: Final[dict[str, tuple[str, ...]]] = {
    "K": ("K", "K+", "KO", "KOH", "KH", "K2", "K2O2H2", "KO-", "KOH+"),
    "Cs": ("Cs", "Cs+", "CsO", "CsOH", "Cs2", "Cs2O", "Cs2O2H2", "CsOH+"),
    "Na": ("Na", "Na+", "NaO", "NaOH", "NaH", "Na2", "Na2O2H2", "NaO-", "NaOH+"),
}

#: Species of a gas that is only heated, as far as its elements go, with the ions that an arc makes.
HEATED_SPECIES: Final[tuple[str, ...]] = (
    *("He", "He+", "Ar", "Ar+", "Kr", "Kr+", "Xe", "Xe+", "N2+", "N+", "O2+", "O+", "H+"),
    *("C", "C+", "CN", "CO+", "CO2+"),
    *BASE_SPECIES,
)

#: Electron density that stands for none [1/m³]: so few that logarithms stay finite and nothing conducts.
LEAST_ELECTRON_DENSITY: Final[float] = 1e-20

#: States whose collisions are integrated together: few enough for a processor's cache.
_STATES_AT_ONCE: Final[int] = 32

#: Relative tolerance of an equilibrium.
_TOLERANCE: Final[float] = 1e-10


@dataclass(frozen=True)
class GasState:
    """Properties of the gas at given temperatures and pressures; arrays of shape (n,)."""

    enthalpy: NDArray[np.float64]  #: [J/kg]
    entropy: NDArray[np.float64]  #: [J/(kg K)]
    pressure_over_density: NDArray[np.float64]  #: [J/kg] p/ρ = R T / M
    electron_density: NDArray[np.float64]  #: [1/m³] not below `LEAST_ELECTRON_DENSITY`
    mobility: NDArray[
        np.float64
    ]  #: [m²/(V s)] of electrons, collisions with ions included, before any study's factor
    conductivity: NDArray[np.float64]  #: [S/m] σ = e n_e µ, before any study's factor
    loss_rate: NDArray[np.float64]  #: [1/s] at which electrons lose excess energy to neutrals


@cache
def _species() -> dict[str, Any]:
    return {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}


def phase(alkali: str | None, *, species: tuple[str, ...] | None = None) -> Any:
    """The Cantera phase of the exhaust.

    Parameters
    ----------
    alkali : str or None
        ``"K"``, ``"Cs"``, ``"Na"``, or None without seed.
    species : tuple of str, optional
        Other species than the project's own (tests use it for simpler chemistry).
    """
    names = species or BASE_SPECIES + (ALKALI_SPECIES[alkali] if alkali else ())
    return ct.Solution(thermo="ideal-gas", species=[_species()[name] for name in names])


def _start_composition(gas: Any, elements: Mapping[str, float]) -> NDArray[np.float64]:
    """Mole amounts of simple species that hold these elements: a feasible start for the equilibrium solver."""
    left = {name: float(amount) for name, amount in elements.items() if amount > 0}
    moles = dict.fromkeys(gas.species_names, 0.0)
    carbon, oxygen = left.pop("C", 0.0), left.pop("O", 0.0)
    if oxygen < carbon:
        raise ValueError(
            f"a mixture with less oxygen than carbon is not modelled: {oxygen:.3g} < {carbon:.3g} mol/kg"
        )
    to_dioxide = min(carbon, oxygen - carbon)
    if carbon > 0:
        moles["CO"], moles["CO2"] = carbon - to_dioxide, to_dioxide
    oxygen -= carbon + to_dioxide
    hydrogen = left.pop("H", 0.0)
    to_water = min(oxygen, hydrogen / 2)
    simple = {
        "H2O": to_water,
        "H2": hydrogen / 2 - to_water,
        "O2": (oxygen - to_water) / 2,
        "N2": left.pop("N", 0.0) / 2,
        **left,
    }
    moles |= {name: amount for name, amount in simple.items() if amount > 0}
    return np.array([moles[name] for name in gas.species_names])


def equilibrium(gas: Any, T: float, p: float) -> None:
    """Bring the phase to equilibrium at temperature and pressure, in place.

    Parameters
    ----------
    gas : cantera.Solution
        Its present composition says how much of each element there is, and is the first guess.
    T : float
        [K]
    p : float
        [Pa]

    Raises
    ------
    ArithmeticError
        If no solver of Cantera's finds the equilibrium.
    """
    moles = gas.X
    for solver in ("element_potential", "vcs"):
        try:
            gas.TPX = T, p, moles
            gas.equilibrate("TP", solver=solver, rtol=_TOLERANCE, max_steps=5000)
        except ct.CanteraError:
            continue
        return
    raise ArithmeticError(f"no chemical equilibrium found at {T:.0f} K, {p:.0f} Pa")


def gas_states(
    gas: Any,
    elements: Mapping[str, float],
    temperature: NDArray[np.float64],
    pressure: NDArray[np.float64],
    *,
    electrical: bool = True,
) -> GasState:
    """Equilibrium properties at a series of states of one mixture.

    Neighbouring states should follow one another, since each is the next one's first guess.

    Parameters
    ----------
    gas : cantera.Solution
        From `phase`.
    elements : mapping
        [mol/kg] amount of each element in a kilogram of gas.
    temperature : NDArray
        [K] shape (n,).
    pressure : NDArray
        [Pa] shape (n,).
    electrical : bool
        Whether electron density and conductivity are wanted; NaN otherwise.

    Raises
    ------
    ValueError
        If there is less oxygen than carbon.
    ArithmeticError
        If an equilibrium is not found.
    """
    n = temperature.size
    h, s, v, n_e = (np.empty(n) for _ in range(4))
    density = np.empty((n, gas.n_species))
    gas.TPX = temperature[0], pressure[0], _start_composition(gas, elements)
    for i in range(n):
        equilibrium(gas, temperature[i], pressure[i])
        h[i], s[i], v[i] = gas.enthalpy_mass, gas.entropy_mass, gas.P / gas.density
        density[i] = gas.concentrations * ct.avogadro
    if not electrical:
        missing = np.full(n, np.nan)
        return GasState(h, s, v, missing, missing, missing, missing)
    neutral = [i for i in range(gas.n_species) if gas.species(i).charge == 0]
    n_e[:] = np.maximum(density[:, gas.species_index("Electron")], LEAST_ELECTRON_DENSITY)
    names = [gas.species_name(i) for i in neutral]
    mass = gas.molecular_weights[neutral] / ct.avogadro
    mobility, loss_rate = np.empty(n), np.empty(n)
    for first in range(0, n, _STATES_AT_ONCE):
        some = slice(first, first + _STATES_AT_ONCE)
        frequency = collision_frequencies(names, density[some, neutral], temperature[some])
        mobility[some] = frost_1961(frequency.sum(axis=-2), n_e[some], temperature[some])
        loss_rate[some] = energy_loss_rate(names, frequency, mass)
    return GasState(h, s, v, n_e, mobility, c.e * n_e * mobility, loss_rate)


def bisected(rising: Callable[[float], float], low: float, high: float, *, within: float) -> float:
    """Where a rising function passes zero between two bounds, by halving.

    SciPy's roots would load for a quarter of a second at every start.

    Parameters
    ----------
    rising : callable
    low, high : float
        [any] Bounds.
    within : float
        [any] Width of the bracket that is left.

    Returns
    -------
    float
        [any] Its middle.
    """
    while high - low > within:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if rising(middle) > 0 else (middle, high)
    return 0.5 * (low + high)


def temperature_at(
    gas: Any,
    elements: Mapping[str, float],
    pressure: float,
    *,
    enthalpy: float | None = None,
    entropy: float | None = None,
    low: float,
    high: float,
) -> float:
    """The equilibrium temperature at a pressure and a stated enthalpy or entropy.

    Parameters
    ----------
    gas : cantera.Solution
        From `phase`.
    elements : mapping
        [mol/kg] amount of each element in a kilogram of gas.
    pressure : float
        [Pa]
    enthalpy : float, optional
        [J/kg]
    entropy : float, optional
        [J/(kg K)] where no enthalpy is given.
    low, high : float
        [K] bounds.

    Returns
    -------
    float
        [K] good to half a kelvin: it lays out a table, it enters no result.

    Raises
    ------
    ArithmeticError
        If the temperature lies outside the bounds.
    """
    gas.TPX = high, pressure, _start_composition(gas, elements)

    def excess(T: float) -> float:
        equilibrium(gas, T, pressure)
        if enthalpy is not None:
            return float(gas.enthalpy_mass) - enthalpy
        return float(gas.entropy_mass) - (entropy or 0.0)

    if excess(high) < 0 or excess(low) > 0:
        raise ArithmeticError(f"the gas would be colder than {low:.0f} K or hotter than {high:.0f} K")
    return bisected(excess, low, high, within=0.5)


def molar_heat_capacity(species: str, temperature: ArrayLike) -> NDArray[np.float64]:
    """Heat capacity of one species at constant pressure [J/(mol K)].

    Parameters
    ----------
    species : str
        Name as in the NASA species data.
    temperature : array_like
        [K]
    """
    T = np.asarray(temperature, dtype=np.float64)
    middle, *coefficients = _species()[species].thermo.coeffs  # two NASA polynomials, the hotter one first
    hot, cold = np.reshape(coefficients, (2, 7))[:, :5]
    powers = T[..., None] ** np.arange(5)
    return np.asarray(c.R * np.where(middle < T, powers @ hot, powers @ cold))


def heated_species(elements: Iterable[str]) -> tuple[str, ...]:
    """Species of a heated gas of these elements."""
    within = {*elements, "E"}
    names = (*HEATED_SPECIES, *(name for group in ALKALI_SPECIES.values() for name in group))
    return tuple(name for name in names if set(_species()[name].composition) <= within)


@cache
def data_digest(species: tuple[str, ...] | None = None) -> str:
    """Digest of what shapes an equilibrium beside the mixture: species data, cross sections, Cantera's version."""
    content = [ct.__version__, BASE_SPECIES, ALKALI_SPECIES]
    names = [*BASE_SPECIES, *(name for group in ALKALI_SPECIES.values() for name in group)]
    names = names if species is None else list(species)
    content += [[name, _species()[name].input_data["thermo"]] for name in names]
    neutral = [name for name in names if _species()[name].charge == 0]
    content += [cross_sections(neutral, np.geomspace(0.01, 5.0, 50)).tolist()]
    return hashlib.sha256(json.dumps(content, default=str).encode()).hexdigest()[:16]
