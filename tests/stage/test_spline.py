"""Uniform cubic B-splines against SciPy's, and what makes them fit for Newton's method and a march of order four."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from explorer.stage.gas.spline import (
    cell,
    pair_values,
    pair_with_slopes,
    prefiltered,
    slopes,
    value_with_slopes,
    weights,
)

RNG = np.random.default_rng(4)


def curve(coefficients, position):
    cells = coefficients.size - 3
    i, t = cell(position, cells)
    return float(np.dot(weights(t), coefficients[i : i + 4]))


@pytest.mark.parametrize("n", [4, 5, 12])
def test_a_curve_is_scipy_s_cubic_spline_with_the_not_a_knot_condition(n):
    values = RNG.normal(size=n)
    ours, theirs = prefiltered(values, 0), CubicSpline(np.arange(n), values, bc_type="not-a-knot")
    for x in np.linspace(0.0, n - 1.0, 57):
        assert curve(ours, x) == pytest.approx(float(theirs(x)), rel=1e-10, abs=1e-10)


def test_a_cubic_is_reproduced_and_continued_beyond_the_ends():
    def cubic(x):
        return 2.0 - x + 0.3 * x**2 - 0.02 * x**3

    coefficients = prefiltered(cubic(np.arange(9.0)), 0)
    for x in (-0.7, 0.0, 0.2, 3.9, 8.0, 8.6):
        assert curve(coefficients, x) == pytest.approx(cubic(x), rel=1e-10)


def test_halving_the_spacing_divides_the_error_by_sixteen():
    errors = []
    for n in (17, 33, 65):
        x = np.linspace(0.0, 2.0, n)
        coefficients = prefiltered(np.exp(x), 0)
        places = np.linspace(0.3, 1.7, 101)
        found = [curve(coefficients, place / 2.0 * (n - 1)) for place in places]
        errors.append(np.abs(found - np.exp(places)).max())
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx([4.0, 4.0], abs=0.4)


@pytest.mark.parametrize("n", [2, 3])
def test_too_few_nodes_are_refused(n):
    with pytest.raises(ValueError, match="1 or at least 4 nodes"):
        prefiltered(np.zeros(n), 0)


def test_a_single_node_is_left_alone():
    assert prefiltered(np.array([[3.0, 4.0]]), 0).tolist() == [[3.0, 4.0]]


@pytest.mark.parametrize("t", [0.0, 0.3, 1.0])
def test_weights_sum_to_one_and_slopes_are_their_derivatives(t):
    h = 1e-6
    assert sum(weights(t)) == pytest.approx(1.0, rel=1e-14)
    numeric = (np.array(weights(t + h)) - np.array(weights(t - h))) / (2 * h)
    assert np.array(slopes(t)) == pytest.approx(numeric, abs=1e-9)


def test_a_cell_s_end_joins_the_next_cell_s_start_with_slope_and_curvature():
    coefficients = prefiltered(RNG.normal(size=8), 0)
    h = 1e-4
    for knot in (2.0, 5.0):
        left, here, right = (curve(coefficients, knot + d) for d in (-h, 0.0, h))
        before = (curve(coefficients, knot - 2 * h) - 2 * left + here) / h**2
        after = (curve(coefficients, knot + 2 * h) - 2 * right + here) / h**2
        assert (right - here) / h == pytest.approx((here - left) / h, abs=1e-3)
        assert before == pytest.approx(after, abs=0.02)


def test_the_cell_of_a_place_beyond_the_ends_is_the_edge_cell():
    assert cell(-0.5, 5) == (0, -0.5)
    assert cell(5.0, 5) == (4, 1.0)
    assert cell(5.5, 5) == (4, 1.5)


def test_surfaces_give_the_product_of_two_curves_with_their_slopes():
    rows, columns = 7, 9
    one, two = RNG.normal(size=(2, rows, columns))
    surface = [prefiltered(prefiltered(values, 0), 1) for values in (one, two)]
    lead = np.full(5, np.nan)  # what stands before the block is not touched
    table = np.concatenate([lead, np.stack(surface, axis=-1).ravel(), surface[0].ravel()])
    after = 5 + 2 * surface[0].size
    i, t, j, s, h = 3, 0.4, 5, 0.7, 1e-6

    def at(dt, ds):
        return pair_values(table, 5, columns + 2, i, t + dt, j, s + ds)

    f, f_i, f_j, g, g_i, g_j = pair_with_slopes(table, 5, columns + 2, i, t, j, s)
    assert (f, g) == pytest.approx(at(0.0, 0.0), rel=1e-13)
    expected = [
        float(CubicSpline(np.arange(columns), CubicSpline(np.arange(rows), v)(i + t))(j + s))
        for v in (one, two)
    ]
    assert (f, g) == pytest.approx(expected, rel=1e-9)
    by_i = (np.array(at(h, 0.0)) - at(-h, 0.0)) / (2 * h)
    by_j = (np.array(at(0.0, h)) - at(0.0, -h)) / (2 * h)
    assert (f_i, g_i) == pytest.approx(by_i, rel=1e-6)
    assert (f_j, g_j) == pytest.approx(by_j, rel=1e-6)
    assert value_with_slopes(table, after, columns + 2, i, t, j, s) == pytest.approx((f, f_i, f_j), rel=1e-12)
