"""A search for a design in words, tables, data and files: what the engineer reads, what JSON and CSV promise."""

import csv
import io
import json
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from questions.optimize import proposals
from questions.pages import page
from scipy.stats import beta

from explorer.cli.command import csv_text
from explorer.page.document import Table
from explorer.page.text import WIDTH, aligned, text_of
from explorer.questions.optimize.content import optimisation_content
from explorer.questions.optimize.designs import alike_words, curve_words, designs_tables
from explorer.questions.optimize.files import designs_rows, studies_of, trade_off_rows
from explorer.questions.optimize.misses import (
    change_text,
    conflict_words,
    end_of,
    end_words,
    holds_back_words,
    relaxation_words,
)
from explorer.questions.optimize.names import (
    asked_text,
    chance_text,
    limit_words,
    range_text,
    setting_text,
    wish_words,
)
from explorer.questions.optimize.pictures import limits_held, optimisation_pictures, worst_margin
from explorer.questions.optimize.report import optimisation_report
from explorer.questions.optimize.search.proposal import (
    Change,
    ExactChance,
    JudgedDesign,
    Proposal,
    Relaxation,
)
from explorer.questions.optimize.tables import limits_table, setting_table, trade_off_table
from explorer.questions.optimize.words import failure_words, plain_words, warnings_of
from explorer.store import envelope, json_text
from explorer.study.limits import WITH_NUMBER
from explorer.studyfile import Limit, Study, Varied, Wish, parse_study

BANNED = ("sobol", "pareto", "parzen", "evolution", "variance", "quantile", "binomial", "feasible", "optim")
HEAD = envelope(command="optimize", study="bench.toml", study_hash="0a1b", random_number=1, warnings=())

#: A number that a reader meets, and what stands behind it. Numbers within names are none.
NUMBER = re.compile(r"(?<![\w.])-?\d[\d.]*(?![\w.])\s*(\S*)")
UNITS = ("N", "W", "A", "V", "T", "mm", "mbar", "%", "…", "and", "fresh", "pairs", "were")


@pytest.fixture(scope="module")
def robust() -> Proposal:
    return proposals.robust()


@pytest.fixture(scope="module")
def central() -> Proposal:
    return proposals.central()


@pytest.fixture(scope="module")
def curve() -> Proposal:
    return proposals.curve()


@pytest.fixture(scope="module")
def nothing() -> Proposal:
    return proposals.nothing()


@pytest.fixture(params=["robust", "central", "curve", "nothing"])
def found(request: pytest.FixtureRequest) -> Proposal:
    proposal: Proposal = request.getfixturevalue(request.param)
    return proposal


def study_of(found: Proposal) -> Study:
    assert found.study is not None
    return found.study


def best_of(found: Proposal) -> JudgedDesign:
    assert found.best is not None
    return found.best


def with_best(found: Proposal, **changes: object) -> Proposal:
    return replace(found, best=replace(best_of(found), **changes))  # type: ignore[arg-type]


def with_wish(found: Proposal, **changes: object) -> Proposal:
    """The proposal with other figures of its first wish."""
    first, *others = best_of(found).wishes
    return with_best(found, wishes=(replace(first, **changes), *others))  # type: ignore[arg-type]


def words_of(found: Proposal) -> str:
    return " ".join(plain_words(found, study_of(found)))


def printed(found: Proposal, width: int = WIDTH) -> str:
    sections = optimisation_report(found, study_of(found), HEAD)
    return text_of((section for section in sections if section.audience == "everyone"), width)


def test_the_proposal_is_told_with_units_errors_and_verdicts(robust: Proposal) -> None:
    told = plain_words(robust, study_of(robust))
    assert told[:3] == (
        "Wanted: thrust_gain as large as possible.",
        "Proposed: channel.gap_in 12.4 mm, channel.gap_out 18 mm, magnet.field 0.62 T, electrodes.main.source.voltage"
        " 240 V and electrodes.main.layout segmented.",
        "There thrust_gain is 0.0912 N (sampling ± 0.0003 N) on average over firings; one firing shows, 19 times in"
        " 20, between 0.043 and 0.171 N.",
    )
    assert told[3] == (
        "current at most 50 A: in 93.1 % (92.7 … 93.5 %) of firings, 90 % asked, met. exit_pressure_change at least"
        " 2 mbar: in 90.4 % (90.0 … 90.9 %) of firings, 90 % asked, not decided. chance.constricted at most 10 %:"
        " 4.2 % (3.9 … 4.5 %), met. All limits on results hold at once in 87.1 % (86.6 … 87.6 %) of firings. In"
        " brackets: exact 95 % interval of the sampling."
    )
    assert told[4] == (
        "These figures come from 16384 fresh points that had no part in choosing the design. The search itself saw"
        " 0.0921 N of thrust_gain: the best of many looks better than it is where it was chosen."
    )


