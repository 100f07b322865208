"""The channel and the magnetic field in it, at each place along the flow. Compiled.

Gap and width change linearly from inlet to outlet (MODEL.md, section 3).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.gas.lookup import Gas
from explorer.stage.gas.relaxation import EQUILIBRIUM, Relaxation
from explorer.stage.gas.spline import cell, weights


class Channel(NamedTuple):
    """The channel of a point, and what holds all along it."""

    length: float  #: [m]
    gap_in: float  #: [m]
    gap_out: float  #: [m]
    width_in: float  #: [m]
    width_out: float  #: [m]
    friction_coefficient: float  #: [-] C_f
    heat_transfer_factor: float  #: [-]
    wall_enthalpy: float  #: [J/kg] h_w
    mass_flow: float  #: [kg/s] ṁ of gas
    conductivity_factor: float  #: [-] multiplies the electrons' mobility
    nozzle_lag: float  #: [-] multiplies their density
    relaxation: Relaxation = EQUILIBRIUM


class Passage(NamedTuple):
    """What a point's flow goes through."""

    gas: Gas  #: of the point's mixture
    channel: Channel
    field: NDArray[np.float64]  #: [T] as in `field_at`


class Section(NamedTuple):
    """The cross section at one place."""

    gap: float  #: [m] g
    width: float  #: [m] w
    area: float  #: [m²] A
    area_slope: float  #: [m] dA/dx
    perimeter: float  #: [m] P


@compiled
def section_at(channel: Channel, x: float) -> Section:
    """The cross section at x [m]."""
    per_length = 1.0 / channel.length
    gap_slope = (channel.gap_out - channel.gap_in) * per_length
    width_slope = (channel.width_out - channel.width_in) * per_length
    gap, width = channel.gap_in + gap_slope * x, channel.width_in + width_slope * x
    return Section(gap, width, gap * width, gap_slope * width + gap * width_slope, 2.0 * (gap + width))


@compiled
def field_at(field: NDArray[np.float64], place: float) -> float:
    """Magnetic field [T] at a place of the channel.

    Parameters
    ----------
    field : NDArray
        [T] one value, or B-spline coefficients on a uniform grid from inlet to outlet.
    place : float
        [-] x/length.
    """
    if field.size == 1:
        return float(field[0])
    cells = field.size - 3
    i, t = cell(place * cells, cells)
    w0, w1, w2, w3 = weights(t)
    return float(w0 * field[i] + w1 * field[i + 1] + w2 * field[i + 2] + w3 * field[i + 3])


@compiled
def with_relaxation(channel: Channel, relaxation: Relaxation) -> Channel:
    """The same channel with electrons that relax so."""
    return Channel(
        channel.length,
        channel.gap_in,
        channel.gap_out,
        channel.width_in,
        channel.width_out,
        channel.friction_coefficient,
        channel.heat_transfer_factor,
        channel.wall_enthalpy,
        channel.mass_flow,
        channel.conductivity_factor,
        channel.nozzle_lag,
        relaxation,
    )
