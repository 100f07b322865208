import numpy as np
import pytest
from analysis.search.published_designs import ranges

from explorer.analysis.search.design_space import Assessed, DesignSpace, Record
from explorer.analysis.search.shortfall import least_shortfall, shortfall

SQUARE = ranges((0.0, 1.0), (0.0, 1.0))
EVERY = (0, 1, 2)


def conflict(designs: np.ndarray) -> Assessed:
    """x at least 0.8 and at most 0.2 can't both hold; y at least 0.5 has nothing to do with it."""
    x, y = designs.T
    return Assessed((x + y)[:, None], np.stack([x - 0.8, 0.2 - x, y - 0.5], axis=1))


def begun(space: DesignSpace, assess=conflict) -> Record:
    record = Record(assess)
    record(space.moved(np.zeros(2), np.random.default_rng(1).random((20, 2))))
    return record


def test_two_limits_that_exclude_each_other_miss_by_half_of_the_gap_each() -> None:
    end = least_shortfall(SQUARE, begun(SQUARE), EVERY, budget=200)
    assert end.largest_shortfall == pytest.approx(0.3, abs=2e-3)
    assert end.values[0] == pytest.approx(0.5, abs=2e-3)
    assert end.margins[2] >= -0.3
    assert not end.met


@pytest.mark.parametrize("soft, hard, x, left", [(0, 1, 0.2, 0.6), (1, 0, 0.8, 0.6), (2, 2, None, 0.0)])
def test_with_the_others_met_one_limit_gives_way_by_the_whole_gap(soft, hard, x, left) -> None:
    end = least_shortfall(SQUARE, begun(SQUARE), [soft], hard=[hard], budget=200)
    assert max(-end.margins[soft], 0.0) == pytest.approx(left, abs=5e-3)
    if x is not None:
        assert end.values[0] == pytest.approx(x, abs=5e-3)
        assert end.margins[hard] >= 0.0


def test_a_wider_range_helps_only_where_the_miss_stands_at_its_end() -> None:
    def far(designs: np.ndarray) -> Assessed:
        x, y = designs.T
        return Assessed(y[:, None], (x + y - 2.5)[:, None])

    narrow = least_shortfall(SQUARE, begun(SQUARE, far), [0], budget=200)
    assert narrow.largest_shortfall == pytest.approx(0.5, abs=5e-3)
    wider = ranges((0.0, 1.1), (0.0, 1.0))
    end = least_shortfall(wider, begun(SQUARE, far), [0], budget=200, start=narrow.values)
    assert end.largest_shortfall == pytest.approx(0.4, abs=5e-3)


def test_where_all_limits_can_be_met_nothing_is_missing() -> None:
    def easy(designs: np.ndarray) -> Assessed:
        found = conflict(designs)
        return Assessed(found.wishes, found.margins[:, [0, 2]])

    end = least_shortfall(SQUARE, begun(SQUARE, easy), [0, 1], budget=200)
    assert end.met
    assert shortfall(end.margins[None], [0, 1])[0] <= 0.0
    np.testing.assert_allclose(shortfall(np.array([[0.1, -0.2, -0.4]]), [0, 1]), [0.2])
