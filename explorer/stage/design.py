"""A stage's design: the choices that are not numbers, and the way from addressed values to the kernel's columns.

Values are SI, by address, scalars or arrays over points.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.physics import mass
from explorer.physics.atmosphere import standard_atmosphere
from explorer.physics.contact import warming
from explorer.physics.field_profile import FieldProfile, profile_axis_field
from explorer.physics.magnet import blocks_axis_field, remanence_at
from explorer.stage import columns
from explorer.stage.gas.feeding import Feed
from explorer.stage.gas.propellants import LEAST_ALKALI, Substances, composition, ln_alkali
from explorer.stage.gas.spline import prefiltered

#: Places along the channel at which a field that isn't uniform is laid down.
FIELD_NODES: Final[int] = 33

#: Largest number of points for which fields that differ from point to point are worked out at once.
_FIELD_CHUNK: Final[int] = 2048

#: What stands for a pair's input that a study doesn't have, where it isn't zero.
_ABSENT: Final = {
    "source_current_limit": np.inf,
    "source_pulse_length": np.inf,
    "pair_energy": np.inf,
    "dielectric_factor": 1.0,
    "shape_factor": 1.0,
}

#: Numbers of a stage by address, SI; a scalar holds for all points of a series.
Values = Mapping[str, ArrayLike]


@dataclass(frozen=True)
class Pair:
    """An electrode pair's choices."""

    name: str
    segmented: bool  #: whether each segment has a source of its own
    supplies: bool  #: whether it has a supply, else a load
    computed: bool = False  #: whether its cool layers are computed, else stated
    struck: bool = False  #: whether something beside its source strikes its arc
    material: str | None = None  #: what its electrodes are made of, where that is stated
    pulsed: str | None = None  #: ``"coil"`` or ``"capacitor"`` in place of a supply or load


@dataclass(frozen=True)
class Design:
    """A stage without its numbers."""

    propellants: Substances
    pairs: tuple[Pair, ...]  #: from inlet to outlet
    magnet: str  #: ``"uniform"``, ``"blocks"`` or ``"profile"``
    profile: FieldProfile | None = None  #: the measured field, for ``"profile"``
    feed: Feed | None = (
        None  #: how the streams come to their flows, where the study states them and not the mixture
    )

    relaxing: bool = False  #: whether electrons are followed as they relax, else in equilibrium

    @property
    def layers(self) -> bool:
        """Whether some pair's cool layers are computed."""
        return any(pair.computed for pair in self.pairs)


class KernelInputs(NamedTuple):
    """Rows for the kernel."""

    points: NDArray[np.float64]  #: [SI] `columns.INPUTS`, shape (n, inputs)
    pairs: NDArray[np.float64]  #: [SI] `columns.PAIR_INPUTS`, shape (n, pairs, inputs)
    field: NDArray[np.float64]  #: [T] as in `channel.field_at`, shape (n or 1, nodes)


def points_in(values: Values) -> int:
    """How many points the values describe: the length of their arrays, 1 if all are scalars.

    Raises
    ------
    ValueError
        If arrays differ in length.
    """
    return int(np.broadcast_shapes((1,), *(np.shape(value) for value in values.values()))[0])


def ambient_pressure(values: Values) -> NDArray[np.float64]:
    """Ambient pressure, stated or from the altitude [Pa]."""
    if "ambient.altitude" in values:
        return np.asarray(standard_atmosphere(values["ambient.altitude"]).pressure)
    return np.asarray(values["ambient.pressure"], dtype=np.float64)


def magnet_temperature(values: Values) -> NDArray[np.float64]:
    """Temperature of the magnet blocks at the end of a firing [K]; as stated where no heat leaks into them."""
    start = np.asarray(values["magnet.blocks.temperature"], dtype=np.float64)
    if "magnet.blocks.heat_leak" not in values:
        return start
    return warming.magnet_temperature(
        values["gas.burn_time"],
        start_temperature=start,
        heat_leak=values["magnet.blocks.heat_leak"],
        mass=mass.blocks_mass(
            length=values["magnet.blocks.length"],
            height=values["magnet.blocks.height"],
            thickness=values["magnet.blocks.thickness"],
            density=values["mass.magnet_density"],
        ),
        heat_capacity=values["magnet.blocks.heat_capacity"],
    )


