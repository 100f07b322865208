"""A ranking in plain words, as a table, as JSON and CSV."""

import csv
import io
import json
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from questions.pages import page

from explorer.cli.command import csv_text
from explorer.page.document import Table
from explorer.page.text import text_of
from explorer.questions.rank.content import ranking_content, ranking_rows, rankings_content
from explorer.questions.rank.guesses import Guesses
from explorer.questions.rank.measurements import instrument_words
from explorer.questions.rank.notes import (
    distribution_words,
    guesses_words,
    how_shares_were_told,
    size_words,
    together_words,
    worthwhile_steps,
)
from explorer.questions.rank.pictures import ranking_pictures
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.report import ranking_report
from explorer.questions.rank.review import review
from explorer.questions.rank.tables import label, printed_table, ranked
from explorer.questions.rank.words import plain_words
from explorer.store import envelope, json_text
from explorer.study.model_error import MODEL_ITSELF
from explorer.studyfile import Study

BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble")


#: A number that a reader meets, and what stands behind it. Numbers within names are none.
NUMBER = re.compile(r"(?<![\w.])-?\d[\d.]*(?![\w.])\s*(\S*)")
UNITS = ("N", "W", "A", "h", "%", "±", "kEUR")


def named_inputs(words: str, ranking: Ranking) -> set[str]:
    """Return the addresses of inputs in the words, also those of a difference of studies."""
    addresses = {row["address"] for row in ranked(ranking) if row["part"] not in ("model", "group")}
    return {address for address in addresses if re.search(rf"(?<![\w.]){re.escape(address)}(?![\w.])", words)}


def words_of(ranking: Ranking, study: Study) -> str:
    return " ".join(plain_words(ranking, study))


def with_first(ranking: Ranking, part: str, first: float) -> Ranking:
    """Return the ranking with another share for the rows of one part."""
    table = ranking.inputs.copy()
    table.loc[table["part"] == part, "first"] = first
    return replace(ranking, inputs=table)


def with_learning(ranking: Ranking, **changes: Any) -> Ranking:
    return replace(ranking, learning=replace(ranking.learning, **changes))


def everyone(ranking: Ranking, study: Study) -> str:
    """Return the printed text, on long lines."""
    sections = ranking_report((ranking,), study, {})
    return text_of((section for section in sections if section.audience == "everyone"), 100_000)


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


@pytest.mark.parametrize("case", CASES)
def test_plain_words_are_few_and_free_of_statistics(every_ranking: dict[str, Ranking], case: str) -> None:
    ranking = every_ranking[case]
    assert ranking.study is not None
    words = words_of(ranking, ranking.study)
    assert len(words.split()) <= 120
    assert not [word for word in BANNED if word in words.lower()]


@pytest.mark.parametrize("case", CASES)
def test_at_most_three_inputs_are_named_and_every_number_wears_its_unit(
    every_ranking: dict[str, Ranking], case: str
) -> None:
    ranking = every_ranking[case]
    assert ranking.study is not None
    words = words_of(ranking, ranking.study)
    assert 1 <= len(named_inputs(words, ranking)) <= 3
    units = NUMBER.findall(words)
    assert len(units) >= 4
    assert all(unit.startswith(UNITS) for unit in units), words


@pytest.mark.parametrize("case", CASES)
def test_what_is_predicted_and_what_would_be_left_carry_their_errors(
    every_ranking: dict[str, Ranking], case: str
) -> None:
    ranking = every_ranking[case]
    assert ranking.study is not None
    words = words_of(ranking, ranking.study)
    assert re.search(r"in one firing: -?[\d.]+ ± [\d.]+ [NW] \(one standard uncertainty\)", words)
    assert re.search(r"if known exactly, ± [\d.]+ [NW] \(sampling ± [\d.]+ [NW]\) would be left", words)


def test_there_is_room_for_all_that_must_be_said_at_once(failing_ranking: Ranking) -> None:
    """No contact, failures, a leading model, a level second and another opinion: the least of it gives way."""
    study = failing_ranking.study
    assert study is not None
    points = {**failing_ranking.points, "no_contact": 5000}
    left = failing_ranking.learning.left
    level = pd.DataFrame("level", index=left.order_of.index, columns=left.order_of.columns)
    opinion = replace(failing_ranking.learning.second_opinion, leading="magnet.field (unknown)")
    ranking = replace(with_first(failing_ranking, "model", 0.9), points=points)
    ranking = with_learning(ranking, left=replace(left, order_of=level), second_opinion=opinion)
    words = words_of(ranking, study)
    assert len(words.split()) <= 120
    needed = (
        "does not run",
        "no current",
        "in one firing",
        "model's own",
        "Pin down",
        "Measure by",
        "shares nothing",
    )
    assert [part for part in needed if part not in words] == []
    assert len(named_inputs(words, ranking)) <= 3


