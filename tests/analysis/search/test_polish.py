import numpy as np
import pytest
from analysis.search.published_designs import PROBLEMS, ranges

from explorer.analysis.search.design_space import Assessed, DesignSpace, Record, Variable, best
from explorer.analysis.search.polish import polished

SQUARE = ranges((0.0, 3.0), (0.0, 3.0))


def held(most: float):
    """(x − 2)² + (y − 1)² with x + y <= most: at most = 2 the least is 0.5 at (1.5, 0.5), its multiplier 1."""

    def assess(designs: np.ndarray) -> Assessed:
        x, y = designs.T
        return Assessed(((x - 2.0) ** 2 + (y - 1.0) ** 2)[:, None], (most - x - y)[:, None])

    return assess


def test_a_quadratic_held_by_a_line_ends_where_the_closed_form_says() -> None:
    end = polished(SQUARE, held(2.0), np.array([0.2, 2.8]), budget=100)
    assert end.met
    np.testing.assert_allclose(end.values, [1.5, 0.5], atol=2e-3)
    # The reserve that a descent keeps costs a little, and never helps.
    assert 0.5 <= end.wishes[0] < 0.5 + 1e-4
    free = polished(SQUARE, held(9.0), np.array([0.2, 2.8]), budget=100)
    np.testing.assert_allclose(free.values, [2.0, 1.0], atol=2e-3)


def test_relaxing_a_limit_gains_its_multiplier_times_the_change() -> None:
    start = polished(SQUARE, held(2.0), np.array([1.0, 1.0]), budget=100)
    gains = [
        start.wishes[0] - polished(SQUARE, held(2.0 + by), start.values, budget=100).wishes[0]
        for by in (0.01, 0.1)
    ]
    # The least is (most − 3)²/2: slope 1 at most = 2, and a curvature that the larger change shows.
    assert gains[0] == pytest.approx(0.01 - 0.01**2 / 2.0, abs=5e-5)
    assert gains[1] == pytest.approx(0.1 - 0.1**2 / 2.0, abs=5e-5)
    # A limit that holds nothing back gains nothing.
    loose = polished(SQUARE, held(4.0), start.values, budget=200).wishes[0]
    assert loose - polished(SQUARE, held(4.4), start.values, budget=200).wishes[0] == pytest.approx(
        0.0, abs=1e-5
    )


@pytest.mark.parametrize("name", PROBLEMS)
def test_the_end_is_never_worse_than_the_start_and_lies_inside_the_ranges(name: str) -> None:
    problem, rng = PROBLEMS[name], np.random.default_rng(2)
    better, space = 0, problem.space
    for _ in range(10):
        start = np.array(
            [rng.integers(v.entries) if v.entries else rng.uniform(v.low, v.high) for v in space.variables],
            dtype=np.float64,
        )
        record = Record(problem.assess)
        end = polished(space, record, start, budget=60)
        assert record.tried <= 60
        begun = best(start[None], problem.assess(start[None]))
        assert end.rank <= begun.rank
        better += end.rank < begun.rank
        np.testing.assert_array_equal(end.values[space.listed], start[space.listed])
        places = space.unit(record.designs)[:, space.continuous]
        assert places.min() >= 0.0
        assert places.max() <= 1.0
    assert better >= 9


def test_an_iterate_and_its_neighbours_are_one_call_and_the_budget_holds() -> None:
    calls = []

    def assess(designs: np.ndarray) -> Assessed:
        calls.append(len(designs))
        return held(2.0)(designs)

    polished(SQUARE, assess, np.array([0.2, 2.8]), budget=20)
    assert calls[0] == 1
    assert set(calls[1:]) == {3}
    assert sum(calls) <= 20
    polished(SQUARE, assess, np.array([0.2, 2.8]), budget=1)
    assert calls[-1] == 1


def test_a_fine_step_lands_nearer_than_a_coarse_one_alone() -> None:
    def bent(designs: np.ndarray) -> Assessed:
        x, y = designs.T
        return Assessed((x + y)[:, None], (x * y - 0.01)[:, None])

    space, start = ranges((0.01, 1.0), (0.01, 1.0)), np.array([0.8, 0.3])
    coarse = polished(space, bent, start, budget=200, steps=(1e-2,)).wishes[0]
    both = polished(space, bent, start, budget=200).wishes[0]
    # x = y = 0.1 in closed form.
    assert 0.2 <= both < 0.2 + 1e-3
    assert coarse > both


def test_where_designs_carry_no_number_the_way_turns_back() -> None:
    def broken(designs: np.ndarray) -> Assessed:
        x, y = designs.T
        with np.errstate(invalid="ignore"):
            wish = np.sqrt(x - 1.0) + y
        return Assessed(wish[:, None], np.where(np.isnan(wish), -10.0, 1.0)[:, None])

    end = polished(SQUARE, broken, np.array([2.5, 2.0]), budget=150)
    assert end.met
    assert end.wishes[0] < 0.35
    # Without limits too.
    free = polished(
        SQUARE, lambda d: Assessed(broken(d).wishes, np.empty((len(d), 0))), np.array([2.5, 2.0]), budget=150
    )
    assert free.met
    assert free.wishes[0] < np.sqrt(1.5)


def test_lists_alone_leave_the_start_as_it_is() -> None:
    space = DesignSpace((Variable("plate", entries=4),))
    end = polished(
        space, lambda d: Assessed(d.astype(np.float64), np.ones((len(d), 1))), np.array([2.0]), budget=9
    )
    assert end.values.tolist() == [2.0]
