"""A search for a design in words, tables, data and files: what the engineer reads, what JSON and CSV promise."""

import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from questions.optimize import proposals
from questions.optimize.proposals import central, curve, nothing, robust
from questions.pages import csv_of, envelope_of, json_of, page_of, printed, sentences, table
from scipy.stats import beta

from explorer import registry
from explorer.analysis.scrambles import figure
from explorer.page.answer import Answer
from explorer.page.document import Table
from explorer.page.text import WIDTH, aligned, parted
from explorer.page.words import opened
from explorer.questions.optimize import answer
from explorer.questions.optimize.search.proposal import (
    Change,
    DesignsTried,
    Proposal,
    Relaxation,
)
from explorer.study.limits import WITH_NUMBER
from explorer.studyfile import Limit, Varied, Wish, parse_study

BANNED = ("sobol", "pareto", "parzen", "evolution", "variance", "quantile", "binomial", "feasible", "optim")
PLAIN, BACK, NEAR, CURVE = (
    "In plain words",
    "What holds it back",
    "Designs nearly as good",
    "The trade-off curve",
)

#: A number that a reader meets, and what stands behind it. Numbers within names are none.
NUMBER = re.compile(r"(?<![\w.])-?\d[\d.]*(?![\w.])\s*(\S*)")
UNITS = ("N", "W", "kW", "A", "V", "T", "mm", "mbar", "%", "…", "and", "fresh", "pairs", "were")


EVERY = pytest.mark.parametrize("found", ["robust", "central", "curve", "nothing"], indirect=True)


@pytest.fixture
def found(request: pytest.FixtureRequest) -> Proposal:
    proposal: Proposal = getattr(proposals, request.param)()
    return proposal


def told(found: Proposal) -> Answer:
    return answer.told(found, found.study, envelope_of("optimize"))


def plain(found: Proposal) -> str:
    return sentences(told(found), PLAIN)


def holds_back(found: Proposal, *relaxations: Relaxation) -> str:
    return sentences(told(replace(found, relaxations=relaxations) if relaxations else found), BACK)


def with_best(found: Proposal, **changes: Any) -> Proposal:
    return replace(found, best=replace(found.best, **changes))


def with_wish(found: Proposal, **changes: Any) -> Proposal:
    """The proposal with other figures of its first wish."""
    first, *others = found.best.wishes
    return with_best(found, wishes=(replace(first, **changes), *others))


def with_chances(found: Proposal, *holds: float) -> Proposal:
    """The proposal with other chances to hold of its limits."""
    judged = found.best.limits
    chances = [proposals.chance(share) for share in holds]
    return with_best(
        found, limits=tuple(replace(j, holds=chance) for j, chance in zip(judged, chances, strict=True))
    )


def limited(found: Proposal, limit: Limit, holds: float) -> Answer:
    """The proposal with one limit alone."""
    judged = proposals.judged_limit(limit, holds, inner=0.9, quantile=1.0)
    return told(replace(with_best(found, limits=(judged,)), near_equal=()))


def varying(found: Proposal, item: Varied, value: float) -> Answer:
    """The proposal with one varied input alone."""
    return told(
        replace(
            with_best(found, setting={item.address: value}, limits=()),
            varied=(item,),
            near_equal=(),
            relaxations=(),
        )
    )


def test_the_proposal_is_told_with_units_errors_and_verdicts() -> None:
    assert plain(robust()).startswith(
        "IN PLAIN WORDS Wanted: thrust gain as large as possible. Proposed: gap at the inlet 12.4 mm, gap at the outlet"
        " 18 mm, magnetic field 0.62 T, source voltage of the main pair 240 V and electrode layout of the main pair"
        " segmented."
        " There the thrust gain is 0.0912 N (sampling ± 0.0003 N) on average over firings; one firing shows, 19"
        " times in"
        " 20, between 0.043 and 0.171 N. Current at most 50 A: in 93.1 % (92.7 … 93.5 %) of firings, 90 % asked, met."
        " Exit pressure change at least 2 mbar: in 90.4 % (90.0 … 90.9 %) of firings, 90 % asked, not decided."
        " Constricted in at most 10 %: 4.2 % (3.9 … 4.5 %), met. All limits on results hold at once in 87.1 %"
        " (86.6 … 87.6 %) of firings. In brackets: exact 95 % interval of the sampling. These figures come from 16384"
        " fresh points that had no part in choosing the design. The search itself saw 0.0921 N of thrust gain: the"
        " best of many always looks better than it is."
    )