def test_luck_is_named_only_where_the_search_had_any(robust: Proposal) -> None:
    assert "looks better" in words_of(robust)
    assert "looks better" not in words_of(with_wish(robust, by_search=0.0907))
    assert "looks better" not in words_of(
        with_wish(robust, by_search=0.0917)
    )  # within twice 0.0003 N of 0.0912 N
    least = Wish("thrust_gain", "smallest")
    assert "looks better" in words_of(with_wish(robust, wish=least, by_search=0.0905))


def bare_numbers(words: str) -> list[str]:
    """What stands behind each number that wears no unit."""
    units = NUMBER.findall(words.replace("19 times in 20", ""))
    assert len(units) >= 6
    return [unit for unit in units if not unit.startswith(UNITS)]


def test_every_number_of_the_plain_words_wears_a_unit(found: Proposal) -> None:
    words = words_of(found)
    assert bare_numbers(words) == []
    assert bare_numbers(words.replace(" mm", "")) != []


def test_the_first_page_is_narrow_and_free_of_statistics(found: Proposal) -> None:
    text = printed(found)
    assert [word for word in BANNED if word in text.lower().replace("`optimize`", "")] == []
    assert max(map(len, text.splitlines())) <= 100


def test_what_a_reviewer_wants_comes_after_the_cautions(found: Proposal) -> None:
    text = page(optimisation_report(found, study_of(found), HEAD))
    places = [text.index(words) for words in ("In plain words", "kill", "How it was searched", "Provenance")]
    assert places == sorted(places)
    assert "Bergstra et al. 2011" in text
    assert ("Clopper and Pearson 1934" in text) == found.search.robust


def test_the_way_of_searching_is_told_as_it_was(robust: Proposal) -> None:
    ranges = replace(robust, varied=robust.varied[:3])
    ways = {
        "the lists are then searched by steps": robust,
        "Storn and Price 1997": ranges,
        "Haimes et al. 1971": proposals.curve(),
    }
    for words, found in ways.items():
        text = page(optimisation_report(found, study_of(found), HEAD))
        assert [name for name in ways if name in text] == [words]
        assert ("come from one more sample" in text) == (len(found.wishes) == 1)


def test_a_study_that_says_something_wicked_is_escaped(robust: Proposal) -> None:
    wicked = replace(study_of(robust), title="<script>alert(1)</script>")
    text = page(optimisation_report(robust, wicked, HEAD, {"limits": '<svg><path d="M0 0"/></svg>'}))
    assert "<script>" not in text
    assert "<svg><path" in text


# Of n trials that all succeed, Clopper and Pearson's (1934) lower end is (1 - 0.95)/2 to the power 1/n; else a
# quantile of a beta distribution.
@pytest.mark.parametrize(
    ("share", "points", "words"),
    [
        (1.0, 10, "100 % (69 … 100 %)"),
        (0.0, 10, "0 % (0 … 31 %)"),
        (1.0, 16384, "100.00 % (99.98 … 100.00 %)"),
        (0.5, 100, "50 % (40 … 60 %)"),
    ],
)
def test_chances_are_printed_to_what_their_interval_leaves(share: float, points: int, words: str) -> None:
    chance = proposals.chance(share, points)
    assert chance_text(chance) == words
    held = round(share * points)
    if 0 < held < points:
        assert chance.low == pytest.approx(beta.ppf(0.025, held, points - held + 1))
    else:
        assert min(chance.low, 1 - chance.high) == pytest.approx(0.0)
        assert max(chance.low, 1 - chance.high) == pytest.approx(0.025 ** (1 / points))


