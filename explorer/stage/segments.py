"""What all points of a chunk have in common, and the segments into which a point's pairs divide the channel. Compiled.

Segments alternate: gap, pair, gap, …, gap; even ones lie between pairs, odd ones are pairs.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import allocating, compiled
from explorer.physics.contact.cathode_curve import CURVE_NODES
from explorer.physics.electrodes import effective_conductivity
from explorer.stage.channel import Channel, field_at, section_at
from explorer.stage.circuit import Source
from explorer.stage.columns import PAIR_INPUTS, Row, Rows, row_type
from explorer.stage.gas.propellants import LN_UNSEEDED
from explorer.stage.gas.relaxation import EQUILIBRIUM, Relaxation
from explorer.stage.pair_current import FROZEN, Electrodes
from explorer.stage.stations import STATION, Segment

PAIR: Final = row_type(PAIR_INPUTS)

#: Length that both ends' spreading adds, over the gap: 2 ln 2/π [-], and how much layers in series hold it back.
END_SPREAD: Final[float] = 2.0 * np.log(2.0) / np.pi
LAYERS_AT_ENDS: Final[float] = 1.85


class Setting(NamedTuple):
    """What all points of a chunk have in common."""

    segmented: NDArray[np.bool_]  #: whether each pair is, shape (pairs,)
    supplies: NDArray[np.bool_]  #: whether each pair has a supply, else a load; shape (pairs,)
    computed: NDArray[np.bool_]  #: whether each pair's layers are computed, else stated; shape (pairs,)
    ignited: NDArray[np.bool_]  #: whether something strikes each pair's arc in any case; shape (pairs,)
    exposed: NDArray[np.bool_]  #: whether the heat into each pair's electrodes is wanted; shape (pairs,)
    pulsed: NDArray[np.int8]  #: STEADY, COIL or CAPACITOR of each pair; shape (pairs,)
    alkali: bool  #: whether the gas may hold any
    gap_steps: int  #: [-] between pairs
    pair_steps: int  #: [-] within pairs
    heater: bool  #: whether the plain heater twin is wanted
    relaxing: bool = False  #: whether electrons are followed, else in equilibrium


class Workspace(NamedTuple):
    """Arrays that are used again for every point of a chunk."""

    gas_power: NDArray[np.float64]  #: [W/m] into the gas at every stage of every step, shape (pairs, 4 steps)
    frozen: Rows  #: frozen pictures, shape (pairs, 2 steps + 1)
    open_stations: Rows  #: with every pair open, shape (segments, 2 steps + 1)
    stations: Rows  #: with every circuit closed, shape (segments, 2 steps + 1)
    conducting: Rows  #: the point's pairs, from and as far as their current reaches, shape (pairs,)
    curve: NDArray[np.float64]  #: [V, A/m²] what each cathode gives, shape (pairs, 2, nodes)


@allocating
def workspace(pairs: int, gap_steps: int, pair_steps: int) -> Workspace:
    """A workspace for points with so many pairs and steps."""
    segments, places = 2 * pairs + 1, 2 * max(gap_steps, pair_steps) + 1
    return Workspace(
        np.zeros((pairs, 4 * pair_steps)),
        np.zeros((pairs, 2 * pair_steps + 1), dtype=FROZEN),
        np.zeros((segments, places), dtype=STATION),
        np.zeros((segments, places), dtype=STATION),
        np.zeros(pairs, dtype=PAIR),
        np.zeros((pairs, 2, CURVE_NODES)),
    )


@allocating
def spread(
    channel: Channel,
    pairs: Rows,
    setting: Setting,
    field: NDArray[np.float64],
    conductivity: float,
    mobility: float,
    conducting: Rows,
) -> None:
    """Lengthen pairs by how far their current spreads beyond the electrodes' ends (MODEL.md, section 4).

    Half of end_spread · (2 ln 2/π) · gap/(1 + 1.85 r_d σ_e/gap) at each end: the plane potential between electrodes in
    insulating walls, with their layers in series. Cut at the channel's ends and half way to the next pair.

    Parameters
    ----------
    conductivity, mobility : float
        [S/m], [m²/(V s)] at the inlet.
    conducting : rows
        Receives the pairs with other starts and lengths.
    """
    conducting[:] = pairs
    for p in range(pairs.size):
        pair = pairs[p]
        if pair.end_spread == 0.0:
            continue
        end = pair.start + pair.length
        middle = 0.5 * (pair.start + end)
        gap = section_at(channel, middle).gap
        hall = mobility * field_at(field, middle / channel.length)
        sigma_e = effective_conductivity(conductivity, hall, setting.segmented[p])
        free = END_SPREAD * gap / (1.0 + LAYERS_AT_ENDS * pair.drop_resistance * sigma_e / gap)
        before = 0.5 * (pairs[p - 1].start + pairs[p - 1].length + pair.start) if p > 0 else 0.0
        behind = 0.5 * (end + pairs[p + 1].start) if p + 1 < pairs.size else channel.length
        start = max(pair.start - 0.5 * pair.end_spread * free, before)
        conducting[p].start = start
        conducting[p].length = min(end + 0.5 * pair.end_spread * free, behind) - start


@compiled
def segment_at(point: Row, pairs: Rows, setting: Setting, number: int) -> Segment:
    """A segment by its number."""
    p, within_pair = number // 2, number % 2 == 1
    last = min(p, pairs.size - 1)
    pair = pairs[last]
    electrodes = Electrodes(
        pair.voltage_drop, pair.drop_resistance, pair.arc_voltage, setting.segmented[last], 0.0
    )
    if within_pair:
        return Segment(
            pair.start,
            pair.start + pair.length,
            setting.pair_steps,
            True,
            electrodes,
            pair.pair_energy,
            setting.relaxing,
            np.nan,
            np.nan,
        )
    start = 0.0 if p == 0 else pairs[p - 1].start + pairs[p - 1].length
    end = point.length if p == pairs.size else pair.start
    preionizer_end = point.preionizer_start + point.preionizer_length
    return Segment(
        start,
        end,
        setting.gap_steps,
        False,
        electrodes,
        np.inf,
        False,
        edge_within(point.preionizer_start, start, end),
        edge_within(preionizer_end, start, end),
    )


@compiled
def edge_within(x: float, start: float, end: float) -> float:
    """An edge [m] where it lies between two others, else NaN."""
    return x if start < x < end else np.nan


@compiled
def alkali_share(point: Row, setting: Setting) -> float:
    """Alkali's share of the positive ions [-]: all of them where the gas holds any."""
    return 1.0 if setting.alkali and point.ln_alkali > LN_UNSEEDED else 0.0