def test_luck_is_named_only_where_the_search_had_any() -> None:
    assert "looks better" not in plain(with_wish(robust(), by_search=0.0907))
    within_twice_its_error = with_wish(robust(), by_search=0.0917)
    assert "looks better" not in plain(within_twice_its_error)
    least = Wish("thrust_gain", "smallest")
    assert "looks better" in plain(with_wish(robust(), wish=least, by_search=0.0905))


def bare_numbers(words: str) -> list[str]:
    """What stands behind each number that wears no unit."""
    units = NUMBER.findall(words.replace("19 times in 20", ""))
    assert len(units) >= 6
    return [unit for unit in units if not unit.startswith(UNITS)]


@EVERY
def test_every_number_of_the_plain_words_wears_a_unit(found: Proposal) -> None:
    words = plain(found)
    assert bare_numbers(words) == []
    assert bare_numbers(words.replace(" mm", "")) != []


@EVERY
def test_the_first_page_is_narrow_and_free_of_statistics(found: Proposal) -> None:
    text = printed(told(found))
    assert [word for word in BANNED if word in text.lower().replace("`optimize`", "")] == []
    assert max(map(len, text.splitlines())) <= 100


@EVERY
def test_what_a_reviewer_wants_comes_after_the_cautions(found: Proposal) -> None:
    text = page_of(told(found))
    places = [text.index(words) for words in ("<h1", "kill", "How it was searched", "Provenance")]
    assert places == sorted(places)
    assert "Bergstra et al. 2011" in text
    assert ("Clopper and Pearson 1934" in text) == found.search.robust


def test_the_way_of_searching_is_told_as_it_was() -> None:
    ways = {
        "the lists are then searched by steps": robust(),
        "Storn and Price 1997": replace(robust(), varied=robust().varied[:3]),
        "Haimes et al. 1971": curve(),
    }
    for words, found in ways.items():
        text = " ".join(printed(told(found), "reviewer").split())
        assert [name for name in ways if name in text] == [words]
        assert ("come from one more sample" in text) == (len(found.wishes) == 1)


def test_a_study_that_says_something_wicked_is_escaped() -> None:
    wicked = replace(robust().study, title="<script>alert(1)</script>")
    text = page_of(answer.told(robust(), wicked, envelope_of("optimize")))
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text
    assert text.count("<svg ") == 3


# Of n trials that all succeed, Clopper and Pearson's (1934) lower end is (1 - 0.95)/2 to the power 1/n; else a
# quantile of a beta distribution.
@pytest.mark.parametrize(
    ("share", "points", "words"),
    [
        (1.0, 10, "100 % (69 … 100 %)"),
        (0.0, 10, "0 % (0 … 31 %)"),
        (1.0, 16384, "100 % of firings"),
        (0.5, 100, "50 % (40 … 60 %)"),
    ],
)
def test_chances_are_printed_to_what_their_interval_leaves(share: float, points: int, words: str) -> None:
    chance = proposals.chance(share, points)
    assert f"All limits on results hold at once in {words}" in plain(with_best(robust(), together=chance))
    held = round(share * points)
    if 0 < held < points:
        assert chance.low == pytest.approx(beta.ppf(0.025, held, points - held + 1))
    else:
        assert min(chance.low, 1 - chance.high) == pytest.approx(0.0)
        assert max(chance.low, 1 - chance.high) == pytest.approx(0.025 ** (1 / points))


