import numpy as np
import pytest
from analysis.known_functions import reference
from analysis.search.published_designs import ZDT, ranges

from explorer.analysis.search.design_space import Assessed, DesignSpace, Record, Variable
from explorer.analysis.search.stock_search import ask_and_tell
from explorer.analysis.search.trade_off import hypervolume, knee, nondominated, trade_off_curve

CASE = reference("optimisation")["hypervolume"]


def test_what_no_other_design_betters_is_what_a_comparison_of_all_pairs_leaves() -> None:
    wishes = np.random.default_rng(1).integers(0, 12, (60, 2)).astype(np.float64)
    wishes[7] = [np.nan, 0.0]
    kept = nondominated(wishes)
    for i, one in enumerate(wishes):
        others = np.delete(wishes, i, axis=0)
        bettered = ((others <= one).all(axis=1) & (others < one).any(axis=1)).any()
        on_front = any((wishes[k] == one).all() for k in kept)
        assert on_front == (not bettered and i != 7)
    assert (np.diff(wishes[kept, 0]) > 0.0).all()
    assert (np.diff(wishes[kept, 1]) < 0.0).all()
    assert nondominated(np.empty((0, 2))).size == 0


def test_the_area_is_that_of_the_stairs_and_of_points_thrown_at_them() -> None:
    stairs = np.array([[0.0, 0.5], [0.5, 0.0], [0.7, 0.7], [2.0, -1.0]])
    # 1 × 0.5 and 0.5 × 0.5; the third betters nothing new, the fourth lies outside.
    assert hypervolume(stairs, (1.0, 1.0)) == pytest.approx(0.75)
    rng = np.random.default_rng(2)
    wishes, thrown = rng.random((30, 2)), rng.random((40_000, 2))
    share = (wishes[None] <= thrown[:, None]).all(axis=2).any(axis=1).mean()
    error = np.sqrt(share * (1.0 - share) / len(thrown))
    assert hypervolume(wishes, (1.0, 1.0)) == pytest.approx(share, abs=4.0 * error)
    assert hypervolume(wishes + 2.0, (1.0, 1.0)) == 0.0


@pytest.mark.parametrize(
    "name, front", [("zdt1", lambda f: 1.0 - np.sqrt(f)), ("zdt2", lambda f: 1.0 - f**2)]
)
def test_many_points_of_the_exact_front_cover_the_published_area(name, front) -> None:
    first = np.linspace(0.0, 1.0, 20_001)
    area = hypervolume(np.stack([first, front(first)], axis=1), tuple(CASE["reference"]))
    assert area == pytest.approx(CASE[name], rel=1e-4)


def test_the_knee_is_where_the_curve_bends_whatever_the_wishes_are_measured_in() -> None:
    bent = np.array([[0.0, 10.0], [0.1, 6.0], [0.2, 1.0], [0.6, 0.5], [1.0, 0.0]])
    assert knee(bent) == 2
    assert knee(bent * [1e6, 1e-3] + [5.0, -7.0]) == 2


@pytest.mark.slow
@pytest.mark.parametrize("name", ["zdt1", "zdt2"])
def test_the_curve_of_thirty_variables_covers_the_published_area_within_two_per_cent(name: str) -> None:
    space, corner = ranges(*[(0.0, 1.0)] * 30), tuple(CASE["reference"])
    record = Record(ZDT[name])
    ask_and_tell(space, record, budget=50, rng=np.random.default_rng(1), wishes=2)
    asked = hypervolume(record.assessed.wishes, corner)
    curve = trade_off_curve(space, record, points=81, budget=250)
    area = hypervolume(np.array([tried.wishes for tried in curve]), corner)
    assert area == pytest.approx(CASE[name], rel=0.02)
    # Nothing lies beyond the exact front, and sampling alone is far from it.
    assert area < CASE[name]
    assert asked < 0.5 * CASE[name]


