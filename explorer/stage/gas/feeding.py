"""Chamber pressure and mixture of a gas that is stated by what is set at the stand.

Each stream has a mass flow that is stated, that of a choked gas orifice, which the chamber does not touch, or that of
a liquid orifice, which falls as the chamber's pressure rises.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.physics.compounds import WATER, Compound
from explorer.physics.feed.orifices import (
    critical_flow,
    critical_pressure_ratio,
    heat_capacity_ratio,
    liquid_flow_factor,
)
from explorer.physics.propellant import alkali_mass_fraction
from explorer.stage.gas.chamber_pressure import Chamber, FedStreams, pressures
from explorer.stage.gas.propellants import Propellants
from explorer.stage.gas.table import GasTable

Array = NDArray[np.float64]
Values = Mapping[str, ArrayLike]

Kind = Literal["stated", "gas", "liquid"]


@dataclass(frozen=True)
class Stream:
    """How one stream comes to its flow."""

    name: str  #: "fuel", "oxidizer" or "seed_solution"
    kind: Kind  #: stated, through a gas orifice, through a liquid one
    compound: Compound | None = None  #: what flows, where it is pure

    def value(self, values: Values, key: str) -> ArrayLike:
        """A value of its orifice [SI]."""
        return values[f"gas.flows.{self.name}_orifice.{key}"]


@dataclass(frozen=True)
class Feed:
    """The streams of fuel, oxidizer and seed solution."""

    fuel: Stream
    oxidizer: Stream
    seed_solution: Stream

    @property
    def streams(self) -> tuple[Stream, Stream, Stream]:
        """All three, in the order of the arrays here."""
        return self.fuel, self.oxidizer, self.seed_solution


def fed_streams(feed: Feed, values: Values, n: int) -> FedStreams:
    """The streams of a series of points.

    Parameters
    ----------
    values : mapping
        [SI] by address.
    n : int
        [-] points.
    """
    steady, factor = np.zeros((n, 3)), np.zeros((n, 3))
    upstream, ceiling = np.zeros((n, 3)), np.full((n, 3), np.inf)
    for k, stream in enumerate(feed.streams):
        if stream.kind == "stated":
            steady[:, k] = values.get(f"gas.flows.{stream.name}", 0.0)
            continue
        diameter, pressure = (
            np.asarray(stream.value(values, key)) for key in ("diameter", "upstream_pressure")
        )
        area = np.asarray(stream.value(values, "discharge_coefficient")) * np.pi / 4 * diameter**2
        if stream.kind == "liquid":
            known = stream.compound.density if stream.compound else None
            density = values.get(f"gas.flows.{stream.name}_orifice.density", known)
            factor[:, k] = liquid_flow_factor(area=area, density=np.asarray(density, dtype=np.float64))
            upstream[:, k] = ceiling[:, k] = pressure
            continue
        assert stream.compound is not None  # a gas orifice has one
        T = stream.value(values, "upstream_temperature")
        ratio = heat_capacity_ratio(stream.compound.name, T)
        molar_mass = stream.compound.molar_mass
        steady[:, k] = critical_flow(
            area=area, pressure=pressure, temperature=T, molar_mass=molar_mass, heat_capacity_ratio=ratio
        )
        ceiling[:, k] = pressure * critical_pressure_ratio(ratio)
    return FedStreams(steady, factor, upstream, ceiling)


def chamber_of(values: Values, n: int) -> Chamber:
    """What else shapes the chambers of a series of points.

    Parameters
    ----------
    values : mapping
        [SI] by address.
    n : int
        [-] points.
    """
    water = np.asarray(values["gas.seed_water"], dtype=np.float64)
    vaporized = np.asarray(values["gas.seed_vaporized"], dtype=np.float64)
    throat, coefficient = values["nozzle.throat_diameter"], values["nozzle.discharge_coefficient"]
    area = np.pi / 4 * np.square(throat) * np.asarray(coefficient)
    each = (
        (water + vaporized) / (1 + water),
        water / (1 + water),
        vaporized / (1 + water),
        values["gas.combustion_efficiency"],
        area,
    )
    return Chamber(*(np.ascontiguousarray(np.broadcast_to(np.asarray(x, np.float64), (n,))) for x in each))


class Fed(NamedTuple):
    """What the streams of a series of points make, each shape (n,)."""

    mixture_ratio: Array  #: [-]
    seed_fraction: Array  #: [-]
    chamber_pressure: Array  #: [Pa] NaN where it isn't found
    feeds: NDArray[np.bool_]  #: false where a gas orifice isn't choked or a liquid would flow back


def made(streams: FedStreams, chamber: Chamber, pressure: Array, seed: Compound | None) -> Fed:
    """What streams make at a chamber pressure."""
    drop = np.maximum(streams.upstream - pressure[:, None], 0.0)
    fuel, oxidizer, solution = (streams.steady + streams.factor * np.sqrt(drop)).T
    alkali = solution * (1 - chamber.water_share) * (alkali_mass_fraction(seed) if seed else 0.0)
    feeds = ~np.any(pressure[:, None] > streams.ceiling, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        return Fed(oxidizer / fuel, alkali / (fuel + oxidizer + solution), pressure, feeds)


def fed(feed: Feed, propellants: Propellants, values: Values, table: GasTable, n: int) -> Fed:
    """Mixture and chamber pressure of a series of points.

    Parameters
    ----------
    values : mapping
        [SI] by address.
    table : GasTable
        Wide enough for what follows.
    n : int
        [-] points.
    """
    streams, chamber = fed_streams(feed, values, n), chamber_of(values, n)
    seed = propellants.seed
    compounds = (propellants.fuel, propellants.oxidizer, seed or WATER, WATER)
    enthalpies = np.array([each.enthalpy_of_formation / each.molar_mass for each in compounds])
    pressure = np.empty(n)
    share = alkali_mass_fraction(seed) if seed else 0.0
    pressures(table.coefficients, table.axes, streams, chamber, share, enthalpies, pressure)
    return made(streams, chamber, pressure, seed)