STATED = {"chance": 0.995, "chance_origin": "yours"}


@pytest.mark.parametrize(
    ("limit", "head", "asked", "words"),
    [
        (
            Limit("thrust_gain", at_least=0.04, at_most=0.2, **STATED),
            "thrust gain at least 0.04 N and at most 0.2 N",
            "99.5 %",
            "thrust gain at least 0.04 N and at most 0.2 N",
        ),
        (Limit("current", at_most=50.0), "current at most 50 A", "90 % (assumed)", "current at most 50 A"),
        (
            Limit("chance.choked", at_most=0.025, chance=None),
            "choked",
            "at most 2.5 %",
            "choked in at most 2.5 %",
        ),
        (
            WITH_NUMBER,
            "points with a number",
            "at least 95 % (assumed)",
            "points with a number at least 95 %",
        ),
    ],
)
def test_limits_are_told_with_what_was_asked_and_by_whom(
    limit: Limit, head: str, asked: str, words: str
) -> None:
    said = limited(robust(), limit, 0.8)
    assert table(said, "The proposal", 1)[1][:2] == (head, asked)
    assert sentences(said, PLAIN).partition("0.171 N. ")[2].startswith(opened(words))


@pytest.mark.parametrize(
    ("item", "value", "cells"),
    [
        (Varied("channel.gap_in", 0.009, 0.0145), 0.01, ("11 mm", "10 mm", "9 … 14.5 mm")),
        (Varied("gas.seed_fraction", values=(0.01, 0.005)), 0.01, ("1 %", "1 %", "1 %, 0.5 %")),
        (Varied("magnet.field", 0.3, 0.8), 0.6234, ("0.48 T", "0.6234 T", "0.3 … 0.8 T")),
    ],
)
def test_ranges_and_stock_are_told_to_the_digits_of_a_drawing(
    item: Varied, value: float, cells: tuple[str, ...]
) -> None:
    assert table(varying(robust(), item, value), "The proposal")[1] == (
        registry.words_of(item.address),
        *cells,
    )


def test_a_wish_for_little_is_told_so() -> None:
    least = replace(robust(), wishes=(Wish("current", "smallest"),))
    assert "Wanted: current as small as possible." in plain(least)


def test_limits_not_confirmed_are_warned_of_each_in_its_own_words() -> None:
    assert told(robust()).envelope["warnings"] == [
        "Not decided, for fresh points hold it about as often as asked: exit pressure change at least 2 mbar."
    ]
    missed = told(with_chances(robust(), 0.6, 0.9041, 0.958, 0.9998))
    assert missed.envelope["warnings"][0] == (
        "Not met on fresh points, so that nothing should be built to this design: current at most 50 A."
    )
    kept = told(with_chances(robust(), 0.95, 0.95, 0.95, 0.99))
    assert kept.envelope["warnings"] == []
    assert "! Not met" in printed(missed)
    assert "! Not" not in printed(kept)


def test_the_implied_limit_is_spoken_of_only_where_it_is_not_met() -> None:
    assert "points with a number" not in sentences(told(robust()))
    few = with_chances(robust(), 0.9312, 0.9041, 0.958, 0.941)
    assert "Points with a number at least 95 %: 94.1 %" in plain(few)


def test_central_values_have_no_chances_and_are_called_blind() -> None:
    text = sentences(told(central()))
    assert "There the thrust gain is 0.0875 N at central values." in text
    assert "Current at most 50 A: 49.9 A, met." in text
    assert "Constricted in at most 10 %: not there, met." in text
    assert "missed in about every second firing" in text
    assert "sampling" not in text
    assert "fresh points" not in text
    assert not re.search(r"\d % \(", text)
    assert "missed in about every second" not in sentences(told(robust()))


