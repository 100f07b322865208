"""Design problems with a published optimum, searched as a user's are; sources in reference/optimisation.toml."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from analysis.search.published_designs import PROBLEMS

from explorer.analysis.search.continuous_search import continuous_search
from explorer.analysis.search.design_space import Record
from explorer.analysis.search.stock_search import stock_search

REFERENCE = tomllib.loads(
    (Path(__file__).parents[2] / "reference/optimisation.toml").read_text(encoding="utf-8")
)

#: Designs allowed: some thousands, for the welded beam and the spring are known to be hard.
BUDGET = 4000

ALIKE = 0.01


@pytest.mark.parametrize("name", PROBLEMS)
def test_the_published_design_gives_the_published_optimum_in_these_formulas(name):
    row, problem = REFERENCE[name], PROBLEMS[name]
    wish, margins = problem.formula(np.array([row["design"]]))
    assert wish[0] == pytest.approx(row["optimum"], rel=3e-4)
    # Printed digits may miss an active limit by their rounding.
    assert min(margin[0] for margin in margins) > -2e-4


@pytest.mark.parametrize("name", [name for name in PROBLEMS if name != "pressure_vessel_plates"])
def test_a_search_finds_the_published_optimum_within_one_per_cent(name):
    problem, optimum = PROBLEMS[name], REFERENCE[name]["optimum"]
    record = Record(problem.assess)
    found = continuous_search(problem.space, record, budget=BUDGET, rng=np.random.default_rng(1))
    assert record.tried <= BUDGET
    assert (found.margins >= 0.0).all()
    assert found.wishes[0] == pytest.approx(optimum, rel=ALIKE)


@pytest.mark.slow
def test_plates_in_sixteenths_of_an_inch_are_found_among_99_by_99():
    problem, optimum = PROBLEMS["pressure_vessel_plates"], REFERENCE["pressure_vessel_plates"]["optimum"]
    record = Record(problem.assess)
    found = stock_search(problem.space, record, budget=1000, rng=np.random.default_rng(1))
    assert record.tried <= 1000
    assert (found.margins >= 0.0).all()
    assert found.wishes[0] == pytest.approx(optimum, rel=ALIKE)
    assert (
        problem.physical(found.values[None, :])[0, :2].tolist()
        == REFERENCE["pressure_vessel_plates"]["design"][:2]
    )


@pytest.mark.parametrize("name", ["welded_beam", "pressure_vessel_plates"])
def test_a_few_designs_at_random_do_not_find_it(name):
    """The twin that must fail: the same number of designs without a search."""
    problem, optimum = PROBLEMS[name], REFERENCE[name]["optimum"]
    rng = np.random.default_rng(1)
    designs = np.column_stack(
        [
            rng.integers(0, v.entries, BUDGET) if v.entries else rng.uniform(v.low, v.high, BUDGET)
            for v in problem.space.variables
        ]
    )
    record = Record(problem.assess)
    record(designs.astype(np.float64))
    best = record.best()
    assert not best.met or best.wishes[0] > optimum * (1.0 + ALIKE)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["g24", "pressure_vessel_plates"])
def test_a_search_that_was_broken_off_replays_to_the_same_end(name):
    problem = PROBLEMS[name]
    search = stock_search if problem.space.listed.size else continuous_search
    whole = Record(problem.assess)
    end = search(problem.space, whole, budget=400, rng=np.random.default_rng(3))
    kept = {}

    def keep(designs, assessed):
        rows = zip(designs, assessed.wishes, assessed.margins, strict=True)
        kept.update({design.tobytes(): (wishes, margins) for design, wishes, margins in rows})
        if len(kept) > 150:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        search(problem.space, Record(problem.assess, on_new=keep), budget=400, rng=np.random.default_rng(3))
    resumed = Record(problem.assess, known=kept)
    again = search(problem.space, resumed, budget=400, rng=np.random.default_rng(3))
    np.testing.assert_array_equal(again.values, end.values)
    assert resumed.count < whole.count
    np.testing.assert_array_equal(resumed.designs, whole.designs)
    other = Record(problem.assess)
    search(problem.space, other, budget=400, rng=np.random.default_rng(4))
    assert not np.array_equal(other.designs[:50], whole.designs[:50])
