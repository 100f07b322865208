"""How wide a gas table must be for given ranges of a study's inputs.

The band follows the isentropic expansion of the hottest and the coldest gas of the ranges, widened for what wall,
friction and current do to it.
"""

from collections.abc import Mapping
from itertools import product
from typing import Any, Final, NamedTuple

import numpy as np

from explorer.physics import gas as gas_model
from explorer.stage.gas.propellants import LN_UNSEEDED, Propellants, Substances, composition, least_alkali
from explorer.stage.gas.table import COLDEST_WALL, LN_HOTTEST, SHEAR, SPACING, Axis, TableAxes

Ranges = Mapping[str, tuple[float, float]]

#: Inputs whose ranges a table's axes follow.
SHAPING_INPUTS: Final = (
    *("gas.mixture_ratio", "gas.seed_fraction", "gas.seed_water", "gas.seed_vaporized", "gas.trace_alkali"),
    *("gas.chamber_pressure", "gas.combustion_efficiency", "gas.stagnation_temperature"),
    *("nozzle.throat_diameter", "nozzle.discharge_coefficient"),
    *("channel.gap_in", "channel.gap_out", "channel.width_in", "channel.width_out"),
    *("channel.wall_temperature", "exit.area_ratio"),
)


class Room(NamedTuple):
    """How far a table reaches beyond the isentropes."""

    above: float  #: [-] in ln T: current and friction heat
    below: float  #: [-] in ln T: the wall cools
    pressure: float  #: [-] below the isentropic exit pressure, as a factor


#: From the table that serves nearly all points to one that serves all that the species data do: a point that leaves
#: one is solved on the next, so that its numbers don't depend on which others are solved beside it.
ROOMS: Final = (Room(0.36, 0.24, 0.45), Room(0.75, 0.5, 0.15), Room(np.inf, 1.0, 0.03))

#: Ratio of specific heats with which pressures are estimated; low and high give the wider range.
_RATIO_LOW, _RATIO_HIGH = 1.10, 1.26
_RATIO_OF_ATOMS: Final[float] = 5 / 3  #: a noble gas, the highest that there is

_HOTTEST: Final[float] = 5900.0
_COLDEST: Final[float] = 1000.0
_COLDEST_EXPANDED: Final[float] = 400.0
_COLDEST_TABLE: Final[float] = 300.0

#: Distance between mixture ratios that is right for ethanol and oxygen about their stoichiometric one [-].
_FINEST: Final[float] = 0.08


def supersonic_pressure_ratio(area_ratio: float, heat_capacity_ratio: float) -> float:
    """Static over chamber pressure of a perfect gas at a supersonic area ratio [-].

    Parameters
    ----------
    area_ratio : float
        [-] area over throat area, at least 1.
    heat_capacity_ratio : float
        [-]
    """
    g = heat_capacity_ratio

    def excess(mach: float) -> float:
        total = 2 / (g + 1) * (1 + (g - 1) / 2 * mach**2)
        return float(total ** ((g + 1) / (2 * (g - 1))) / mach - area_ratio)

    mach = gas_model.bisected(excess, 1.0, 60.0, within=1e-9) if area_ratio > 1.0 else 1.0
    return float((1 + (g - 1) / 2 * mach**2) ** (-g / (g - 1)))


def _corners(propellants: Substances, ranges: Ranges) -> list[tuple[float, float, float]]:
    """Composition coordinates (mixture ratio, alkali, carrier water) at all corners of the ranges."""
    seeding = ("gas.seed_fraction", "gas.seed_water", "gas.seed_vaporized")
    names = ("gas.mixture_ratio", *(("gas.trace_alkali",) if propellants.trace else seeding))
    found = []
    for corner in product(*(sorted(set(ranges[name])) for name in names)):
        gas = composition(propellants, dict(zip(names, corner, strict=True)))
        found.append((corner[0], float(gas.alkali_fraction), float(gas.carrier_water_fraction)))
    if not np.isfinite(found).all():
        raise ValueError("seed and carrier water leave no room for propellants somewhere in these ranges")
    return found


def _flames(
    propellants: Propellants, mixture: tuple[float, float, float], pressure: float, efficiency: float
) -> tuple[float, float]:
    """Temperatures [K] of the adiabatic flame and of a lossy chamber."""
    gas, elements = gas_model.phase(propellants.alkali), propellants.elements(*mixture)
    enthalpy = float(propellants.reactant_enthalpy(*mixture))
    flame = gas_model.temperature_at(gas, elements, pressure, enthalpy=enthalpy, low=_COLDEST, high=_HOTTEST)
    return flame, flame * efficiency**1.9


def _band(
    propellants: Substances,
    mixture: tuple[float, float, float],
    pressure: float,
    chamber: tuple[float, float],
    lowest_z: float,
) -> tuple[float, float]:
    """Lowest and highest ξ on the isentropes from the hottest and the coldest chamber [K]."""
    gas = gas_model.phase(propellants.alkali, species=propellants.species)
    elements = propellants.elements(*mixture)
    band = []
    for T in chamber:
        start = gas_model.gas_states(gas, elements, np.array([T]), np.array([pressure]), electrical=False)
        band.append(np.log(T) - SHEAR * np.log(pressure))
        for share in (0.5, 1.0):
            z = np.log(pressure) + share * (lowest_z - np.log(pressure))
            cold = _isentropic(gas, elements, float(np.exp(z)), entropy=float(start.entropy[0]), high=T)
            band.append(np.log(cold) - SHEAR * z)
    return min(band), max(band)