def test_a_study_in_which_nothing_is_uncertain_is_not_told_to_leave_an_option_out() -> None:
    study = central().study
    exact = replace(
        study,
        space=replace(study.space, inputs=()),
        model_error=replace(study.model_error, relative=dict.fromkeys(study.model_error.relative, 0.0)),
    )
    words = " ".join(told(replace(central(), study=exact)).envelope["warnings"])
    assert "State how uncertain the values are" in words
    assert "--central" not in words
    assert "--central" in " ".join(told(central()).envelope["warnings"])


def test_the_study_stands_beside_the_proposal() -> None:
    assert table(told(robust()), "The proposal") == [
        ("", "now", "proposal", "range, or in stock"),
        ("gap at the inlet", "11 mm", "12.4 mm", "9 … 14 mm"),
        ("gap at the outlet", "12.5 mm", "18 mm", "11 … 18 mm"),
        ("magnetic field", "0.48 T", "0.62 T", "0.3 … 0.8 T"),
        ("source voltage of the main pair", "150 V", "240 V", "120 V, 150 V, 200 V, 240 V"),
        ("electrode layout of the main pair", "continuous", "segmented", "continuous, segmented"),
    ]


def test_limits_stand_with_what_was_asked_and_all_at_once() -> None:
    rows = table(told(robust()), "The proposal", 1)
    assert rows[2] == (
        "exit pressure change at least 2 mbar",
        "90 % (assumed)",
        "90.4 % (90.0 … 90.9 %)",
        "not decided",
    )
    assert rows[-1][0] == "all on results at once"
    alone = limited(robust(), robust().limits[2], 0.958)
    assert [row[0] for row in table(alone, "The proposal", 1)[1:]] == ["constricted"]


def test_near_equal_designs_stand_beside_the_proposal_in_what_they_differ() -> None:
    head, *rows = table(told(robust()), NEAR)
    assert head == ("", "proposal", "1", "2", "3")
    cells = {row[0]: row[1:] for row in rows}
    assert cells["gap at the inlet [mm]"] == ("12.4", "10.6", "12.4", "12.4")
    assert cells["thrust gain [N], sampling ±0.0003"] == ("0.0912", "0.0905", "0.0899", "0.0896")
    assert cells["electrode layout of the main pair"][-1] == "continuous"
    assert cells["exit pressure change at least 2 mbar"] == ("not decided",) * 4
    assert "source voltage of the main pair [V]" not in cells
    text = sentences(told(robust()), NEAR)
    assert (
        "The same in all: source voltage of the main pair 240 V. Met by all: current at most 50 A; constricted in at"
        " most 10 %." in text
    )
    assert (
        "1 in gap at the inlet; 2 in magnetic field and gap at the outlet; 3 in electrode layout of the main pair."
        in text
    )


def tables_of(answer: Answer, title: str) -> list[Table]:
    parts = [part for section in answer.sections if section.title == title for part in section.parts]
    return [part for part in parts if isinstance(part, Table)]


def test_designs_too_many_for_a_line_go_on_in_a_further_table() -> None:
    names = [str(number) for number in range(1, 17)]
    many = replace(curve(), trade_off=(*curve().trade_off, *curve().trade_off))
    _, along = tables_of(told(many), CURVE)
    (beside,) = tables_of(told(replace(robust(), near_equal=(robust().near_equal * 6)[:16])), NEAR)
    assert along.head == ("", *names)  # a page holds them all beside each other
    assert beside.head == ("", "proposal", *names)
    for whole, first in ((along, ()), (beside, ("proposal",))):
        tables = list(parted(whole, WIDTH))
        assert len(tables) > 2
        assert all(table.head[: 1 + len(first)] == ("", *first) for table in tables)
        assert [name for table in tables for name in table.head[1 + len(first) :]] == names
        lines = [line for x in tables for line in aligned(x.rows, x.head, x.numbers, 10_000)]
        assert max(map(len, lines)) <= WIDTH


