"""How fuels, oxidisers and seeds are written elsewhere; a study has one spelling for each.

A liquid that this model injects as a gas is a matter of its enthalpy and not of spelling: that is said with it.
A word that is misspelled is answered with the nearest one known.
"""

import difflib
from collections.abc import Iterable
from typing import Final

#: By name here: other names and formulas of the same substance.
OTHER_SPELLINGS: Final = {
    "ethanol": ("ethyl alcohol", "EtOH", "C2H5OH", "C2H6O"),
    "methanol": ("methyl alcohol", "MeOH", "CH3OH", "CH4O"),
    "isopropanol": ("isopropyl alcohol", "IPA", "2-propanol", "propan-2-ol"),
    "propane": ("C3H8",),
    "methane": ("CH4", "GCH4"),
    "hydrogen": ("H2", "GH2"),
    "kerosene": ("RP-1", "RP1"),
    "paraffin": ("paraffin wax", "wax"),
    "htpb": ("hydroxyl-terminated polybutadiene",),
    "oxygen": ("O2", "GOX", "GO2"),
    "nitrous oxide": ("N2O", "nitrous", "laughing gas"),
    "hydrogen peroxide": ("H2O2", "HTP", "peroxide"),
    "potassium carbonate": ("K2CO3", "potash"),
    "potassium nitrate": ("KNO3", "saltpetre", "saltpeter"),
    "potassium hydroxide": ("KOH", "caustic potash"),
    "cesium carbonate": ("caesium carbonate", "Cs2CO3"),
    "sodium carbonate": ("Na2CO3", "soda ash"),
}

#: By name here: the same substance as a liquid, which is injected as a gas here.
LIQUIDS: Final = {
    "oxygen": ("LOX", "LO2", "liquid oxygen"),
    "nitrous oxide": ("liquid nitrous oxide", "liquid N2O"),
    "methane": ("LCH4", "liquid methane"),
    "hydrogen": ("LH2", "liquid hydrogen"),
    "propane": ("liquid propane",),
}


def house_name(written: str, names: Iterable[str]) -> tuple[str, bool] | None:
    """Return how one of the names is spelled here, and whether a liquid is meant by it; None for an unknown word."""
    plain = " ".join(written.casefold().split())
    for name in names:
        if plain in (name.casefold(), *map(str.casefold, OTHER_SPELLINGS.get(name, ()))):
            return name, False
        if plain in map(str.casefold, LIQUIDS.get(name, ())):
            return name, True
    return None


def nearest(name: str, candidates: Iterable[str]) -> str | None:
    """Return the candidate most like a name, or None where none is like it."""
    found = difflib.get_close_matches(name, list(candidates), n=1, cutoff=0.6)
    return found[0] if found else None


def did_you_mean(name: str, candidates: Iterable[str], *, otherwise: str = "") -> str:
    """Return ': did you mean "…"?' with the candidate most like a name; where none is, other words or nothing."""
    guess = nearest(name, candidates)
    words = f'did you mean "{guess}"?' if guess else otherwise
    return f": {words}" if words else ""
