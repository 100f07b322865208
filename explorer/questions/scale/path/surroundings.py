"""What stands around a design while it is fired to be read: what stands around the first end, or what a cell holds.

A step of a ladder is fired where the first end is, for nobody can have the pressure of 20 km on the ground. Only where
the first end's study states an altitude cell, `lowest_pressure` of a [[setup]], it is fired at the pressure that lies
on the way to the second end, or at the lowest that the cell holds. So is the second end itself, when it is fired to be
read.
"""

from dataclasses import replace
from typing import Any, Final

from explorer import registry
from explorer.stage.design import ambient_pressure
from explorer.studyfile import Study, literal

PRESSURE: Final = "ambient.pressure"
ALTITUDE: Final = "ambient.altitude"
AROUND: Final = (PRESSURE, ALTITUDE)


def lowest_pressure(first: Study) -> float | None:
    """The lowest pressure that any altitude cell of a study holds [Pa]; None without one."""
    held = [setup.lowest_pressure for setup in first.setups if setup.lowest_pressure is not None]
    return min(held, default=None)


def around(first: Study, pressure: float) -> dict[str, Any]:
    """What stands in [ambient] of a design that is fired where the first end is, on the way at a pressure [Pa]."""
    lowest = lowest_pressure(first)
    if lowest is None or pressure >= pressure_of(first):
        return {f"ambient.{key}": written for key, written in first.document["ambient"].items()}
    return {PRESSURE: literal(float(f"{max(pressure, lowest):.4g}"), registry.quantity(PRESSURE))}


def fired(second: Study, first: Study) -> Study:
    """The second end where it is fired to be read."""
    return replace(second.replaced(around(first, pressure_of(second))), replacements={}, notes=())


def pressure_of(study: Study) -> float:
    """The ambient pressure at central values [Pa]."""
    return float(ambient_pressure(study.central()))
