import numpy as np
import pytest

from explorer.analysis.search.design_space import Assessed, DesignSpace, Record, Variable, best, key

SPACE = DesignSpace(
    (Variable("gap", 10.0, 20.0), Variable("plate", entries=5), Variable("metal", entries=3, ordered=False))
)


def judged(wishes: list[float], margins: list[list[float]]) -> Assessed:
    return Assessed(np.array(wishes)[:, None], np.array(margins).reshape(len(wishes), -1))


def test_designs_that_meet_all_limits_come_first_by_wish_then_the_others_by_all_that_is_missing() -> None:
    found = judged([5.0, 1.0, 2.0, 0.0], [[0.1, 0.0], [0.2, -0.3], [0.0, 4.0], [-0.1, -0.1]])
    assert found.met.tolist() == [True, False, True, False]
    np.testing.assert_allclose(found.missing, [0.0, 0.3, 0.0, 0.2])
    # Without the limits the last one would have won.
    assert found.best_first().tolist() == [2, 0, 3, 1]
    assert judged([5.0, 1.0, 2.0, 0.0], [[], [], [], []]).best_first().tolist() == [3, 1, 2, 0]


def test_a_design_without_a_number_is_never_the_best() -> None:
    found = judged([np.nan, 3.0], [[], []])
    assert found.met.tolist() == [False, True]
    assert best(np.array([[0.0], [1.0]]), found).values[0] == 1.0
    # Nor may its margins hide it.
    assert judged([np.nan, 3.0], [[1.0], [-0.5]]).best_first().tolist() == [1, 0]


def test_unit_coordinates_run_from_end_to_end_and_keep_to_the_range() -> None:
    ends = SPACE.unit(np.array([[10.0, 0.0, 0.0], [20.0, 4.0, 2.0]]))
    np.testing.assert_array_equal(ends, [[0.0, 0.0, 0.0], [1.0, 1.0, 1.0]])
    narrow = DesignSpace((Variable("x", 0.1, 0.3),))
    moved = narrow.moved(np.array([0.1]), np.linspace(0.0, 1.0, 1001)[:, None])
    assert moved.min() == 0.1
    assert moved.max() == 0.3
    assert SPACE.combinations == 15


def test_words_are_alike_or_not_and_numbers_near_or_far() -> None:
    one, other = np.array([12.0, 1.0, 0.0]), np.array([12.4, 2.0, 2.0])
    np.testing.assert_allclose(SPACE.differences(one, other), [0.04, 0.25, 1.0])
    assert SPACE.differing(one, other) == (1, 2)
    assert SPACE.differing(one, np.array([12.6, 1.0, 0.0])) == (0,)
    np.testing.assert_allclose(SPACE.distances(one[None], np.stack([one, other]))[0, 0], 0.0)


@pytest.mark.parametrize("bad", [{"low": 1.0, "high": 1.0}, {"high": np.inf}, {"entries": -1}])
def test_a_variable_without_a_range_or_a_list_is_refused(bad) -> None:
    with pytest.raises(ValueError, match="finite ends"):
        Variable("x", **bad)
    with pytest.raises(ValueError, match="name of its own"):
        DesignSpace((Variable("x"), Variable("x")))


def test_a_record_assesses_each_design_once_tells_of_it_and_keeps_the_order() -> None:
    asked, told = [], []

    def assess(designs: np.ndarray) -> Assessed:
        asked.append(designs[:, 0].tolist())
        return judged((designs[:, 0] ** 2).tolist(), [[1.0]] * len(designs))

    record = Record(assess, on_new=lambda designs, found: told.append((len(designs), len(found.wishes))))
    record(np.array([[2.0], [1.0], [2.0]]))
    found = record(np.array([[1.0], [0.0], [-0.0], [2.0]]))
    assert asked == [[2.0, 1.0], [0.0]]
    assert told == [(2, 2), (1, 1)]
    np.testing.assert_array_equal(found.wishes[:, 0], [1.0, 0.0, 0.0, 4.0])
    np.testing.assert_array_equal(record.designs[:, 0], [2.0, 1.0, 0.0])
    assert (record.tried, record.count) == (3, 3)
    assert record.best().wishes[0] == 0.0


def test_what_is_known_already_counts_as_tried_and_costs_nothing() -> None:
    def assess(designs: np.ndarray) -> Assessed:
        assert 7.0 not in designs
        return judged(designs[:, 0].tolist(), [[1.0]] * len(designs))

    record = Record(assess, known={key(np.array([7.0])): (np.array([-5.0]), np.array([1.0]))})
    assert record.tried == 0
    record(np.array([[7.0], [8.0]]))
    assert (record.tried, record.count) == (2, 1)
    assert record.best().values[0] == 7.0
