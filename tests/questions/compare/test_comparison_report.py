"""A comparison in words, tables and data: real differences first, every border, every limit, missing numbers said."""

import csv
import io
import json
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from questions.conftest import STUDIES
from questions.pages import page

from explorer import compare, registry
from explorer.analysis.scrambles import Estimate
from explorer.cli.command import csv_text
from explorer.page.designs import columns, label, plain_name, short_names
from explorer.page.text import WIDTH, text_of
from explorer.questions.compare.borders import regime_words, similarity_words
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.content import comparison_content, comparison_rows, differences_rows
from explorer.questions.compare.pictures import comparison_picture
from explorer.questions.compare.report import comparison_report
from explorer.questions.compare.tables import (
    block,
    difference_table,
    ended_tables,
    inputs_tables,
    inputs_that_differ,
    limit_table,
    required,
    side_by_side,
)
from explorer.questions.compare.words import (
    contact_words,
    difference_words,
    key_rows,
    missing_words,
    mode_words,
    plain_words,
    same_words,
    sampling_words,
    shared_words,
    unweighed_words,
)
from explorer.store import envelope, json_text
from explorer.studyfile import Study, read_study

HEAD = {
    **envelope(command="compare", study="", study_hash="", random_number=1, warnings=()),
    "study": ["bench.toml", "sounding.toml"],
    "study_hash": ["0", "1"],
}
BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble", "pareto", "desirab")


def studies(*names: str) -> list[Study]:
    return [read_study(STUDIES / f"{name}.toml") for name in names]


@pytest.fixture(scope="module")
def found() -> Comparison:
    return compare(studies("bench", "sounding"), samples=2048)


@pytest.fixture(scope="module")
def mixed() -> Comparison:
    return compare(studies("bench", "bench-extraction"), samples=2048)


@pytest.fixture(scope="module")
def four() -> Comparison:
    return compare(studies("bench", "two-pair", "sounding", "bench-extraction"), samples=1024)


@pytest.fixture(scope="module")
def failing() -> Comparison:
    (bench,) = studies("bench")
    return compare([bench, bench.replaced({"channel.gap_out": "7 mm"})], samples=1024)


def with_difference(found: Comparison, row: str = "thrust_gain", **figures: Any) -> Comparison:
    """The comparison with other figures of one difference."""
    table = found.differences.copy()
    for name, value in figures.items():
        table.loc[row, (found.names[1], name)] = value
    return replace(found, differences=table)


def with_masses(found: Comparison, mass: float) -> Comparison:
    """The comparison with this mass of each stage."""
    table = found.quantities.copy()
    for name in found.names:
        table.loc[["stage_mass", "thrust_gain_per_mass"], (name, "mean")] = mass
    return replace(found, quantities=table)


def all_rows(found: Comparison, **figures: Any) -> Comparison:
    for row in map(str, found.differences.index):
        found = with_difference(found, row, **figures)
    return found


# Words


def test_the_first_sentence_says_which_differences_are_real(found: Comparison) -> None:
    told = all_rows(found, verdict="not told apart")
    told = with_difference(told, low=3.049, high=5.923, standard_uncertainty=0.73, verdict="larger")
    told = with_difference(told, "thrust", low=-2.0, high=-1.0, standard_uncertainty=0.25, verdict="smaller")
    told = with_difference(told, "current", verdict="not decided")
    told = with_difference(told, "electrical_power", verdict="the same")
    for row in ("stage_mass", "thrust_gain_per_mass"):  # of one of them the magnet's mass is not known
        told = with_difference(told, row, verdict="")
    first = plain_words(told)[0]
    assert first == (
        "sounding against bench, one firing of each, 19 times in 20. Really more: thrust_gain by 3.05 to 5.92 N."
        " Really less: thrust by 1.00 to 2.00 N. Not told apart (each may be zero): relative_thrust_gain,"
        " thrust_per_power and exit_pressure_change. The same: electrical_power. Not decided (more samples could bring"
        " zero in or keep it out): current."
    )