def field_rows(design: Design, values: Values) -> NDArray[np.float64]:
    """Magnetic field along the channel as the kernel reads it [T].

    Shape (n, 1) where it is uniform, else B-spline coefficients (n, FIELD_NODES + 2); one row where it is the same
    for all points. Blocks that warm have the field of the firing's end.
    """
    if design.magnet == "uniform":
        return np.atleast_1d(np.asarray(values["magnet.field"], dtype=np.float64))[:, None]
    if design.magnet == "blocks":
        values = {**values, "magnet.blocks.temperature": magnet_temperature(values)}
    own = {a: np.atleast_1d(v) for a, v in values.items() if a.startswith("magnet.") or a == "channel.length"}
    n = points_in(own)
    full = {address: np.broadcast_to(value, (n,)) for address, value in own.items()}
    rows = np.empty((n, FIELD_NODES + 2))
    for start in range(0, n, _FIELD_CHUNK):
        part = {address: value[start : start + _FIELD_CHUNK] for address, value in full.items()}
        x = np.linspace(0.0, 1.0, FIELD_NODES) * part["channel.length"][:, None]
        rows[start : start + _FIELD_CHUNK] = prefiltered(_field_at(design, part, x), 1)
    return rows


def _field_at(
    design: Design, values: Mapping[str, NDArray[np.float64]], x: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Field [T] at x [m], shape (n, nodes)."""
    if design.magnet == "profile":
        if design.profile is None:
            raise ValueError("a design with a measured magnet needs its profile")
        return np.asarray(values["magnet.profile.scale"][:, None] * profile_axis_field(design.profile, x))
    return blocks_axis_field(
        x,
        remanence=remanence_at(
            values["magnet.blocks.temperature"], remanence=values["magnet.blocks.remanence"]
        ),
        length=values["magnet.blocks.length"],
        height=values["magnet.blocks.height"],
        thickness=values["magnet.blocks.thickness"],
        spacing=values["magnet.blocks.spacing"],
        middle=values["magnet.blocks.position"],
        yoke_factor=values["magnet.blocks.yoke_factor"],
    )


def kernel_inputs(design: Design, values: Values) -> KernelInputs:
    """The kernel's rows for a series of points.

    Raises
    ------
    KeyError
        If a value is missing.
    """
    n = points_in(values)
    gas = composition(design.propellants, values)
    alkali = np.asarray(gas.alkali_fraction)
    enthalpy = design.propellants.reactant_enthalpy(
        values["gas.mixture_ratio"], alkali, gas.carrier_water_fraction
    )
    throat_area = np.pi / 4 * np.square(values["nozzle.throat_diameter"])
    given = {
        "mixture_ratio": values["gas.mixture_ratio"],
        "ln_alkali": ln_alkali(design.propellants, alkali) if design.propellants.seed else 0.0,
        "carrier_water": np.where(
            np.less(values["gas.seed_fraction"], LEAST_ALKALI), 0.0, gas.carrier_water_fraction
        ),
        "reactant_enthalpy": enthalpy,
        "condensed_fraction": gas.condensed_fraction,
        "chamber_pressure": values["gas.chamber_pressure"],
        "combustion_efficiency": values["gas.combustion_efficiency"],
        "heat_loss_share": values["gas.heat_loss_share"],
        "stagnation_temperature": np.nan
        if design.propellants.burns
        else values["gas.stagnation_temperature"],
        "conductivity_factor": values["gas.conductivity_factor"],
        "nozzle_lag": values["gas.nozzle_lag"],
        "recombination_factor": values.get("gas.recombination_factor", 1.0),
        "nozzle_length": values.get("nozzle.length", np.nan),
        "preionizer_power": np.multiply(
            values.get("preionizer.power", 0.0), values.get("preionizer.coupling", 0.0)
        ),
        "preionizer_pair_energy": values.get("preionizer.pair_energy", np.inf),
        "preionizer_start": values.get("preionizer.start", 0.0),
        "preionizer_length": values.get("preionizer.length", 0.0),
        "throat_flow_area": np.multiply(throat_area, values["nozzle.discharge_coefficient"]),
        "area_ratio": values["exit.area_ratio"],
        "ambient_pressure": ambient_pressure(values),
        "burn_time": values.get("gas.burn_time", np.nan),
    }
    points = np.empty((n, len(columns.INPUTS)))
    for i, name in enumerate(columns.INPUTS):
        points[:, i] = given[name] if name in given else values[f"channel.{name}"]
    pairs = np.empty((n, len(design.pairs), len(columns.PAIR_INPUTS)))
    for p, pair in enumerate(design.pairs):
        for i, name in enumerate(columns.PAIR_INPUTS):
            key = name.replace("source_", "source.")
            absent: ArrayLike = _ABSENT.get(name, 0.0)
            if name == "wall_temperature":
                absent = values["channel.wall_temperature"]
            pairs[:, p, i] = values.get(f"electrodes.{pair.name}.{key}", absent)
    return KernelInputs(points, pairs, field_rows(design, values))
