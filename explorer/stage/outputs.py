"""From the kernel's columns to the registry's outputs, by address, and to the warnings that a point carries.

Only what is asked for is worked out. With one pair its quantities stand at the top level too; with several, those
that add are summed and the rest is left to the pairs.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.physics import hand_bounds, mass, propellant, similarity
from explorer.physics.magnet import GRADES
from explorer.physics.streams import seed_dissolves
from explorer.stage import columns, masses
from explorer.stage.columns import NO_CONTACT, OUTSIDE_TABLE
from explorer.stage.design import Design, Values, ambient_pressure

FloatArray = NDArray[np.float64]

#: Current density above which a discharge on cold metal leaves the diffuse mode [A/m²]; common practice, no source.
DIFFUSE_LIMIT: Final[float] = 1e4

#: Overheating number above which a discharge tends to constrict [-] (MODEL.md, section 8).
OVERHEATING_LIMIT: Final[float] = 0.5

#: Axial field along an insulating wall that breaks down to neighbours [V/m]: Stanford HTGL, DTIC ADA025949, 1975.
WALL_FIELD_LIMIT: Final[float] = 4e3

#: |E − uB|/n above which electrons leave the gas temperature [V m²]: 5 Td, kinetic estimate.
REDUCED_FIELD_LIMIT: Final[float] = 5e-21

#: Exit over ambient pressure below which the flow separates [-]; common practice, no source.
SEPARATION_RATIO: Final[float] = 0.4

#: Gas temperature below which the seed condenses [K]; assumed.
CONDENSATION_TEMPERATURE: Final[float] = 1500.0


class KernelResults(NamedTuple):
    """What the kernel gave: results (n, outputs), pair results (n, pairs, outputs of a pair), outcomes (n,)."""

    results: FloatArray
    pair_results: FloatArray
    outcomes: NDArray[np.int8]


class Points:
    """Kernel results of a series of points together with what went in, as named arrays."""

    def __init__(self, design: Design, values: Values, given: KernelResults) -> None:
        self.design = design
        self.values = values
        self.outcomes = given.outcomes
        self._results: dict[str, FloatArray] = dict(zip(columns.OUTPUTS, given.results.T, strict=True))
        self._pairs: dict[str, dict[str, FloatArray]] = {
            pair.name: dict(zip(columns.PAIR_OUTPUTS, given.pair_results[:, p].T, strict=True))
            for p, pair in enumerate(design.pairs)
        }

    def __getitem__(self, name: str) -> FloatArray:
        """A column of the kernel's results."""
        return self._results[name]

    def of_pair(self, pair: str, name: str) -> FloatArray:
        """A column of a pair's results."""
        return self._pairs[pair][name]

    def value(self, address: str) -> FloatArray:
        """An input."""
        return np.asarray(self.values[address], dtype=np.float64)

    def of_electrodes(self, pair: str, key: str) -> FloatArray:
        """An input of a pair; zero where the study has none (a load's voltage, say)."""
        return np.asarray(self.values.get(f"electrodes.{pair}.{key}", 0.0), dtype=np.float64)

    def middle_gap(self, pair: str) -> FloatArray:
        """Gap [m] at a pair's middle."""
        x = self.of_electrodes(pair, "start") + 0.5 * self.of_electrodes(pair, "length")
        rise = (self.value("channel.gap_out") - self.value("channel.gap_in")) / self.value("channel.length")
        return np.asarray(self.value("channel.gap_in") + rise * x)

    def middle_width(self, pair: str) -> FloatArray:
        """Width [m] at a pair's middle."""
        x = self.of_electrodes(pair, "start") + 0.5 * self.of_electrodes(pair, "length")
        rise = (self.value("channel.width_out") - self.value("channel.width_in")) / self.value(
            "channel.length"
        )
        return np.asarray(self.value("channel.width_in") + rise * x)

    def injected(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Fuel, oxidizer, seed compound and carrier water per kilogram injected."""
        return propellant.injected_fractions(
            mixture_ratio=self.value("gas.mixture_ratio"),
            seed_fraction=self.value("gas.seed_fraction"),
            seed_water=self.value("gas.seed_water"),
            seed=self.design.propellants.seed,
        )


def _current(points: Points, pair: str) -> FloatArray:
    leak = points.of_electrodes(pair, "leak_conductance") * points.of_pair(pair, "terminal_voltage")
    return np.asarray(points.of_pair(pair, "plasma_current") + leak)


def _electrical_power(points: Points, pair: str) -> FloatArray:
    return points.of_pair(pair, "terminal_voltage") * _current(points, pair)


def _quotient(numerator: FloatArray, denominator: FloatArray) -> FloatArray:
    """Their ratio, NaN where the denominator is zero."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(denominator == 0.0, np.nan, numerator / denominator)


def _numbered(points: Points, values: FloatArray) -> FloatArray:
    """What is known without the flow, at each point; NaN where the point carries no numbers."""
    return np.where(points.outcomes <= NO_CONTACT, values, np.nan)


def _powers(points: Points) -> list[FloatArray]:
    return [_electrical_power(points, pair.name) for pair in points.design.pairs]


def _electrode_mass(points: Points) -> FloatArray:
    each = [
        masses.electrode_mass(
            points.values,
            length=points.of_electrodes(pair.name, "length"),
            width=points.middle_width(pair.name),
        )
        for pair in points.design.pairs
    ]
    return sum(each, start=np.zeros(()))


def _supply_mass(points: Points) -> FloatArray:
    together = np.sum(np.abs(_powers(points)), axis=0)
    return mass.supply_mass(power=together, specific_power=points.value("mass.supply_specific_power"))


def _store_mass(points: Points) -> FloatArray:
    return mass.store_mass(
        power=np.sum(_powers(points), axis=0),
        time=points.value("mass.powered_time"),
        specific_energy=points.value("mass.store_specific_energy"),
    )


def _stage_mass(points: Points) -> FloatArray:
    return np.asarray(np.sum([output(points, part) for part in _PARTS], axis=0))


def _reynolds_number(points: Points) -> FloatArray:
    gap, width = points.value("channel.gap_in"), points.value("channel.width_in")
    return similarity.reynolds_number(
        mass_flux=points["gas_flow"] / (gap * width),
        diameter=similarity.hydraulic_diameter(gap=gap, width=width),
        viscosity=similarity.sutherland_viscosity(points["inlet_temperature"]),
    )


#: What the mass of a stage is the sum of.
_PARTS: Final = ("magnet_mass", "yoke_mass", "electrode_mass", "channel_mass", "supply_mass", "store_mass")

_OF_PAIR: Final[dict[str, Callable[[Points, str], FloatArray]]] = {
    "current": _current,
    "leak_current": lambda q, p: _current(q, p) - q.of_pair(p, "plasma_current"),
    "electrical_power": _electrical_power,
    "power_delivered": lambda q, p: -_electrical_power(q, p),
    "load_factor": lambda q, p: _quotient(
        q.of_pair(p, "terminal_voltage") * q.of_electrodes(p, "length"), q.of_pair(p, "emf_integral")
    ),
    "inlet_hall_parameter": lambda q, p: q["inlet_mobility"] * q.of_pair(p, "field"),
    "force_from_current": lambda q, p: hand_bounds.force_from_current(
        current=np.abs(q.of_pair(p, "plasma_current")), field=q.of_pair(p, "field"), gap=q.middle_gap(p)
    ),
    "force_from_diffuse_limit": lambda q, p: hand_bounds.force_from_current_density(
        current_density=DIFFUSE_LIMIT,
        field=q.of_pair(p, "field"),
        volume=q.middle_gap(p) * q.middle_width(p) * q.of_electrodes(p, "length"),
    ),
    "force_per_power": lambda q, p: _quotient(
        q.of_pair(p, "field") * q.middle_gap(p), q.of_pair(p, "terminal_voltage")
    ),
    "voltage_drop_share": lambda q, p: _quotient(
        q.of_pair(p, "electrode_drop_power"),
        np.abs(q.of_pair(p, "plasma_current")) * q.of_pair(p, "back_emf"),
    ),
    "magnetic_reynolds_number": lambda q, p: similarity.magnetic_reynolds_number(
        conductivity=q["inlet_conductivity"],
        velocity=q["inlet_velocity"],
        length=q.of_electrodes(p, "length"),
    ),
}

_OF_STAGE: Final[dict[str, Callable[[Points], FloatArray]]] = {
    "fuel_flow": lambda q: q["mass_flow"] * q.injected()[0],
    "oxidizer_flow": lambda q: q["mass_flow"] * q.injected()[1],
    "seed_solution_flow": lambda q: q["mass_flow"] * (q.injected()[2] + q.injected()[3]),
    "condensed_flow": lambda q: q["mass_flow"] - q["gas_flow"],
    "exit_pressure_change": lambda q: q["exit_pressure"] - q["exit_pressure_open_circuit"],
    "thrust_gain": lambda q: q["thrust"] - q["thrust_open_circuit"],
    "thrust_gain_heating": lambda q: q["thrust_heating"] - q["thrust_open_circuit"],
    "jet_power": lambda q: hand_bounds.jet_power(mass_flow=q["gas_flow"], velocity=q["exit_velocity"]),
    "thrust_per_power": lambda q: _quotient(output(q, "thrust_gain"), output(q, "electrical_power")),
    "magnet_mass": lambda q: _numbered(q, masses.magnet_mass(q.design, q.values)),
    "yoke_mass": lambda q: _numbered(q, masses.yoke_mass(q.design, q.values)),
    "electrode_mass": lambda q: _numbered(q, _electrode_mass(q)),
    "channel_mass": lambda q: _numbered(q, masses.channel_mass(q.values)),
    "supply_mass": _supply_mass,
    "store_mass": _store_mass,
    "stage_mass": _stage_mass,
    "thrust_gain_per_mass": lambda q: _quotient(output(q, "thrust_gain"), output(q, "stage_mass")),
    "reynolds_number": _reynolds_number,
    "wall_heat_share": lambda q: _quotient(q["wall_heat"], output(q, "jet_power")),
    "pressure_gap": lambda q: q["inlet_pressure"] * q.value("channel.gap_in"),
    "relative_thrust_gain": lambda q: _quotient(output(q, "thrust_gain"), q["thrust_open_circuit"]),
}


def needs_heater(wanted: Iterable[str]) -> bool:
    """Whether the plain heater twin must run for these quantities.

    Parameters
    ----------
    wanted : iterable of str
        Addresses of outputs.
    """
    return "thrust_gain_heating" in set(wanted)


def _pair_quantity(points: Points, pair: str, name: str) -> FloatArray:
    formula = _OF_PAIR.get(name)
    return formula(points, pair) if formula else points.of_pair(pair, name)


def output(points: Points, address: str) -> FloatArray:
    """One output of the registry at every point.

    Parameters
    ----------
    points : Points
        The series.
    address : str
        Top level or ``electrodes.<pair>.<quantity>``.

    Returns
    -------
    NDArray
        [SI] shape (n,); NaN where the point carries no number, or where the quantity is not defined: a quantity
        that doesn't add with several pairs, a ratio to nothing, the mass of a magnet that nobody stated.

    Raises
    ------
    explorer.registry.UnknownAddressError
        If the registry or the design doesn't hold the address.
    """
    quantity = registry.quantity(address)
    if address.startswith("electrodes."):
        _, pair, name = address.split(".", 2)
        return np.asarray(_pair_quantity(points, pair, name))
    if quantity.per_pair:
        names = [pair.name for pair in points.design.pairs]
        if len(names) == 1:
            return np.asarray(_pair_quantity(points, names[0], address))
        if quantity.adds:
            return np.asarray(np.sum([_pair_quantity(points, name, address) for name in names], axis=0))
        return np.full(points.outcomes.size, np.nan)
    formula = _OF_STAGE.get(address)
    return np.asarray(formula(points) if formula else points[address])


def warning_bits(points: Points, grade: str | None) -> NDArray[np.uint32]:
    """Warnings that each point carries, as bits of `registry.WARNING_BITS`.

    Parameters
    ----------
    points : Points
        The series.
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
        mark("hot_electrons", points.of_pair(pair.name, "max_reduced_field") > REDUCED_FIELD_LIMIT)
    for one, two in zip(points.design.pairs, points.design.pairs[1:], strict=False):
        behind = points.of_electrodes(one.name, "start") + points.of_electrodes(one.name, "length")
        spacing = points.of_electrodes(two.name, "start") - behind
        step = points.of_pair(two.name, "terminal_voltage") - points.of_pair(one.name, "terminal_voltage")
        mark("neighbouring_pairs", np.abs(step) > WALL_FIELD_LIMIT * spacing)
    numbered = points.outcomes <= NO_CONTACT
    mark("separation", points["exit_pressure"] < SEPARATION_RATIO * ambient_pressure(points.values))
    mark("cold_gas", points["coldest_gas"] < CONDENSATION_TEMPERATURE)
    if grade is not None:
        mark(
            "magnet_temperature", points.value("magnet.blocks.temperature") > GRADES[grade].limit_temperature
        )
    dissolves = seed_dissolves(points.value("gas.seed_water"), points.design.propellants.seed)
    mark("seed_not_soluble", ~np.asarray(dissolves) & numbered)
    return bits


def warnings_in(bits: int) -> Mapping[str, str]:
    """Warnings in a point's bits.

    Parameters
    ----------
    bits : int
        [-] From `warning_bits`.

    Returns
    -------
    mapping
        Sentence by title.
    """
    return {w.title: w.sentence for w in registry.WARNINGS if bits & w.bit}
