"""A ranking in plain words, as a table, as JSON and CSV."""

import csv
import io
import json
import re
from dataclasses import replace
from typing import Any

import pandas as pd
import pytest

from explorer.report.measurements import instrument_words
from explorer.report.page import page
from explorer.report.ranking import ranking_report
from explorer.report.ranking_content import ranking_content, ranking_csv
from explorer.report.ranking_rows import printed_table, ranked
from explorer.report.ranking_words import guesses_words, plain_words
from explorer.report.text import text_of
from explorer.store import envelope, json_text
from explorer.study import Ranking
from explorer.study.guesses import Guesses
from explorer.studyfile import Study

BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble")


def words_of(ranking: Ranking, study: Study) -> str:
    return " ".join(plain_words(ranking, study))


def with_first(ranking: Ranking, part: str, first: float) -> Ranking:
    """Return the ranking with another share for the rows of one part."""
    table = ranking.inputs.copy()
    table.loc[table["part"] == part, "first"] = first
    return replace(ranking, inputs=table)


def with_learning(ranking: Ranking, **changes: Any) -> Ranking:
    return replace(ranking, learning=replace(ranking.learning, **changes))


def test_plain_words_are_few_and_free_of_statistics(bench_ranking: Ranking, bench: Study) -> None:
    words = words_of(bench_ranking, bench)
    assert len(words.split()) <= 120
    assert not [word for word in BANNED if word in words.lower()]


def test_at_most_three_inputs_are_named_and_every_number_wears_its_unit(
    bench_ranking: Ranking, bench: Study
) -> None:
    words = words_of(bench_ranking, bench)
    named = {item.address for item in bench.space.inputs if item.address in words}
    assert 1 <= len(named) <= 3
    numbers = re.findall(r"(?<![\w.])\d[\d.]*\s*(\S*)", words)
    assert all(unit.startswith(("N", "h", "%", "±")) for unit in numbers), words


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
    none = with_learning(bench_ranking, second_opinion=replace(opinion, leading=None))
    assert "shares nothing" not in words_of(none, bench)


def test_firings_without_contact_are_told_first(bench_ranking: Ranking, bench: Study) -> None:
    points = {**bench_ranking.points, "ok": 600, "no_contact": 400}
    words = plain_words(replace(bench_ranking, points=points), bench)
    assert words[0].startswith("In 40 % of firings no current flows at all")


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
        "The first choice, drop_sweep, hangs on the guessed ranges of gas.nozzle_lag: with one of them halved or"
        " doubled it becomes field_map."
    )
    stands = replace(tried, guesses=Guesses("drop_sweep", table.assign(same=True), "measurement"))
    assert guesses_words(stands) == (
        "Halving or doubling any of the 2 largest ranges leaves drop_sweep the first choice."
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
    sections = ranking_report(bench_ranking, bench, head)
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
    assert found["words"].startswith("thrust_gain of one firing")


def test_csv_carries_units_and_the_same_figures(bench_ranking: Ranking) -> None:
    rows = list(csv.DictReader(io.StringIO(ranking_csv(bench_ranking))))
    assert len(rows) == len(bench_ranking.inputs)
    assert float(rows[0]["total [1]"]) == pytest.approx(bench_ranking.inputs["total"].iloc[0])
    field = next(row for row in rows if row["address"] == "magnet.field" and row["part"] == "unknown")
    assert (float(field["standard_uncertainty"]), field["unit of standard_uncertainty"]) == (
        pytest.approx(0.015),
        "T",
    )
