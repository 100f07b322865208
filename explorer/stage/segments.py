"""What all points of a chunk have in common, and the segments into which a point's pairs divide the channel. Compiled.

Segments alternate: gap, pair, gap, …, gap; even ones lie between pairs, odd ones are pairs.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.circuit import Source
from explorer.stage.columns import Row, Rows
from explorer.stage.march import Segment
from explorer.stage.pair_current import FROZEN, Electrodes
from explorer.stage.stations import STATION


class Setting(NamedTuple):
    """What all points of a chunk have in common."""

    segmented: NDArray[np.bool_]  #: whether each pair is, shape (pairs,)
    supplies: NDArray[np.bool_]  #: whether each pair has a supply, else a load; shape (pairs,)
    gap_steps: int  #: [-] between pairs
    pair_steps: int  #: [-] within pairs
    heater: bool  #: whether the plain heater twin is wanted


class Workspace(NamedTuple):
    """Arrays that are used again for every point of a chunk."""

    gas_power: NDArray[np.float64]  #: [W/m] into the gas at every stage of every step, shape (pairs, 4 steps)
    frozen: Rows  #: frozen pictures, shape (pairs, 2 steps + 1)
    open_stations: Rows  #: with every pair open, shape (segments, 2 steps + 1)
    stations: Rows  #: with every circuit closed, shape (segments, 2 steps + 1)


@compiled
def workspace(pairs: int, gap_steps: int, pair_steps: int) -> Workspace:
    """A workspace for points with so many pairs and steps."""
    segments, places = 2 * pairs + 1, 2 * max(gap_steps, pair_steps) + 1
    return Workspace(
        np.zeros((pairs, 4 * pair_steps)),
        np.zeros((pairs, 2 * pair_steps + 1), dtype=FROZEN),
        np.zeros((segments, places), dtype=STATION),
        np.zeros((segments, places), dtype=STATION),
    )


@compiled
def segment_at(point: Row, pairs: Rows, setting: Setting, number: int) -> Segment:
    """A segment by its number."""
    p, within_pair = number // 2, number % 2 == 1
    last = min(p, pairs.size - 1)
    pair = pairs[last]
    electrodes = Electrodes(
        pair.voltage_drop, pair.drop_resistance, pair.arc_voltage, setting.segmented[last]
    )
    if within_pair:
        return Segment(pair.start, pair.start + pair.length, setting.pair_steps, True, electrodes)
    start = 0.0 if p == 0 else pairs[p - 1].start + pairs[p - 1].length
    end = point.length if p == pairs.size else pair.start
    return Segment(start, end, setting.gap_steps, False, electrodes)


@compiled
def source_of(pair: Row, supplies: bool) -> Source:
    """The circuit of a pair."""
    voltage = pair.source_voltage if supplies else 0.0
    return Source(supplies, voltage, pair.source_current_limit, pair.source_resistance, pair.leak_conductance)


@compiled
def pairs_within(point: Row, pairs: Rows) -> bool:
    """Whether every pair lies within the channel and behind the one before; sampled sizes may say otherwise."""
    behind = 0.0
    for p in range(pairs.size):
        pair = pairs[p]
        if not (pair.start >= behind * (1.0 - 1e-9) and pair.length > 0.0):
            return False
        behind = pair.start + pair.length
    return bool(behind <= point.length * (1.0 + 1e-9))
