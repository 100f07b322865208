"""The study as it stands is judged beside the proposal, and its own target where the search doesn't ask for it."""

from pathlib import Path

import numpy as np
import pytest
from questions.pages import envelope_of, json_of, sentences
from scipy.stats import norm

from explorer import optimize, parse_study
from explorer.questions.optimize import answer
from explorer.questions.optimize.search.proposal import Present
from explorer.questions.optimize.words import warnings_of

BENCH = (Path(__file__).parents[2] / "studies/bench.toml").read_text(encoding="utf-8").partition("[vary]")[0]

#: The field alone is uncertain, ± 0.02 T, and what the model may be off by is next to nothing.
FIELD = BENCH.replace(
    '{ value = "0.48 T", unknown = "0.015 T", scatter = "0.01 T" }', '"0.48 ± 0.02 T"'
).replace('thrust_gain = "10 %"', 'thrust_gain = "1e-9 %"')
LARGEST = '[wanted]\nquantity = "thrust_gain"\nmake = "largest"\n'
PLAIN = "In plain words"


def tenth_of_the_field(v):
    """A gain [N] of a tenth of the field [T], and a current [A] of a hundred times it."""
    return {
        "thrust_gain": 0.1 * np.asarray(v["magnet.field"]),
        "current": 100.0 * np.asarray(v["magnet.field"]),
    }


def searched(vary, *, text=FIELD, asked=LARGEST, central=False, model=tenth_of_the_field):
    study = parse_study(f"{text}[vary]\n{vary}\n{asked}").calculated_by(model)
    return optimize(study, budget=60, rng=1, central=central)


def told(found):
    return answer.told(found, found.study, envelope_of("optimize"))


def said(found):
    return sentences(told(found), PLAIN).removeprefix("IN PLAIN WORDS ")


@pytest.fixture(scope="module")
def wider():
    return searched('"magnet.field" = "0.3 .. 0.6 T"')


def test_the_study_as_it_stands_is_judged_on_the_same_fresh_points_as_the_proposal(wider):
    """In closed form: 0.1 (0.6 - 0.48) N more, the ± of both being one and the same draw, so that it drops out."""
    present = wider.present
    assert isinstance(present, Present)
    assert dict(present.design.setting) == {"magnet.field": 0.48}
    (now,), (proposed,), (difference,) = present.design.wishes, wider.best.wishes, present.differences
    assert float(now.expected) == pytest.approx(0.048, abs=4 * now.expected.error)
    assert float(difference) == pytest.approx(0.012, rel=1e-6)
    assert float(difference) == pytest.approx(float(proposed.expected) - float(now.expected), rel=1e-9)
    assert difference.error < 1e-3 * now.expected.error
    assert not wider.keep
    assert "The proposal's thrust gain is larger by 0.0120 N" in said(wider)


def test_a_target_that_was_not_searched_for_is_judged_for_both(wider):
    """The bench asks 0.04 N in 80 %: a field of 0.4 T, which N(0.48, 0.02) and N(0.6, 0.02) pass in all but 3e-5."""
    for design in (wider.best, wider.present.design):
        assert design.target.verdict == "met"
        assert design.target.limit.at_least == 0.04
    assert "The study's own target, thrust gain at least 0.04 N, asked in 80 % of firings, was not" in said(
        wider
    )


def test_a_target_that_is_missed_is_said_to_be_missed_with_its_chance():
    """N(0.48, 0.02) T passes 0.49 T in 1 - Φ(0.5) = 30.9 %, N(0.47, 0.02) in 15.9 %."""
    text = FIELD.replace('at_least = "0.04 N"', 'at_least = "0.049 N"')
    found = searched('"magnet.field" = "0.3 .. 0.47 T"', text=text)
    for design, mean in ((found.best, 0.47), (found.present.design, 0.48)):
        exact = norm.sf((0.49 - mean) / 0.02)
        target = design.target
        assert target.verdict == "not met"
        assert target.chance.share == pytest.approx(
            exact, abs=4 * np.sqrt(exact * (1 - exact) / target.chance.points)
        )
        assert f"kept in {100 * target.chance.share:.1f} %" in said(found)
    assert not found.keep  # though it is better than anything in the range
    assert "The study's own target is not met on fresh points" in " ".join(warnings_of(found))
    assert json_of(told(found))["present"]["target"]["verdict"] == "not met"


