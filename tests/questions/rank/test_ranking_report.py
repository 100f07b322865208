"""A ranking in plain words, as a table, as JSON and CSV."""

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from questions.pages import csv_of, envelope_of, json_of, page_of, printed, sentences, table

from explorer import registry
from explorer.analysis.measurement_sets import MeasurementSet
from explorer.analysis.scrambles import Estimate, estimate
from explorer.page.answer import Answer
from explorer.page.events import at_once
from explorer.questions.rank import answer
from explorer.questions.rank.guesses import Guess, Guesses
from explorer.questions.rank.ranking import Ranking
from explorer.space import Row
from explorer.study.model_error import MODEL_ITSELF
from explorer.studyfile import Study

BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble")
PLAIN, STANDS, CARRIES = "In plain words", "The answer as it stands", "What carries the uncertainty"
MEASUREMENT, SEEN = "Which measurement first", "Would the instruments see it"

#: A number that a reader meets, and what stands behind it. Numbers within names are none.
NUMBER = re.compile(r"(?<![\w.])-?\d[\d.]*(?![\w.])\s*(\S*)")
UNITS = ("N", "W", "A", "h", "%", "±", "kEUR")

CASES = (
    "bench",
    "two-pair",
    "bench-extraction",
    "sounding",
    "failing",
    "correlated",
    "paid",
    "compared",
)


def told(*rankings: Ranking, asked: int | None = None) -> Answer:
    study = rankings[0].study
    assert study is not None
    return answer.told(rankings, study, envelope_of("rank"), asked=asked)


def plain(ranking: Ranking) -> str:
    return sentences(told(ranking), PLAIN)[len(PLAIN) + 1 :]


@pytest.fixture(scope="module")
def words(every_ranking: dict[str, Ranking]) -> dict[str, str]:
    return {case: plain(ranking) for case, ranking in every_ranking.items()}


def named_inputs(words: str, ranking: Ranking) -> set[str]:
    """Return the addresses of inputs in the words, also those of a difference of studies."""
    addresses = {row.address for row in ranking.rows if row.part not in ("model", "group")}
    return {
        address
        for address in addresses
        if re.search(rf"(?<![\w.]){re.escape(registry.words_of(address))}(?![\w.])", words, re.IGNORECASE)
    }


def figure(value: float, half_width: float = 0.0) -> Estimate:
    """Return a figure of the same value in every repeat, its interval as wide as is said."""
    found = estimate(np.full(8, value))
    return replace(found, low=np.array(value - half_width), high=np.array(value + half_width))


def with_first(ranking: Ranking, part: str, first: float) -> Ranking:
    """Return the ranking with another share for the rows of one part."""
    rows = tuple(replace(row, first=figure(first)) if row.part == part else row for row in ranking.rows)
    return replace(ranking, rows=rows)


def with_learning(ranking: Ranking, **changes: Any) -> Ranking:
    return replace(ranking, learning=replace(ranking.learning, **changes))


def with_opinion(ranking: Ranking, leading: str | None) -> Ranking:
    row = None if leading is None else Row(leading, "unknown")
    return with_learning(ranking, second_opinion=replace(ranking.learning.second_opinion, leading=row))


def with_level_learning(ranking: Ranking) -> Ranking:
    """Return the ranking with inputs none of which leaves less than another one."""
    known = ranking.learning.known
    level = estimate(known[0].variance.by_scramble)
    return with_learning(
        ranking, known=tuple(replace(own, variance=level, informative=True) for own in known)
    )


def with_scatter(ranking: Ranking, share: float) -> Ranking:
    """Return the ranking with another share of the variance that scatters."""
    floor = figure(share * float(ranking.shares.indices.variance))
    return replace(ranking, shares=replace(ranking.shares, scatter_variance=floor))


@pytest.mark.parametrize("case", CASES)
def test_plain_words_are_few_and_each_says_what_it_is(
    every_ranking: dict[str, Ranking], words: dict[str, str], case: str
) -> None:
    said = words[case]
    assert len(said.split()) - len(at_once(every_ranking[case].events).split()) <= 120
    assert not [word for word in BANNED if word in said.lower()]
    helps = "would leave the answer about as un" not in said and "answer would be about as un" not in said
    assert helps <= len(named_inputs(said, every_ranking[case])) <= 3
    units = NUMBER.findall(said)
    assert len(units) >= 3
    assert all(unit.startswith(UNITS) for unit in units), said
    assert re.search(r"in one firing: -?[\d.]+ ± [\d.]+ [NW] \(one standard uncertainty\)", said)
    assert not helps or re.search(r"known exactly, it would leave ± [\d.]+ [NW]", said)


