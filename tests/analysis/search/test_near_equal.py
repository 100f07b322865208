import numpy as np
import pytest
from analysis.search.published_designs import ranges

from explorer.analysis.search.design_space import Assessed, DesignSpace, Record, Variable
from explorer.analysis.search.near_equal import near_equal


def valley(steepness: float):
    """1 + (x − 0.5)², flat or steep along y; nothing to hold."""

    def assess(designs: np.ndarray) -> Assessed:
        x, y = designs.T
        wish = 1.0 + (x - 0.5) ** 2 + steepness * (y - 0.5) ** 2
        return Assessed(wish[:, None], np.empty((len(designs), 0)))

    return assess


SQUARE, MIDDLE = ranges((0.0, 1.0), (0.0, 1.0)), np.array([0.5, 0.5])


def test_along_a_flat_valley_both_its_ends_are_found_and_across_it_what_the_tolerance_allows() -> None:
    found = near_equal(SQUARE, Record(valley(0.0)), MIDDLE, tolerance=0.02)
    assert len(found) == 4
    assert all(tried.met and tried.wishes[0] <= 1.02 for tried in found)
    values = np.stack([tried.values for tried in found])
    assert values[:, 1].min() < 0.02
    assert values[:, 1].max() > 0.98
    # (x − 0.5)² = 0.02 in closed form.
    across = 0.02**0.5
    assert 0.5 - across <= values[:, 0].min() < 0.5 - 0.8 * across
    assert SQUARE.differing(found[0].values, MIDDLE)


def test_across_a_steep_valley_nothing_is_nearly_equal() -> None:
    found = near_equal(SQUARE, Record(valley(100.0)), MIDDLE, tolerance=0.02)
    assert all(abs(tried.values[1] - 0.5) < 0.02 for tried in found)
    assert near_equal(SQUARE, Record(valley(100.0)), MIDDLE, tolerance=1e-5) == ()


def test_limits_hold_for_nearly_equal_designs_too() -> None:
    def held(designs: np.ndarray) -> Assessed:
        return Assessed(valley(0.0)(designs).wishes, (0.7 - designs[:, 1])[:, None])

    found = near_equal(SQUARE, Record(held), MIDDLE, tolerance=0.02)
    assert found
    assert max(tried.values[1] for tried in found) <= 0.7


def test_another_entry_of_a_list_comes_first_where_it_is_nearly_as_good_and_not_at_all_where_it_is_not() -> (
    None
):
    factors = np.array([1.0, 1.01, 1.5])
    space = DesignSpace((Variable("metal", entries=3, ordered=False), Variable("x")))

    def assess(designs: np.ndarray) -> Assessed:
        wish = factors[designs[:, 0].astype(int)] + (designs[:, 1] - 0.3 * designs[:, 0]) ** 2
        return Assessed(wish[:, None], np.empty((len(designs), 0)))

    found = near_equal(space, Record(assess), np.array([0.0, 0.0]), tolerance=0.02)
    assert found[0].values[0] == 1.0
    assert 2.0 not in [tried.values[0] for tried in found]
    # It was polished on the way: x = 0.3 is best with it.
    assert abs(found[0].values[1] - 0.3) < 0.11
    assert len(near_equal(space, Record(assess), np.array([0.0, 0.0]), tolerance=0.02, count=1)) == 1


@pytest.mark.parametrize("variables", [2, 4, 8])
def test_the_ends_of_a_valley_that_crosses_all_variables_are_found_however_many_there_are(
    variables: int,
) -> None:
    """1 + (Σx − n/2)²: one variable may go to either end if the others make up for it."""

    def assess(designs: np.ndarray) -> Assessed:
        wish = 1.0 + (designs.sum(axis=1) - 0.5 * variables) ** 2
        return Assessed(wish[:, None], np.empty((len(designs), 0)))

    space = ranges(*[(0.0, 1.0)] * variables)
    found = near_equal(space, Record(assess), np.full(variables, 0.5), tolerance=0.02, count=2 * variables)
    values = np.stack([tried.values for tried in found])
    assert max(tried.wishes[0] for tried in found) <= 1.02
    np.testing.assert_allclose(values.min(axis=0), 0.0, atol=0.02)
    np.testing.assert_allclose(values.max(axis=0), 1.0, atol=0.02)