def test_a_target_among_the_limits_is_not_said_twice():
    asked = LARGEST + '[[limit]]\nquantity = "thrust_gain"\nat_least = "0.04 N"\nchance = 0.8\n'
    found = searched('"magnet.field" = "0.3 .. 0.6 T"', asked=asked)
    assert found.best.target is None
    assert "own target" not in said(found)
    assert json_of(told(found))["target"] is None


@pytest.mark.parametrize("central", [True, False])
def test_where_the_study_is_as_good_the_first_sentence_says_that_nothing_needs_to_change(central):
    found = searched('"magnet.field" = "0.3 .. 0.48 T"', central=central)
    assert found.keep
    assert said(found).startswith(
        "Nothing needs to change: as the study stands it meets all limits and is as good"
    )
    assert json_of(told(found))["present"]["nothing_needs_to_change"]


def test_a_study_that_lies_outside_the_ranges_is_judged_all_the_same():
    found = searched('"magnet.field" = "0.3 .. 0.4 T"')
    assert found.present.outside == ("magnet.field",)
    assert found.present.better
    words = said(found)
    assert words.startswith("Nothing needs to change: as the study stands it meets all limits and is better")
    assert "The study's own magnetic field, 0.48 T, is outside its range, 0.3 … 0.4 T" in words


def test_what_is_not_in_stock_is_judged_all_the_same():
    """Words of which no design is made, and a number that isn't listed."""
    found = searched(
        '"electrodes.main.source.voltage" = ["100 V", "200 V"]\n"electrodes.main.layout" = ["segmented"]'
    )
    assert found.present.outside == ("electrodes.main.source.voltage", "electrodes.main.layout")
    assert found.present.design.setting["electrodes.main.layout"] == "continuous"
    assert "continuous, is not in stock (segmented)" in said(found)


def test_a_better_design_that_misses_a_limit_is_no_reason_to_change_nothing():
    """A current of 100 times the field at most 45 A: 0.48 T has it in 6.7 % of firings."""
    asked = LARGEST + '[[limit]]\nquantity = "current"\nat_most = "45 A"\n'
    text = FIELD.replace('current = "15 %"', 'current = "1e-9 %"')
    found = searched('"magnet.field" = "0.3 .. 0.6 T"', text=text, asked=asked)
    assert found.best.verdict == "met"
    assert found.present.design.verdict == "not met"
    assert found.present.better
    assert not found.keep
    assert "Nothing needs to change" not in said(found)
    assert found.present.design.limits[0].chance.share == pytest.approx(norm.cdf(-1.5), abs=0.006)


def test_where_no_design_in_the_ranges_meets_the_limits_and_the_study_does_it_says_so():
    asked = LARGEST + '[[limit]]\nquantity = "current"\nat_least = "40 A"\n'
    text = FIELD.replace('current = "15 %"', 'current = "1e-9 %"')
    found = searched('"magnet.field" = "0.1 .. 0.2 T"', text=text, asked=asked)
    assert found.best is None
    assert said(found).startswith(
        "Nothing needs to change: as the study stands it meets all limits, and no design tried within the ranges does."
    )


def test_data_and_table_hold_the_study_as_it_stands(wider):
    page = told(wider)
    present = json_of(page)["present"]
    more = present["told_less_present"]["thrust_gain"]
    assert more["difference"] == pytest.approx(0.012, rel=1e-6)
    assert more["unit"] == "N"
    assert more["standard_error"]["difference"] is not None
    rows = page.files["judged.csv"].set_index("design")
    assert rows.loc["as the study stands", "magnet.field [T]"] == 0.48
    assert rows.loc["proposal", "magnet.field [T]"] == pytest.approx(0.6)
    assert rows.loc["as the study stands", "target"] == "met"


def test_a_callable_has_no_design_as_it_stands():
    found = optimize(
        lambda v: {"gain": v["x"]}, {"x": "0 .. 2"}, wanted=("gain", "largest"), rng=1, budget=60
    )
    assert found.present is None
    assert not found.keep