def test_there_is_room_for_all_that_must_be_said_at_once(failing_ranking: Ranking) -> None:
    """No contact, failures, a leading model, a level second and another opinion: the least of it gives way."""
    ranking = with_opinion(with_level_learning(with_first(failing_ranking, "model", 0.9)), "magnet.field")
    said = plain(replace(ranking, points={**ranking.points, "no_contact": 5000}))
    assert len(said.split()) - len(at_once(ranking.events).split()) <= 120
    needed = (
        "does not run",
        "no current",
        "in one firing",
        "model's own",
        "Pin down",
        "Make the measurement",
        "independent method",
    )
    assert [part for part in needed if part not in said] == []
    assert len(named_inputs(said, ranking)) <= 3


def test_another_opinion_does_not_name_a_fourth_input(bench_ranking: Ranking) -> None:
    said = plain(with_opinion(with_scatter(bench_ranking, 0.8), "channel.gap_in"))
    assert len(named_inputs(said, bench_ranking)) == 3
    assert "puts another input first" in said


def test_what_is_pinned_down_first_is_the_unknown_that_would_leave_least(
    bench_ranking: Ranking, words: dict[str, str]
) -> None:
    left = {row.address: float(row.left) for row in bench_ranking.rows if row.part == "unknown"}
    assert f"Pin down the {registry.words_of(min(left, key=left.__getitem__))} first" in words["bench"]


def test_a_leading_model_error_is_said_to_need_a_firing(bench_ranking: Ranking) -> None:
    said = plain(with_first(bench_ranking, "model", 0.9))
    assert (
        "the model's own error (10 %, stated): measuring inputs helps little; only a powered firing helps"
        in said
    )


def test_leading_scatter_is_said_to_be_beyond_any_test(bench_ranking: Ranking) -> None:
    said = plain(with_first(with_scatter(bench_ranking, 0.8), "scatter", 0.8))
    assert "scatter from firing to firing" in said
    assert "no test removes" in said
    assert not re.search(r"Pin down (\S+) \(scatter\)", said)


def test_inputs_that_cannot_be_told_apart_are_level_or_do_not_stand_out(bench_ranking: Ranking) -> None:
    assert "is level with it" in plain(with_level_learning(bench_ranking))
    vain = tuple(replace(own, informative=False) for own in bench_ranking.learning.known)
    assert "No single input stands out" in plain(with_learning(bench_ranking, known=vain))


def test_another_leader_by_another_method_is_said(bench_ranking: Ranking) -> None:
    other = with_opinion(bench_ranking, "magnet.field")
    assert "An independent method puts the magnetic field first." in plain(other)
    review = " ".join(printed(told(other), "reviewer", title="Second opinion").split())
    assert "The two disagree: by its share of the variance" in review
    assert "by this method magnetic field." in review
    assert "independent method" not in plain(with_opinion(bench_ranking, None))


def test_firings_without_contact_are_told_first(bench_ranking: Ranking) -> None:
    said = plain(replace(bench_ranking, points={**bench_ranking.points, "ok": 600, "no_contact": 400}))
    assert re.match(r"In 40 % \(sampling ± \d %\) of firings no current flows at all", said)


def test_without_measurements_none_is_proposed(bench_ranking: Ranking) -> None:
    found = told(with_learning(bench_ranking, measurements=None))
    assert "Make the measurement" not in sentences(found)
    assert MEASUREMENT not in {section.title for section in found.sections}


def test_a_first_choice_that_hangs_on_guessed_ranges_is_told(bench_ranking: Ranking) -> None:
    def carries(choices: list[str | None]) -> str:
        places = [
            (address, factor) for address in ("gas.nozzle_lag", "magnet.field") for factor in (0.5, 2.0)
        ]
        tried = [Guess(*place, c, c == "drop_sweep", 0.0) for place, c in zip(places, choices, strict=True)]
        guesses = Guesses("drop_sweep", tuple(tried), "measurement")
        return sentences(told(replace(bench_ranking, guesses=guesses)), CARRIES)

    assert (
        "That drop_sweep is the measurement to make first depends on the guessed ranges of nozzle lag: with one of"
        " them halved or doubled it becomes field_map."
    ) in carries(["drop_sweep", "field_map", "drop_sweep", "drop_sweep"])
    assert (
        "Halve or double any of the 2 largest ranges: drop_sweep stays the measurement to make first."
    ) in carries(["drop_sweep"] * 4)
    assert "it becomes none worth its hours" in carries(["drop_sweep", None, "drop_sweep", "drop_sweep"])