def test_limits_ranges_and_wishes_in_words() -> None:
    assert limit_words(Limit("thrust_gain", at_least=0.04, at_most=0.2)) == (
        "thrust_gain at least 0.04 N and at most 0.2 N"
    )
    event = Limit("chance.choked", at_most=0.025, chance=None)
    assert limit_words(event) == "chance.choked at most 2.5 %"
    assert limit_words(WITH_NUMBER) == "points with a number at least 95 %"
    assert asked_text(Limit("current", at_most=50.0, chance=0.995, chance_origin="yours")) == "99.5 %"
    assert asked_text(Limit("current", at_most=50.0)) == "90 % (assumed)"
    assert asked_text(event) == "at most 2.5 %"
    assert asked_text(WITH_NUMBER) == "at least 95 % (assumed)"
    assert range_text(Varied("channel.gap_in", 0.009, 0.0145)) == "9 … 14.5 mm"
    assert range_text(Varied("gas.seed_fraction", values=(0.01, 0.005))) == "1 %, 0.5 %"
    assert setting_text("magnet.field", 0.6234) == "0.6234 T"
    assert wish_words(Wish("current", "smallest")) == "current as small as possible"


def test_limits_not_confirmed_are_warned_of_each_in_its_own_words(robust: Proposal) -> None:
    assert warnings_of(robust) == (
        "Not decided, for fresh points hold it about as often as asked: exit_pressure_change at least 2 mbar.",
    )
    current, *others = best_of(robust).limits
    missed = with_best(robust, limits=(replace(current, verdict="not met"), *others))
    assert warnings_of(missed)[0] == (
        "Not met on fresh points, so that nothing should be built to this design: current at most 50 A."
    )
    kept = with_best(robust, limits=tuple(replace(limit, verdict="met") for limit in best_of(robust).limits))
    assert warnings_of(kept) == ()
    assert "! Not met" in printed(missed)
    assert "! Not" not in printed(kept)


def test_the_implied_limit_is_spoken_of_only_where_it_is_not_met(robust: Proposal) -> None:
    assert "points with a number" not in words_of(robust)
    assert "points with a number" not in printed(robust)
    *others, number = best_of(robust).limits
    few = replace(number, chance=proposals.chance(0.941), verdict="not met")
    assert "points with a number at least 95 %: 94.1 %" in words_of(with_best(robust, limits=(*others, few)))


def test_central_values_have_no_chances_and_are_called_blind(central: Proposal) -> None:
    text = " ".join(printed(central, 10_000).split())
    assert "There thrust_gain is 0.0875 N at central values." in text
    assert "current at most 50 A: 49.9 A, met." in text
    assert "chance.constricted at most 10 %: not there, met." in text
    assert "missed in about every second firing" in text
    assert "sampling" not in text
    assert "fresh points" not in text
    assert not re.search(r"\d % \(", text)
    assert "missed in about every second" not in printed(proposals.robust())


def test_a_study_in_which_nothing_is_uncertain_is_not_told_to_leave_an_option_out(central: Proposal) -> None:
    study = study_of(central)
    exact = replace(
        study,
        space=replace(study.space, inputs=()),
        model_error=replace(study.model_error, relative=dict.fromkeys(study.model_error.relative, 0.0)),
    )
    told = " ".join(warnings_of(replace(central, study=exact)))
    assert "State how unsure the values are" in told
    assert "--central" not in told
    assert "--central" in " ".join(warnings_of(central))


def test_the_study_stands_beside_the_proposal(robust: Proposal) -> None:
    table = setting_table(robust, best_of(robust), study_of(robust), "proposal")
    assert table.rows == (
        ("channel.gap_in", "11 mm", "12.4 mm", "9 … 14 mm"),
        ("channel.gap_out", "12.5 mm", "18 mm", "11 … 18 mm"),
        ("magnet.field", "0.48 T", "0.62 T", "0.3 … 0.8 T"),
        ("electrodes.main.source.voltage", "150 V", "240 V", "120 V, 150 V, 200 V, 240 V"),
        ("electrodes.main.layout", "continuous", "segmented", "continuous, segmented"),
    )