def test_another_opinion_does_not_name_a_fourth_input(bench_ranking: Ranking, bench: Study) -> None:
    floor = replace(
        bench_ranking.shares.scatter_variance, value=0.8 * bench_ranking.shares.indices.variance.value
    )
    opinion = replace(bench_ranking.learning.second_opinion, leading="channel.gap_in (unknown)")
    ranking = replace(bench_ranking, shares=replace(bench_ranking.shares, scatter_variance=floor))
    words = words_of(with_learning(ranking, second_opinion=opinion), bench)
    assert len(named_inputs(words, ranking)) == 3
    assert "puts another input first" in words


def test_what_is_pinned_down_first_is_the_unknown_that_would_leave_least(
    bench_ranking: Ranking, bench: Study
) -> None:
    unknown = [row for row in ranked(bench_ranking) if row["part"] == "unknown"]
    least = min(unknown, key=lambda row: row["left_if_known"])
    assert f"Pin down {least['address']} first" in words_of(bench_ranking, bench)


def test_a_leading_model_error_is_said_to_need_a_firing(bench_ranking: Ranking, bench: Study) -> None:
    words = words_of(with_first(bench_ranking, "model", 0.9), bench)
    assert (
        "the model's own error (10 %, yours): measuring inputs helps little, only a powered firing does"
        in words
    )


def test_leading_scatter_is_said_to_be_beyond_any_test(bench_ranking: Ranking, bench: Study) -> None:
    variance = bench_ranking.shares.indices.variance
    floor = replace(bench_ranking.shares.scatter_variance, value=0.8 * variance.value)
    ranking = replace(bench_ranking, shares=replace(bench_ranking.shares, scatter_variance=floor))
    words = words_of(with_first(ranking, "scatter", 0.8), bench)
    assert "scatter from firing to firing" in words
    assert "no test removes" in words
    assert not re.search(r"Pin down (\S+) \(scatter\)", words)


def test_two_inputs_that_cannot_be_told_apart_are_level(bench_ranking: Ranking, bench: Study) -> None:
    left = bench_ranking.learning.left
    level = pd.DataFrame("level", index=left.order_of.index, columns=left.order_of.columns)
    words = words_of(with_learning(bench_ranking, left=replace(left, order_of=level)), bench)
    assert "is level with it" in words


def test_nothing_is_named_where_nothing_stands_out(bench_ranking: Ranking, bench: Study) -> None:
    left = bench_ranking.learning.left
    words = words_of(
        with_learning(bench_ranking, left=replace(left, table=left.table.assign(informative=False))), bench
    )
    assert "No single input stands out" in words


def test_another_leader_by_another_method_is_said(bench_ranking: Ranking, bench: Study) -> None:
    opinion = bench_ranking.learning.second_opinion
    other = with_learning(bench_ranking, second_opinion=replace(opinion, leading="magnet.field (unknown)"))
    assert "A method that shares nothing with this one puts magnet.field first." in words_of(other, bench)
    sections = ranking_report((other,), bench, {})
    review = text_of(section for section in sections if section.title == "Second opinion")
    assert "The two disagree: by its share of the variance" in review
    assert "by this method magnet.field." in review.replace("\n ", "")
    none = with_learning(bench_ranking, second_opinion=replace(opinion, leading=None))
    assert "shares nothing" not in words_of(none, bench)


def test_firings_without_contact_are_told_first(bench_ranking: Ranking, bench: Study) -> None:
    points = {**bench_ranking.points, "ok": 600, "no_contact": 400}
    words = plain_words(replace(bench_ranking, points=points), bench)
    assert re.match(r"In 40 % \(sampling ± \d %\) of firings no current flows at all", words[0])


def test_without_measurements_none_is_proposed(bench_ranking: Ranking, bench: Study) -> None:
    words = words_of(with_learning(bench_ranking, measurements=None), bench)
    assert "Of the measurements" not in words


