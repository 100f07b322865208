"""Stations: the record of what stands at each place along a march. Compiled."""

from typing import Final

from explorer.physics.compiled import compiled
from explorer.stage.channel import Section
from explorer.stage.columns import Row, row_type
from explorer.stage.equations import Terms
from explorer.stage.gas.flow import Flow, FlowState
from explorer.stage.pair_current import Current

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
    current: Current,
    term: Terms,
) -> None:
    """Write down what stands at x [m], in a magnetic field [T]."""
    station.x, station.gap, station.width, station.magnetic_field = x, section.gap, section.width, field
    station.xi, station.z, station.velocity = flow.xi, flow.z, flow.velocity
    station.momentum_flux, station.total_enthalpy = state.momentum_flux, state.total_enthalpy
    station.conductivity, station.mobility = current.conductivity, current.mobility
    station.current_density, station.electrode_drop = current.density, current.drop
    station.electric_field, station.constricted = current.electric_field, 1.0 if current.constricted else 0.0
    station.friction_per_length, station.wall_heat_per_length = term.friction, term.wall_heat