def test_no_near_equal_design_is_said() -> None:
    text = sentences(told(replace(robust(), near_equal=())), NEAR)
    assert "No other design was found that comes within 2 % of the proposal's thrust gain." in text


def test_the_trade_off_curve_marks_its_knee() -> None:
    _, *rows = table(told(curve()), CURVE)
    assert len(rows) == 8
    assert [row[0] for row in rows if row[-1]] == ["5"]
    assert rows[4][1:4] == ("0.0650 N (sampling ± 0.0003 N)", "2.91 kW (sampling ± 0.02 kW)", "met")
    assert "the knee of the trade-off curve" in plain(curve())
    assert "knee" not in plain(robust())


def test_a_straight_curve_has_no_knee() -> None:
    assert "At the knee it bends most" in sentences(told(curve()), CURVE)
    designs = []
    for place, design in enumerate(curve().trade_off):
        first, second = design.wishes
        straight = figure(1900.0 + 700.0 * place, 22.0)
        designs.append(replace(design, wishes=(first, replace(second, expected=straight))))
    straight_curve = told(replace(curve(), trade_off=tuple(designs)))
    assert "it has no knee: choose by what is needed" in sentences(straight_curve, CURVE)
    assert "the knee" not in sentences(straight_curve)
    assert "the knee of the trade-off curve" in sentences(told(curve()))


@pytest.mark.parametrize(
    ("gain", "error", "words"),
    [
        (0.0061, 0.0004, "the thrust gain would be larger by 0.0061 N (sampling ± 0.0004 N)."),
        (0.0007, 0.0004, "it would gain nothing that stands out of the sampling error (± 0.40 mN)."),
        (0.0007, 0.0, "the thrust gain would be larger by 0.7 mN."),
        (0.0061, np.nan, "larger by 0.0061 N (sampling error not known)."),
        (0.0, 0.0, "it would gain nothing."),
    ],
)
def test_what_a_tenth_of_a_limit_would_gain_carries_its_error(gain: float, error: float, words: str) -> None:
    text = holds_back(robust(), Relaxation(robust().limits[0], 55.0, figure(gain, error)))
    assert "Current at most 50 A holds the design back. Relaxed by a tenth, to 55 A, " in text
    assert words in text


def test_a_gain_that_did_not_come_out_and_one_of_a_chance_are_told() -> None:
    gone = holds_back(robust(), Relaxation(robust().limits[0], 55.0, figure(np.nan, np.nan)))
    assert "to 55 A: what that would gain did not come out." in gone
    least = replace(robust(), wishes=(Wish("electrical_power", "smallest"),))
    less = holds_back(least, Relaxation(robust().limits[0], 55.0, figure(120.0, 9.0)))
    assert "the electrical power would be smaller by 120 W" in less
    event = holds_back(robust(), Relaxation(robust().limits[2], 0.11, figure(0.0061, 0.0004)))
    assert "Constricted in at most 10 % holds the design back. Relaxed by a tenth, to 11 %," in event


def test_a_design_that_nothing_holds_back_says_so() -> None:
    inside = {"channel.gap_out": 0.015, "electrodes.main.source.voltage": 200.0}
    free = with_best(
        replace(robust(), relaxations=()),
        limits=tuple(replace(limit, active=False) for limit in robust().best.limits),
        setting={**robust().best.setting, **inside},
    )
    said = "WHAT HOLDS IT BACK No limit and no end of a range holds the proposal back."
    assert holds_back(free) == said
    assert "holds the design back" in holds_back(replace(robust(), relaxations=()))


def test_ends_of_ranges_and_of_stock_are_said_unless_little_hangs_on_them() -> None:
    text = holds_back(robust())
    assert (
        "Gap at the outlet stands at the upper end of its range, 18 mm; but 16.1 mm is nearly as good, so that it"
        " matters little." in text
    )
    assert (
        "Source voltage of the main pair is the largest in stock, 240 V: list larger ones to see whether more is to be"
        " had." in text
    )
    widen = "18 mm: widen it to see whether more is to be had."
    assert widen in holds_back(replace(robust(), near_equal=()))
    close = robust().near_equal[1]
    # Which may cost all of the 2 %.
    close = replace(close, setting={**close.setting, "channel.gap_out": 0.0175})
    assert widen in holds_back(replace(robust(), near_equal=(close,)))


