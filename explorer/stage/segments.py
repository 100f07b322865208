"""Segments of the channel, and what all points of a chunk have in common: pairs and gaps, settings, work space."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.circuit import Source
from explorer.stage.columns import (
    ARC_VOLTAGE,
    DROP_RESISTANCE,
    LEAK_CONDUCTANCE,
    LENGTH,
    PAIR_LENGTH,
    PAIR_START,
    SOURCE_CURRENT_LIMIT,
    SOURCE_RESISTANCE,
    SOURCE_VOLTAGE,
    VOLTAGE_DROP,
)
from explorer.stage.frozen import FROZEN_COLUMNS
from explorer.stage.stations import COLUMNS, INTEGRALS, Electrodes


class Setting(NamedTuple):
    """What all points of a chunk have in common.

    Attributes
    ----------
    segmented, supplies : NDArray
        Whether each pair is segmented, and whether it has a supply (else a load); shape (pairs,).
    order : NDArray
        Pairs from inlet to outlet.
    gap_steps, pair_steps : int
        Steps between and within pairs.
    heater : bool
        Whether the plain heater twin is wanted.
    """

    segmented: NDArray[np.bool_]
    supplies: NDArray[np.bool_]
    gap_steps: int
    pair_steps: int
    heater: bool


class Workspace(NamedTuple):
    """Arrays that are used again for every point of a chunk."""

    rate: NDArray[np.float64]
    open_integrals: NDArray[np.float64]
    before_pairs: NDArray[np.float64]
    integrals: NDArray[np.float64]
    pair_integrals: NDArray[np.float64]
    heater: NDArray[np.float64]
    frozen: NDArray[np.float64]
    open_stations: NDArray[np.float64]
    stations: NDArray[np.float64]


@compiled
def workspace(pairs: int, gap_steps: int, pair_steps: int) -> Workspace:
    """A workspace for points with so many pairs and steps.

    Parameters
    ----------
    pairs, gap_steps, pair_steps : int
        [-] Sizes. Segments alternate: gap, pair, gap, …, gap.
    """
    rows = 2 * max(gap_steps, pair_steps) + 1
    segments = 2 * pairs + 1
    return Workspace(
        np.empty(INTEGRALS),
        np.empty(INTEGRALS),
        np.empty(INTEGRALS),
        np.empty(INTEGRALS),
        np.empty((pairs, INTEGRALS)),
        np.zeros((pairs, 4 * pair_steps)),
        np.empty((pairs, 2 * pair_steps + 1, FROZEN_COLUMNS)),
        np.zeros((segments, rows, COLUMNS)),
        np.zeros((segments, rows, COLUMNS)),
    )


@compiled
def electrodes_of(pair: NDArray[np.float64], segmented: bool) -> Electrodes:
    """The pair's electrodes from its row of `columns.PAIR_INPUTS`."""
    return Electrodes(pair[VOLTAGE_DROP], pair[DROP_RESISTANCE], pair[ARC_VOLTAGE], segmented)


@compiled
def source_of(pair: NDArray[np.float64], supplies: bool) -> Source:
    """The pair's circuit from its row of `columns.PAIR_INPUTS`."""
    return Source(
        supplies,
        pair[SOURCE_VOLTAGE] if supplies else 0.0,
        pair[SOURCE_CURRENT_LIMIT],
        pair[SOURCE_RESISTANCE],
        pair[LEAK_CONDUCTANCE],
    )


@compiled
def segment_edges(
    point: NDArray[np.float64], pairs: NDArray[np.float64], segment: int
) -> tuple[float, float]:
    """Start and end of a segment [m]; even segments lie between pairs, odd ones are pairs."""
    p = segment // 2
    if segment % 2 == 1:
        return pairs[p, PAIR_START], pairs[p, PAIR_START] + pairs[p, PAIR_LENGTH]
    start = 0.0 if p == 0 else pairs[p - 1, PAIR_START] + pairs[p - 1, PAIR_LENGTH]
    end = point[LENGTH] if p == pairs.shape[0] else pairs[p, PAIR_START]
    return start, end


@compiled
def pairs_within(point: NDArray[np.float64], pairs: NDArray[np.float64]) -> bool:
    """Whether every pair lies within the channel and behind the one before; sampled sizes may say otherwise."""
    behind = 0.0
    for p in range(pairs.shape[0]):
        if not (pairs[p, PAIR_START] >= behind * (1.0 - 1e-9) and pairs[p, PAIR_LENGTH] > 0.0):
            return False
        behind = pairs[p, PAIR_START] + pairs[p, PAIR_LENGTH]
    return bool(behind <= point[LENGTH] * (1.0 + 1e-9))
