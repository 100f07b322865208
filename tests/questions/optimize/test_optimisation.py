"""Searching for a design, on callables with known answers and on the bench study."""

from pathlib import Path

import numpy as np
import pytest
from study.texts import of_one_mixture_ratio

from explorer import optimize, parse_study
from explorer.study.limits import WITH_NUMBER
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Limit, StudyError, study_text

#: The bench study without its own search.
STUDIES = Path(__file__).parents[2] / "studies"
BENCH = of_one_mixture_ratio((STUDIES / "bench.toml").read_text(encoding="utf-8").partition("[vary]")[0])

SMALL = """
[vary]
"channel.gap_in" = "9 .. 16 mm"
"electrodes.main.source.voltage" = ["100 V", "150 V", "200 V"]
[wanted]
quantity = "electrical_power"
make = "smallest"
[[limit]]
quantity = "thrust_gain"
at_least = "0.03 N"
chance = 0.8
"""


def shop(v):
    """Cheap and strong: cost x + 2y, strength a x + y, x worth more at some places than at others."""
    return {"cost": v["x"] + 2 * v["y"], "strength": v["a"] * v["x"] + v["y"]}


SHOP = {
    "vary": {"x": "0 .. 3", "y": "0 .. 3"},
    "wanted": ("cost", "smallest"),
    "limits": [{"quantity": "strength", "at_least": 2.0, "chance": 0.9}],
    "inputs": {"a": "1 ± 0.1"},
}


@pytest.fixture(scope="module")
def shopped():
    return optimize(shop, **SHOP, rng=1, budget=150)


def test_the_cheapest_strong_enough_design_is_found_and_holds_on_fresh_points(shopped):
    """With x alone a x >= 2 must hold in 90 %: x = 2/(1 − 1.2816 · 0.1) = 2.2940, in closed form."""
    exact = 2.0 / (1.0 - 1.281552 * 0.1)
    assert shopped.best.verdict == "met"
    assert shopped.best.setting["y"] == pytest.approx(0.0, abs=0.02)
    # The lower end of the exact interval must reach 90 %: 1.96 standard errors of 32 768 points, and half to spare.
    assert exact - 0.002 < shopped.best.setting["x"] < exact * 1.01
    (limit, implied) = shopped.best.limits
    assert limit.chance.low >= 0.9
    assert limit.inner_level > 0.9
    assert limit.active
    assert implied.limit == WITH_NUMBER


def test_a_search_of_a_callable_shows_and_draws_itself(shopped):
    x = f"{shopped.best.setting['x']:.4g}"
    assert ["x", x] in [line.split() for line in repr(shopped).splitlines()]
    label = shopped.plot("limits").axes[0].get_yticklabels()[0].get_text()
    assert " ".join(label.split()) == "strength at least 2, asked 90 %"
    assert shopped.plot().axes[0].get_yticklabels()


def test_relaxing_the_limit_by_a_tenth_gains_what_the_closed_form_says(shopped):
    """The cost of x alone goes with the strength asked: a tenth of 2.294."""
    (relaxation,) = shopped.relaxations
    assert relaxation.relaxed == pytest.approx(1.8)
    assert abs(float(relaxation.gain) - 0.2294) < 4 * relaxation.gain.error + 0.004


def test_central_values_ask_for_less_than_scenarios():
    central = optimize(shop, **SHOP, rng=1, budget=150, central=True)
    assert not central.search.robust
    assert central.best.setting["x"] == pytest.approx(2.0, abs=2e-3)


def test_the_same_random_number_gives_the_same_answer_and_another_one_another(shopped):
    again = optimize(shop, **SHOP, rng=1, budget=150)
    assert again.best.setting == shopped.best.setting
    assert again.tried.equals(shopped.tried)
    other = optimize(shop, **SHOP, rng=2, budget=150)
    assert not other.tried.equals(shopped.tried)