GAP = Varied("channel.gap_in", 0.009, 0.014)
STOCK = Varied("magnet.field", values=(0.6, 0.4, 0.5))


@pytest.mark.parametrize(
    ("item", "value", "words"),
    [
        (GAP, 0.009, "at the lower end"),
        (GAP, 0.0092, None),
        (GAP, 0.0138, None),
        (GAP, 0.014, "at the upper end"),
        (STOCK, 0.4, "is the smallest in stock, 0.4 T: list smaller ones"),
        (STOCK, 0.5, None),
        (STOCK, 0.6, "is the largest in stock, 0.6 T: list larger ones"),
        (Varied("magnet.field", values=(0.6,)), 0.6, None),
    ],
)
def test_what_stands_at_an_end_is_told_from_what_does_not(
    item: Varied, value: float, words: str | None
) -> None:
    text = sentences(varying(robust(), item, value), BACK)
    assert (words or "No limit and no end of a range holds the proposal back.") in text


def test_a_gain_that_no_instrument_can_see_is_called_small() -> None:
    # Pairs until twice the noise: (0.3 N)² / ((0.0912 N / 2)² - (0.5 % · 0.0912 N)²) = 43.3.
    room = (0.0912 / 2) ** 2 - (0.005 * 0.0912) ** 2
    assert math.ceil(0.3**2 / room) == 44
    assert (
        "The gain is small: load_cell, with 0.3 N in one on/off pair, cannot see 0.091 N of thrust gain in fewer than"
        " 44 pairs." in plain(robust())
    )
    large = with_wish(robust(), expected=figure(3.0, 0.0003), low=2.5, high=3.5)
    assert "The gain is small" not in plain(large)
    blind = replace(robust().study, instruments=())
    assert "The gain is small" not in plain(replace(with_best(robust(), study=blind), study=blind))


def test_an_interval_that_holds_zero_is_said() -> None:
    assert "holds zero" not in plain(robust())
    assert "the interval of the thrust gain holds zero" in plain(with_wish(robust(), low=-0.01))


def test_where_hardly_anything_hangs_on_the_choice_it_is_said() -> None:
    def having_tried(wishes: np.ndarray) -> Proposal:
        margins = np.ones((len(wishes), 4))
        settings = robust().designs.settings[: len(wishes)]
        return replace(robust(), designs=DesignsTried(settings, wishes[:, None], margins))

    assert "The choice hardly matters" not in plain(robust())
    flat = np.linspace(0.0912, 0.0894, 500)
    assert np.ptp(flat) / 0.0912 == pytest.approx(0.0197, abs=5e-5)
    words = "whatever was tried and met the limits comes within 2 % of the best thrust gain"
    assert words in plain(having_tried(flat))
    dwelling = np.where(np.arange(500) < 5, 0.05, flat)  # a search dwells near its best
    assert "The choice hardly matters" not in plain(having_tried(dwelling))
    assert "The choice hardly matters" not in plain(having_tried(flat[:19]))


def test_where_nothing_fits_conflict_nearest_miss_and_the_best_change_are_told() -> None:
    said = told(nothing())
    text = sentences(said, PLAIN)
    for words in (
        "No design meets all limits; 500 were tried in the search, 812 were tried in all. Within the ranges these"
        " can't hold together: current at most"
        " 50 A; exit pressure change at least 2 mbar.",
        "electrode layout of the main pair segmented. Its worst limit misses by 16 % of its bound.",
        "What would help most: relax current at most 50 A to 62 A (then a design meets all limits).",
    ):
        assert words in text
    assert said.failure == (
        "no design meets all limits; what would help most: relax current at most 50 A to 62 A (then a design meets all"
        " limits)"
    )
    helps = table(said, "What would help")
    assert helps[2] == (
        "widen gap at the outlet to 24 mm",
        "then the worst limit still misses by 3.1 % of its bound",
    )
    assert "THE PROPOSAL" not in printed(said)