def test_a_first_choice_that_hangs_on_guessed_ranges_is_told(bench_ranking: Ranking) -> None:
    index = pd.MultiIndex.from_product([["gas.nozzle_lag", "magnet.field"], [0.5, 2.0]])
    choices = ["drop_sweep", "field_map", "drop_sweep", "drop_sweep"]
    table = pd.DataFrame(
        {"first_choice": choices, "same": [name == "drop_sweep" for name in choices]}, index=index
    )
    tried = replace(bench_ranking, guesses=Guesses("drop_sweep", table, "measurement"))
    assert guesses_words(tried) == (
        "That drop_sweep is the measurement that teaches most for its hours hangs on the guessed ranges of"
        " gas.nozzle_lag: with one of them halved or doubled it becomes field_map."
    )
    stands = replace(tried, guesses=Guesses("drop_sweep", table.assign(same=True), "measurement"))
    assert guesses_words(stands) == (
        "Halving or doubling any of the 2 largest ranges leaves drop_sweep the measurement that teaches most for its"
        " hours."
    )


def test_instruments_are_told_what_they_would_see(bench_ranking: Ranking) -> None:
    load_cell, ammeter, tap, advice = instrument_words(bench_ranking)
    assert re.fullmatch(
        r"load_cell, with 0\.3 N in one .* cannot see .* in fewer than \d+ pairs\.", load_cell
    )
    assert "sees" in ammeter
    assert "at once" in ammeter
    assert "mbar" in tap
    assert advice.startswith("Fire for current")


def test_small_rows_are_counted_not_hidden(bench_ranking: Ranking) -> None:
    table, small = printed_table(bench_ranking)
    assert len(table.rows) + small == len(bench_ranking.inputs)


def test_the_first_pages_words_are_free_of_statistics(bench_ranking: Ranking, bench: Study) -> None:
    head = envelope(command="rank", study="bench.toml", study_hash="0", random_number=1, warnings=())
    sections = ranking_report((bench_ranking,), bench, head)
    everyone = text_of(section for section in sections if section.audience == "everyone")
    assert not [word for word in BANNED if word in everyone.lower()]
    assert max(map(len, everyone.splitlines())) <= 100
    text = page(sections)
    assert text.index("In plain words") < text.index("For a reviewer") < text.index("Provenance")


def test_json_has_the_contracts_keys_most_important_first(bench_ranking: Ranking, bench: Study) -> None:
    content = ranking_content(bench_ranking, plain_words(bench_ranking, bench))
    found = json.loads(json_text(content), parse_constant=pytest.fail)
    assert found["target"] == "thrust_gain"
    keys = {"address", "part", "first", "first_interval", "total", "total_interval", "left_if_known"}
    assert all(keys <= row.keys() for row in found["inputs"])
    totals = [row["total"] for row in found["inputs"]]
    assert totals == sorted(totals, reverse=True)
    blocks = 2 + len(bench_ranking.inputs) + 1  # A, B, one a row, one for all scatter together
    assert sum(found["points"].values()) == 512 * blocks
    measured = {"name", "hours", "left", "left_range", "fall_per_hour", "verdicts_avoided", "standard_error"}
    assert all(measured <= row.keys() for row in found["measurements"])
    assert all({"name", "left", "hours"} <= row.keys() for row in found["best_set"])
    assert {row["name"] for row in found["instruments"]} == {"load_cell", "ammeter", "exit_tap"}
    assert found["words"].startswith("thrust_gain in one firing")


def test_csv_carries_units_and_the_same_figures(bench_ranking: Ranking) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(ranking_rows(bench_ranking)))))
    assert len(rows) == len(bench_ranking.inputs)
    assert float(rows[0]["total [1]"]) == pytest.approx(bench_ranking.inputs["total"].iloc[0])
    field = next(row for row in rows if row["address"] == "magnet.field" and row["part"] == "unknown")
    assert (float(field["standard_uncertainty"]), field["unit of standard_uncertainty"]) == (
        pytest.approx(0.015),
        "T",
    )


def test_a_row_level_with_the_one_above_is_marked(bench_ranking: Ranking) -> None:
    indices = bench_ranking.shares.indices
    names = list(bench_ranking.inputs.index[:2])
    claims = indices.total_order_of
    assert claims is not None

    def marks(claim: str) -> list[str]:
        told = claims.copy()
        told.loc[names[0], names[1]] = claim
        shares = replace(bench_ranking.shares, indices=replace(indices, total_order_of=told))
        return [row[0] for row in printed_table(replace(bench_ranking, shares=shares))[0].rows[:2]]

    assert marks("above") == ["1", "2"]
    assert marks("level") == ["1", "="]


