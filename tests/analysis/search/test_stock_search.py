import os
import subprocess
import sys
from itertools import product
from pathlib import Path

import numpy as np
import optuna
import pytest
from analysis.known_functions import reference
from analysis.search.published_designs import PROBLEMS

from explorer.analysis.search.design_space import Assessed, DesignSpace, Record, Variable
from explorer.analysis.search.stock_search import ask_and_tell, neighbours, stock_search

MIXED = DesignSpace(
    (Variable("metal", entries=4, ordered=False), Variable("plate", entries=20), Variable("x"), Variable("y"))
)


def mixed(designs: np.ndarray) -> Assessed:
    """Metal 2, plate 13, x = 0.65, y as small as the limit y >= 0.3 lets it be: 0.3 in all."""
    metal, plate, x, y = designs.T
    wish = np.array([0.4, 0.6, 0.0, 0.2])[metal.astype(int)] + (plate / 20.0 - x) ** 2 + (x - 0.65) ** 2 + y
    return Assessed(wish[:, None], (y - 0.3)[:, None])


def searched(seed: int, budget: int) -> Record:
    record = Record(mixed)
    stock_search(MIXED, record, budget=budget, rng=np.random.default_rng(seed))
    return record


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_words_numbers_in_stock_and_ranges_are_searched_together(seed: int) -> None:
    record = searched(seed, 500)
    assert record.tried <= 500
    found = record.best()
    assert found.values[:2].tolist() == [2.0, 13.0]
    assert found.wishes[0] == pytest.approx(0.3, abs=1e-3)


def test_lists_alone_are_tried_completely_where_the_budget_allows_it() -> None:
    space = DesignSpace((Variable("a", entries=6), Variable("b", entries=7, ordered=False)))
    hidden = np.random.default_rng(5).random((6, 7))

    def assess(designs: np.ndarray) -> Assessed:
        wish = hidden[designs[:, 0].astype(int), designs[:, 1].astype(int)]
        return Assessed(wish[:, None], (wish - 0.2)[:, None])

    record = Record(assess)
    found = stock_search(space, record, budget=42, rng=np.random.default_rng(1))
    assert record.tried == 42
    assert found.wishes[0] == hidden[hidden >= 0.2].min()
    short = Record(assess)
    stock_search(space, short, budget=41, rng=np.random.default_rng(1))
    assert short.tried < 42
    np.testing.assert_array_equal(record.designs, list(product(range(6), range(7))))


def test_neighbours_are_one_entry_up_or_down_or_any_other_word() -> None:
    found = neighbours(MIXED, np.array([1.0, 0.0, 0.2, 0.3]))
    assert found[:, :2].tolist() == [[0, 0], [2, 0], [3, 0], [1, 1]]
    np.testing.assert_array_equal(found[:, 2:], np.tile([0.2, 0.3], (4, 1)))
    assert neighbours(MIXED, np.array([1.0, 10.0, 0.2, 0.3]), strides=(1, 8))[3:, 1].tolist() == [
        11,
        9,
        18,
        2,
    ]


def test_the_same_generator_asks_for_the_same_designs_in_another_process_too() -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); from analysis.search.test_stock_search import searched;"
        "sys.stdout.write(searched(3, 120).designs.tobytes().hex())"
    )
    path = str(Path(__file__).parents[2])
    other = subprocess.run(
        [sys.executable, "-c", code, path],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"PYTHONHASHSEED": "7"},
    )
    assert other.stdout == searched(3, 120).designs.tobytes().hex()
    assert other.stderr == ""
    assert not np.array_equal(searched(4, 120).designs, searched(3, 120).designs)


def test_the_sampler_is_told_of_limits_and_of_designs_without_a_number_and_is_quiet(capfd) -> None:
    def edge(designs: np.ndarray) -> Assessed:
        x, y = designs.T
        wish = np.where(y > 0.9, np.nan, x)
        return Assessed(wish[:, None], np.column_stack([x - 0.5, np.where(y > 0.9, -10.0, 1.0)]))

    space = DesignSpace((Variable("x"), Variable("y")))
    before = optuna.logging.get_verbosity()
    record = Record(edge)
    ask_and_tell(space, record, budget=150, rng=np.random.default_rng(1))
    assert optuna.logging.get_verbosity() == before
    assert capfd.readouterr() == ("", "")
    assert record.tried == 150
    # At random a fifth would lie so near the limit, and a tenth carry no number.
    late = record.designs[75:]
    assert (np.abs(late[:, 0] - 0.5) < 0.1).mean() > 0.5
    assert (late[:, 1] > 0.9).mean() < 0.05
    assert record.best().wishes[0] < 0.55
    unlimited = Record(lambda d: Assessed(edge(d).wishes, np.empty((len(d), 0))))
    ask_and_tell(space, unlimited, budget=50, rng=np.random.default_rng(1))
    assert unlimited.best().met


def test_the_best_of_many_noisy_designs_looks_better_than_it_is_and_a_fresh_figure_does_not() -> None:
    case, space = reference("optimisation")["best_of_normals"], DesignSpace((Variable("kind", entries=100),))
    looked, fresh = [], []
    for number in range(400):
        rng = np.random.default_rng(number)
        noise = rng.standard_normal(case["count"])
        record = Record(
            lambda d, noise=noise: Assessed(noise[d[:, 0].astype(int)][:, None], np.empty((len(d), 0)))
        )
        found = stock_search(space, record, budget=case["count"], rng=rng)
        looked.append(-found.wishes[0])
        fresh.append(rng.standard_normal(case["count"])[int(found.values[0])])
    # The largest of 100 has a standard deviation of 0.43, a fresh value one of 1: four standard errors of 400.
    assert np.mean(looked) == pytest.approx(case["mean"], abs=4.0 * 0.43 / 20.0)
    assert np.mean(fresh) == pytest.approx(0.0, abs=4.0 / 20.0)


def test_a_space_without_lists_is_refused() -> None:
    problem = PROBLEMS["g24"]
    with pytest.raises(ValueError, match="continuous search"):
        stock_search(problem.space, Record(problem.assess), budget=100, rng=np.random.default_rng(0))