def test_a_proposal_is_no_failure() -> None:
    assert told(robust()).failure is None


def test_conflicts_of_one_limit_and_of_none_are_told() -> None:
    def conflicting(*limits: Limit) -> str:
        return plain(replace(nothing(), miss=replace(nothing().miss, conflict=limits)))

    alone = "Even alone, this limit can't be met within the ranges: current at most 50 A."
    assert alone in conflicting(nothing().limits[0])
    assert "did not come out" in conflicting()


def test_a_change_names_the_limit_that_it_relaxes() -> None:
    lower, upper = Limit("current", at_least=5.0), Limit("current", at_most=50.0)
    event = nothing().limits[2]
    changes = (Change(upper, 62.0, 0.0), Change(lower, 4.0, 0.0), Change(event, 0.2, 0.0))
    said = told(replace(nothing(), miss=replace(nothing().miss, changes=changes)))
    assert [row[0] for row in table(said, "What would help")[1:]] == [
        "relax current at most 50 A to 62 A",
        "relax current at least 5 A to 4 A",
        "relax constricted in at most 10 % to 20 %",
    ]


def test_json_is_in_si_with_both_levels_and_intervals() -> None:
    said = json_of(told(robust()))
    assert list(said)[8:13] == ["wanted", "varied", "limits", "feasible", "proposal"]
    assert said["wanted"] == [{"quantity": "thrust_gain", "make": "largest", "unit": "N"}]
    assert said["varied"][0] == {
        "address": "channel.gap_in",
        "unit": "m",
        "range": [0.009, 0.014],
        "stock": None,
        "now": 0.011,
    }
    assert said["varied"][-1]["now"] == "continuous"
    assert [limit["implied"] for limit in said["limits"]] == [False, False, False, True]
    best = said["proposal"]
    assert best["settings"]["magnet.field"] == {"value": 0.62, "unit": "T"}
    assert best["settings"]["electrodes.main.layout"] == {"value": "segmented", "unit": None}
    assert best["wishes"]["thrust_gain"] == {
        "unit": "N",
        "expected": 0.0912,
        "standard_error": {"expected": 0.0003},
        "interval_95": [0.043, 0.171],
        "by_search": 0.0921,
    }
    held = best["limits"][0]
    assert (held["stated_level"], held["inner_level"], held["verdict"]) == (0.9, 0.915, "met")
    low, high = held["sampling_interval_95"]
    assert low < held["chance"] < high
    assert held["fresh_points"] == 16384
    event = best["limits"][2]
    assert event["keeps_to"] is None  # of a chance there is none
    assert event["chance"] == pytest.approx(0.0421, abs=1e-4)  # its own, not that of its absence
    assert len(said["near_equal"]) == 3
    assert said["near_equal"][1]["differs_in"] == ["magnet.field", "channel.gap_out"]
    assert said["relaxed_by_a_tenth"][0]["standard_error"] == {"gain": 0.0004}
    assert (said["nearest_miss"], said["feasible"]) == (None, True)
    assert said["words"].startswith("Wanted: thrust gain as large as possible. Proposed: ")
    assert said["search"]["random_number"] == 1


def test_json_of_a_search_that_found_nothing() -> None:
    said = json_of(told(nothing()))
    assert (said["feasible"], said["proposal"]) == (False, None)
    miss = said["nearest_miss"]
    assert miss["shortfall"] == 0.164
    assert [limit["quantity"] for limit in miss["conflict"]] == ["current", "exit_pressure_change"]
    assert [change["what"] for change in miss["changes"]] == ["limit", "range", "limit"]
    assert [change["to"] for change in miss["changes"]] == [62.0, 0.024, 160.0]