def test_instruments_are_told_what_they_would_see(bench_ranking: Ranking) -> None:
    text = sentences(told(bench_ranking), SEEN)
    assert re.search(
        r"load_cell, with 0\.3 N in one on/off pair, cannot see .* in fewer than \d+ pairs\.", text
    )
    assert re.search(r"ammeter sees .* at once", text)
    assert re.search(r"exit_tap.* mbar", text)
    assert "Fire to read the current: the effect stands out most there. Beware: current density above" in text
    quiet = sentences(told(replace(bench_ranking, events=None)), SEEN)
    assert quiet.endswith("Fire to read the current: the effect stands out most there.")


def test_small_rows_are_counted_not_hidden(bench_ranking: Ranking) -> None:
    found = told(bench_ranking)
    small = re.search(r"(\d+) more of less than 0.5 % each", sentences(found, CARRIES))
    assert small is not None
    assert len(table(found, CARRIES)) - 1 + int(small[1]) == len(bench_ranking.rows)


def test_the_first_page_is_free_of_statistics_and_a_reviewer_comes_last(bench_ranking: Ranking) -> None:
    found = told(bench_ranking)
    everyone = printed(found)
    assert not [word for word in BANNED if word in everyone.lower()]
    assert max(map(len, everyone.splitlines())) <= 100
    text = page_of(found)
    assert text.index(PLAIN) < text.index("For a reviewer") < text.index("Provenance")


def test_json_has_the_contracts_keys_most_important_first(bench_ranking: Ranking) -> None:
    found = json_of(told(bench_ranking))
    assert found["target"] == "thrust_gain"
    keys = {"address", "part", "first", "first_interval", "total", "total_interval", "left_if_known"}
    assert all(keys <= row.keys() for row in found["inputs"])
    totals = [row["total"] for row in found["inputs"]]
    assert totals == sorted(totals, reverse=True)
    blocks = 2 + len(bench_ranking.rows) + 1  # A, B, one a row, one for all scatter together
    assert sum(found["points"].values()) == 512 * blocks
    measured = {"name", "hours", "left", "left_range", "fall_per_hour", "verdicts_avoided", "standard_error"}
    assert all(measured <= row.keys() for row in found["measurements"])
    assert all({"name", "left", "hours"} <= row.keys() for row in found["best_set"])
    assert {row["name"] for row in found["instruments"]} == {"load_cell", "ammeter", "exit_tap"}
    assert found["words"].startswith("Beware: current density above the diffuse limit")
    assert "Thrust gain in one firing" in found["words"]


def test_csv_and_frame_carry_units_and_the_same_figures(bench_ranking: Ranking) -> None:
    rows, frame = csv_of(told(bench_ranking), "ranking.csv"), bench_ranking.inputs
    assert len(rows) == len(frame)
    assert float(rows[0]["total [1]"]) == pytest.approx(frame["total"].iloc[0])
    field = next(row for row in rows if (row["address"], row["part"]) == ("magnet.field", "unknown"))
    assert float(field["standard_uncertainty"]) == pytest.approx(0.015)
    assert field["unit of standard_uncertainty"] == "T"
    own = frame.loc[("magnet.field", "unknown")]
    assert frame.loc["magnet.field"].loc["unknown"].equals(own)
    assert own["first"] == pytest.approx(float(field["first [1]"]), rel=1e-9)


def test_a_row_level_with_the_one_above_is_marked(bench_ranking: Ranking) -> None:
    first, second, *others = bench_ranking.rows

    def marks(level: bool) -> list[str]:
        rows = (first, replace(second, level=level), *others)
        return [cells[0] for cells in table(told(replace(bench_ranking, rows=rows)), CARRIES)[1:3]]

    assert marks(False) == ["1", "2"]
    assert marks(True) == ["1", "="]


def test_where_points_fail_there_are_no_totals_and_it_is_said_what_decides(failing_ranking: Ranking) -> None:
    found = told(failing_ranking)
    content, text = json_of(found), sentences(found)
    assert content["shares_from"] == "failures"
    assert {(row["total"], row["total_interval"]) for row in content["inputs"]} == {(None, None)}
    assert content["runs"][0]["address"] == "channel.friction_coefficient"
    assert 0.0 < content["rows_lost"] < 1.0
    assert "in all %" not in text
    assert "Shares are told among the points that run; there are no totals, and nothing is filled in." in text
    assert "WHAT DECIDES WHETHER THE STAGE RUNS" in text
    assert "among the cases in which the stage runs" in text