def test_where_nothing_is_real_it_says_so(found: Comparison) -> None:
    words = plain_words(all_rows(found, verdict="not told apart"))[0]
    assert "No difference is real." in words
    assert "Really" not in words


def test_a_difference_without_doubt_is_told_by_its_size_alone(found: Comparison) -> None:
    told = with_difference(found, low=2.0, high=2.0, standard_uncertainty=0.0, verdict="larger")
    assert "thrust_gain by 2 N," in plain_words(told)[0]


def test_chance_of_contact_comes_first_and_then_firings_that_make_contact(mixed: Comparison) -> None:
    words = plain_words(mixed)
    assert words[0].startswith(
        "It is not sure that current flows through the gas at all. Chance of contact: bench 1 and"
    )
    assert re.search(r"bench-extraction 0\.6\d+ \(sampling ± 0\.00\d\)\.", words[0])
    assert words[1].startswith(
        "bench-extraction against bench, one firing of each that makes contact, 19 times in 20."
    )
    assert "All firings together, those without contact too, say the same." in words[1]


def test_all_firings_are_told_apart_where_they_say_something_else(mixed: Comparison) -> None:
    told = with_difference(mixed, verdict="not told apart")
    given, every = difference_words(told, "bench-extraction")
    assert "Really less: thrust_gain" in given
    assert every.startswith("bench-extraction against bench, all firings together, those without contact too")
    assert "Not told apart (each may be zero): thrust_gain" in every


def test_too_few_firings_that_make_contact_in_both_are_said(mixed: Comparison) -> None:
    given = mixed.differences_given_contact.copy()
    given.loc[:, ("bench-extraction", "verdict")] = ""
    told = replace(mixed, differences_given_contact=given)
    words, _ = difference_words(told, "bench-extraction")
    assert words == (
        "bench-extraction against bench, one firing of each that makes contact: too few of them to tell a difference"
        " from."
    )
    text = " ".join(text_of(comparison_report(told, HEAD)).split())
    assert "of firings that make contact in both: too few of them to tell a difference from." in text


def test_two_designs_of_which_neither_is_unsure_of_contact_are_told_once(four: Comparison) -> None:
    assert len(difference_words(four, "sounding")) == 1
    assert "that makes contact" not in difference_words(four, "sounding")[0]
    assert "that makes contact" in difference_words(four, "bench-extraction")[0]


def test_sure_contact_is_not_mentioned(found: Comparison) -> None:
    assert contact_words(found) is None
    assert not any("contact" in words for words in plain_words(found))


def test_what_is_drawn_once_and_what_might_be_is_said(found: Comparison) -> None:
    words = shared_words(found)
    assert words.startswith(
        "Drawn once for both: water cross section. Everything else is drawn apart for each design. 3 uncertain inputs"
        " are stated alike and yet drawn apart (gas.mixture_ratio, channel.heat_transfer_factor and"
        " electrodes.main.voltage_drop):"
    )
    nothing = replace(found, shared={}, apart=())
    assert shared_words(nothing) == "Nothing is shared. Everything else is drawn apart for each design."
    many = replace(found, apart=tuple("abcdef"))
    assert "6 uncertain inputs are stated alike and yet drawn apart: where" in shared_words(many)


def test_the_same_study_twice_is_said(failing: Comparison) -> None:
    assert same_words(failing) is None
    twice = replace(failing, studies=(failing.studies[0],) * 2)
    assert same_words(twice).startswith("bench 1 and bench 2 say the same: what differs between them is only")


def test_points_without_numbers_are_counted_by_design(failing: Comparison, found: Comparison) -> None:
    assert missing_words(found) is None
    words = missing_words(failing)
    assert re.match(r"Some points carry no number: \d+ % of bench 2\. They are left out", words)
    assert words in plain_words(failing)


def test_modes_that_differ_are_said(mixed: Comparison, found: Comparison) -> None:
    assert mode_words(found) is None
    assert mode_words(mixed).startswith(
        "The designs work in different modes: bench in acceleration and bench-extraction in extraction."
    )


