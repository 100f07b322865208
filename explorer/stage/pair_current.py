"""The current of an electrode pair: at one place of the flow, and along the whole pair in a frozen flow. Compiled.

The frozen picture of a pair keeps the flow as it is with the pair open, in which the current is a sum for any
terminal voltage: a guess to the marched one (MODEL.md, section 4).
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.physics.contact.cathode_curve import limited
from explorer.physics.electrodes import current_density, effective_conductivity
from explorer.stage.channel import Section
from explorer.stage.columns import Rows, row_type

#: What flows in a pair: nothing, its current, the current's power as plain heat, or a given current in a column.
OPEN, POWERED, HEATER, COLUMN = range(4)


class Drive(NamedTuple):
    """What drives a pair while it is marched."""

    mode: int  #: OPEN, POWERED, HEATER or COLUMN
    voltage: float  #: [V] at the terminals, where powered
    current_per_length: float  #: [A/m] of a column, positive forward
    column_field: float  #: [V/m] along a column
    fall: float  #: [V] at a column's roots


#: No source reaches beyond [V].
MOST_VOLTAGE: Final[float] = 1e6

OPEN_CIRCUIT: Final = Drive(OPEN, 0.0, 0.0, 0.0, 0.0)
AS_HEATER: Final = Drive(HEATER, 0.0, 0.0, 0.0, 0.0)


@compiled
def powered_at(voltage: float) -> Drive:
    """A terminal voltage [V]."""
    return Drive(POWERED, voltage, 0.0, 0.0, 0.0)


class Electrodes(NamedTuple):
    """The electrodes of a pair."""

    voltage_drop: float  #: [V] V_0
    drop_resistance: float  #: [ohm m²] r_d
    arc_voltage: float  #: [V] V_arc
    segmented: bool  #: each segment on a source of its own
    cathode_share: float  #: [-] of the drop, that draws the cathode's current; 0 where it gives what is asked


class Plasma(NamedTuple):
    """What the gas conducts at one place, a study's factors included."""

    conductivity: float  #: [S/m] σ
    mobility: float  #: [m²/(V s)]


class Current(NamedTuple):
    """What flows between the electrodes at one place; all zero outside a pair."""

    density: float  #: [A/m²] j
    electric_field: float  #: [V/m] E in the gas
    field: float  #: [T] B
    drop: float  #: [V] V_d at both electrodes
    resistivity: float  #: [ohm m] 1/σ_e
    heater_power: float  #: [W/m] of the plain heater
    constricted: bool


#: What stands for a gas of which nothing is asked.
NO_PLASMA: Final = Plasma(0.0, 0.0)

#: What flows outside a pair.
NO_CURRENT: Final = Current(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, False)


@compiled
def current_at(
    electrodes: Electrodes,
    drive: Drive,
    section: Section,
    velocity: float,
    plasma: Plasma,
    field: float,
    heater_power: float,
    curve: NDArray[np.float64],
) -> Current:
    """What flows at one place of a pair.

    Parameters
    ----------
    velocity : float
        [m/s] u
    field : float
        [T]
    heater_power : float
        [W/m] where the drive is HEATER.
    curve : NDArray
        [V, A/m²] what the cathode gives, shape (2, nodes), where its share of the drop counts.
    """
    gap = section.gap
    open_field = velocity * field  # the field that the moving gas makes
    if drive.mode == HEATER:
        return Current(0.0, open_field, field, 0.0, 0.0, heater_power, False)
    sigma_e = effective_conductivity(plasma.conductivity, plasma.mobility * field, electrodes.segmented)
    if drive.mode == OPEN:
        return Current(0.0, open_field, field, 0.0, 1.0 / sigma_e, 0.0, False)
    if drive.mode == COLUMN:
        j = drive.current_per_length / section.width
        along = drive.column_field if j > 0.0 else -drive.column_field
        resistivity = along / j if j != 0.0 else 0.0
        return Current(j, open_field + along, field, drive.fall, resistivity, 0.0, True)
    j, drop, _, constricted = current_through(
        drive.voltage - open_field * gap, gap / sigma_e, electrodes, curve
    )
    electric_field = open_field
    if j != 0.0:
        electric_field = (drive.voltage - (drop if j > 0.0 else -drop)) / gap
    return Current(j, electric_field, field, drop, 1.0 / sigma_e, 0.0, constricted)


