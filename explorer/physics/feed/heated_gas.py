"""A gas that is heated and not burnt: any mixture of simple species, stated by mole or by mass.

An alkali metal among the components is the seed; the others together are the carrier, one mean molecule. Enthalpies
of formation at 298.15 K are those of the standard tables, from memory (the tests compare Cantera's); with a stated
stagnation temperature no result hangs on them.
"""

import difflib
import re
from collections.abc import Mapping
from typing import Final

from explorer.physics.compounds import ALKALI_METALS, ATOMIC_MASS, Compound, molar_mass
from explorer.physics.cross_sections import has_cross_section

#: What a carrier may hold: atoms of one molecule, and its enthalpy of formation as a gas [J/mol].
CARRIERS: Final[Mapping[str, tuple[Mapping[str, float], float]]] = {
    "N2": ({"N": 2.0}, 0.0),
    "O2": ({"O": 2.0}, 0.0),
    "CO": ({"C": 1.0, "O": 1.0}, -110.5e3),
    "CO2": ({"C": 1.0, "O": 2.0}, -393.5e3),
    "H2": ({"H": 2.0}, 0.0),
    "H2O": ({"H": 2.0, "O": 1.0}, -241.8e3),
    "He": ({"He": 1.0}, 0.0),
    "Ar": ({"Ar": 1.0}, 0.0),
    "Kr": ({"Kr": 1.0}, 0.0),
    "Xe": ({"Xe": 1.0}, 0.0),
}

#: By how much shares may miss their sum of 1 [-].
ROUNDING: Final[float] = 1e-6

_SHARE: Final = re.compile(r"(\S+) ([0-9.eE+-]+)")


def known_components() -> tuple[str, ...]:
    """Return what a gas may be made of: carriers whose cross section for electrons is known, and alkali metals."""
    return (*(name for name in CARRIERS if has_cross_section(name)), *ALKALI_METALS)


def shares_text(shares: Mapping[str, float]) -> str:
    """Return shares [-] as one text, in an order of its own: "Cs 0.02, N2 0.98"."""
    return ", ".join(f"{name} {share!r}" for name, share in sorted(shares.items()))


def shares_of_text(text: str) -> dict[str, float]:
    """Return the shares [-] in a text of `shares_text`.

    Parameters
    ----------
    text : str
        As written by `shares_text`.
    """
    return {name: float(share) for name, share in _SHARE.findall(text.replace(",", " "))}


def check_shares(shares: Mapping[str, float]) -> None:
    """Refuse components that are not known, are two metals, or don't add up.

    Parameters
    ----------
    shares : mapping
        [-] by component.

    Raises
    ------
    ValueError
        With a sentence on the first that is wrong.
    """
    known = known_components()
    for name, share in shares.items():
        if name not in known:
            slip = "its cross section for electrons is not known" if name in CARRIERS else "not known"
            guess = [each for each in known if name and each.startswith(name.upper())]
            guess = guess or difflib.get_close_matches(name.title(), known, n=1, cutoff=0.5)
            hint = f'did you mean "{guess[0]}"? ' if guess and name not in CARRIERS else ""
            raise ValueError(f'"{name}": {slip}; {hint}known: {", ".join(known)}')
        if not 0.0 < share <= 1.0:
            raise ValueError(f"the share of {name} must lie above 0 and not above 1; got {share:g}")
    metals = [name for name in shares if name in ALKALI_METALS]
    if len(metals) > 1:
        raise ValueError(f"one alkali metal can be the seed, not {' and '.join(metals)}")
    if len(metals) == len(shares):
        raise ValueError("a gas needs a component that is no alkali metal")
    total = sum(shares.values())
    if abs(total - 1.0) > ROUNDING:
        raise ValueError(f"the shares add up to {total:.8g}, not to 1")


def seed_metal(shares: Mapping[str, float]) -> str | None:
    """Return the alkali metal among the components, None without one.

    Parameters
    ----------
    shares : mapping
        [-] by component.
    """
    return next((name for name in shares if name in ALKALI_METALS), None)


def metal_mass_fraction(shares: Mapping[str, float], by: str) -> float:
    """Return the alkali metal's share of the mass [-].

    Parameters
    ----------
    shares : mapping
        [-] by component.
    by : str
        "mole" or "mass".
    """
    masses = {name: share * _mass_per(name, by) for name, share in shares.items()}
    return masses.get(seed_metal(shares) or "", 0.0) / sum(masses.values())


def carrier(shares: Mapping[str, float], by: str) -> Compound:
    """Return all components but the alkali metal as one mean molecule.

    Parameters
    ----------
    shares : mapping
        [-] by component.
    by : str
        "mole" or "mass".
    """
    moles = {
        name: share / (1.0 if by == "mole" else molar_mass(CARRIERS[name][0]))
        for name, share in shares.items()
        if name not in ALKALI_METALS
    }
    total = sum(moles.values())
    formula: dict[str, float] = {}
    enthalpy = 0.0
    for name, amount in moles.items():
        atoms, of_formation = CARRIERS[name]
        enthalpy += amount / total * of_formation
        for symbol, count in atoms.items():
            formula[symbol] = formula.get(symbol, 0.0) + amount / total * count
    names = " + ".join(moles) if len(moles) > 1 else next(iter(moles))
    return Compound(names, formula, enthalpy, "gas", "components given in the study")


def _mass_per(name: str, by: str) -> float:
    """Mass of a component per share of it."""
    if by == "mass":
        return 1.0
    return ATOMIC_MASS[name] if name in ALKALI_METALS else molar_mass(CARRIERS[name][0])