class Kept:
    """What a search file does, in memory; refuses after so many designs, as a killed run does."""

    def __init__(self, known=None, most=10**9):
        self.known = dict(known or {})
        self.most = most

    def extend(self, assessed):
        self.known |= assessed
        if len(self.known) > self.most:
            raise KeyboardInterrupt


@pytest.mark.parametrize("most", [40, 200])
def test_a_killed_search_resumes_and_ends_with_the_answer_of_one_that_was_not(shopped, most):
    killed = Kept(most=most)
    with pytest.raises(KeyboardInterrupt):
        optimize(shop, **SHOP, rng=1, budget=150, search_file=killed)
    resumed = optimize(shop, **SHOP, rng=1, budget=150, search_file=Kept(killed.known))
    assert repr(resumed.best) == repr(shopped.best)  # some figures are NaN, unequal to themselves
    assert resumed.tried.equals(shopped.tried)
    assert resumed.search.resumed > 0


def test_words_and_numbers_in_stock_are_searched_together():
    """Steel is stronger and dearer: with it x = 2/1.5 at 1.4 a piece, with wood x = 2 at 1."""

    def model(v):
        steel = np.asarray(v["material"]) == "steel"
        return {
            "cost": v["x"] * np.where(steel, 1.4, 1.0),
            "strength": v["a"] * v["x"] * np.where(steel, 1.5, 1.0),
        }

    found = optimize(
        model,
        {"x": "0 .. 3", "material": ["wood", "steel"]},
        wanted=("cost", "smallest"),
        limits=[{"quantity": "strength", "at_least": 2.0, "chance": 0.9}],
        inputs={"a": "1 ± 0.1"},
        rng=1,
        budget=120,
    )
    assert found.best.setting["material"] == "steel"
    assert float(found.best.wishes[0].expected) == pytest.approx(1.4 * 2.294 / 1.5, rel=0.01)


def test_designs_without_numbers_are_not_judged_by_their_few_good_points():
    """The wish is best where three points in four have no number: the implied limit keeps the search away."""

    def model(v):
        lost = v["u"] < v["x"] - 1.0
        return {"gain": np.where(lost, np.nan, v["x"])}

    found = optimize(
        model, {"x": "0 .. 2"}, wanted=("gain", "largest"), inputs={"u": "0 .. 1"}, rng=1, budget=60
    )
    assert found.best.setting["x"] == pytest.approx(1.05, abs=0.01)


def test_an_impossible_limit_is_answered_by_the_nearest_miss_and_what_would_do():
    limits = [*SHOP["limits"], {"quantity": "cost", "at_most": 1.0, "chance": 0.9}]
    found = optimize(shop, **{**SHOP, "limits": limits}, rng=1, budget=150)
    assert found.best is None
    assert {limit.quantity for limit in found.miss.conflict} == {"strength", "cost"}
    alone = {change.of.quantity: change for change in found.miss.changes if isinstance(change.of, Limit)}
    assert alone["cost"].to == pytest.approx(2.294, rel=0.02)
    assert alone["strength"].to == pytest.approx(1.0 - 1.281552 * 0.1, rel=0.02)
    assert alone["cost"].shortfall <= 0.0


def test_what_has_no_number_anywhere_is_refused_instead_of_missed():
    def model(v):
        return {**shop(v), "mass": np.full(v["a"].size, np.nan)}

    limits = [*SHOP["limits"], {"quantity": "mass", "at_most": 1.0, "chance": 0.9}]
    with pytest.raises(NoNumbers, match="mass has no number at any of 64 designs tried"):
        optimize(model, **{**SHOP, "limits": limits}, rng=1, budget=100)


