"""How far current spreads beyond the electrodes' ends, against the plane potential solved on a grid."""

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import spsolve
from stage.perfect_table import STATED

from explorer.stage.channel import Channel
from explorer.stage.columns import PAIR_INPUTS, row_type
from explorer.stage.segments import Setting, spread

GAP, SIGMA = 0.01, 4.0


def grid_growth(length, layer, cells):
    """Growth of the conducting length over the gap, of electrodes `length` gaps long with r_d σ/g = `layer`.

    Laplace's equation in cells of a quarter of the plane: symmetry at the electrode's middle, potential 0 half way
    between the electrodes, the electrode at 1 behind half the layers, insulating walls beyond its end.
    """
    h = 1.0 / cells  # in gaps
    rows, along = cells // 2, round((0.5 * length + 2.5) * cells)
    covered = round(0.5 * length * cells)
    number = np.arange(rows * along).reshape(rows, along)
    to_electrode = 1.0 / (0.5 + 0.5 * layer / h)  # conductance of half a cell and half the layers
    links = [(number[:, 1:], number[:, :-1]), (number[1:], number[:-1])]
    diagonal = np.zeros((rows, along))
    diagonal[0] += 2.0  # half a cell to the middle plane
    diagonal[-1, :covered] += to_electrode
    i = np.concatenate([a.ravel() for a, _ in links])
    j = np.concatenate([b.ravel() for _, b in links])
    for one in (i, j):
        diagonal += np.bincount(one, minlength=rows * along).reshape(rows, along)
    ones = np.ones(i.size)
    matrix = sparse.coo_matrix(
        (
            np.concatenate([diagonal.ravel(), -ones, -ones]),
            (np.concatenate([number.ravel(), i, j]), np.concatenate([number.ravel(), j, i])),
        )
    ).tocsc()
    source = np.zeros((rows, along))
    source[-1, :covered] = to_electrode
    potential = spsolve(matrix, source.ravel()).reshape(rows, along)
    current = 2.0 * np.sum(2.0 * potential[0])  # both halves, through the middle plane; half the voltage
    one_dimensional = 2.0 / (1.0 + layer)  # per gap of length, at that half voltage
    return current / one_dimensional - length


def growth(length, layer):
    """Extrapolated from two grids: the field is singular at the electrode's end."""
    coarse, fine = (grid_growth(length, layer, cells) for cells in (40, 80))
    return 2.0 * fine - coarse


def conducting(*, length, layer, share=1.0, before=5.0, after=5.0):
    """Start and length of the conducting stretch, in gaps, of a pair that far from the channel's ends."""
    channel = Channel((before + length + after) * GAP, GAP, GAP, GAP, GAP, 0.0, 1.0, 0.0, 0.1, 1.0, 1.0)
    pairs = np.zeros(1, dtype=row_type(PAIR_INPUTS))
    pairs["start"], pairs["length"], pairs["end_spread"] = before * GAP, length * GAP, share
    pairs["drop_resistance"] = layer * GAP / SIGMA
    found = np.zeros_like(pairs)
    setting = Setting(np.array([True]), np.array([True]), *STATED, 1, 4, False)
    spread(channel, pairs, setting, np.array([0.5]), SIGMA, 0.1, found)
    return float(found["start"][0]) / GAP, float(found["length"][0]) / GAP


@pytest.mark.parametrize("length", [3.0, 6.0])
@pytest.mark.parametrize("layer", [0.0, 0.5, 2.0])
def test_the_current_is_that_of_the_plane_potential(length, layer):
    """Within 2 % of the current and a tenth of the growth itself; a pair without spreading would miss both."""
    expected = growth(length, layer)
    _, found = conducting(length=length, layer=layer)
    assert found == pytest.approx(length + expected, rel=0.02)
    assert found - length == pytest.approx(expected, rel=0.1)


def test_half_of_it_lies_at_each_end_and_none_beyond_the_channel():
    start, length = conducting(length=4.0, layer=0.0, share=0.5)
    free = 0.5 * 2 * np.log(2) / np.pi
    assert length == pytest.approx(4.0 + free, rel=1e-12)
    assert start == pytest.approx(5.0 - 0.5 * free, rel=1e-12)
    start, length = conducting(length=4.0, layer=0.0, before=0.1, after=0.0)
    assert (start, length) == (pytest.approx(0.0, abs=1e-12), pytest.approx(4.1, rel=1e-12))
