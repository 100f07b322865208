"""In what form a pair with computed layers conducts: none, spark, diffuse or arc, and what that comes to. Compiled.

Diffuse first, through both layers and no more than the cathode gives; then whether that, or something else, strikes an
arc, and whether the source holds it (physics/contact/CONTACT.md, section 2).
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.channel import Passage
from explorer.stage.circuit import Source, open_voltage, operating_voltage
from explorer.stage.columns import ARC, DIFFUSE, NO_CONTACT, NONE, OK, SPARK, Row, Rows
from explorer.stage.gas.flow import FlowState
from explorer.stage.layers import Layers
from explorer.stage.march import NOTHING, Marched, Track, march
from explorer.stage.pair_current import (
    COLUMN,
    MOST_VOLTAGE,
    Drive,
    Electrodes,
    Picture,
    current_through,
    frozen_current,
    threshold_voltage,
)
from explorer.stage.stations import Segment, with_electrodes

#: A source that gives less than this [A] through an arc's voltage doesn't hold it.
LEAST_ARC: Final[float] = 0.1

#: Rounds in which a column's current and terminal voltage agree.
_ROUNDS: Final[int] = 8

#: A layer's resistance [ohm m²] so large that the constricted branch is all that is left of a pair.
_CONSTRICTED: Final[float] = 1e12


class Contact(NamedTuple):
    """In what form a pair conducts."""

    form: int  #: NONE, SPARK, DIFFUSE or ARC
    voltage: float  #: [V] at the terminals
    marched: Marched
    margin: float  #: [-] voltage present over what the next form up needs
    threshold: float  #: [V] at the terminals
    striking: float  #: [V] of the source, from which on an arc is struck
    column: (
        bool  #: whether a column of given current was marched, which the core's conductivity doesn't carry
    )


class Striking(NamedTuple):
    """What strikes an arc in a pair."""

    layer_voltage: float  #: [V] across one layer
    layer_power: float  #: [W/m²] of one layer's current and drop
    gap_voltage: float  #: [V] across an insulating gap
    insulating_above: float  #: [V] from which on the gap's charge is too small to shield it


@compiled
def striking_of(layers: Layers, pair: Row) -> Striking:
    """What strikes an arc through these layers."""
    return Striking(
        min(layers.breakdown, pair.strike_voltage),
        pair.strike_share * layers.heat_flux,
        layers.gap_breakdown,
        layers.insulating_above,
    )


@compiled
def strikes(striking: Striking, current_density: float, drop: float, present: float) -> bool:
    """Whether a current density [A/m²] with its drop [V] of both layers, or the voltage present [V], strikes."""
    half = 0.5 * drop
    if half >= striking.layer_voltage or abs(current_density) * half >= striking.layer_power:
        return True
    return present >= striking.insulating_above and present >= striking.gap_voltage


@compiled
def striking_drive(
    striking: Striking, gap_resistance: float, electrodes: Electrodes, curve: NDArray[np.float64]
) -> float:
    """The voltage above the back EMF from which on an arc is struck [V]; `MOST_VOLTAGE` where none below it does.

    Parameters
    ----------
    gap_resistance : float
        [ohm m²] g/σ_e at the pair's middle.
    """
    low, high = 0.0, MOST_VOLTAGE
    for _ in range(60):
        driving = np.sqrt(max(low, 1e-2) * high) if high > 2.0 * low else 0.5 * (low + high)
        j, drop, _, _ = current_through(driving, gap_resistance, electrodes, curve)
        if strikes(striking, j, drop, driving):
            high = driving
        else:
            low = driving
        if high - low <= 1e-6 * high:
            break
    return high


@compiled
def striking_voltage(striking: Striking, source: Source, picture: Picture) -> float:
    """The source's voltage from which on an arc is struck [V], in the frozen flow at the pair's middle.

    Infinite where no voltage below `MOST_VOLTAGE` does.
    """
    middle = picture.frozen[picture.frozen.size // 2]
    drive = striking_drive(striking, middle.gap_resistance, picture.electrodes, picture.curve)
    if drive == MOST_VOLTAGE:
        return np.inf
    terminal = middle.back_emf + drive
    return float(terminal + source.resistance * frozen_current(picture, terminal)[0])


@compiled
def column_current(source: Source, voltage: float) -> float:
    """Current [A] that a circuit drives through an arc at a terminal voltage [V], beside the leak; 0 where none."""
    leak = source.leak_conductance * voltage
    if source.resistance == 0.0:
        limit = source.current_limit if source.supplies and voltage < source.voltage else 0.0
        return max(limit - leak, 0.0) if np.isfinite(limit) and limit > 0.0 else 0.0
    current = (source.voltage - voltage) / source.resistance
    if source.supplies:
        return max(min(current, source.current_limit) - leak, 0.0)
    return min(current - leak, 0.0)


@compiled
def burning(
    passage: Passage,
    segment: Segment,
    source: Source,
    pair: Row,
    frozen: Rows,
    state: FlowState,
    track: Track,
) -> tuple[float, Marched, bool]:
    """Terminal voltage [V] and march of a struck pair, the larger of two, and whether that is an arc's column.

    The other is the constricted discharge, through the core.

    The outcome is NO_CONTACT where the source holds neither.
    """
    middle = frozen[frozen.size // 2]
    sign = 1.0 if source.supplies else -1.0
    length = segment.end - segment.start
    gap = middle.gap
    along = pair.arc_fall + pair.arc_field * gap
    voltage = middle.back_emf + sign * along
    column = column_current(source, voltage)
    constricted, current = Marched(NO_CONTACT, state, NOTHING), 0.0
    at = open_voltage(source)
    if np.isfinite(pair.arc_voltage):
        electrodes = Electrodes(0.0, _CONSTRICTED, pair.arc_voltage, segment.electrodes.segmented, 0.0)
        arc = with_electrodes(segment, electrodes)
        at, constricted = operating_voltage(passage, arc, source, frozen, state, track)
        if constricted.outcome != NO_CONTACT and constricted.outcome != OK:
            return at, constricted, False
        current = constricted.integrals.plasma_current
    if max(abs(column), abs(current)) < LEAST_ARC:
        return at, Marched(NO_CONTACT, state, NOTHING), False
    if abs(current) >= abs(column):
        return at, constricted, False
    for _ in range(_ROUNDS):
        drive = Drive(COLUMN, voltage, column / length, pair.arc_field, pair.arc_fall)
        burns = march(passage, segment, drive, state, track)
        if burns.outcome != OK:
            break
        # The terminals hold what falls at the roots, along the column and against the flow.
        voltage = sign * pair.arc_fall + (burns.integrals.joule_heating + burns.integrals.force_work) / column
        following = column_current(source, voltage)
        if abs(following - column) <= 1e-9 * abs(column):
            break
        column = following
    return voltage, burns, True


@compiled
def contact_of(
    passage: Passage,
    segment: Segment,
    source: Source,
    pair: Row,
    striking: Striking,
    ignited: bool,
    lit: bool,
    frozen: Rows,
    state: FlowState,
    track: Track,
) -> Contact:
    """In what form a pair conducts, and the march through it; after NO_CONTACT the stations are worth nothing.

    Parameters
    ----------
    segment : Segment
        With electrodes of the computed layers.
    striking : Striking
        What strikes an arc.
    ignited : bool
        Whether something else strikes the arc, as the study says.
    lit : bool
        Whether a pair upstream does, whose sparks are not this pair's.
    frozen : rows
        The pair's frozen picture.
    """
    picture = Picture(frozen, segment.electrodes, track.curve)
    emf = frozen[frozen.size // 2].back_emf
    present = abs(source.voltage - emf)
    threshold = threshold_voltage(picture, pair.contact_current)
    struck_from = striking_voltage(striking, source, picture) if source.supplies else np.nan
    voltage, marched = operating_voltage(passage, segment, source, frozen, state, track)
    if marched.outcome != OK and marched.outcome != NO_CONTACT:
        return Contact(NONE, voltage, marched, np.nan, threshold, struck_from, False)
    struck = ignited or strikes(striking, 0.0, 0.0, present)
    if marched.outcome == OK:
        for n in range(2 * segment.steps + 1):
            here = track.stations[n]
            struck = struck or strikes(striking, here.current_density, here.electrode_drop, present)
    enough = marched.outcome == OK and abs(marched.integrals.plasma_current) >= pair.contact_current
    unheld = False
    if struck or lit:
        at, burns, column = burning(passage, segment, source, pair, frozen, state, track)
        if burns.outcome != NO_CONTACT:
            return Contact(ARC, at, burns, np.nan, threshold, struck_from, column)
        unheld = struck
        if enough:  # the arc's trial overwrote the stations
            voltage, marched = operating_voltage(passage, segment, source, frozen, state, track)
    if enough:
        form = SPARK if unheld else DIFFUSE
        return Contact(form, voltage, marched, present / (struck_from - emf), threshold, struck_from, False)
    nothing = Marched(NO_CONTACT, state, NOTHING)
    form = SPARK if unheld else NONE
    margin = present / (threshold - emf)
    return Contact(form, open_voltage(source), nothing, margin, threshold, struck_from, False)
