"""The channel's profile as CSV: SI, the unit in each head, two rows where a pair begins or ends."""

from typing import Final

import pandas as pd

#: SI unit of each column of a profile.
UNITS: Final[dict[str, str]] = {
    "x": "m",
    "pressure": "Pa",
    "temperature": "K",
    "velocity": "m/s",
    "mach": "1",
    "conductivity": "S/m",
    "current_density": "A/m^2",
    "magnetic_field": "T",
    "electric_field": "V/m",
    "electrode_drop": "V",
    "gap": "m",
    "width": "m",
    "friction_per_length": "N/m",
    "wall_heat_per_length": "W/m",
    "momentum_flux": "N",
    "total_enthalpy": "J/kg",
}


def profile_rows(profile: pd.DataFrame) -> pd.DataFrame:
    """Return a profile with the unit in each head."""
    return profile[list(UNITS)].rename(columns={name: f"{name} [{unit}]" for name, unit in UNITS.items()})