def test_limits_stand_with_what_was_asked_and_all_at_once(robust: Proposal) -> None:
    rows = limits_table(best_of(robust), robust=True).rows
    assert rows[1] == (
        "exit_pressure_change at least 2 mbar",
        "90 % (assumed)",
        "90.4 % (90.0 … 90.9 %)",
        "not decided",
    )
    assert rows[-1][0] == "all on results at once"
    alone = replace(best_of(robust), limits=best_of(robust).limits[2:])
    assert [row[0] for row in limits_table(alone, robust=True).rows] == ["chance.constricted"]


def test_near_equal_designs_stand_beside_the_proposal_in_what_they_differ(robust: Proposal) -> None:
    designs = (best_of(robust), *robust.near_equal)
    names = ("proposal", "1", "2", "3")
    (table,) = designs_tables(designs, names, first_in_each=True, wishes=True)
    assert table.head == ("", *names)
    rows = {row[0]: row[1:] for row in table.rows}
    assert rows["channel.gap_in [mm]"] == ("12.4", "10.6", "12.4", "12.4")
    assert rows["thrust_gain [N], sampling ±0.0003"] == ("0.0912", "0.0905", "0.0899", "0.0896")
    assert rows["electrodes.main.layout"][-1] == "continuous"
    assert rows["exit_pressure_change at least 2 mbar"] == ("not decided",) * 4
    assert "electrodes.main.source.voltage [V]" not in rows
    assert alike_words(designs) == (
        "The same in all: electrodes.main.source.voltage 240 V. Met by all: current at most 50 A; chance.constricted at"
        " most 10 %."
    )
    text = " ".join(printed(robust).split())
    assert "1 in channel.gap_in; 2 in magnet.field and channel.gap_out; 3 in electrodes.main.layout." in text


def test_designs_too_many_for_a_line_go_on_in_a_further_table(curve: Proposal) -> None:
    designs = (*curve.trade_off, *curve.trade_off)
    names = [str(number) for number in range(1, 17)]
    tables = list(designs_tables(designs, names, first_in_each=False, wishes=True))
    assert len(tables) > 2
    assert [name for table in tables for name in table.head[1:]] == names
    held = list(designs_tables(designs, names, first_in_each=True, wishes=True))
    assert all(table.head[1] == "1" for table in held)
    assert [name for table in held for name in table.head[2:]] == names[1:]
    assert max(len(line) for table in tables for line in text_lines(table)) <= WIDTH


def text_lines(table: Table) -> list[str]:
    return aligned(table.rows, table.head, table.numbers, 10_000)


def test_no_near_equal_design_is_said(robust: Proposal) -> None:
    text = " ".join(printed(replace(robust, near_equal=())).split())
    assert "No other design was found that comes within 2 % of the proposal's thrust_gain." in text


def test_the_trade_off_curve_marks_its_knee(curve: Proposal) -> None:
    rows = trade_off_table(curve).rows
    assert len(rows) == 8
    assert [row[0] for row in rows if row[-1]] == ["5"]
    assert rows[4][1:4] == ("0.0650 N (sampling ± 0.0003 N)", "2910 W (sampling ± 20 W)", "met")
    assert "the knee of the trade-off curve" in words_of(curve)
    assert "knee" not in words_of(proposals.robust())


def test_a_knee_of_a_straight_curve_is_said_to_mean_little(curve: Proposal) -> None:
    assert "At the knee it bends most" in curve_words(curve)
    designs = []
    for place, design in enumerate(curve.trade_off):
        first, second = design.wishes
        designs.append(replace(design, wishes=(first, replace(second, expected=1900.0 + 700.0 * place))))
    assert "its knee means little" in curve_words(replace(curve, trade_off=tuple(designs)))


def test_what_a_tenth_of_a_limit_would_gain_carries_its_error(robust: Proposal) -> None:
    limit = robust.limits[0]
    assert relaxation_words(robust, robust.relaxations[0]) == (
        "current at most 50 A holds the design back. Relaxed by a tenth, to 55 A, thrust_gain would be larger by"
        " 0.0061 N (sampling ± 0.0004 N)."
    )
    lost = relaxation_words(robust, Relaxation(limit, 55.0, 0.0007, 0.0004))
    assert lost.endswith("it would gain nothing that stands out of the sampling error (± 0.00040 N).")
    exact = relaxation_words(robust, Relaxation(limit, 55.0, 0.0007, 0.0))
    assert exact.endswith("thrust_gain would be larger by 0.0007 N.")
    gone = relaxation_words(robust, Relaxation(limit, 55.0, np.nan, np.nan))
    assert gone.endswith("to 55 A: what that would gain did not come out.")
    single = relaxation_words(robust, Relaxation(limit, 55.0, 0.0061, np.nan))
    assert single.endswith("larger by 0.0061 N (sampling error not known).")
    least = replace(robust, wishes=(Wish("electrical_power", "smallest"),))
    assert "electrical_power would be smaller by 120 W" in relaxation_words(
        least, Relaxation(limit, 55.0, 120.0, 9.0)
    )
    event = relaxation_words(robust, Relaxation(robust.limits[2], 0.11, 0.0061, 0.0004))
    assert event.startswith(
        "chance.constricted at most 10 % holds the design back. Relaxed by a tenth, to 11 %,"
    )


