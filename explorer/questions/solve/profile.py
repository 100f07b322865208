"""The channel's profile as CSV: SI, the unit in each head, two rows where a pair begins or ends."""

import io
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


def profile_csv(profile: pd.DataFrame) -> str:
    """Return a profile as CSV."""
    heads = {name: f"{name} [{UNITS[name]}]" for name in profile.columns}
    text = io.StringIO()
    profile[list(UNITS)].rename(columns=heads).to_csv(
        text, index=False, float_format="%.12g", lineterminator="\n"
    )
    return text.getvalue()