def test_designs_tried_are_a_table_in_si() -> None:
    rows = csv_of(told(robust()), "designs.csv")
    assert list(rows[0]) == [
        "number",
        "channel.gap_in [m]",
        "channel.gap_out [m]",
        "magnet.field [T]",
        "electrodes.main.source.voltage [V]",
        "electrodes.main.layout",
        "thrust_gain [N]",
        "margin 1: current [1]",
        "margin 2: exit_pressure_change [1]",
        "margin 3: chance.constricted [1]",
        "margin 4: chance.with_number [1]",
        "met",
    ]
    assert len(rows) == 500
    assert float(rows[7]["magnet.field [T]"]) == pytest.approx(robust().designs.settings[7]["magnet.field"])
    lost = np.isnan(robust().designs.wishes[:, 0])
    assert lost.any()
    assert [row["thrust_gain [N]"] == "" for row in rows] == lost.tolist()  # never filled in


def test_the_curve_is_a_table_with_its_errors() -> None:
    rows = csv_of(told(curve()), "trade_off.csv")
    assert [float(row["thrust_gain [N]"]) for row in rows] == pytest.approx(
        [float(design.wishes[0].expected) for design in curve().trade_off]
    )
    assert float(rows[0]["electrical_power_standard_error [W]"]) == 22.0
    assert rows[0]["electrodes.main.layout"] == "segmented"
    assert [row["verdict"] for row in rows] == ["met"] * 6 + ["not decided"] * 2


def test_the_proposal_is_a_study_that_says_where_it_comes_from() -> None:
    files = told(robust()).files
    studies = ["proposal.toml", "near-equal-1.toml", "near-equal-2.toml", "near-equal-3.toml"]
    assert list(files) == [*studies, "designs.csv", "judged.csv"]
    text = str(files["proposal.toml"])
    head = text.split("\n\n")[0].splitlines()
    assert all(line.startswith("#") for line in head)
    said = " ".join(line.lstrip("# ") for line in head)
    for words in (
        "study.toml",
        "Study hash 0, random number 1",
        "A prediction with limits, not a permission",
        "kill",
        "Local codes, range rules and licensed practice come first",
        "Not shown to be met on fresh points: exit pressure change at least 2 mbar",
    ):
        assert words in said
    again = parse_study(text)
    for address, value in robust().best.setting.items():
        found = again.choices.get(address, again.central().get(address))
        assert found == (value if isinstance(value, str) else pytest.approx(value))
    assert again.study_hash == robust().best.study.study_hash
    other = parse_study(str(files["near-equal-3.toml"]))
    assert other.choices["electrodes.main.layout"] == "continuous"


def test_a_proposal_of_central_values_says_so_and_a_miss_is_no_study() -> None:
    assert "Chosen at central values" in str(told(central()).files["proposal.toml"])
    assert list(told(nothing()).files) == ["designs.csv", "judged.csv"]


@EVERY
def test_pictures_are_drawn_of_what_there_is(found: Proposal) -> None:
    wanted = {"search"}
    wanted |= {"limits"} if found.search.robust else set()
    wanted |= {"near_equal"} if found.near_equal else set()
    wanted |= {"trade_off"} if found.trade_off else set()
    assert {picture.name for picture in told(found).pictures} == wanted


@EVERY
def test_a_search_shows_itself_as_a_short_table(found: Proposal) -> None:
    title, head, *rows = repr(found).splitlines()
    assert all(f"{wish.quantity} {wish.make}" in title for wish in found.wishes)
    assert head.split()[:1] == ["1" if found.trade_off else "nearest" if found.miss else "proposal"]
    names = [*(item.address for item in found.varied), *(wish.quantity for wish in found.wishes), "limits"]
    assert [row.split()[0] for row in rows] == names
    assert repr(found).count("\n") < 12
    assert "<td>12.4 mm</td>" in found._repr_html_()
