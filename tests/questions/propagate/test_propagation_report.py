"""A propagation in words, tables and data: what the engineer reads, what JSON and CSV promise."""

import csv
import io
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import numpy as np
import pandas as pd
import pytest
from questions.pages import page

from explorer import registry
from explorer.analysis.scrambles import Estimate, estimate
from explorer.cli.command import csv_text
from explorer.page.text import text_of
from explorer.page.words import (
    between,
    figure_with_sampling,
    plus_minus,
    requirement,
    share_with_sampling,
)
from explorer.questions.propagate.content import propagation_content, propagation_rows
from explorer.questions.propagate.digits import Digits
from explorer.questions.propagate.first_order import NOT_APPLICABLE
from explorer.questions.propagate.propagation import Mixture, Propagation, propagate
from explorer.questions.propagate.report import propagation_report
from explorer.questions.propagate.tables import firing_table, law_table, model_error_table, status_table
from explorer.questions.propagate.words import (
    digits_words,
    failure_words,
    first_order_words,
    plain_words,
    requirement_verdict,
    requirement_words,
    rows_of,
    sampling_words,
)
from explorer.store import envelope, json_text
from explorer.studyfile import Study

GAIN = registry.quantity("thrust_gain")
BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble")
HEAD = envelope(command="propagate", study="bench.toml", study_hash="0", random_number=1, warnings=())


@pytest.fixture(scope="module")
def found(bench: Study) -> Propagation:
    return propagate(bench, samples=2048, quantities=["thrust_gain", "current"])


def with_figures(found: Propagation, **figures: float) -> Propagation:
    """The propagation with other figures of the thrust gain."""
    table = found.quantities.copy()
    for name, value in figures.items():
        table.loc["thrust_gain", name] = value
    return replace(found, quantities=table)


def with_law(found: Propagation, **figures: Any) -> Propagation:
    table = found.first_order.table.copy()
    for name, value in figures.items():
        table.loc["thrust_gain", name] = value
    return replace(found, first_order=replace(found.first_order, table=table))


def chance(value: float, half_width: float, study: Study, found: Propagation) -> tuple[Propagation, Study]:
    met = Estimate(
        *(np.asarray(x) for x in (value, half_width / 2, value - half_width, value + half_width, value))
    )
    return replace(found, chance_met=met), study


# The contract's own example of how a sampling error is printed: "0.83 (sampling ± 0.004)".
def test_sampling_errors_are_printed_as_the_contract_says() -> None:
    assert share_with_sampling(0.834, 0.0041) == "0.834 (sampling ± 0.004)"
    assert share_with_sampling(1.0, 0.0) == "1"
    assert figure_with_sampling(GAIN, 0.0491, 0.0002, 0.0186) == "0.0491 N (sampling ± 0.0002 N)"
    assert figure_with_sampling(GAIN, 0.0491, 0.003, 0.0186) == "0.049 N (sampling ± 0.003 N)"
    pressure = registry.quantity("exit_pressure")
    assert pressure.shown_unit == "bar"
    assert figure_with_sampling(pressure, 123_400.0, 200.0, 5_000.0) == "1.234 bar (sampling ± 0.002 bar)"


def test_an_error_far_below_the_last_digit_is_rounded_up_not_to_nothing() -> None:
    assert figure_with_sampling(GAIN, 0.0491, 1e-9, 0.0186) == "0.0491 N (sampling ± 0.00001 N)"
    assert figure_with_sampling(GAIN, 0.0491, 0.0, 0.0186) == "0.0491 N"


def test_ends_and_spreads_keep_to_the_uncertaintys_second_digit() -> None:
    assert between(GAIN, 0.02336, 0.09481, 0.0186) == "0.023 and 0.095 N"
    assert plus_minus(GAIN, 0.000035) == "± 0.000035 N"
    assert plus_minus(GAIN, 0.0) == "± 0 N"
    assert requirement(GAIN, at_least=0.04, at_most=None) == "at least 0.04 N"
    assert requirement(GAIN, at_least=0.04, at_most=0.2) == "at least 0.04 N and at most 0.2 N"


