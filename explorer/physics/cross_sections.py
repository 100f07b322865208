"""Electron momentum-transfer cross sections of the exhaust's species against electron energy.

Measured sets (N2, O2, H2, CO, CO2, H2O; He, Ar, Kr, Xe) stand in two data files with their sources; between rows
they are linear, beyond the ends the end value holds. The rest is assumed: constants for the atoms and NO, no source;
strong dipoles (OH, CN and the alkali hydroxides) follow water's set times the ratio of dipole moments squared. What may
be stated as a component has a set or an assumption, and so have the atoms that it comes apart into. The species left
(`UNKNOWN`) are scarce and count as transparent; a test bounds what they could do, and where the seed's oxides are not
scarce a study says so.
"""

from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from io import StringIO
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Assumed constants [1e-20 m²]; no source. Nitrogen and carbon atoms from memory of calculated sets between 0.3 and
#: 2 eV, where N lies between 5 and 15 and C between 10 and 50; they count above 4500 K only.
ASSUMED_CONSTANT: Final[dict[str, float]] = {
    "K": 400.0,
    "Na": 400.0,
    "Cs": 400.0,
    "H": 25.0,
    "O": 5.0,
    "NO": 8.0,
    "N": 8.0,
    "C": 25.0,
}

#: Dipole moments [D] of species taken as strong dipoles; assumed, no source.
ASSUMED_DIPOLE_MOMENT: Final[dict[str, float]] = {
    "OH": 1.655,
    "CN": 1.45,
    "KOH": 7.415,
    "NaOH": 6.8,
    "CsOH": 7.1,
}

#: Neutral species whose cross section is not known: none is counted.
UNKNOWN: Final = (
    *("HO2", "KO", "KH", "K2", "K2O2H2", "CsO", "Cs2", "Cs2O", "Cs2O2H2"),
    *("NaO", "NaH", "Na2", "Na2O2H2"),
)

#: Dipole moment of water [D], the reference of the dipole rule.
WATER_DIPOLE_MOMENT: Final[float] = 1.855

#: How many times the elastic 2 m_e/m an electron loses in a collision: geometric middle of ranges given from memory,
#: 10 to 100 for the first group, 100 to 3000 for the second; 1 for noble gases and other atoms.
_LOSS_FACTOR: Final[dict[str, float]] = {
    **dict.fromkeys(("H2", "N2", "O2", "NO"), 32.0),
    **dict.fromkeys(("CO", "CO2", "H2O", "OH", "CN", "KOH", "NaOH", "CsOH"), 550.0),
}

_UNIT: Final[float] = 1e-20  # m², the unit of the tables
_FILES: Final = ("electron_momentum_transfer.csv", "electron_momentum_transfer_noble.csv")


@cache
def _measured() -> dict[str, tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Energies [eV] and measured set [m²] by species."""
    sets = {}
    for file in _FILES:
        text = (files("explorer.physics") / file).read_text(encoding="utf-8")
        lines = [line for line in text.splitlines() if line and not line.startswith("#")]
        rows = np.loadtxt(StringIO("\n".join(lines[1:])), delimiter=",")
        for i, name in enumerate(lines[0].split(",")[1:], start=1):
            sets[name] = rows[:, 0], rows[:, i] * _UNIT
    return sets


def loss_factor(species: str) -> float:
    """Energy lost in a collision over the elastic share 2 m_e/m [-]; an estimate to a factor 3 to 5."""
    return _LOSS_FACTOR.get(species, 1.0)


def has_cross_section(species: str) -> bool:
    """Whether a species has a measured set or an assumption."""
    return species in _measured() or species in ASSUMED_CONSTANT or species in ASSUMED_DIPOLE_MOMENT


def cross_section(species: str, energy_eV: NDArray[np.float64]) -> NDArray[np.float64]:
    """Momentum-transfer cross section of one species.

    Parameters
    ----------
    species : str
        Name as in the NASA species data, for example ``"H2O"``.
    energy_eV : NDArray
        [eV] electron energies, any shape.

    Returns
    -------
    NDArray
        [m²] same shape; zero for a species of `UNKNOWN`.

    Raises
    ------
    KeyError
        For any other species that has no set and no assumption.
    """
    sets = _measured()
    if species in sets:
        return np.asarray(np.interp(energy_eV, *sets[species]))
    if species in ASSUMED_CONSTANT:
        return np.full_like(energy_eV, ASSUMED_CONSTANT[species] * _UNIT)
    if species in ASSUMED_DIPOLE_MOMENT:
        ratio = ASSUMED_DIPOLE_MOMENT[species] / WATER_DIPOLE_MOMENT
        return np.asarray(ratio**2 * np.interp(energy_eV, *sets["H2O"]))
    if species in UNKNOWN:
        return np.zeros_like(energy_eV)
    raise KeyError(f"no cross section for electrons of {species}")


def cross_sections(species: Sequence[str], energy_eV: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cross sections of several species.

    Parameters
    ----------
    species : sequence of str
        Names, length s.
    energy_eV : NDArray
        [eV] electron energies, any shape.

    Returns
    -------
    NDArray
        [m²] shape (s, ...).
    """
    return np.stack([cross_section(name, energy_eV) for name in species])