def test_size_and_sampling_are_told_with_what_was_asked(found: Comparison) -> None:
    words = sampling_words(found, 2000)
    assert words.startswith(
        "From 2048 points (rounded up from 2000), the same for all designs, in 8 independent repeats."
    )
    assert "(rounded" not in sampling_words(found, 2048)
    ratios = [
        (table[name][f"{figure}_standard_error"] / table[name]["standard_uncertainty"]).astype(float).max()
        for table in (found.quantities, found.differences)
        for name in table.columns.unique("design")
        for figure in ("mean", "low", "high")
    ]
    told = float(re.search(r"by more than (\S+) % of", words)[1]) / 100
    assert max(ratios) <= told <= 2 * max(ratios)  # rounded up


def test_designs_whose_magnet_nobody_weighed_are_named(found: Comparison) -> None:
    weighed = with_masses(found, 3.0)
    assert unweighed_words(weighed) is None
    assert block(weighed, "mass") == ("stage_mass", "thrust_gain_per_mass")
    unweighed = with_masses(found, np.nan)
    assert unweighed_words(unweighed).startswith(
        "The magnet's mass is not known for bench and sounding, so neither"
    )
    assert "supply_mass" in block(unweighed, "mass")
    assert "stage_mass" not in block(unweighed, "mass")


# Borders and similarity


def with_shares(found: Comparison, border: str, *shares: float) -> Comparison:
    """All designs far on one side of every border, but for one border."""
    table = found.regimes.copy()
    for name, share in zip(found.names, shares, strict=True):
        table.loc[:, (name, "share")] = 0.0
        table.loc[border, (name, "share")] = share
        table.loc[border, (name, "standard_error")] = 0.002
    return replace(found, regimes=table)


def test_what_changes_regime_is_said_with_the_border_its_source_and_each_designs_share(
    found: Comparison,
) -> None:
    table = found.regimes.copy()
    table.loc["Hall field", ("sounding", "value")] = 5200.0
    table.loc["Hall field", ("sounding", "standard_uncertainty")] = 300.0
    first, *rest = regime_words(with_shares(replace(found, regimes=table), "Hall field", 0.0, 0.73))
    assert first == (
        "Hall field: segments may break down to their neighbours (max_hall_field above 4 kV/m). bench never, with"
        " 0 kV/m; sounding in 73.0 % (sampling ± 0.2 %) of firings, with 5.20 ± 0.30 kV/m. Finer segments and"
        " insulators are needed. (Border: Stanford HTGL, DTIC ADA025949, 1975.)"
    )
    assert rest[0].startswith("No change at the borders of contact, constriction, current density,")
    assert "Hall field" not in rest[0]
    assert rest[1].endswith("without the model's own error.")


def test_where_no_border_lies_between_designs_it_is_said_which_were_looked_at(found: Comparison) -> None:
    words = regime_words(with_shares(found, "contact", 0.0, 0.05))
    assert len(words) == 1
    assert words[0].startswith("Nothing changes regime between them. Looked at: contact, constriction,")


def test_a_share_that_cannot_be_told_is_said(found: Comparison) -> None:
    told = with_shares(found, "contact", 0.0, 1.0)
    told.regimes.loc["contact", ("bench", "share")] = np.nan
    assert not any("contact:" in words.lower() for words in regime_words(told)[:1])
    assert "sounding always" in regime_words(with_shares(found, "contact", 0.0, 1.0))[0]


def test_similarity_numbers_beyond_a_factor_two_are_named(found: Comparison) -> None:
    table = found.quantities.copy()
    rows = block(found, "similarity", printed=False)
    for row in rows:
        for name in found.names:
            table.loc[row, (name, "mean")] = 1.0
    assert similarity_words(replace(found, quantities=table)) == (
        "sounding and bench lie within a factor 2 of each other in all of these numbers.",
    )
    changed = {
        "interaction_parameter": 2.01,
        "load_factor": 0.49,
        "reynolds_number": 1.99,
        "pressure_gap": -1.0,
    }
    for row, ratio in changed.items():
        table.loc[row, ("sounding", "mean")] = ratio
    first, second = similarity_words(replace(found, quantities=table))
    assert first.startswith("A real gas cannot hold all similarity numbers at once")
    assert second.startswith(
        "sounding lies beyond a factor 2 of bench, by the means, in interaction_parameter (2 times), load_factor (0.49"
        " times) and pressure_gap (of another sign, or zero). Within it: inlet_hall_parameter, voltage_drop_share,"
        " reynolds_number,"
    )


