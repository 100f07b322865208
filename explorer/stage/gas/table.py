"""The gas table: equilibrium properties on a grid, as wide as a study's ranges and samples need.

Five properties stand over (ξ, z), z = ln p and ξ = ln T − a z: the shear `a` lays the grid along the expansion, so
that a band serves instead of a rectangle. Beside it stands the enthalpy at wall temperatures. Up to three
composition coordinates (mixture ratio, ln of the alkali's mass fraction, carrier water's mass fraction) multiply
the grid; one that doesn't vary has a single node.
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from itertools import product
from typing import Final, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from explorer.physics import gas as gas_model
from explorer.stage.gas import spline

#: Slope d ln T / d ln p of the band, between that of a dissociating and that of a frozen expansion.
SHEAR: Final[float] = 0.11

#: ln of the highest temperature [K] of the species data.
LN_HOTTEST: Final[float] = float(np.log(6000.0))

#: The wall's enthalpy is not taken below this temperature [K] (MODEL.md, section 3).
COLDEST_WALL: Final[float] = 500.0

#: Grid spacings: ξ, ln p, ln of wall temperature, ln p at the wall; mixture ratio over the stoichiometric one, ln
#: alkali, carrier water.
SPACING: Final[dict[str, float]] = {
    "xi": 0.06,
    "ln_pressure": 0.35,
    "ln_wall_temperature": 0.15,
    "ln_layer_temperature": 0.08,
    "ln_wall_pressure": 0.7,
    "mixture_ratio": 0.0384,
    "ln_alkali": 0.35,
    "carrier_water": 0.015,
}

#: Properties at a state: enthalpy, p/ρ, entropy, ln σ, mobility × pressure, ln of the electrons' energy loss rate over
#: pressure. In a row they stand in four blocks; of the last only its run with temperature at the middle pressure.
ENTHALPY, PRESSURE_OVER_DENSITY, ENTROPY, LN_CONDUCTIVITY, MOBILITY_PRESSURE, LN_LOSS = range(6)
PROPERTIES: Final[int] = 6

#: Below this conductivity [S/m], that of gas at some 800 K, an equilibrium's electrons are lost in rounding.
LEAST_CONDUCTIVITY: Final[float] = 1e-16

#: Bump when the content of a table changes for the same axes.
FORMAT: Final[int] = 3


class Mixture(Protocol):
    """What a table needs to know of the propellants."""

    @property
    def alkali(self) -> str | None:
        """The seed's metal."""

    def elements(self, mixture_ratio: float, alkali: float, carrier_water: float) -> dict[str, float]:
        """Elements of a kilogram of gas [mol/kg] at one place of the table."""

    @property
    def identity(self) -> str:
        """All that shapes the gas, as text."""

    @property
    def species(self) -> tuple[str, ...] | None:
        """Its species, where they are not those of every exhaust."""


@dataclass(frozen=True)
class Axis:
    """A uniform axis; one node means that the coordinate doesn't vary."""

    origin: float  #: [-] first node
    spacing: float  #: [-] distance between nodes
    nodes: int  #: [-]

    @classmethod
    def over(cls, low: float, high: float, spacing: float) -> "Axis":
        """The axis on the lattice of multiples of the spacing that covers low … high; equal ends give one node."""
        if low == high:
            return cls(low, spacing, 1)
        first = int(np.floor(low / spacing + 1e-9))
        last = int(np.ceil(high / spacing - 1e-9))
        return cls(first * spacing, spacing, max(last - first + 1, spline.FEWEST_NODES))

    @property
    def values(self) -> NDArray[np.float64]:
        """The nodes [-]."""
        return np.asarray(self.origin + self.spacing * np.arange(self.nodes), dtype=np.float64)

    @property
    def last(self) -> float:
        """The last node [-]."""
        return self.origin + self.spacing * (self.nodes - 1)