def test_where_inputs_depend_on_each_other_there_are_no_totals(correlated_ranking: Ranking) -> None:
    found = told(correlated_ranking)
    content = json_of(found)
    assert (content["shares_from"], content["runs"], content["rows_lost"]) == ("correlated", [], 0.0)
    assert {row["total"] for row in content["inputs"]} == {None}
    assert "Inputs are correlated here" in sentences(found)


def test_rows_lost_are_told_where_the_design_still_holds(bench_ranking: Ranking) -> None:
    said = "of the sample is left out, for it holds points without a number."
    assert said not in sentences(told(bench_ranking))
    found = told(replace(bench_ranking, shares=replace(bench_ranking.shares, lost=0.004)))
    assert f"0.4 % {said}" in sentences(found)
    assert f"0.4 % {said}" in found.envelope["warnings"]


def test_groups_carry_a_name_and_no_single_input_hides_in_them(
    paid_ranking: Ranking, words: dict[str, str]
) -> None:
    parts = {row.address: row.part for row in paid_ranking.rows}
    assert parts["drops"] == "group"
    assert "electrodes.main.arc_voltage" not in parts
    assert "drop resistance of the main pair" in words["paid"]  # still what to pin down


def test_pay_offs_are_told_in_their_unit_and_against_the_hours(paid_ranking: Ranking) -> None:
    found = told(paid_ranking)
    best, text = json_of(found)["measurements"][0], sentences(found)
    assert (best["verdicts_avoided"], best["value_unit"]) == (None, "kEUR")
    assert best["value_less_hours"] == pytest.approx(best["value"] - 0.5 * best["hours"])
    frame = paid_ranking.measurements
    assert frame is not None
    assert frame["net_value"].iloc[0] == pytest.approx(best["value_less_hours"])
    for said in ("worth [kEUR]", "less its hours", "An hour costs 0.5 kEUR.", "within the 12 h given"):
        assert said in text
    hours = paid_ranking.learning.measurements.best[-1].hours
    assert re.search(rf"worth [\d.]+ kEUR \(sampling ± [\d.]+ kEUR\) and costs {0.5 * hours:g} kEUR", text)


def test_a_difference_of_studies_is_named_and_its_rows_keep_their_units(compared_ranking: Ranking) -> None:
    found = told(compared_ranking)
    content, pages = json_of(found), page_of(found)
    assert "Thrust gain of bench less that of two-pair in one firing" in sentences(found)
    rows = {row["address"]: row for row in csv_of(found, "ranking.csv")}
    parts = {name: row["part"] for name, row in rows.items()}
    assert parts["the model itself, shared"] == "model"  # of one rig in full
    assert "bench: the model itself" not in parts
    assert parts["shared water cross section"] == "unknown"
    assert rows["magnet.field of both"]["unit of standard_uncertainty"] == "T"
    assert rows["shared water cross section"]["unit of standard_uncertainty"] == "1"
    assert content["against"]["study"] == "two-pair"
    assert content["chance_met"] is None
    assert "How uncertain values were read: two-pair" in pages
    assert "The study as resolved: two-pair" in pages


def test_the_two_to_pin_down_together_leave_less_than_either_and_are_inputs(bench_ranking: Ranking) -> None:
    found = told(bench_ranking)
    content = json_of(found)
    together = content["together"]
    assert MODEL_ITSELF not in together["addresses"]
    alone = {row["address"]: row["left_if_known"] for row in content["inputs"] if row["part"] == "unknown"}
    assert all(together["left_if_known"] < alone[address] for address in together["addresses"])
    assert "The best two of the inputs that count most to pin down together" in sentences(found, CARRIES)


def test_what_is_required_is_met_not_met_or_not_decided(bench_ranking: Ranking, bench: Study) -> None:
    def verdict(low: float, high: float) -> str:
        chance = replace(bench_ranking.chance_met, low=np.array(low), high=np.array(high))
        return sentences(told(replace(bench_ranking, chance_met=chance)), STANDS)

    assert bench.target.chance == 0.8
    assert ": met." in verdict(0.81, 0.83)
    assert ": not met." in verdict(0.6, 0.7)
    assert "not decided, the sampling error being too large" in verdict(0.79, 0.83)


def test_the_interval_and_the_chance_agree_with_the_sample_itself(bench_ranking: Ranking) -> None:
    found = json_of(told(bench_ranking))
    values = bench_ranking.picture["thrust_gain"].to_numpy()  # a part of the sample
    inside = np.mean((values >= found["interval_95"][0]) & (values <= found["interval_95"][1]))
    assert inside == pytest.approx(0.95, abs=0.02)
    assert np.mean(values >= 0.04) == pytest.approx(found["chance_met"], abs=0.04)