# Tables


def test_cells_hold_the_mean_and_the_interval_and_the_label_the_unit(found: Comparison) -> None:
    table = found.quantities.copy()
    for figure, value in {
        "mean": 0.0491,
        "low": 0.0234,
        "high": 0.0948,
        "standard_uncertainty": 0.0186,
    }.items():
        table.loc["thrust_gain", ("bench", figure)] = value
    told = with_masses(replace(found, quantities=table), np.nan)
    (shown,) = side_by_side(told, ["thrust_gain", "stage_mass", "current"])
    assert shown.head == ("", "bench", "sounding")
    assert shown.rows[0][:2] == ("thrust_gain [N]", "0.049 (0.023 … 0.095)")
    assert [row[0] for row in shown.rows] == ["thrust_gain [N]", "current [A]"]  # nobody knows the mass


def test_names_of_rows_and_columns() -> None:
    assert label("electrodes.rear.back_emf") == "rear: back_emf [V]"
    assert label("load_factor") == plain_name("load_factor") == "load_factor"
    long = ["a-stage-with-a-very-long-name-of-autumn", "a-stage-with-a-very-long-name-of-spring"]
    assert short_names(["bench", "sounding"]) == {"bench": "bench", "sounding": "sounding"}
    short = short_names(["bench", *long])
    assert short["bench"] == "bench"
    assert len(set(short.values())) == 3
    assert all(len(name) <= 24 for name in short.values())
    same = short_names([f"a-stage-with-a-very-long-{x}-name-of-spring" for x in "ab"])
    assert sorted(same.values()) == ["1: a-stage-wit…e-of-spring", "2: a-stage-wit…e-of-spring"]


def test_columns_that_do_not_fit_side_by_side_stand_below_each_other() -> None:
    names = ["one", "two", "three", "four"]
    tables = columns(names, ["row"], str, lambda row, name: f"{name} {'x' * 20}")
    assert [table.head for table in tables] == [("", "one", "two", "three"), ("", "four")]
    assert all(len(line) <= WIDTH for line in text_of_tables(tables).splitlines())
    (narrow,) = columns(names, ["row"], str, lambda row, name: name)
    assert narrow.head == ("", *names)
    assert columns(names, [], str, lambda row, name: name) == ()


def text_of_tables(tables: Any) -> str:
    from explorer.page.document import Section

    return text_of([Section("tables", tuple(tables))])


def test_differences_stand_with_interval_chance_and_verdict(found: Comparison) -> None:
    told = with_difference(
        found,
        mean=4.506,
        low=3.049,
        high=5.923,
        standard_uncertainty=0.73,
        larger=0.9712,
        larger_standard_error=0.002,
        verdict="larger",
    )
    told = with_difference(told, "current", verdict="")
    table = difference_table(told, "sounding", ["thrust_gain", "current"], told.differences)
    assert table.head == ("", "mean", "19 times in 20", "chance of more", "which is")
    assert table.rows == (("thrust_gain [N]", "4.51", "3.05 … 5.92", "0.971 (±0.002)", "larger"),)


def test_limits_are_told_in_words_with_their_chance_and_verdict(found: Comparison) -> None:
    targets = replace(found, limits=found.limits[found.limits["source"] == "target"])
    table = limit_table(targets)
    assert [(row[0], row[3]) for row in table.rows] == [
        ("bench", "thrust_gain at least 0.04 N in 80 %"),
        ("sounding", "thrust_gain at least 4 N in 80 %"),
    ]
    assert all(re.fullmatch(r"\d+\.\d \(±0\.\d\) %", row[2]) for row in table.rows)
    rows = pd.DataFrame([
        {"design": "bench", "source": "limit", "quantity": "chance.constricted", "at_least": None, "at_most": 0.05,
         "wanted": None, "chance": 0.268, "standard_error": 0.001, "verdict": "not met"},
        {"design": "bench", "source": "limit", "quantity": "current", "at_least": 5.0, "at_most": 20.0,
         "wanted": 0.9, "chance": 1.0, "standard_error": 0.0, "verdict": "met"},
    ])  # fmt: skip
    first, second = limit_table(replace(found, limits=rows)).rows
    assert first == ("bench", "not met", "26.8 (±0.1) %", "constricted in at most 5 %")
    assert second == ("bench", "met", "100 %", "current at least 5 A and at most 20 A in 90 %")
    event = {"quantity": "chance.no_contact", "at_least": 0.1, "at_most": 0.2}
    assert required(event) == "no contact in at least 10 % and at most 20 %"
    assert limit_table(replace(found, limits=rows.iloc[:0])) is None