def test_plain_words_say_what_one_firing_will_show(found: Propagation, bench: Study) -> None:
    told = with_figures(
        found,
        mean=0.0491,
        standard_uncertainty=0.0186,
        low=0.0234,
        high=0.0948,
        unknown=0.01858,
        scatter=0.00073,
    )
    first = plain_words(told, bench)[0]
    assert first == (
        "thrust_gain in one future firing: 0.049 ± 0.019 N (one standard uncertainty), 19 times in 20 between 0.023 and"
        " 0.095 N. Even if everything were known, one firing would scatter by ± 0.00073 N: next to all of the doubt is"
        " about what tests can pin down."
    )


@pytest.mark.parametrize(
    ("unknown", "scatter", "words"),
    [
        (0.6, 0.8, "most of the doubt is scatter from firing to firing, which no test removes"),
        (0.8, 0.6, "what is not known makes ± 0.80 N, and tests can pin it down"),
        (1.0, 0.0, "What scatters from firing to firing does not move it"),
    ],
)
def test_the_floor_is_told_by_how_much_of_the_doubt_it_is(
    unknown: float, scatter: float, words: str, found: Propagation, bench: Study
) -> None:
    told = with_figures(found, mean=5.0, standard_uncertainty=1.0, unknown=unknown, scatter=scatter)
    assert words in plain_words(told, bench)[0]


def test_a_study_without_scatter_says_so(bench: Study) -> None:
    replaced = {
        item.address: registry.quantity(item.address)
        .scale.span(0.99 * item.centre, item.centre)
        .replace("and", "..")
        for item in bench.space.inputs
        if item.scatter is not None
    }
    still = bench.replaced(replaced)
    words = plain_words(propagate(still, samples=1024), still)
    assert "Nothing in this study scatters from firing to firing" in words[1]
    assert not any("one firing would scatter" in sentence for sentence in words)


@pytest.mark.parametrize(
    ("value", "half_width", "verdict"),
    [
        (0.83, 0.01, "met"),
        (0.77, 0.01, "not met"),
        (0.795, 0.01, "not decided, the sampling error being too large; ask for more samples"),
    ],
)
def test_the_requirement_is_met_not_met_or_not_decided(
    value: float, half_width: float, verdict: str, found: Propagation, bench: Study
) -> None:
    told, study = chance(value, half_width, bench, found)
    assert study.target.chance == 0.8
    assert requirement_verdict(told, study) == verdict
    words = requirement_words(told, study)
    assert words is not None
    assert words.startswith(
        "Required of thrust_gain: at least 0.04 N, with a chance of 0.8 or more. The chance is "
    )
    assert words.endswith(f"(sampling ± {half_width / 2:g}): {verdict}.")


def test_a_chance_of_zero_counts_the_points_instead_of_claiming_no_error(
    found: Propagation, bench: Study
) -> None:
    words = requirement_words(replace(found, chance_met=estimate(np.zeros(8))), bench)
    assert words is not None
    assert "The chance is 0 (no point of 2048 meets it): not met." in words


def test_what_was_not_asked_for_is_not_judged(found: Propagation, bench: Study) -> None:
    words = requirement_words(replace(found, chance_met=None), bench)
    assert words is not None
    assert words.endswith("thrust_gain was not asked for here.")


VERDICTS = {
    "validated": "validated. It may be used in this neighbourhood.",
    "not validated": "not validated. Go by the sample.",
    "not decided": "not decided, for the ends of the sample's interval are not sharp enough. Ask for more samples.",
}


@pytest.mark.parametrize(("verdict", "words"), VERDICTS.items())
def test_the_first_order_law_carries_its_verdict(verdict: str, words: str, found: Propagation) -> None:
    told = with_law(found, value=0.043, standard_uncertainty=0.016, low=0.0112, high=0.0749, verdict=verdict)
    assert first_order_words(told, "thrust_gain") == (
        f"thrust_gain: 0.043 ± 0.016 N, 19 times in 20 between 0.011 and 0.075 N: {words}"
    )