def test_a_design_that_nothing_holds_back_says_so(robust: Proposal) -> None:
    free = with_best(
        replace(robust, relaxations=()),
        limits=tuple(replace(limit, active=False) for limit in best_of(robust).limits),
        setting={
            **best_of(robust).setting,
            "channel.gap_out": 0.015,
            "electrodes.main.source.voltage": 200.0,
        },
    )
    assert holds_back_words(free) == ("No limit and no end of a range holds the proposal back.",)
    assert len(holds_back_words(robust)) == 3


def test_ends_of_ranges_and_of_stock_are_said_unless_little_hangs_on_them(robust: Proposal) -> None:
    told = list(end_words(robust, best_of(robust)))
    assert told == [
        "channel.gap_out stands at the upper end of its range, 18 mm; but 16.1 mm is nearly as good, so that little"
        " hangs on it.",
        "electrodes.main.source.voltage is the largest in stock, 240 V: list larger ones to see whether more is to be"
        " had.",
    ]
    alone = replace(robust, near_equal=())
    assert next(end_words(alone, best_of(alone))).endswith(
        "18 mm: widen it to see whether more is to be had."
    )
    close = robust.near_equal[1]
    close = replace(
        close, setting={**close.setting, "channel.gap_out": 0.0175}
    )  # which may cost all of the 2 %
    assert "widen it" in next(end_words(replace(robust, near_equal=(close,)), best_of(robust)))
    gap = Varied("channel.gap_in", 0.009, 0.014)
    assert [end_of(gap, x) for x in (0.009, 0.0092, 0.0138, 0.014)] == ["lower", None, None, "upper"]
    stock = Varied("magnet.field", values=(0.6, 0.4, 0.5))
    assert [end_of(stock, x) for x in (0.4, 0.5, 0.6)] == ["smallest", None, "largest"]
    assert end_of(Varied("magnet.field", values=(0.6,)), 0.6) is None


def test_a_gain_that_no_instrument_can_see_is_called_small(robust: Proposal) -> None:
    # Pairs until twice the noise: (0.3 N)² / ((0.0912 N / 2)² - (0.5 % · 0.0912 N)²) = 43.3.
    room = (0.0912 / 2) ** 2 - (0.005 * 0.0912) ** 2
    assert math.ceil(0.3**2 / room) == 44
    assert words_of(robust).endswith(
        "The gain is small: load_cell, with 0.3 N in one on/off pair, cannot see 0.091 N of thrust_gain in fewer than"
        " 44 pairs."
    )
    large = with_wish(robust, expected=3.0, low=2.5, high=3.5)
    assert "The gain is small" not in words_of(large)
    blind = replace(study_of(robust), instruments=())
    unread = replace(with_best(robust, study=blind), study=blind)
    assert "The gain is small" not in words_of(unread)


def test_an_interval_that_holds_zero_is_said(robust: Proposal) -> None:
    assert "holds zero" not in words_of(robust)
    assert "the interval of thrust_gain holds zero" in words_of(with_wish(robust, low=-0.01))


def test_where_hardly_anything_hangs_on_the_choice_it_is_said(robust: Proposal) -> None:
    assert "Hardly anything hangs" not in words_of(robust)
    flat = robust.tried.assign(thrust_gain=np.linspace(0.0912, 0.0894, len(robust.tried)), met=True)
    words = words_of(replace(robust, tried=flat))
    assert np.ptp(flat["thrust_gain"]) / 0.0912 == pytest.approx(0.0197, abs=5e-5)
    assert "whatever was tried and met the limits comes within 2 % of the best thrust_gain" in words
    clustered = flat.assign(thrust_gain=np.where(np.arange(len(flat)) < 5, 0.05, flat["thrust_gain"]))
    assert "Hardly anything hangs" not in words_of(
        replace(robust, tried=clustered)
    )  # a search dwells near its best