def test_where_points_fail_there_are_no_totals_and_it_is_said_what_decides(failing_ranking: Ranking) -> None:
    study = failing_ranking.study
    assert study is not None
    content = json.loads(json_text(ranking_content(failing_ranking, ())))
    assert content["shares_from"] == "failures"
    assert {(row["total"], row["total_interval"]) for row in content["inputs"]} == {(None, None)}
    assert content["runs"][0]["address"] == "channel.friction_coefficient"
    assert 0.0 < content["rows_lost"] < 1.0
    text = everyone(failing_ranking, study)
    assert "in all %" not in text
    assert (
        "Shares are those among the points that run; there are no totals, and nothing was filled in." in text
    )
    assert "WHAT DECIDES WHETHER THE STAGE RUNS" in text
    assert "among the cases in which the stage runs" in text


def test_where_inputs_depend_on_each_other_there_are_no_totals(correlated_ranking: Ranking) -> None:
    study = correlated_ranking.study
    assert study is not None
    content = json.loads(json_text(ranking_content(correlated_ranking, ())))
    assert (content["shares_from"], content["runs"], content["rows_lost"]) == ("correlated", [], 0.0)
    assert {row["total"] for row in content["inputs"]} == {None}
    assert "Inputs depend on each other here" in everyone(correlated_ranking, study)


def test_rows_lost_are_told_where_the_design_still_holds(bench_ranking: Ranking) -> None:
    lost = replace(bench_ranking, shares=replace(bench_ranking.shares, lost=0.004))
    assert how_shares_were_told(bench_ranking) == ()
    assert how_shares_were_told(lost) == (
        "0.4 % of the design's rows held a point without a number and were left out whole.",
    )


def test_groups_carry_a_name_and_no_single_input_hides_in_them(paid_ranking: Ranking) -> None:
    rows = {row["name"]: row for row in ranked(paid_ranking)}
    assert rows["drops"]["part"] == "group"
    assert "electrodes.main.arc_voltage (unknown)" not in rows
    assert "electrodes.main.drop_resistance" in words_of(
        paid_ranking, paid_ranking.study
    )  # still what to pin down


def test_pay_offs_are_told_in_their_unit_and_against_the_hours(paid_ranking: Ranking) -> None:
    study, table = paid_ranking.study, paid_ranking.measurements
    assert study is not None
    assert table is not None
    content = json.loads(json_text(ranking_content(paid_ranking, ())))
    best = content["measurements"][0]
    assert (best["verdicts_avoided"], best["value_unit"]) == (None, "kEUR")
    assert best["value_less_hours"] == pytest.approx(best["value"] - 0.5 * best["hours"])
    text = everyone(paid_ranking, study)
    assert "worth [kEUR]" in text
    assert "less its hours" in text
    assert "An hour costs 0.5 kEUR." in text
    assert "within the 12 h given" in text
    hours = paid_ranking.best_set["hours"].iloc[-1]
    assert re.search(rf"worth [\d.]+ kEUR \(sampling ± [\d.]+ kEUR\) and costs {0.5 * hours:g} kEUR", text)


def test_a_difference_of_studies_is_named_and_its_rows_keep_their_units(compared_ranking: Ranking) -> None:
    study = compared_ranking.study
    assert study is not None
    text = everyone(compared_ranking, study)
    assert "thrust_gain of bench less that of two-pair in one firing" in text
    rows = {label(row): row["part"] for row in ranked(compared_ranking)}
    assert rows["the model itself, shared"] == "model"
    assert rows["bench: the model itself"] == "model"
    assert rows["shared water cross section"] == "unknown"
    csv_rows = list(csv.DictReader(io.StringIO(csv_text(ranking_rows(compared_ranking)))))
    units = {row["address"]: row["unit of standard_uncertainty"] for row in csv_rows}
    assert units["bench: magnet.field"] == "T"
    assert units["shared water cross section"] == "1"
    content = ranking_content(compared_ranking, ())
    assert content["against"]["study"] == "two-pair"
    assert content["chance_met"] is None
    pages = page(ranking_report((compared_ranking,), study, {}))
    assert "How uncertain values were read: two-pair" in pages
    assert "The study as resolved: two-pair" in pages


