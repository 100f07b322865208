"""What ranges of flows and orifices come to: the mixture and the pressures that a gas table must cover."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics import gas as gas_model
from explorer.physics.propellant import oxygen_to_carbon
from explorer.stage.gas.chamber_pressure import pressure_of_speed
from explorer.stage.gas.feeding import Fed, Feed, chamber_of, fed_streams, made
from explorer.stage.gas.propellants import Propellants, composition

Array = NDArray[np.float64]
Ranges = Mapping[str, tuple[float, float]]

#: How far c* may lie from the estimate, and how much is added to what each input moves, as factors.
SPEED_ROOM: Final[float] = 1.02
_ROOM: Final[float] = 1.1

#: How many standard uncertainties independent errors may reach together: of a normal sum, beyond lie 2e-9.
_MOST_UNCERTAINTIES: Final[float] = 6.0

#: Share of the pressure upstream from which on a liquid in a chamber that hardly burns counts as kept out by it.
_HARDLY: Final[float] = 0.9

_SPEED_GUESS: Final[float] = 1600.0
_COLDEST, _HOTTEST = 1000.0, 5900.0
_PASSES: Final[int] = 4

_FED: Final = ("gas.flows.", "gas.seed_water", "gas.seed_vaporized", "gas.combustion_efficiency", "nozzle.")


@lru_cache(maxsize=256)
def adiabatic_speed(propellants: Propellants, mixture: tuple[float, float, float], pressure: float) -> float:
    """Characteristic velocity of the adiabatic flame, to a thousandth or so [m/s].

    Parameters
    ----------
    mixture : tuple of float
        [-] mixture ratio, alkali and carrier water in the gas.
    pressure : float
        [Pa]
    """
    gas, elements = gas_model.phase(propellants.alkali), propellants.elements(*mixture)
    enthalpy = float(propellants.reactant_enthalpy(*mixture))
    flame = gas_model.temperature_at(gas, elements, pressure, enthalpy=enthalpy, low=_COLDEST, high=_HOTTEST)
    start = gas_model.gas_states(gas, elements, np.array([flame]), np.array([pressure]), electrical=False)
    flux = 0.0
    for share in (0.55, 0.58, 0.61):
        T = gas_model.temperature_at(
            gas, elements, share * pressure, entropy=float(start.entropy[0]), low=400.0, high=flame
        )
        here = gas_model.gas_states(
            gas, elements, np.array([T]), np.array([share * pressure]), electrical=False
        )
        fallen = max(float(start.enthalpy[0] - here.enthalpy[0]), 0.0)
        flux = max(
            flux, share * pressure / float(here.pressure_over_density[0]) * float(np.sqrt(2.0 * fallen))
        )
    return pressure / flux


def made_at_speed(feed: Feed, propellants: Propellants, values: Mapping[str, Array], speed: Array) -> Fed:
    """What streams make of a gas whose adiabatic c* is known.

    Parameters
    ----------
    values : mapping
        [SI] by address, each shape (n,).
    speed : NDArray
        [m/s] shape (n,).
    """
    n = speed.size
    streams, chamber = fed_streams(feed, values, n), chamber_of(values, n)
    per_area = speed * chamber.efficiency / chamber.throat_flow_area
    pressure = [
        pressure_of_speed(
            per_area[i], chamber.gas_share[i], streams.steady[i], streams.factor[i], streams.upstream[i]
        )
        for i in range(n)
    ]
    return made(streams, chamber, np.array(pressure), propellants.seed)


def _made_once(feed: Feed, propellants: Propellants, values: Mapping[str, float], speed: float) -> Fed:
    """The same at one set of values and one c* [m/s]."""
    arrays = {address: np.array([value]) for address, value in values.items()}
    return made_at_speed(feed, propellants, arrays, np.array([speed]))


def _speed_of(propellants: Propellants, values: Mapping[str, float], fed: Fed, i: int) -> float:
    """Adiabatic c* [m/s] of one of the mixtures made."""
    ratio, pressure = float(fed.mixture_ratio[i]), float(fed.chamber_pressure[i])
    derived = {"gas.mixture_ratio": ratio, "gas.seed_fraction": float(fed.seed_fraction[i])}
    gas = composition(propellants, {**values, **derived})
    mixture = ratio, float(gas.alkali_fraction), float(gas.carrier_water_fraction)
    elements = {element: np.asarray(amount) for element, amount in propellants.elements(*mixture).items()}
    if float(oxygen_to_carbon(elements)) < 1.0:
        raise ValueError(
            f"gas.flows.oxidizer_orifice: the flows' mixture ratio of {ratio:.3g} leaves less oxygen than carbon, and"
            " the species data hold no soot: raise it"
        )
    return adiabatic_speed(propellants, mixture, pressure)


def central(feed: Feed, propellants: Propellants, values: Mapping[str, float]) -> tuple[Fed, float]:
    """Mixture and pressure at one set of values, to a per cent or so, and adiabatic c* [m/s].

    Parameters
    ----------
    values : mapping
        [SI] by address.

    Raises
    ------
    ValueError
        If a liquid doesn't flow in, or the mixture has less oxygen than carbon.
    """
    speed = _SPEED_GUESS
    for _ in range(_PASSES):
        fed = _made_once(feed, propellants, values, speed)
        if not (fed.mixture_ratio[0] > 0.0 and np.isfinite(fed.mixture_ratio[0])):
            raise ValueError(
                "no fuel or no oxidizer flows in against the chamber: raise the pressure upstream"
            )
        speed = _speed_of(propellants, values, fed, 0)
    return fed, speed


def refuse_unfed(feed: Feed, propellants: Propellants, values: Mapping[str, float]) -> None:
    """Refuse a gas orifice that isn't choked and a liquid that would flow back, at one set of values.

    Parameters
    ----------
    values : mapping
        [SI] by address.

    Raises
    ------
    ValueError
        With the pressure that is needed upstream.
    """
    ceilings = fed_streams(feed, values, 1).ceiling[0]
    try:
        fed, _ = central(feed, propellants, values)
    except ArithmeticError:  # so lean or so rich that it hardly burns: perhaps for a liquid that hardly flows
        fed = _made_once(feed, propellants, values, _SPEED_GUESS)
        ceilings = np.where(ceilings * _HARDLY < fed.chamber_pressure[0], ceilings * _HARDLY, ceilings)
        if np.all(fed.chamber_pressure[0] <= ceilings):
            raise
    pressure = float(fed.chamber_pressure[0])
    for stream, ceiling in zip(feed.streams, ceilings, strict=True):
        if pressure <= ceiling:
            continue
        key = f"gas.flows.{stream.name}_orifice.upstream_pressure"
        upstream = float(np.asarray(values[key]))
        slip = "is not choked" if stream.kind == "gas" else "feeds next to nothing"
        raise ValueError(
            f"{key}: at {upstream / 1e5:.4g} bar the orifice {slip}, for the chamber comes to about"
            f" {pressure / 1e5:.3g} bar: it needs more than {upstream * pressure / ceiling / 1e5:.3g} bar"
        )


def derived_ranges(
    feed: Feed, propellants: Propellants, ranges: Ranges, spread: Mapping[str, float] | None = None
) -> dict[str, tuple[float, float]]:
    """Ranges of mixture ratio, seed fraction and chamber pressure beside those of the inputs.

    Each input moves alone from the middle of its range to both ends, with c* as uncertain as its estimate. What
    inputs of known spread move is added as independent errors are; what the others move is summed.

    Parameters
    ----------
    ranges : mapping
        Lowest and highest value [SI] of every input.
    spread : mapping, optional
        Standard uncertainty [SI] of inputs whose whole distribution lies within their range.
    """
    middle = {address: 0.5 * (low + high) for address, (low, high) in ranges.items()}
    moving = [a for a, (low, high) in ranges.items() if a.startswith(_FED) and low != high]
    _, speed = central(feed, propellants, middle)
    speeds = np.full(3 + 2 * len(moving), speed)
    speeds[1:3] = speed / SPEED_ROOM, speed * SPEED_ROOM
    values = {address: np.full(speeds.size, value) for address, value in middle.items()}
    for k, address in enumerate(moving):
        values[address][3 + 2 * k : 5 + 2 * k] = ranges[address]
    moved = made_at_speed(feed, propellants, values, speeds)
    ends = {int(np.nanargmin(moved.mixture_ratio)), int(np.nanargmax(moved.mixture_ratio))}
    other = [_speed_of(propellants, middle, moved, i) for i in ends if i > 2]
    speeds[1:3] = min(speed, *other, speed) / SPEED_ROOM, max(speed, *other, speed) * SPEED_ROOM
    moved = made_at_speed(feed, propellants, values, speeds)
    parts = np.array([0.0] + [_part((spread or {}).get(address), ranges[address]) for address in moving])
    ratio, pressure = (_spread(np.log(each), parts) for each in (moved.mixture_ratio, moved.chamber_pressure))
    down, up = _spread(moved.seed_fraction, parts)
    seed = float(moved.seed_fraction[0])
    return {
        **ranges,
        "gas.mixture_ratio": _around(float(moved.mixture_ratio[0]), ratio),
        "gas.chamber_pressure": _around(float(moved.chamber_pressure[0]), pressure),
        "gas.seed_fraction": (max(seed - down, 0.0), min(seed + up, 1.0)),
    }


def _part(uncertainty: float | None, ends: tuple[float, float]) -> float:
    """Standard uncertainty over half the range [-], 0 where it is not known."""
    return 0.0 if uncertainty is None else 2.0 * uncertainty / (ends[1] - ends[0])


def _spread(values: Array, parts: Array) -> tuple[float, float]:
    """How far inputs that move alone reach down and up together, the first value being where they begin.

    Parameters
    ----------
    parts : NDArray
        [-] of each input, its standard uncertainty over half its range, 0 where it is not known.
    """
    off = np.where(np.isfinite(values), values - values[0], 0.0)[1:].reshape(-1, 2)
    down, up = np.maximum(-off.min(axis=1), 0.0), np.maximum(off.max(axis=1), 0.0)
    return _together(down, parts), _together(up, parts)


def _together(moves: Array, parts: Array) -> float:
    independent = _MOST_UNCERTAINTIES * float(np.sqrt(np.sum((moves * parts) ** 2)))
    return _ROOM * min(float(moves.sum()), float(moves[parts == 0.0].sum()) + independent)


def _around(value: float, spread: tuple[float, float]) -> tuple[float, float]:
    return value * float(np.exp(-spread[0])), value * float(np.exp(spread[1]))