@dataclass(frozen=True)
class TableAxes:
    """All axes of a gas table."""

    mixture_ratio: Axis
    ln_alkali: Axis
    carrier_water: Axis
    xi: Axis
    ln_pressure: Axis
    ln_wall_temperature: Axis
    ln_wall_pressure: Axis
    #: Whether it holds the electrons of the cool layers on the walls too, over the walls' axes.
    layers: bool = False

    @property
    def composition(self) -> tuple[Axis, Axis, Axis]:
        """The composition axes."""
        return self.mixture_ratio, self.ln_alkali, self.carrier_water

    @property
    def equilibria(self) -> int:
        """How many equilibria the table takes."""
        mixtures = int(np.prod([axis.nodes for axis in self.composition]))
        wall = self.ln_wall_temperature.nodes * self.ln_wall_pressure.nodes
        return mixtures * (self.xi.nodes * self.ln_pressure.nodes + wall)

    @property
    def coefficient_shape(self) -> tuple[int, int, int, int]:
        """Shape of the coefficients of a table on these axes."""
        first, second, third = (
            axis.nodes if axis.nodes == 1 else axis.nodes + 2 for axis in self.composition
        )
        states = (PROPERTIES - 1) * (self.xi.nodes + 2) * (self.ln_pressure.nodes + 2)
        wall = (self.ln_wall_temperature.nodes + 2) * (self.ln_wall_pressure.nodes + 2)
        walls = 3 if self.layers else 1
        return first, second, third, states + walls * wall + self.xi.nodes + 2

    def as_array(self) -> NDArray[np.float64]:
        """Origin, 1/spacing and nodes of each axis [-], rows in the order of the fields: for the compiled side."""
        axes = (*self.composition, self.xi, self.ln_pressure, self.ln_wall_temperature, self.ln_wall_pressure)
        return np.array([[axis.origin, 1 / axis.spacing, axis.nodes] for axis in axes], dtype=np.float64)


class GasTable(NamedTuple):
    """A gas table in the form in which compiled code reads it.

    Single precision halves what a point has to read and shifts the properties by 1e-7 at most. A row is five blocks,
    each flattened: (ξ, z, [enthalpy, p/ρ]), (ξ, z) entropy, (ξ, z, [ln σ, mobility × pressure]), (ln T_w, ln p) wall
    enthalpy, (ξ) ln of energy loss rate over pressure at the middle z. Of a table with layers a sixth, (ln T, ln p,
    [ln σ, mobility × pressure]) over the walls' axes.
    """

    coefficients: NDArray[np.float32]  #: [SI] shape (composition coefficients 1, 2, 3, row)
    axes: NDArray[np.float64]  #: [-] from `TableAxes.as_array`


def table_key(axes: TableAxes, mixture: Mixture) -> str:
    """Digest of all that shapes a table's content."""
    data = gas_model.data_digest(mixture.species)
    content = [
        FORMAT,
        SHEAR,
        {k: v for k, v in asdict(axes).items() if v is not False},
        mixture.identity,
        data,
    ]
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:32]


def _row(axes: TableAxes, mixture: Mixture, coordinates: tuple[float, float, float]) -> NDArray[np.float64]:
    """Nodal values of one mixture: the state properties (properties, ξ, z) and the walls', flattened."""
    ratio, ln_alkali, water = coordinates
    elements = mixture.elements(ratio, float(np.exp(ln_alkali)) if mixture.alkali else 0.0, water)
    gas = gas_model.phase(mixture.alkali, species=mixture.species)
    xi, z = np.meshgrid(axes.xi.values, axes.ln_pressure.values, indexing="ij")
    rows = np.arange(xi.size).reshape(xi.shape)
    rows[1::2] = rows[1::2, ::-1]  # to and fro, so that each state is close to the one before
    order = rows[::-1].ravel()  # from hot to cold
    pressure = np.exp(z.ravel())
    temperature = np.exp(xi.ravel() + SHEAR * z.ravel())
    states = gas_model.gas_states(gas, elements, temperature[order], pressure[order])
    values = np.empty((PROPERTIES, xi.size))
    values[ENTHALPY, order] = states.enthalpy
    values[PRESSURE_OVER_DENSITY, order] = states.pressure_over_density
    values[ENTROPY, order] = states.entropy
    values[LN_CONDUCTIVITY, order] = np.log(states.conductivity)
    values[MOBILITY_PRESSURE, order] = states.mobility * pressure[order]
    values[LN_LOSS, order] = np.log(states.loss_rate / pressure[order])
    T_w, z_w = np.meshgrid(
        np.exp(axes.ln_wall_temperature.values), axes.ln_wall_pressure.values, indexing="ij"
    )
    wall_order = np.argsort(-T_w.ravel(), kind="stable")
    wall = np.empty((3 if axes.layers else 1, T_w.size))
    p_w = np.exp(z_w.ravel())[wall_order]
    at_wall = gas_model.gas_states(gas, elements, T_w.ravel()[wall_order], p_w, electrical=axes.layers)
    wall[0, wall_order] = at_wall.enthalpy
    if axes.layers:
        wall[1, wall_order] = np.log(np.maximum(at_wall.conductivity, LEAST_CONDUCTIVITY))
        wall[2, wall_order] = at_wall.mobility * p_w
    return np.concatenate([values.ravel(), wall.ravel()])