def test_where_nothing_fits_conflict_nearest_miss_and_the_best_change_are_told(nothing: Proposal) -> None:
    told = plain_words(nothing, study_of(nothing))
    assert told[1] == "No design meets all limits; 500 were tried."
    assert told[2] == (
        "Within the ranges these can't hold together: current at most 50 A; exit_pressure_change at least 2 mbar."
    )
    assert told[3].endswith("electrodes.main.layout segmented. Its worst limit misses by 16 % of its bound.")
    assert told[-1] == (
        "What would help most: relax current at most 50 A to 62 A (then a design meets all limits)."
    )
    assert failure_words(nothing) == (
        "no design meets all limits; what would help most: relax current at most 50 A to 62 A (then a design meets all"
        " limits)"
    )
    assert failure_words(proposals.robust()) is None
    text = " ".join(printed(nothing).split())
    assert "widen channel.gap_out to 24 mm then the worst limit still misses by 3.1 % of its bound" in text
    assert "drop the limit exit_pressure_change at least 2 mbar" in text
    assert "THE PROPOSAL" not in text


def test_conflicts_of_one_limit_and_of_none_are_told(nothing: Proposal) -> None:
    assert nothing.miss is not None
    alone = replace(nothing.miss, conflict=nothing.limits[:1])
    assert (
        conflict_words(alone)
        == "Even alone, this limit can't be met within the ranges: current at most 50 A."
    )
    assert "did not come out" in conflict_words(replace(nothing.miss, conflict=()))


def test_a_change_names_the_limit_that_it_relaxes(nothing: Proposal) -> None:
    both = replace(nothing, limits=(Limit("current", at_least=5.0), Limit("current", at_most=50.0)))
    assert change_text(both, Change("limit", "current", 62.0, 0.0)) == "relax current at most 50 A to 62 A"
    assert change_text(both, Change("limit", "current", 4.0, 0.0)) == "relax current at least 5 A to 4 A"
    assert change_text(nothing, Change("limit", "chance.constricted", 0.2, 0.0)) == (
        "relax chance.constricted at most 10 % to 20 %"
    )
    stock = change_text(nothing, Change("range", "electrodes.main.source.voltage", 300.0, 0.0))
    assert stock == "list 300 V for electrodes.main.source.voltage too"


def test_json_is_in_si_with_both_levels_and_intervals(robust: Proposal) -> None:
    told = json.loads(
        json_text(optimisation_content(robust, study_of(robust), ("a", "b"))), parse_constant=pytest.fail
    )
    assert list(told)[:5] == ["wanted", "varied", "limits", "feasible", "proposal"]
    assert told["wanted"] == [{"quantity": "thrust_gain", "make": "largest", "unit": "N"}]
    assert told["varied"][0] == {
        "address": "channel.gap_in",
        "unit": "m",
        "range": [0.009, 0.014],
        "stock": None,
        "now": 0.011,
    }
    assert told["varied"][-1]["now"] == "continuous"
    assert [limit["implied"] for limit in told["limits"]] == [False, False, False, True]
    best = told["proposal"]
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
    assert best["limits"][2]["keeps_to"] is None  # of a chance there is none
    assert len(told["near_equal"]) == 3
    assert told["near_equal"][1]["differs_in"] == ["magnet.field", "channel.gap_out"]
    assert told["relaxed_by_a_tenth"][0]["standard_error"] == {"gain": 0.0004}
    assert (told["nearest_miss"], told["feasible"], told["words"]) == (None, True, "a b")
    assert told["search"]["random_number"] == 1


def test_json_of_a_search_that_found_nothing(nothing: Proposal) -> None:
    told = json.loads(
        json_text(optimisation_content(nothing, study_of(nothing), ())), parse_constant=pytest.fail
    )
    assert (told["feasible"], told["proposal"]) == (False, None)
    miss = told["nearest_miss"]
    assert miss["shortfall"] == 0.164
    assert [limit["quantity"] for limit in miss["conflict"]] == ["current", "exit_pressure_change"]
    assert [change["to"] for change in miss["changes"]] == [62.0, 0.024, None]