def _isentropic(
    gas: Any, elements: Mapping[str, float], pressure: float, *, entropy: float, high: float
) -> float:
    """Temperature [K] on an isentrope, not below what a table reaches: a point colder than that lies outside."""
    try:
        return gas_model.temperature_at(
            gas, elements, pressure, entropy=entropy, low=_COLDEST_EXPANDED, high=high
        )
    except ArithmeticError:
        return _COLDEST_EXPANDED


def _ratio_spacing(propellants: Substances, low: float, high: float) -> float:
    """Spacing along the mixture ratio [-], in round numbers: a share of the stoichiometric one, or of the middle.

    Half of it where a range holds the stoichiometric mixture, about which free oxygen appears, though not below what
    is right for ethanol and oxygen. A range that is narrower than a spacing has the fewest nodes anyway: they are
    drawn together.
    """
    if not isinstance(propellants, Propellants):  # nothing burns, and there is no ratio to vary
        return _FINEST
    whole = propellants.stoichiometric_ratio
    spacing = float(f"{SPACING['mixture_ratio'] * (whole if whole > 0.0 else 0.5 * (low + high)):.2g}")
    if low - spacing < whole < high + spacing:
        spacing = max(0.5 * spacing, min(spacing, _FINEST))
    while 0.0 < high - low < 0.5 * spacing:
        spacing *= 0.5
    return spacing


def table_axes(
    propellants: Substances, ranges: Ranges, room: Room = ROOMS[0], *, layers: bool = False
) -> TableAxes:
    """The axes of a table that serves all points within the ranges.

    Parameters
    ----------
    ranges : mapping
        Lowest and highest value [SI] of the `SHAPING_INPUTS`, by address.
    room : Room, optional
        One of `ROOMS`.
    layers : bool, optional
        Whether it shall hold the cool layers' electrons, from the coldest wall to the coldest state of the band.

    Raises
    ------
    ArithmeticError
        If a flame temperature isn't found within 1000 … 5900 K: outside what is modelled.
    ValueError
        If a mixture has less oxygen than carbon.
    """
    corners = _corners(propellants, ranges)
    ratios, alkalis, waters = (np.array(c) for c in zip(*corners, strict=True))
    if propellants.seed is None:
        ln_seed = np.zeros(1)
    elif alkalis.max() < least_alkali(propellants):
        ln_seed = np.array([LN_UNSEEDED])
    else:
        ln_seed = np.log(np.maximum(alkalis, least_alkali(propellants)))
    p_low, p_high = ranges["gas.chamber_pressure"]
    throat = [np.pi / 4 * d**2 for d in ranges["nozzle.throat_diameter"]]
    flow = (
        throat[0] * ranges["nozzle.discharge_coefficient"][0],
        throat[1] * ranges["nozzle.discharge_coefficient"][1],
    )
    inlet = [ranges["channel.gap_in"][i] * ranges["channel.width_in"][i] for i in (0, 1)]
    outlet = ranges["channel.gap_out"][1] * ranges["channel.width_out"][1] * ranges["exit.area_ratio"][1]
    largest = max(outlet, inlet[1]) / flow[0]
    ratio_high = _RATIO_HIGH if isinstance(propellants, Propellants) else _RATIO_OF_ATOMS
    lowest = p_low * supersonic_pressure_ratio(max(largest, 1.0), ratio_high) * room.pressure
    lowest_z = float(np.log(lowest))
    efficiency = ranges["gas.combustion_efficiency"][0]
    # Mixture ratio moves the flame most; alkali and water stay within the room left around the band.
    middle = float(alkalis.mean()), float(waters.mean())
    mixtures = {(float(ratio), *middle) for ratio in np.linspace(ratios.min(), ratios.max(), 3)}
    pressures = {p_high} if p_high < 1.1 * p_low else {p_low, p_high}
    bands = []
    for mixture, p in product(sorted(mixtures), sorted(pressures)):
        if isinstance(propellants, Propellants):
            chamber = _flames(propellants, mixture, p, efficiency)
        else:
            chamber = ranges["gas.stagnation_temperature"]
        bands.append(_band(propellants, mixture, p, chamber, lowest_z))
    at_inlet = (
        p_low * supersonic_pressure_ratio(max(inlet[1] / flow[0], 1.0), ratio_high) * 0.8,
        p_high * supersonic_pressure_ratio(max(inlet[0] / flow[1], 1.0), _RATIO_LOW) * 1.2,
    )
    walls = [T for address, range_ in ranges.items() if address.endswith("wall_temperature") for T in range_]
    xi = Axis.over(
        max(min(b[0] for b in bands) - room.below, np.log(_COLDEST_TABLE) - SHEAR * lowest_z),
        min(max(b[1] for b in bands) + room.above, LN_HOTTEST - SHEAR * lowest_z),
        SPACING["xi"],
    )
    if layers:
        walls.append(float(np.exp(xi.origin + SHEAR * np.log(p_high))))
    wall = Axis.over(
        np.log(max(min(walls), COLDEST_WALL) * 0.98),
        np.log(max(*walls, COLDEST_WALL) * 1.02),
        SPACING["ln_layer_temperature" if layers else "ln_wall_temperature"],
    )
    return TableAxes(
        Axis.over(
            float(ratios.min()),
            float(ratios.max()),
            _ratio_spacing(propellants, float(ratios.min()), float(ratios.max())),
        ),
        Axis.over(float(ln_seed.min()), float(ln_seed.max()), SPACING["ln_alkali"]),
        Axis.over(float(waters.min()), float(waters.max()), SPACING["carrier_water"]),
        xi,
        Axis.over(lowest_z, float(np.log(p_high * 1.02)), SPACING["ln_pressure"]),
        wall,
        Axis.over(np.log(at_inlet[0]), np.log(at_inlet[1]), SPACING["ln_wall_pressure"]),
        layers,
    )