def _rows(
    axes: TableAxes, mixture: Mixture, nodes: list[tuple[float, float, float]]
) -> list[NDArray[np.float64]]:
    return [_row(axes, mixture, node) for node in nodes]


#: Runs the function over the argument tuples, anywhere, and gives the results in order.
Mapper = Callable[
    [Callable[..., list[NDArray[np.float64]]], list[tuple[object, ...]]], list[list[NDArray[np.float64]]]
]


def _in_turn(
    function: Callable[..., list[NDArray[np.float64]]], calls: list[tuple[object, ...]]
) -> list[list[NDArray[np.float64]]]:
    return [function(*call) for call in calls]


def gas_table(axes: TableAxes, mixture: Mixture, *, mapper: Mapper = _in_turn) -> GasTable:
    """The table of a mixture family on given axes.

    Parameters
    ----------
    mapper : callable, optional
        Runs the pieces; in turn by default, in processes from the `run` layer.

    Raises
    ------
    ValueError
        If a mixture of the grid has less oxygen than carbon.
    ArithmeticError
        If an equilibrium is not found.
    """
    nodes = list(product(*(axis.values.tolist() for axis in axes.composition)))
    pieces = max(1, min(len(nodes), 16))
    calls: list[tuple[object, ...]] = [(axes, mixture, nodes[i::pieces]) for i in range(pieces)]
    rows: list[NDArray[np.float64]] = [np.empty(0)] * len(nodes)
    for i, done in enumerate(mapper(_rows, calls)):
        rows[i::pieces] = done
    n = [axis.nodes for axis in axes.composition]
    nodal = np.stack(rows).reshape(*n, -1)
    states = PROPERTIES * axes.xi.nodes * axes.ln_pressure.nodes
    state = nodal[..., :states].reshape(*n, PROPERTIES, axes.xi.nodes, axes.ln_pressure.nodes)
    wall = nodal[..., states:].reshape(*n, -1, axes.ln_wall_temperature.nodes, axes.ln_wall_pressure.nodes)
    for axis in (0, 1, 2):
        state, wall = spline.prefiltered(state, axis), spline.prefiltered(wall, axis)
    loss = spline.prefiltered(state[..., LN_LOSS, :, axes.ln_pressure.nodes // 2], 3)
    state = spline.prefiltered(spline.prefiltered(state, 4), 5)
    wall = spline.prefiltered(spline.prefiltered(wall, 4), 5)
    blocks = [
        np.stack([state[..., ENTHALPY, :, :], state[..., PRESSURE_OVER_DENSITY, :, :]], axis=-1),
        state[..., ENTROPY, :, :],
        np.stack([state[..., LN_CONDUCTIVITY, :, :], state[..., MOBILITY_PRESSURE, :, :]], axis=-1),
        wall[..., 0, :, :],
        loss,
    ]
    if axes.layers:
        blocks.append(np.stack([wall[..., 1, :, :], wall[..., 2, :, :]], axis=-1))
    coefficients = np.concatenate([block.reshape(*block.shape[:3], -1) for block in blocks], axis=3)
    return GasTable(np.ascontiguousarray(coefficients, dtype=np.float32), axes.as_array())