def test_where_contact_changes_the_first_order_law_does_not_apply(found: Propagation) -> None:
    gone = dict.fromkeys(("value", "standard_uncertainty", "low", "high", "tolerance"), np.nan)
    told = with_law(found, **gone, verdict=NOT_APPLICABLE)
    assert "the first-order law doesn't apply here" in first_order_words(told, "thrust_gain")
    assert law_table(told).rows[0][1:3] == ("", "")


def test_points_without_numbers_are_told_with_what_drives_them(found: Propagation) -> None:
    shares = pd.DataFrame(
        {
            "share": [0.98, 0.0184],
            "standard_error": [0.001, 0.001],
            "drivers": ["", "channel.gap_out (unknown) (65%), gas.mixture_ratio (scatter) (4%)"],
        },
        index=["ok", "choked"],
    )
    told = replace(found, status_shares=shares)
    assert failure_words(told) == (
        "Some points carry no number: 1.8 % choked, which hangs most on channel.gap_out (65 %), gas.mixture_ratio"
        " (scatter) (4 %). They are left out and counted, never filled in."
    )
    assert status_table(told).rows[1][2] == "0.018 (sampling ± 0.001)"
    assert failure_words(found) is None


def test_a_mixture_tells_the_chance_of_contact_then_given_contact_then_together(
    found: Propagation, bench: Study
) -> None:
    contact = estimate(np.array([0.87, 0.88] * 4))
    mixed = replace(found, mixture=Mixture(contact, found.quantities))
    words = " ".join(plain_words(mixed, bench))
    places = [
        words.index(part) for part in ("Chance of contact: 0.875", "given contact:", "All firings together")
    ]
    assert places == sorted(places)
    text = text_of(propagation_report(mixed, bench, HEAD))
    assert (
        text.count("one future firing  ") == 4
    )  # a table given contact and one together, for both quantities
    content = propagation_content(mixed, bench, (), shortest=False)
    assert content["mixture"]["contact"] == pytest.approx(0.875)
    rows = list(csv.DictReader(io.StringIO(csv_text(propagation_rows(mixed)))))
    assert [row["firings"] for row in rows] == ["all", "all", "with contact", "with contact"]


def test_digits_that_stand_and_digits_that_do_not_are_told(found: Propagation) -> None:
    stands = replace(found, digits=Digits(2, True, {"thrust_gain": 0.0005}, 10))
    assert digits_words(stands) == (
        "Asked for: 2 significant digits of each standard uncertainty. They stand after 10 independent blocks, 2048"
        " operating points: mean, standard uncertainty and interval ends are stable to within thrust_gain 0.0005 N"
        " (JCGM 101, clause 7.9)."
    )
    fails = replace(found, digits=Digits(4, False, {"thrust_gain": 5e-6}, 400))
    assert "They do not stand after 400 independent blocks" in digits_words(fails)


def test_sizes_that_were_rounded_up_are_said(found: Propagation) -> None:
    assert "2000 were asked for, and sizes are rounded up to 8 times a power of two" in sampling_words(
        found, 2000
    )
    assert "asked for" not in sampling_words(found, 2048)


def test_one_firing_stands_beside_the_mean_over_firings(found: Propagation) -> None:
    row = rows_of(found)["thrust_gain"]
    table = firing_table(GAIN, row, shortest=False)
    assert table.head == ("", "one future firing", "mean over firings")
    named = {cells[0]: cells[1:] for cells in table.rows}
    assert named["standard uncertainty"][1] == named["of it not known"][0]
    assert named["of it scatter"][1] == "none"
    more = firing_table(GAIN, row, shortest=True)
    assert len(more.rows) == len(table.rows) + 2
    alone = firing_table(GAIN, {**row, "scatter": 0.0}, shortest=False)
    assert alone.head == ("", "one future firing")
    lost = firing_table(GAIN, {**row, "mean_low": np.nan}, shortest=False)
    assert "can't be told" in {cells[0]: cells[2] for cells in lost.rows}["19 times in 20 from"]


def test_the_models_own_error_says_whose_it_is(found: Propagation, bench: Study) -> None:
    table = model_error_table(found, bench)
    assert table is not None
    assert table.rows == (("thrust_gain", "10 %", "yours"), ("current", "15 %", "yours"))
    assumed = model_error_table(propagate(bench, samples=512, quantities=["thrust"]), bench)
    assert assumed is not None
    assert assumed.rows[0][2] == "assumed"