def test_limits_cut_the_curve_off() -> None:
    """f1 = x, f2 = 1 − x + y, x at least 0.25: from (0.25, 0.75) to (1, 0)."""

    def assess(designs: np.ndarray) -> Assessed:
        x, y = designs.T
        return Assessed(np.stack([x, 1.0 - x + y], axis=1), (x - 0.25)[:, None])

    space, record = ranges((0.0, 1.0), (0.0, 1.0)), Record(assess)
    ask_and_tell(space, record, budget=50, rng=np.random.default_rng(1), wishes=2)
    curve = trade_off_curve(space, record, points=5, budget=60)
    wishes = np.array([tried.wishes for tried in curve])
    assert all(tried.met for tried in curve)
    assert wishes[:, 0].min() == pytest.approx(0.25, abs=2e-3)
    assert wishes[-1, 1] == pytest.approx(0.0, abs=2e-3)
    assert (wishes.sum(axis=1) >= 1.0 - 1e-9).all()
    assert len(curve) <= 5
    # Below the curve's line up to (1, 1): (1 − 0.25²)/2 in closed form, the stairs' own loss aside.
    covered = hypervolume(record.assessed.wishes[record.assessed.met], (1.0, 1.0))
    assert (1.0 - 0.25**2) / 2.0 - 0.1 < covered < (1.0 - 0.25**2) / 2.0


def test_the_knee_of_a_hyperbola_is_its_middle() -> None:
    """1/x between a fifth and 5 is its own mirror image, and bends most at x = 1."""
    x = np.geomspace(0.2, 5.0, 41)
    assert x[knee(np.stack([x, 1000.0 / x], axis=1))] == pytest.approx(1.0)


PLATE = DesignSpace(
    (Variable("x", 0.0, 6.0), Variable("y", 0.0, 6.0), Variable("metal", entries=2, ordered=False))
)


def plate(designs: np.ndarray) -> Assessed:
    """Wishes x and y; x y must be 1 with one metal and 2 with the other; there is no number where x is above 5.9."""
    x, y, metal = designs.T
    wishes = np.where(x[:, None] > 5.9, np.nan, np.stack([x, y], axis=1))
    return Assessed(wishes, np.stack([x * y - 1.0 - metal, x - 0.2, y - 0.2], axis=1))


@pytest.mark.parametrize("seed", range(3))
def test_with_a_list_the_curve_is_that_of_the_better_entry_and_spread_along_its_whole_length(
    seed: int,
) -> None:
    """x y = 1 between a fifth and 5, in closed form: steep in x as far as it is flat in y."""
    record = Record(plate)
    ask_and_tell(PLATE, record, budget=50, rng=np.random.default_rng(seed), wishes=2)
    curve = trade_off_curve(PLATE, record, points=9, budget=60)
    wishes = np.array([tried.wishes for tried in curve])
    assert not record.assessed.met.all()
    assert all(tried.met and tried.values[2] == 0.0 for tried in curve)
    np.testing.assert_allclose(wishes[[0, -1]], [[0.2, 5.0], [5.0, 0.2]], rtol=0.01)
    np.testing.assert_allclose(wishes.prod(axis=1), 1.0, atol=0.02)
    # Evenly apart, nine designs are an eighth of the curve from one another; no two are twice as far apart.
    steps = np.linalg.norm(np.diff(wishes, axis=0) / np.ptp(wishes, axis=0), axis=1)
    assert steps.max() < 2.0 * steps.sum() / 8.0


def test_where_no_design_meets_the_limits_there_is_no_curve() -> None:
    def assess(designs: np.ndarray) -> Assessed:
        return Assessed(designs, -1.0 - designs[:, :1])

    record = Record(assess)
    record(np.array([[0.5, 0.5], [0.2, 0.9]]))
    assert trade_off_curve(ranges((0.0, 1.0), (0.0, 1.0)), record, budget=60) == ()
