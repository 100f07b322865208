"""Electrode materials: erosion under an arc, density, heat, service limit and work function, with their sources said.

The table stands in `materials.csv`; most of it is from memory, as the file says line by line.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

from explorer import constants as c

_MICROGRAM: Final[float] = 1e-9  # kg


@dataclass(frozen=True)
class Material:
    """What an electrode is made of."""

    name: str  #: as a study says it
    lowest_erosion: float  #: [kg/C] under an arc
    highest_erosion: float  #: [kg/C] under an arc
    density: float  #: [kg/m³]
    conductivity: float  #: [W/(m K)] for heat
    heat_capacity: float  #: [J/(kg K)]
    service_limit: float  #: [K] surface temperature that it stands for a firing
    work_function: float  #: [J] of the bare surface


@cache
def materials() -> Mapping[str, Material]:
    """Return every material by its name."""
    text = (files("explorer.physics.contact") / "materials.csv").read_text(encoding="utf-8")
    rows = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    return {name: _material(name, [float(value) for value in values]) for name, *values in rows[1:]}


def _material(name: str, values: list[float]) -> Material:
    low, high, density, conductivity, heat_capacity, limit, work_function = values
    return Material(
        name,
        low * _MICROGRAM,
        high * _MICROGRAM,
        density,
        conductivity,
        heat_capacity,
        limit,
        work_function * c.e,
    )