def test_designs_tried_are_a_table_in_si(robust: Proposal) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(designs_rows(robust)))))
    assert list(rows[0]) == [
        "number",
        "channel.gap_in [m]",
        "channel.gap_out [m]",
        "magnet.field [T]",
        "electrodes.main.source.voltage [V]",
        "electrodes.main.layout",
        "thrust_gain [N]",
        "margin 1 [1]",
        "margin 2 [1]",
        "margin 3 [1]",
        "met",
    ]
    assert len(rows) == 500
    assert float(rows[7]["magnet.field [T]"]) == pytest.approx(robust.tried["magnet.field"].iloc[7])
    lost = robust.tried["thrust_gain"].isna().to_numpy()
    assert lost.any()
    assert [row["thrust_gain [N]"] == "" for row in rows] == lost.tolist()  # never filled in


def test_the_curve_is_a_table_with_its_errors(curve: Proposal) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(trade_off_rows(curve)))))
    assert [float(row["thrust_gain [N]"]) for row in rows] == pytest.approx(
        [design.wishes[0].expected for design in curve.trade_off]
    )
    assert float(rows[0]["electrical_power_standard_error [W]"]) == 22.0
    assert rows[0]["electrodes.main.layout"] == "segmented"
    assert [row["verdict"] for row in rows] == ["met"] * 6 + ["not decided"] * 2


def test_the_proposal_is_a_study_that_says_where_it_comes_from(robust: Proposal) -> None:
    files = studies_of(robust, HEAD)
    assert list(files) == ["proposal.toml", "near-equal-1.toml", "near-equal-2.toml", "near-equal-3.toml"]
    text = files["proposal.toml"]
    head = text.split("\n\n")[0].splitlines()
    assert all(line.startswith("#") for line in head)
    said = " ".join(line.lstrip("# ") for line in head)
    for words in (
        "bench.toml",
        "Study hash 0a1b, random number 1",
        "A prediction with limits, not a permission",
        "kill",
        "Local codes, range rules and licensed practice come first",
        "Not shown to be met on fresh points: exit_pressure_change at least 2 mbar",
    ):
        assert words in said
    again = parse_study(text)
    for address, value in best_of(robust).setting.items():
        found = again.choices.get(address, again.central().get(address))
        assert found == (value if isinstance(value, str) else pytest.approx(value))
    assert again.study_hash == best_of(robust).study.study_hash  # type: ignore[union-attr]
    other = parse_study(files["near-equal-3.toml"])
    assert other.choices["electrodes.main.layout"] == "continuous"
    assert "Chosen at central values" in studies_of(proposals.central(), HEAD)["proposal.toml"]
    assert studies_of(proposals.nothing(), HEAD) == {}


def test_pictures_are_drawn_of_what_there_is(found: Proposal) -> None:
    names = set(optimisation_pictures(found))
    wanted = {"search"}
    wanted |= {"limits"} if found.search.robust else set()
    wanted |= {"near_equal"} if found.near_equal else set()
    wanted |= {"trade_off"} if found.trade_off else set()
    assert names == wanted


def test_limits_are_drawn_as_chances_to_hold(robust: Proposal) -> None:
    held = limits_held(best_of(robust))
    chance: ExactChance = best_of(robust).limits[2].chance  # of a constricted discharge
    assert (held[2].asked, held[2].share) == pytest.approx((0.9, 1 - chance.share))
    assert (held[2].low, held[2].high) == pytest.approx((1 - chance.high, 1 - chance.low))
    assert all(one.low <= one.share <= one.high for one in held)
    assert held[0].label == "current at most 50 A, asked 90 %"


def test_the_worst_margin_is_that_of_the_limit_that_misses_most(robust: Proposal) -> None:
    margins = robust.tried[["margin 1", "margin 2", "margin 3"]].to_numpy()
    np.testing.assert_array_equal(worst_margin(robust), margins.min(axis=1))
    assert ((worst_margin(robust) >= 0) == robust.tried["met"]).all()
    free = robust.tried.drop(columns=["margin 1", "margin 2", "margin 3"])
    assert np.isnan(worst_margin(replace(robust, tried=free))).all()