@compiled
def relaxation_of(point: Row, setting: Setting, channel: Channel) -> Relaxation:
    """How a point's electrons relax, with what its pre-ioniser makes evenly in its volume.

    All its power counts as heat there: what is spent on pairs comes back as they recombine, a decay length on.
    """
    if not setting.relaxing:
        return EQUILIBRIUM
    start, end = point.preionizer_start, point.preionizer_start + point.preionizer_length
    density, source = 0.0, 0.0
    if point.preionizer_power > 0.0:
        first, last = section_at(channel, start).area, section_at(channel, end).area
        middle = section_at(channel, 0.5 * (start + end)).area
        density = 6.0 * point.preionizer_power / ((end - start) * (first + 4.0 * middle + last))
        source = density / point.preionizer_pair_energy
    return Relaxation(
        True, alkali_share(point, setting), point.recombination_factor, start, end, source, density
    )


@compiled
def source_of(pair: Row, supplies: bool) -> Source:
    """The circuit of a pair."""
    voltage = pair.source_voltage if supplies else 0.0
    return Source(supplies, voltage, pair.source_current_limit, pair.source_resistance, pair.leak_conductance)


@compiled
def pairs_within(point: Row, pairs: Rows) -> bool:
    """Whether the pairs lie within the channel, one behind the other, and a pre-ioniser within it.

    Sampled sizes may say otherwise.
    """
    behind = 0.0
    for p in range(pairs.size):
        pair = pairs[p]
        if not (pair.start >= behind * (1.0 - 1e-9) and pair.length > 0.0):
            return False
        behind = pair.start + pair.length
    behind = max(behind, point.preionizer_start + point.preionizer_length)
    return bool(behind <= point.length * (1.0 + 1e-9))