def test_the_two_to_pin_down_together_leave_less_than_either_and_are_inputs(bench_ranking: Ranking) -> None:
    found = ranking_content(bench_ranking, ())
    together = found["together"]
    assert MODEL_ITSELF not in together["addresses"]
    alone = {row["address"]: row["left_if_known"] for row in found["inputs"] if row["part"] == "unknown"}
    assert all(together["left_if_known"] < alone[address] for address in together["addresses"])
    assert "The best two to pin down together" in str(together_words(bench_ranking))


def test_what_is_required_is_met_not_met_or_not_decided(bench_ranking: Ranking, bench: Study) -> None:
    def verdict(low: float, high: float) -> str:
        chance = replace(bench_ranking.chance_met, low=np.array(low), high=np.array(high))
        return " ".join(distribution_words(replace(bench_ranking, chance_met=chance), bench))

    assert bench.target.chance == 0.8
    assert verdict(0.81, 0.83).endswith(": met.")
    assert verdict(0.6, 0.7).endswith(": not met.")
    assert "not decided, the sampling error being too large" in verdict(0.79, 0.83)


def test_the_interval_and_the_chance_agree_with_the_sample_itself(bench_ranking: Ranking) -> None:
    found = ranking_content(bench_ranking, ())
    values = bench_ranking.picture["thrust_gain"].to_numpy()  # a part of the sample
    inside = np.mean((values >= found["interval_95"][0]) & (values <= found["interval_95"][1]))
    assert inside == pytest.approx(0.95, abs=0.02)
    assert np.mean(values >= 0.04) == pytest.approx(found["chance_met"], abs=0.04)


def test_steps_that_gain_next_to_nothing_are_told_from_those_that_help() -> None:
    steps = pd.DataFrame({"name": ["a", "b", "c"], "left": [0.8, 0.799, 0.7]})
    assert worthwhile_steps(steps, 1.0) == {"a", "c"}
    assert worthwhile_steps(steps, 0.8) == {"c"}


def test_several_targets_stand_one_after_the_other_on_one_page(bench_ranking: Ranking, bench: Study) -> None:
    other = replace(bench_ranking, target="current", unit="A")
    text = text_of(ranking_report((bench_ranking, other), bench, {}))
    assert "What makes thrust_gain and current unsure, one after the other." in text
    titles = [f"In plain words: {name}" for name in ("thrust_gain", "current")]
    assert text.index(titles[0]) < text.index(titles[1]) < text.index("WOULD THE INSTRUMENTS SEE IT")
    assert text.count("WOULD THE INSTRUMENTS SEE IT") == 1
    content = rankings_content((bench_ranking, other), ((), ()))
    assert [found["target"] for found in content["targets"]] == ["thrust_gain", "current"]
    assert rankings_content((bench_ranking,), ((),))["target"] == "thrust_gain"


def test_a_reviewer_sees_how_the_repeats_agree(bench_ranking: Ranking) -> None:
    section = next(section for section in review(bench_ranking) if section.title == "How the repeats agree")
    table = section.parts[1]
    assert isinstance(table, Table)
    name, *figures = table.rows[0]
    assert name == ranked(bench_ranking)[0]["address"]
    each = [float(figure) for figure in figures[:8]]
    whole = float(figures[9].split(" ")[0])
    assert np.mean(each) == pytest.approx(whole, abs=1e-3)


def test_few_rows_and_rounding_are_said(bench_ranking: Ranking) -> None:
    words = size_words(bench_ranking, 500)
    assert "512 rows (rounded up from 500) in 8 independent repeats" in words
    assert words.endswith("A rough look: 64 rows a repeat, where 1024 are usual.")
    assert "rough" not in size_words(replace(bench_ranking, base=8192))


def test_every_picture_of_a_ranking_is_drawn(every_ranking: dict[str, Ranking]) -> None:
    pictures = ["target", "ranking", "inputs", "measurements"]
    for case, count in (
        ("bench-extraction", 4),
        ("failing", 4),
        ("compared", 3),
    ):  # the last without measurements
        figures = ranking_pictures(every_ranking[case])
        assert list(figures) == pictures[:count]
        assert len([axes for axes in figures["inputs"].axes if axes.get_visible()]) == 4
