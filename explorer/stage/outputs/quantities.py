"""From the kernel's columns to the registry's outputs, by address (MODEL.md, section 7).

Only what is asked for is worked out. With one pair its quantities stand at the top level too; with several, those
that add are summed and the rest is left to the pairs.
"""

from collections.abc import Callable, Iterable
from typing import Final

import numpy as np

from explorer import registry
from explorer.physics import hand_bounds, similarity
from explorer.stage.design import magnet_temperature
from explorer.stage.outputs import electrodes, masses
from explorer.stage.outputs.limits import DIFFUSE_LIMIT
from explorer.stage.outputs.points import FloatArray, Points


def _quotient(numerator: FloatArray, denominator: FloatArray) -> FloatArray:
    """Their ratio, NaN where the denominator is zero."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(denominator == 0.0, np.nan, numerator / denominator)


def _stage_mass(points: Points) -> FloatArray:
    return np.asarray(np.sum([output(points, part) for part in _PARTS], axis=0))


def _reynolds_number(points: Points) -> FloatArray:
    gap, width = points.value("channel.gap_in"), points.value("channel.width_in")
    return similarity.reynolds_number(
        mass_flux=points["channel_flow"] / (gap * width),
        diameter=similarity.hydraulic_diameter(gap=gap, width=width),
        viscosity=similarity.sutherland_viscosity(points["inlet_temperature"]),
    )


def _magnet_temperature(points: Points) -> FloatArray:
    """Of blocks into which heat leaks; NaN for others."""
    warms = "magnet.blocks.heat_leak" in points.values
    return points.where_numbered(magnet_temperature(points.values) if warms else np.nan)


#: What the mass of a stage is the sum of.
_PARTS: Final = ("magnet_mass", "yoke_mass", "electrode_mass", "channel_mass", "supply_mass", "store_mass")

_OF_PAIR: Final[dict[str, Callable[[Points, str], FloatArray]]] = {
    "current": Points.current,
    "leak_current": lambda q, p: q.current(p) - q.of_pair(p, "plasma_current"),
    "pulse_impulse": lambda q, p: _quotient(q.of_pair(p, "lorentz_force"), q.of_pair(p, "pulse_rate")),
    "force_per_source_power": lambda q, p: _quotient(
        q.of_pair(p, "lorentz_force"), q.of_pair(p, "source_power")
    ),
    "charger_use": lambda q, p: _quotient(
        q.of_pair(p, "source_power"), q.of_electrodes(p, "source.charger_power")
    ),
    "pulsed_force_per_power": lambda q, p: _quotient(
        q.of_pair(p, "field") * q.at_middle(p, "gap"),
        q.of_pair(p, "discharge_voltage") + q.of_pair(p, "back_emf"),
    ),
    "electrical_power": Points.electrical_power,
    "power_delivered": lambda q, p: -q.electrical_power(p),
    "load_factor": lambda q, p: _quotient(q.of_pair(p, "terminal_voltage"), q.of_pair(p, "mean_back_emf")),
    "inlet_hall_parameter": lambda q, p: q["inlet_mobility"] * q.of_pair(p, "field"),
    "interaction_parameter": lambda q, p: (
        q.of_pair(p, "interaction_per_length") * q.of_electrodes(p, "length")
    ),
    "force_from_current": lambda q, p: hand_bounds.force_from_current(
        current=np.abs(q.of_pair(p, "plasma_current")), field_gap=q.of_pair(p, "largest_field_gap")
    ),
    "force_from_diffuse_limit": lambda q, p: hand_bounds.force_from_current_density(
        current_density=DIFFUSE_LIMIT,
        field=q.of_pair(p, "field"),
        volume=q.at_middle(p, "gap") * q.at_middle(p, "width") * q.of_electrodes(p, "length"),
    ),
    "force_per_power": lambda q, p: _quotient(
        q.of_pair(p, "field") * q.at_middle(p, "gap"), q.of_pair(p, "terminal_voltage")
    ),
    "voltage_drop_share": lambda q, p: _quotient(
        q.of_pair(p, "electrode_drop_power"),
        np.abs(q.of_pair(p, "plasma_current")) * q.of_pair(p, "back_emf"),
    ),
    "electrode_temperature": electrodes.electrode_temperature,
    "allowed_burn_time": electrodes.allowed_burn_time,
    "erosion_depth": electrodes.erosion_depth,
    "firings_lasted": electrodes.firings_lasted,
    "magnetic_reynolds_number": lambda q, p: similarity.magnetic_reynolds_number(
        conductivity=q["inlet_conductivity"],
        velocity=q["inlet_velocity"],
        length=q.of_electrodes(p, "length"),
    ),
}

_OF_STAGE: Final[dict[str, Callable[[Points], FloatArray]]] = {
    "mixture_ratio": lambda q: q.where_numbered(q.value("gas.mixture_ratio") if q.burns else np.nan),
    "seed_fraction": lambda q: q.where_numbered(q.value("gas.seed_fraction")),
    "chamber_pressure": lambda q: q.where_numbered(q.value("gas.chamber_pressure")),
    "fuel_flow": lambda q: q["mass_flow"] * (q.injected()[0] if q.burns else np.nan),
    "oxidizer_flow": lambda q: q["mass_flow"] * (q.injected()[1] if q.burns else np.nan),
    "seed_solution_flow": lambda q: q["mass_flow"] * (q.injected()[2] + q.injected()[3]),
    "condensed_flow": lambda q: q["mass_flow"] - q["gas_flow"],
    "exit_pressure_change": lambda q: q["exit_pressure"] - q["exit_pressure_open_circuit"],
    "thrust_gain": lambda q: q["thrust"] - q["thrust_open_circuit"],
    "thrust_gain_heating": lambda q: q["thrust_heating"] - q["thrust_open_circuit"],
    "jet_power": lambda q: hand_bounds.jet_power(mass_flow=q["channel_flow"], velocity=q["exit_velocity"]),
    "thrust_per_power": lambda q: _quotient(output(q, "thrust_gain"), output(q, "electrical_power")),
    "final_magnet_temperature": _magnet_temperature,
    "magnet_mass": masses.magnet_mass,
    "yoke_mass": masses.yoke_mass,
    "electrode_mass": masses.electrode_mass,
    "channel_mass": masses.channel_mass,
    "supply_mass": masses.supply_mass,
    "store_mass": masses.store_mass,
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