def test_the_first_pages_words_are_free_of_statistics(found: Propagation, bench: Study) -> None:
    sections = propagation_report(found, bench, HEAD)
    everyone = text_of(section for section in sections if section.audience == "everyone")
    assert not [word for word in BANNED if word in everyone.lower()]
    assert max(map(len, everyone.splitlines())) <= 100
    text = page(sections)
    assert text.index("In plain words") < text.index("For a reviewer") < text.index("Provenance")


def test_each_uncertain_value_is_echoed_once(found: Propagation, bench: Study) -> None:
    text = text_of(
        section for section in propagation_report(found, bench, HEAD) if section.audience == "everyone"
    )
    assert text.count("HOW UNCERTAIN VALUES WERE READ") == 1
    for address in bench.words():
        assert len(re.findall(rf"^  {re.escape(address)}  ", text, re.MULTILINE)) == 1


class Outside(HTMLParser):
    """Notes what a page would fetch, and its scripts."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("script", "link", "img", "iframe"):
            self.found.append(tag)
        self.found += [
            v for k, v in attrs if k in ("src", "href", "xlink:href") and v and not v.startswith("#")
        ]


def test_the_page_fetches_nothing_and_escapes_what_a_study_says(found: Propagation, bench: Study) -> None:
    wicked = replace(bench, title="<script>alert(1)</script>", notes=("<img src=x>",))
    text = page(propagation_report(found, wicked, HEAD, pictures={"current": '<svg><path d="M0 0"/></svg>'}))
    outside = Outside()
    outside.feed(text)
    assert outside.found == []
    assert "&lt;script&gt;alert(1)" in text
    assert "<svg><path" in text


def test_json_has_the_promised_keys_and_no_number_is_null(found: Propagation, bench: Study) -> None:
    gone = with_law(found, value=np.nan, verdict=NOT_APPLICABLE)
    content = propagation_content(gone, bench, plain_words(gone, bench), shortest=True)
    told = json.loads(json_text(content), parse_constant=pytest.fail)
    assert list(told)[:4] == ["quantities", "points", "target", "first_order"]
    gain = told["quantities"]["thrust_gain"]
    row = rows_of(found)["thrust_gain"]
    assert gain["unit"] == "N"
    assert gain["interval_95"] == [row["low"], row["high"]]
    assert gain["shortest_interval_95"] == [row["shortest_low"], row["shortest_high"]]
    assert gain["standard_error"]["interval_95"] == [row["low_standard_error"], row["high_standard_error"]]
    assert told["first_order"]["thrust_gain"]["value"] is None
    assert told["target"] == {
        "quantity": "thrust_gain",
        "at_least": 0.04,
        "at_most": None,
        "chance_wanted": 0.8,
        "chance_met": pytest.approx(float(found.chance_met.value if found.chance_met else np.nan)),
        "standard_error": pytest.approx(
            float(found.chance_met.standard_error if found.chance_met else np.nan)
        ),
    }
    assert (
        "shortest_interval_95"
        not in propagation_content(found, bench, (), shortest=False)["quantities"]["current"]
    )


def test_csv_carries_units_and_the_same_figures(found: Propagation) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(propagation_rows(found)))))
    assert [(row["quantity"], row["unit"]) for row in rows] == [("thrust_gain", "N"), ("current", "A")]
    assert float(rows[1]["high"]) == pytest.approx(rows_of(found)["current"]["high"])


def test_a_status_too_rare_in_one_repeat_is_told_without_drivers(bench: Study) -> None:
    changed = {"electrodes.main.source.voltage": "25 ± 4 V", "channel.gap_out": "9 ± 0.7 mm"}
    told = propagate(bench.replaced(changed), samples=2048)
    rare = [name for name in told.status_shares.index if name not in ("ok", "no_contact")]
    assert rare == ["choked"]
    assert 0 < told.points["choked"] < 20
    words = failure_words(told)
    assert words is not None
    assert "hangs" not in words