def test_statuses_and_warnings_stand_in_one_table(failing: Comparison) -> None:
    (table,) = ended_tables(failing)
    labels = [row[0] for row in table.rows]
    assert labels[:2] == ["solved", "choked"]
    assert "warning: constricted" in labels
    assert table.rows[1][1] == "0 %"
    assert re.fullmatch(r"\d+(\.\d)? \(±\S+\) %", table.rows[1][2])


def test_inputs_that_differ_are_listed_and_the_main_ones_alone_where_they_are_many(
    found: Comparison, mixed: Comparison
) -> None:
    few = inputs_that_differ(mixed, main=True)
    assert few == inputs_that_differ(mixed, main=False)
    assert set(few) == {
        "mode",
        "electrodes.main.source.kind",
        "electrodes.main.source.voltage",
        "electrodes.main.source.current_limit",
        "electrodes.main.source.resistance",
    }
    every, main = (inputs_that_differ(found, main=choice) for choice in (False, True))
    assert set(main) < set(every)
    assert "nozzle.throat_diameter" in main
    assert "electrodes.main.arc_voltage" in set(every) - set(main)
    (table,) = inputs_tables(found, ["magnet.field", "gas.seed", "ambient.altitude"])
    assert table.rows == (
        ("magnet.field", "0.480 ± 0.018 T", "0.450 ± 0.030 T"),
        ("gas.seed", "potassium carbonate", "potassium hydroxide"),
        ("ambient.altitude", "none", "22.5 ± 4.3 km"),
    )


# The whole


@pytest.mark.parametrize("name", ["found", "mixed", "four", "failing"])
def test_the_report_holds_its_sections_in_order_and_no_jargon(
    name: str, request: pytest.FixtureRequest
) -> None:
    told: Comparison = request.getfixturevalue(name)
    sections = comparison_report(told, HEAD, picture="<svg></svg>", asked=1000)
    everyone = [section for section in sections if section.audience == "everyone"]
    text = text_of(everyone)
    titles = (
        "IN PLAIN WORDS",
        "WHAT COMES OUT",
        "WHAT IT WEIGHS",
        "WHICH DIFFERENCES ARE REAL",
        "LIMITS",
        "WHAT CHANGES REGIME",
        "HOW THE POINTS ENDED",
        "SIMILARITY NUMBERS",
        "SIZES AND SETTINGS THAT DIFFER",
        "WHERE THEY WORK",
        "CAUTION",
    )
    places = [text.index(f"\n{title}\n") for title in titles]
    assert places == sorted(places)
    assert not any(word in text.lower() for word in BANNED)
    assert not re.search(r"\bnan\b", text)
    assert all(len(line) <= WIDTH for line in text.splitlines())
    whole = page(sections)
    assert whole.count("<svg") == 1
    assert not re.search(r"\bnan\b", whole)
    second = whole[whole.index('<div class="reviewer">') :]
    for title in (
        "For a reviewer",
        "What is drawn once",
        "Every figure",
        "Every difference",
        "All inputs that differ",
    ):
        assert f"<h2>{title}</h2>" in second
    for design in told.names:
        assert f"How uncertain values were read: {design}" in second
        assert f"The study as resolved: {design}" in second
    assert "bench.toml, sounding.toml" in second


