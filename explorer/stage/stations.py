"""Segments of the channel, the steps in them, and stations: the record of what stands at each place. Compiled."""

from typing import Final, NamedTuple

import numpy as np

from explorer.physics.compiled import compiled
from explorer.stage.channel import Section
from explorer.stage.columns import Row, row_type
from explorer.stage.equations import Terms
from explorer.stage.gas.flow import Flow, FlowState
from explorer.stage.gas.relaxation import Drift, Surroundings
from explorer.stage.pair_current import Current, Electrodes, Plasma

#: How much longer than the first a graded segment's steps are at its middle.
_GRADING: Final[float] = 150.0


class Segment(NamedTuple):
    """A stretch of the channel, from edge to edge: an electrode pair, or what lies between two."""

    start: float  #: [m]
    end: float  #: [m]
    steps: int  #: [-]
    within_pair: bool
    electrodes: Electrodes
    pair_energy: float = np.inf  #: [J] of its discharge for each electron that it makes
    graded: bool = False  #: steps grow from its start to its middle, where electrons relax
    first_edge: float = np.nan  #: [m] of a pre-ioniser within it, where steps end as well
    second_edge: float = np.nan  #: [m]


@compiled
def with_electrodes(segment: Segment, electrodes: Electrodes) -> Segment:
    """The same pair with other electrodes."""
    return Segment(
        segment.start,
        segment.end,
        segment.steps,
        True,
        electrodes,
        segment.pair_energy,
        segment.graded,
        segment.first_edge,
        segment.second_edge,
    )


@compiled
def step_edge(segment: Segment, number: int) -> float:
    """Where a step of a segment begins [m], counted from zero.

    A graded pair has half its steps before its middle, growing; another segment has equal steps, as many before,
    within and behind a pre-ioniser.
    """
    start, end, steps = segment.start, segment.end, segment.steps
    if segment.graded:
        half, place = 0.5 * (end - start), 2.0 * number / steps
        return start + half * (place if place > 1.0 else (_GRADING**place - 1.0) / (_GRADING - 1.0))
    first = segment.first_edge if segment.first_edge > start else start
    second = segment.second_edge if segment.second_edge > start else start
    pieces = 1 + int(first > start) + int(second > start)
    if pieces == 1:
        return start + number * ((end - start) / steps)
    edges = (start, first if first > start else second, second if pieces == 3 else end, end)
    each = steps // pieces
    piece = min(number // each, pieces - 1)
    low, high = edges[piece], edges[piece + 1]
    within = each if piece < pieces - 1 else steps - each * (pieces - 1)
    return low + (number - piece * each) * ((high - low) / within)


#: A station's numbers, SI.
STATION: Final = row_type(
    (
        "x",
        "xi",
        "z",
        "velocity",
        "gap",
        "width",
        "magnetic_field",
        "conductivity",
        "mobility",
        "electron_density",
        "unaided_density",
        "equilibrium_density",
        "recombination_rate",
        "current_density",
        "electrode_drop",
        "electric_field",
        "constricted",
        "friction_per_length",
        "wall_heat_per_length",
        "momentum_flux",
        "total_enthalpy",
    )
)


@compiled
def record(
    station: Row,
    x: float,
    section: Section,
    flow: Flow,
    state: FlowState,
    field: float,
    plasma: Plasma,
    current: Current,
    term: Terms,
    electrons: Drift,
    surroundings: Surroundings,
) -> None:
    """Write down what stands at x [m], in a magnetic field [T], its electrons among it where they are followed."""
    station.x, station.gap, station.width, station.magnetic_field = x, section.gap, section.width, field
    station.xi, station.z, station.velocity = flow.xi, flow.z, flow.velocity
    station.momentum_flux, station.total_enthalpy = state.momentum_flux, state.total_enthalpy
    station.conductivity, station.mobility = plasma.conductivity, plasma.mobility
    station.current_density, station.electrode_drop = current.density, current.drop
    station.electric_field, station.constricted = current.electric_field, 1.0 if current.constricted else 0.0
    station.friction_per_length, station.wall_heat_per_length = term.friction, term.wall_heat
    if surroundings.density == 0.0:
        return
    station.electron_density = electrons.felt * surroundings.density
    station.unaided_density = electrons.unaided * surroundings.density
    station.equilibrium_density, station.recombination_rate = surroundings.equilibrium, surroundings.rate
