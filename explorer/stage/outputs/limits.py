"""Limits beyond which the model or a stage is no longer to be trusted, and the warnings that a point carries for them.

They are explained in MODEL.md, section 8.
"""

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.physics.magnet import GRADES
from explorer.physics.streams import seed_dissolves
from explorer.stage.columns import NO_CONTACT, OUTSIDE_TABLE, SPARK
from explorer.stage.design import ambient_pressure, magnet_temperature
from explorer.stage.outputs.electrodes import allowed_burn_time
from explorer.stage.outputs.points import Points

#: Current density above which a discharge on cold metal leaves the diffuse mode [A/m²]; common practice, no source.
DIFFUSE_LIMIT: Final[float] = 1e4

#: Overheating number above which a discharge tends to constrict [-]; estimate.
OVERHEATING_LIMIT: Final[float] = 0.5

#: Axial field along an insulating wall that breaks down to neighbours [V/m]: Stanford HTGL, DTIC ADA025949, 1975.
WALL_FIELD_LIMIT: Final[float] = 4e3

#: Electrons' excess over the gas temperature above which the current is underestimated [-]; estimate.
ELECTRON_EXCESS_LIMIT: Final[float] = 0.02

#: Exit over ambient pressure below which the flow separates [-]; common practice, no source.
SEPARATION_RATIO: Final[float] = 0.4

#: Gas temperature below which the seed condenses [K]; assumed.
CONDENSATION_TEMPERATURE: Final[float] = 1500.0


def warning_bits(points: Points, grade: str | None) -> NDArray[np.uint32]:
    """Warnings that each point carries, as bits of `registry.WARNING_BITS`.

    Parameters
    ----------
    grade : str or None
        Magnet grade, where the study names one.

    Returns
    -------
    NDArray
        [-] shape (n,).
    """
    n = points.outcomes.size
    bits = np.zeros(n, dtype=np.uint32)

    def mark(code: str, where: NDArray[np.bool_]) -> None:
        np.bitwise_or(
            bits, np.uint32(registry.WARNING_BITS[code]), out=bits, where=np.broadcast_to(where, (n,))
        )

    mark("outside_gas_table", points.outcomes == OUTSIDE_TABLE)
    for pair in points.design.pairs:
        mark("constricted", points.of_pair(pair.name, "constricted") > 0)
        mark("current_density", points.of_pair(pair.name, "max_current_density") > DIFFUSE_LIMIT)
        mark("overheating", points.of_pair(pair.name, "overheating_number") > OVERHEATING_LIMIT)
        mark("hall_field", points.of_pair(pair.name, "max_hall_field") > WALL_FIELD_LIMIT)
        mark("cathode_limited", points.of_pair(pair.name, "cathode_limited") > 0)
        if pair.material is not None and "gas.burn_time" in points.values:
            mark("electrodes_too_hot", points.value("gas.burn_time") > allowed_burn_time(points, pair.name))
        mark("spark", points.of_pair(pair.name, "contact") == SPARK)
        mark("pulsed", points.of_pair(pair.name, "pulse_charge") > 0)
        if f"electrodes.{pair.name}.source.charger_power" in points.values:
            most = points.of_electrodes(pair.name, "source.charger_power")
            mark("charger_too_weak", points.of_pair(pair.name, "source_power") > most)
        mark("hot_electrons", points.of_pair(pair.name, "electron_excess_share") > ELECTRON_EXCESS_LIMIT)
    for one, two in zip(points.design.pairs, points.design.pairs[1:], strict=False):
        behind = points.of_electrodes(one.name, "start") + points.of_electrodes(one.name, "length")
        spacing = points.of_electrodes(two.name, "start") - behind
        step = points.of_pair(two.name, "terminal_voltage") - points.of_pair(one.name, "terminal_voltage")
        mark("neighbouring_pairs", np.abs(step) > WALL_FIELD_LIMIT * spacing)
    numbered = points.outcomes <= NO_CONTACT
    mark("separation", points["exit_pressure"] < SEPARATION_RATIO * ambient_pressure(points.values))
    mark("cold_gas", points["coldest_gas"] < CONDENSATION_TEMPERATURE)
    if grade is not None:
        mark("magnet_temperature", magnet_temperature(points.values) > GRADES[grade].limit_temperature)
    dissolves = seed_dissolves(points.value("gas.seed_water"), points.design.propellants.seed)
    mark("seed_not_soluble", ~np.asarray(dissolves) & numbered)
    return bits


def warnings_in(bits: int) -> Mapping[str, str]:
    """Warnings in a point's bits.

    Parameters
    ----------
    bits : int
        [-] from `warning_bits`.

    Returns
    -------
    mapping
        Sentence by title.
    """
    return {w.title: w.sentence for w in registry.WARNINGS if bits & w.bit}