@compiled
def current_through(
    driving_voltage: float, gap_resistance: float, electrodes: Electrodes, curve: NDArray[np.float64]
) -> tuple[float, float, float, bool]:
    """As `current_density`, and no more than the cathode gives.

    Parameters
    ----------
    driving_voltage : float
        [V] d, either sign.
    gap_resistance : float
        [ohm m²] g/σ_e.
    curve : NDArray
        [V, A/m²] as in `current_at`.
    """
    j, drop, slope, constricted = current_density(
        driving_voltage,
        gap_resistance,
        electrodes.voltage_drop,
        electrodes.drop_resistance,
        electrodes.arc_voltage,
    )
    if electrodes.cathode_share == 0.0 or j == 0.0:
        return j, drop, slope, constricted
    magnitude = abs(driving_voltage)
    most, most_slope = limited(magnitude, gap_resistance, electrodes.cathode_share, curve[0], curve[1])
    if most >= abs(j):
        return j, drop, slope, constricted
    return (most if j > 0.0 else -most), magnitude - most * gap_resistance, most_slope, False


#: What the frozen picture of a pair holds of each place: back EMF u B g [V], the gas's resistance g/σ_e [ohm m²],
#: Simpson's weight times the width [m²], with which the current is summed, and the gap [m].
FROZEN: Final = row_type(("back_emf", "gap_resistance", "weight", "gap"))


@compiled
def freeze(stations: Rows, electrodes: Electrodes, steps: int, frozen: Rows) -> None:
    """Take the frozen picture of a pair from the stations of its open march.

    Parameters
    ----------
    stations : rows
        Shape (≥ 2 steps + 1,).
    frozen : rows
        Receives the picture, shape (2 steps + 1,).
    """
    for n in range(2 * steps + 1):
        here, place = stations[n], frozen[n]
        B = here.magnetic_field
        sigma_e = effective_conductivity(here.conductivity, here.mobility * B, electrodes.segmented)
        place.back_emf = here.velocity * B * here.gap
        place.gap_resistance, place.gap = here.gap / sigma_e, here.gap
        place.weight = 0.0
    for step in range(steps):
        first, middle, last = 2 * step, 2 * step + 1, 2 * step + 2
        sixth = (stations[last].x - stations[first].x) / 6.0
        frozen[first].weight += sixth * stations[first].width
        frozen[middle].weight += 4.0 * sixth * stations[middle].width
        frozen[last].weight += sixth * stations[last].width


class Picture(NamedTuple):
    """A pair in its frozen flow."""

    frozen: Rows  #: from `freeze`
    electrodes: Electrodes
    curve: NDArray[np.float64]  #: [V, A/m²] what the cathode gives, as in `current_at`


@compiled
def frozen_current(picture: Picture, voltage: float) -> tuple[float, float]:
    """Net plasma current [A] of a frozen pair at a terminal voltage [V], and its slope dI_p/dV [A/V]."""
    frozen, electrodes, curve = picture
    current, slope = 0.0, 0.0
    for n in range(frozen.size):
        place = frozen[n]
        j, _, dj, _ = current_through(voltage - place.back_emf, place.gap_resistance, electrodes, curve)
        current += place.weight * j
        slope += place.weight * dj
    return current, slope


@compiled
def back_emf_range(frozen: Rows) -> tuple[float, float]:
    """Smallest and largest back EMF u B g [V] along a frozen pair."""
    smallest = largest = frozen[0].back_emf
    for n in range(1, frozen.size):
        smallest, largest = min(smallest, frozen[n].back_emf), max(largest, frozen[n].back_emf)
    return smallest, largest


@compiled
def threshold_voltage(picture: Picture, least: float) -> float:
    """The terminal voltage at which the net plasma current becomes positive, or reaches `least` [V].

    Parameters
    ----------
    least : float
        [A] that counts as contact; 0 where any current does.

    Notes
    -----
    The smallest u B g + V_0 where V_0 exceeds half the spread of u B g and any current counts; otherwise places that
    drive current backward must be outweighed first, and layers and cathode must let so much pass.
    """
    smallest, largest = back_emf_range(picture.frozen)
    voltage_drop = picture.electrodes.voltage_drop
    low = smallest + voltage_drop
    if least == 0.0 and voltage_drop >= 0.5 * (largest - smallest):
        return low
    high = largest + voltage_drop
    low = min(low, largest - voltage_drop)
    while frozen_current(picture, high)[0] < least and high < MOST_VOLTAGE:
        low, high = high, 2.0 * high + 1.0
    voltage, steepness = high, 0.0
    for _ in range(200):  # Newton's steps within the bounds: the sum is straight between kinks
        current, slope = frozen_current(picture, voltage)
        low, high = (low, voltage) if current > least else (voltage, high)
        settled = 1e-12 * max(abs(high), 1e-9)
        if high - low <= settled or abs(current - least) <= settled * steepness:
            break
        steepness = slope
        voltage = voltage - (current - least) / slope if slope > 0.0 else high
        if not low < voltage < high:
            voltage = 0.5 * (low + high)
    return voltage
