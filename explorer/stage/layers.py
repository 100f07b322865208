"""What stands between the gas and a pair's electrodes: cool layers and what the cathode gives. Compiled.

Taken at the pair's middle from a march with the pair open, and the same all along it; both electrodes are alike
(physics/contact/CONTACT.md).
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.physics.contact.breakdown import breakdown_voltage
from explorer.physics.contact.cathode import Cathode
from explorer.physics.contact.cathode_curve import cathode_curve
from explorer.physics.contact.cool_layer import (
    STANDARD_DENSITY,
    CoolLayer,
    density_distance,
    layer_thickness,
    number_density,
    slice_resistance,
    surviving_density,
)
from explorer.physics.contact.recombination import DISSOCIATIVE_EXPONENT
from explorer.physics.walls import RECOVERY, wall_heat_flux
from explorer.stage.channel import Channel
from explorer.stage.columns import Row
from explorer.stage.gas.lookup import Gas, layer_electrical, temperature, thermo, wall_enthalpy

#: Depths at which a layer's resistance is summed.
_SLICES: Final[int] = 16

#: A gap counts as insulating where its charge, e n_e g², is below so many times ε0 V.
_INSULATING: Final[float] = 10.0


class Layers(NamedTuple):
    """The layers of a pair."""

    thickness: float  #: [m] of one
    resistance: float  #: [ohm m²] of both
    breakdown: float  #: [V] across one
    heat_flux: float  #: [W/m²] into the electrode
    gap_breakdown: float  #: [V] of the whole gap, were its gas an insulator
    insulating_above: float  #: [V] from which on the gap's charge is too small to shield it


@compiled
def adiabatic_wall(gas: Gas, xi: float, z: float, enthalpy: float) -> float:
    """Temperature [K] at which the gas holds an enthalpy [J/kg]: that of a wall which takes no heat."""
    for _ in range(4):
        h, h_xi, _, _, _, _ = thermo(gas, xi, z)
        xi += (enthalpy - h) / h_xi
    return temperature(xi, z)


@compiled
def exposure(gas: Gas, channel: Channel, middle: Row, wall_temperature: float) -> tuple[float, float]:
    """Heat flux [W/m²] into a wall at a temperature [K], and the temperature [K] of one that takes none."""
    h, _, _, _, _, _ = thermo(gas, middle.xi, middle.z)
    recovered = h + 0.5 * RECOVERY * middle.velocity * middle.velocity
    heat_flux = wall_heat_flux(
        channel.heat_transfer_factor,
        channel.friction_coefficient,
        channel.mass_flow / (middle.gap * middle.width),
        middle.velocity,
        h,
        wall_enthalpy(gas, wall_temperature, middle.z),
    )
    return heat_flux, adiabatic_wall(gas, middle.xi, middle.z, recovered)


@compiled
def layers_of(
    gas: Gas,
    channel: Channel,
    middle: Row,
    pair: Row,
    heat_flux: float,
    recovery_temperature: float,
    recombination_factor: float,
    alkali_share: float,
    curve: NDArray[np.float64],
) -> Layers:
    """The layers of a pair, from the station at its middle with the pair open.

    Parameters
    ----------
    heat_flux, recovery_temperature : float
        [W/m²], [K] from `exposure`.
    curve : NDArray
        [V, A/m²] receives what the cathode gives against its own drop, shape (2, CURVE_NODES).
    """
    p, T, T_w = np.exp(middle.z), temperature(middle.xi, middle.z), pair.wall_temperature
    T_r = max(recovery_temperature, T_w + 1.0)
    thickness = layer_thickness(pair.layer_factor, T_r, T_w, max(heat_flux, 1.0))
    n_c = middle.conductivity / (c.e * middle.mobility)
    layer = CoolLayer(
        T_w,
        max(T, T_w + 1.0),
        p,
        thickness,
        n_c,
        pair.electron_lag,
        alkali_share,
        recombination_factor,
        DISSOCIATIVE_EXPONENT,
    )
    cathode_curve(Cathode(layer, pair.work_function, pair.ion_factor), curve[0], curve[1])
    resistance = 2.0 * layer_resistance(gas, channel, layer, middle.z)
    breakdown = pair.dielectric_factor * withstood(density_distance(layer))
    whole, insulating_above = gap_breakdown(middle, pair)
    return Layers(thickness, resistance, breakdown, heat_flux, whole, insulating_above)


@compiled
def gap_breakdown(middle: Row, pair: Row) -> tuple[float, float]:
    """Breakdown voltage [V] of the whole gap, were its gas an insulator, and from which [V] on it is one."""
    density = number_density(np.exp(middle.z), temperature(middle.xi, middle.z))
    whole = pair.dielectric_factor * pair.shape_factor * withstood(density / STANDARD_DENSITY * middle.gap)
    n_c = middle.conductivity / (c.e * middle.mobility)
    return whole, c.e * n_c * middle.gap**2 / (_INSULATING * c.epsilon_0)


@compiled
def withstood(distance: float) -> float:
    """Breakdown voltage [V] of a gap [m] at standard density; infinite where longer paths break down first."""
    voltage = breakdown_voltage(distance)
    return np.inf if np.isnan(voltage) else voltage


@compiled
def layer_resistance(gas: Gas, channel: Channel, layer: CoolLayer, z: float) -> float:
    """Resistance of one layer [ohm m²], ∫ dy/(e n_e µ), closer slices toward both faces."""
    total, before = 0.0, 0.0
    depth_before = 0.0
    for n in range(_SLICES + 1):
        depth = 0.5 - 0.5 * np.cos(np.pi * n / _SLICES)
        T = layer.core_temperature + (layer.wall_temperature - layer.core_temperature) * depth
        sigma, mobility = layer_electrical(gas, np.log(T), z, float(layer.pressure))
        survivors = surviving_density(layer, depth * layer.thickness)
        here = max(sigma * channel.nozzle_lag, c.e * survivors * mobility) * channel.conductivity_factor
        if n > 0:
            total += slice_resistance((depth - depth_before) * layer.thickness, before, here)
        before, depth_before = here, depth
    return total