def test_two_wishes_give_a_curve_of_which_no_design_betters_another():
    found = optimize(
        lambda v: {"mass": v["x"] + 0 * v["a"], "loss": v["a"] / v["x"]},
        {"x": "0.5 .. 4"},
        wanted=[("mass", "smallest"), ("loss", "smallest")],
        inputs={"a": "1 ± 0.1"},
        rng=1,
        budget=80,
    )
    wishes = np.array([[float(wish.expected) for wish in design.wishes] for design in found.trade_off])
    assert (np.diff(wishes[:, 0]) > 0).all()
    assert (np.diff(wishes[:, 1]) < 0).all()
    np.testing.assert_allclose(wishes.prod(axis=1), 1.0, rtol=0.01)
    assert found.best.setting["x"] == pytest.approx(np.sqrt(0.5 * 4), rel=0.25)


@pytest.mark.parametrize(
    "changes, words",
    [
        ({"vary": None}, "a callable needs `vary`"),
        ({"vary": {"x": []}}, "the list of what is in stock is empty"),
        ({"vary": {"x": "3 .. 0", "y": "0 .. 3"}}, "low end must lie below"),
        ({"vary": {"x": "1"}}, "expected a range"),
        ({"limits": [{"quantity": "strength", "at_least": 2.0, "chance": 1.2}]}, "must lie between 0 and 1"),
        ({"wanted": ("cost", "tiny")}, "largest"),
        ({"budget": 10}, "too small to search"),
        ({"inputs": {"a": "1 ± 0.1", "x": 1}}, "leave it out of `inputs`"),
        ({"wanted": ("price", "smallest")}, "price"),
    ],
)
def test_what_cannot_be_searched_is_refused_in_a_sentence(changes, words):
    with pytest.raises(StudyError, match=words) as told:
        optimize(shop, **{**SHOP, "rng": 1, "budget": 100, **changes})
    assert "\n" not in str(told.value)


@pytest.fixture(scope="module")
def small():
    """A search with fewer scenarios and shorter polishes than a user's."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("explorer.questions.optimize.search.searching.SETS", 2)
        patch.setattr("explorer.questions.optimize.search.best_design._REFINING", 20)
        patch.setattr("explorer.questions.optimize.search.best_design._GOING_ON", 20)
        patch.setattr("explorer.analysis.search.near_equal.BUDGET", 10)
        yield


@pytest.fixture(scope="module")
def bench(small):
    return optimize(parse_study(BENCH + SMALL), budget=50, jobs=2)


def test_the_bench_gets_a_design_that_fresh_points_confirm(bench):
    assert bench.best.verdict == "met"
    assert bench.best.limits[0].chance.low >= 0.8
    assert 9e-3 <= bench.best.setting["channel.gap_in"] <= 16e-3
    assert bench.best.setting["electrodes.main.source.voltage"] in (100.0, 150.0, 200.0)


def test_the_proposal_is_a_study_that_says_what_was_judged(bench):
    study = bench.best.study
    again = parse_study(study_text(study))
    assert again.study_hash == study.study_hash
    centre = again.central()
    for address, value in bench.best.setting.items():
        assert centre[address] == pytest.approx(value, rel=1e-9)
    assert again.vary == bench.varied


@pytest.mark.slow
@pytest.mark.usefixtures("small")
def test_threads_change_nothing(bench):
    alone = optimize(parse_study(BENCH + SMALL), budget=50, jobs=1)
    assert alone.best.setting == bench.best.setting
    assert alone.tried.equals(bench.tried)


def test_without_anything_to_vary_it_says_so():
    with pytest.raises(StudyError, match="nothing to vary"):
        optimize(parse_study(BENCH))


def test_rounding_never_breaks_a_limit_that_the_design_itself_meets():
    """x as large as possible with x at most 0.123456789: four digits that round up would miss it."""

    def model(given):
        return {"gain": given["x"], "held": given["x"]}

    found = optimize(
        model,
        {"x": "0.05 .. 0.3"},
        wanted=("gain", "largest"),
        limits=[{"quantity": "held", "at_most": 0.123456789}],
        budget=60,
        central=True,
        rng=1,
    )
    assert found.best is not None
    assert found.best.verdict == "met"
    assert found.best.setting["x"] == pytest.approx(0.1234, abs=1e-12)
    assert found.search.searched <= found.search.tried
    assert found.search.searched <= 60