def test_nothing_required_is_said(found: Comparison) -> None:
    sections = comparison_report(replace(found, limits=found.limits.iloc[:0]), HEAD)
    assert "None of these studies requires anything." in text_of(sections)


def test_every_row_has_its_block_and_targets_are_outcomes(four: Comparison) -> None:
    names = ("outcome", "mass", "similarity", "operation")
    rows = [row for name in names for row in block(four, name, printed=False)]
    assert sorted(rows) == sorted(map(str, four.quantities.index))
    assert "power_delivered" in key_rows(four)


# Data


def test_the_picture_holds_targets_and_what_differs_and_is_left_out_where_nothing_does(
    found: Comparison, mixed: Comparison
) -> None:
    labels = [axes.get_xlabel() for axes in comparison_picture(mixed).axes[::2]]
    assert labels[:2] == ["thrust_gain [N]", "power_delivered [W]"]
    assert "thrust_per_power [N/kW]" not in labels  # of one design alone
    same = all_rows(found, verdict="the same")
    assert comparison_picture(same) is None
    one = with_difference(same, "current", verdict="larger")
    labels = [axes.get_xlabel() for axes in comparison_picture(one).axes[::2]]
    assert labels == ["thrust_gain [N]", "current [A]"]


def test_the_data_are_those_of_the_comparison_and_hold_only_json(mixed: Comparison) -> None:
    content = json.loads(json_text(comparison_content(mixed, ("words",))), parse_constant=pytest.fail)
    first, second = content["designs"]
    assert (first["name"], second["mode"]) == ("bench", "extraction")
    assert second["contact"]["chance"] == float(mixed.contact["bench-extraction"].value)
    gain = first["quantities"]["thrust_gain"]
    assert gain["unit"] == "N"
    assert gain["interval_95"] == list(mixed.quantities.loc["thrust_gain", "bench"][["low", "high"]])
    assert set(gain["standard_error"]) == {"mean", "median", "standard_uncertainty", "interval_95"}
    assert first["quantities"]["power_delivered"]["mean"] is None
    assert first["limits"][0]["verdict"] in ("met", "not met", "not decided")
    assert first["inputs"]["magnet.field"]["unit"] == "T"
    assert first["inputs"]["gas.fuel"] == {"value": "ethanol", "standard_uncertainty": None, "unit": None}
    (difference,) = content["differences"]
    assert (difference["design"], difference["less"]) == ("bench-extraction", "bench")
    assert difference["quantities"]["thrust_gain"]["verdict"] == "smaller"
    assert 0.0 <= difference["contact_in_both"]["thrust_gain"]["larger"] <= 1.0
    assert content["shared"] == {
        "water cross section": [
            {"design": name, "input": "gas.conductivity_factor"} for name in ("bench", "bench-extraction")
        ]
    }
    assert "contact" in content["changes_of_regime"]


def test_the_csv_files_have_a_row_for_each_figure_with_its_unit_and_error(mixed: Comparison) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(comparison_rows(mixed)))))
    assert {(row["design"], row["firings"]) for row in rows} == {
        (name, which) for name in mixed.names for which in ("all", "with contact")
    }
    gain = next(row for row in rows if row["quantity"] == "thrust_gain" and row["design"] == "bench")
    assert gain["unit"] == registry.quantity("thrust_gain").unit
    assert float(gain["mean"]) == pytest.approx(mixed.quantities.loc["thrust_gain", ("bench", "mean")])
    assert float(gain["mean_standard_error"]) > 0.0
    assert not any(row["quantity"] == "power_delivered" and row["design"] == "bench" for row in rows)
    others = list(csv.DictReader(io.StringIO(csv_text(differences_rows(mixed)))))
    assert {(row["design"], row["less"]) for row in others} == {("bench-extraction", "bench")}
    assert {"larger", "larger_standard_error", "verdict"} <= others[0].keys()


def test_a_chance_that_is_sure_is_told_without_an_error(mixed: Comparison) -> None:
    sure = Estimate(*(np.asarray(x) for x in (1.0, 0.0, 1.0, 1.0, np.ones(8))))
    assert contact_words(replace(mixed, contact=dict.fromkeys(mixed.names, sure))) is None