def test_what_is_left_at_most_and_at_least_is_told_where_the_two_differ(bench_ranking: Ranking) -> None:
    measured = bench_ranking.learning.measurements
    assert measured is not None
    now = float(measured.now)
    best = [
        MeasurementSet(("a",), 1.0, figure(0.8 * now), figure(0.79 * now)),
        MeasurementSet(("a", "b"), 2.0, figure(0.7 * now), figure(0.5 * now)),
    ]
    found = told(with_learning(bench_ranking, measurements=replace(measured, best=tuple(best))))
    steps = re.findall(
        r"\d\. (\w): \d h spent, at most ± [\d.]+ N( and at least ± [\d.]+ N)? left", sentences(found)
    )
    assert [(name, bool(least)) for name, least in steps] == [("a", False), ("b", True)]


def test_where_nothing_is_worth_measuring_no_measurement_is_named_as_first(bench_ranking: Ranking) -> None:
    measured = bench_ranking.learning.measurements
    assert measured is not None
    found = with_learning(bench_ranking, measurements=replace(measured, best=()))
    assert "worth its hours" in plain(replace(found, guesses=None))
    assert "Make the measurement" not in plain(replace(found, guesses=None))


def test_several_targets_stand_one_after_the_other_on_one_page(bench_ranking: Ranking) -> None:
    picture = bench_ranking.picture.rename(columns={"thrust_gain": "current"})
    other = replace(bench_ranking, target="current", unit="A", picture=picture)
    found = told(bench_ranking, other)
    text = printed(found)
    assert "What makes thrust gain and current uncertain, one after the other." in text
    titles = [f"In plain words: {name}" for name in ("thrust gain", "current")]
    assert text.index(titles[0]) < text.index(titles[1]) < text.index(SEEN.upper())
    assert text.count(SEEN.upper()) == 1
    assert [each["target"] for each in json_of(found)["targets"]] == ["thrust_gain", "current"]
    assert list(found.files) == ["ranking-thrust_gain.csv", "ranking-current.csv"]
    assert len({picture.name for picture in found.pictures}) == 8


def test_a_reviewer_sees_how_the_repeats_agree(bench_ranking: Ranking) -> None:
    name, *figures = table(told(bench_ranking), "How the repeats agree")[1]
    assert name == registry.words_of(bench_ranking.rows[0].address)
    each = [float(figure) for figure in figures[:8]]
    assert np.mean(each) == pytest.approx(float(figures[9].split(" ")[0]), abs=1e-3)


def test_few_rows_and_rounding_are_said(bench_ranking: Ranking) -> None:
    rough = "A rough look: base 512, where 8192 is usual."
    found = told(bench_ranking, asked=500)
    assert f"base 512 (rounded up from 500) in 8 independent repeats. {rough}" in sentences(found, CARRIES)
    assert found.envelope["warnings"] == [rough]
    assert "rough" not in sentences(told(replace(bench_ranking, base=8192)), CARRIES)


def test_every_picture_of_a_ranking_is_drawn(every_ranking: dict[str, Ranking]) -> None:
    names = ["target", "ranking", "inputs", "measurements"]
    for case, count in (
        ("bench-extraction", 4),
        ("failing", 4),
        ("compared", 3),
    ):  # the last has no measurements
        pictures = {picture.name: picture.figure for picture in told(every_ranking[case]).pictures}
        assert list(pictures) == names[:count]
        assert len([axes for axes in pictures["inputs"].axes if axes.get_visible()]) == 4


def test_a_ranking_shows_itself_and_can_be_drawn(bench_ranking: Ranking, paid_ranking: Ranking) -> None:
    title, head, *rows = repr(bench_ranking).splitlines()
    assert re.fullmatch(r"What makes thrust gain uncertain: [\d.]+ N ± [\d.]+ N in one firing", title)
    assert head.split() == ["alone", "in", "all", "left", "if", "known"]
    assert rows[0].split()[0] == bench_ranking.rows[0].address
    assert len(rows) == 8
    assert "<table>" in bench_ranking._repr_html_()
    assert "group" in repr(paid_ranking)
    assert bench_ranking.plot().axes[0].get_xlabel().startswith("share of the squared")
    assert bench_ranking.plot("target").axes[0].get_xlabel() == "thrust gain in one firing [N]"
    with pytest.raises(ValueError, match="target, ranking, inputs, measurements; got bars"):
        bench_ranking.plot("bars")
