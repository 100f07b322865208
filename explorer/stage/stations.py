"""The names of numbers along the channel: outcomes, modes, integrals, columns of stations, and the march's data."""

from typing import Final, NamedTuple

#: Outcome of a point; the order is that of `registry.STATUSES`.
OK, NO_CONTACT, CHOKED, OUTSIDE_TABLE, NOT_CONVERGED = range(5)

#: What flows in a segment: nothing, the pair's current, or its power as plain heat.
OPEN, POWERED, HEATER = range(3)

#: Integrals along x of the sources.
(
    FRICTION,
    WALL_PRESSURE,
    WALL_HEAT,
    LORENTZ,
    GAS_POWER,
    JOULE,
    DROP_POWER,
    PLASMA_CURRENT,
    EMF_WORK,
    EMF,
    FIELD,
) = range(11)
INTEGRALS: Final[int] = 11

#: Columns of a record of stations along x.
(
    X,
    XI,
    Z,
    VELOCITY,
    CONDUCTIVITY,
    MOBILITY,
    FIELD_AT,
    GAP,
    WIDTH,
    CURRENT_DENSITY,
    DROP,
    ELECTRIC_FIELD,
    CONSTRICTED,
    FRICTION_AT,
    WALL_HEAT_AT,
    MOMENTUM_FLUX,
    TOTAL_ENTHALPY,
) = range(17)
COLUMNS: Final[int] = 17


class Channel(NamedTuple):
    """What the march needs of channel and flow, SI."""

    length: float
    gap_in: float
    gap_out: float
    width_in: float
    width_out: float
    friction_coefficient: float
    heat_transfer_factor: float
    wall_enthalpy: float
    mass_flow: float
    conductivity_factor: float


class Electrodes(NamedTuple):
    """What the march needs of one electrode pair, SI."""

    voltage_drop: float
    drop_resistance: float
    arc_voltage: float
    segmented: bool


class FlowState(NamedTuple):
    """Conserved fluxes and the last gas state at a station."""

    momentum_flux: float
    total_enthalpy: float
    xi: float
    z: float
