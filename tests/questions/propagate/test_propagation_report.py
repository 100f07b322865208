"""A propagation in words, tables and data: what the engineer reads, what JSON and CSV promise."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import numpy as np
import pytest
from questions.pages import csv_of, envelope_of, json_of, page_of, printed, sentences, table

from explorer import registry
from explorer.analysis.scrambles import Estimate, estimate
from explorer.page.answer import Answer
from explorer.page.words import opened
from explorer.questions.propagate import answer
from explorer.questions.propagate.digits import Digits
from explorer.questions.propagate.first_order import NOT_APPLICABLE
from explorer.questions.propagate.propagation import Mixture, Propagation, propagate
from explorer.questions.propagate.statuses import Driver, StatusShare
from explorer.study.problem import problem_of
from explorer.studyfile import Study

BANNED = ("sobol", "index", "indices", "variance", "shapley", "posterior", "scramble")
PLAIN, LAW, ENDED = "In plain words", "The first-order law beside it", "How the points ended"


@pytest.fixture(scope="module")
def found(bench: Study) -> Propagation:
    return propagate(bench, samples=2048, quantities=["thrust_gain", "current"])


def told(found: Propagation, **options: Any) -> Answer:
    assert found.study is not None
    return answer.told(found, options.pop("study", found.study), envelope_of("propagate"), **options)


def plain(found: Propagation, **options: Any) -> str:
    return sentences(told(found, **options), PLAIN)


def with_figures(found: Propagation, **values: float) -> Propagation:
    """The propagation with other figures of the thrust gain, their sampling errors as they were."""
    gain = found.figures["thrust_gain"]
    figures = {name: replace(getattr(gain, name), value=np.asarray(value)) for name, value in values.items()}
    return replace(found, figures={**found.figures, "thrust_gain": replace(gain, **figures)})


def with_law(found: Propagation, **values: Any) -> Propagation:
    laws = found.first_order.laws
    changed = {**laws, "thrust_gain": replace(laws["thrust_gain"], **values)}
    return replace(found, first_order=replace(found.first_order, laws=changed))


def known_to(value: float, half_width: float) -> Estimate:
    ends = (value, half_width / 2, value - half_width, value + half_width)
    return Estimate(*map(np.asarray, ends), by_scramble=np.full(8, value))


def test_plain_words_say_what_one_firing_will_show(found: Propagation) -> None:
    figures = {"mean": 0.0491, "standard_uncertainty": 0.0186, "low": 0.0234, "high": 0.0948}
    assert (
        "Thrust gain in one future firing: 0.049 ± 0.019 N (one standard uncertainty), 19 times in 20 between 0.023 and"
        " 0.095 N. With everything known, one firing still scatters by ± 0.73 mN: nearly all of the uncertainty is"
        " in what tests can pin down."
    ) in plain(with_figures(found, **figures, unknown=0.01858, scatter=0.00073))


@pytest.mark.parametrize(
    ("unknown", "scatter", "words"),
    [
        (0.6, 0.8, "most of the uncertainty is scatter from firing to firing, which no test removes"),
        (0.8, 0.6, "what is not known makes ± 0.80 N, which tests can pin down"),
        (1.0, 0.0, "What scatters from firing to firing does not move it"),
    ],
)
def test_the_floor_is_told_by_how_much_of_the_doubt_it_is(
    unknown: float, scatter: float, words: str, found: Propagation
) -> None:
    changed = with_figures(found, mean=5.0, standard_uncertainty=1.0, unknown=unknown, scatter=scatter)
    assert words in plain(changed)


@pytest.mark.slow
def test_a_study_without_scatter_says_so(bench: Study) -> None:
    replaced = {
        item.address: registry.quantity(item.address)
        .scale.span(0.99 * item.centre, item.centre)
        .replace("and", "..")
        for item in bench.space.inputs
        if item.scatter is not None
    }
    words = plain(propagate(bench.replaced(replaced), samples=1024))
    assert "Nothing in this study scatters from firing to firing" in words
    assert "one firing still scatters" not in words


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
    assert bench.target.chance == 0.8
    words = plain(replace(found, chance_met=known_to(value, half_width)))
    assert "Required: thrust gain at least 0.04 N, with a chance of 80 % or more. The chance is " in words
    assert f"(sampling ± {100 * half_width / 2:g} %): {verdict}." in words


def test_a_chance_of_zero_counts_the_points_instead_of_claiming_no_error(found: Propagation) -> None:
    words = plain(replace(found, chance_met=estimate(np.zeros(8))))
    assert "The chance is 0 % (no point of 2048 meets it): not met." in words


def test_what_was_not_asked_for_is_not_judged(found: Propagation) -> None:
    assert "The thrust gain was not asked for here." in plain(replace(found, chance_met=None))


VERDICTS = {
    "validated": "validated. It may be used in this neighbourhood.",
    "not validated": "not validated. Go by the sample.",
    "not decided": "not decided, for the ends of the sample's interval are not sharp enough. Ask for more samples.",
}


@pytest.mark.parametrize(("verdict", "words"), VERDICTS.items())
def test_the_first_order_law_carries_its_verdict(verdict: str, words: str, found: Propagation) -> None:
    changed = with_law(
        found, value=0.043, standard_uncertainty=0.016, low=0.0112, high=0.0749, verdict=verdict
    )
    said = f"Thrust gain: 0.043 ± 0.016 N, 19 times in 20 between 0.011 and 0.075 N: {words}"
    assert said in sentences(told(changed), LAW)


def test_where_contact_changes_the_first_order_law_does_not_apply(found: Propagation) -> None:
    gone = dict.fromkeys(("value", "standard_uncertainty", "low", "high", "tolerance"), np.nan)
    said = told(with_law(found, **gone, verdict=NOT_APPLICABLE, contributions={}))
    assert "the first-order law doesn't apply here" in sentences(said, LAW)
    assert table(said, "The first-order law, input by input")[1][1:3] == ("", "")
    assert json_of(said)["first_order"]["thrust_gain"]["value"] is None


def test_points_without_numbers_are_told_with_what_drives_them(found: Propagation, bench: Study) -> None:
    rows = {row.name: row for row in problem_of(bench, None, None).rows}
    gap, ratio = rows["channel.gap_out (unknown)"], rows["gas.mixture_ratio (scatter)"]
    choked = StatusShare(known_to(0.0184, 0.002), (Driver(gap, 0.65), Driver(ratio, 0.04)))
    ok = StatusShare(known_to(0.98, 0.002), ())
    said = told(replace(found, statuses={"ok": ok, "choked": choked}))
    words = (
        "Some points carry no number: 1.8 % choked, which depends most on gap at the outlet (65 %), mixture ratio"
        " (scatter) (4 %). They are left out and counted, never filled in."
    )
    assert words in sentences(said, PLAIN)
    assert json_of(said)["warnings"] == [words]
    drivers = "channel.gap_out (unknown) (65%), gas.mixture_ratio (scatter) (4%)"
    assert json_of(said)["statuses"]["choked"]["drivers"] == drivers
    assert table(said, ENDED)[2][2] == "1.8 % (sampling ± 0.1 %)"
    whole = told(found)
    assert json_of(whole)["warnings"] == []
    assert ENDED not in {section.title for section in whole.sections}


def test_a_mixture_tells_the_chance_of_contact_then_given_contact_then_together(found: Propagation) -> None:
    contact = estimate(np.array([0.87, 0.88] * 4))
    said = told(replace(found, mixture=Mixture(contact, found.figures)))
    words = sentences(said, PLAIN)
    parts = ("Chance of contact: 87.5", "given contact:", "All firings together")
    places = [words.index(part) for part in parts]
    assert places == sorted(places)
    for name in found.figures:  # a table given contact, and one together
        assert printed(said, title=opened(registry.words_of(name))).count("one future firing  ") == 2
    assert json_of(said)["mixture"]["contact"] == pytest.approx(0.875)
    firings = [row["firings"] for row in csv_of(said, "quantities.csv")]
    assert firings == ["all", "all", "with contact", "with contact"]


def test_a_mixture_with_too_few_firings_in_contact_is_told_together_alone(found: Propagation) -> None:
    words = plain(replace(found, mixture=Mixture(estimate(np.array([0.01, 0.02] * 4)), {})))
    assert "Too few firings make contact to tell the thrust gain given contact. All firings together" in words


def test_digits_that_stand_and_digits_that_do_not_are_told(found: Propagation) -> None:
    stands = told(replace(found, digits=Digits(2, True, {"thrust_gain": 0.0005}, 10)))
    assert (
        "Asked for: 2 significant digits of each standard uncertainty. They stand after 10 independent blocks, 2048"
        " operating points: mean, standard uncertainty and interval ends are stable to within 0.5 mN of thrust gain"
        " (JCGM 101, clause 7.9)."
    ) in sentences(stands, PLAIN)
    assert json_of(stands)["warnings"] == []
    fails = told(replace(found, digits=Digits(4, False, {"thrust_gain": 5e-6}, 400)))
    assert "They do not stand after 400 independent blocks" in json_of(fails)["warnings"][0]


def test_sizes_that_were_rounded_up_are_said(found: Propagation) -> None:
    rounded = "2000 were asked for, and sizes are rounded up to 8 times a power of two"
    assert rounded in plain(found, asked=2000)
    assert "asked for" not in plain(found, asked=2048)


def test_one_firing_stands_beside_the_mean_over_firings(found: Propagation) -> None:
    head, *rows = table(told(found), "Thrust gain")
    assert head == ("", "one future firing", "mean over firings")
    named = {cells[0]: cells[1:] for cells in rows}
    assert named["standard uncertainty"][1] == named["of it not known"][0]
    assert named["of it scatter"][1] == "none"
    more = table(told(found, shortest=True), "Thrust gain")
    assert len(more) == 1 + len(rows) + 2
    assert table(told(with_figures(found, scatter=0.0)), "Thrust gain")[0] == ("", "one future firing")
    lost = table(told(with_figures(found, mean_low=np.nan)), "Thrust gain")
    assert "not told" in {cells[0]: cells[2] for cells in lost}["19 times in 20 from"]


def test_the_models_own_error_says_whose_it_is(found: Propagation, bench: Study) -> None:
    title = "The model's own error"
    stated = table(told(found), title)[1:]
    assert stated == [("thrust gain", "10 %", "stated"), ("current", "15 %", "stated")]
    assumed = table(told(propagate(bench, samples=512, quantities=["thrust"])), title)
    assert assumed[1][2] == "assumed"


def test_the_first_pages_words_are_free_of_statistics(found: Propagation) -> None:
    said = told(found)
    everyone = printed(said)
    assert not [word for word in BANNED if word in everyone.lower()]
    assert max(map(len, everyone.splitlines())) <= 100
    text = page_of(said)
    assert text.index("In plain words") < text.index("For a reviewer") < text.index("Provenance")


def test_each_uncertain_value_is_echoed_once(found: Propagation, bench: Study) -> None:
    text = printed(told(found))
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
    text = page_of(told(found, study=wicked))
    outside = Outside()
    outside.feed(text)
    assert outside.found == ["script"] * 2  # the page's own, inline, and the quantiles of its slider
    assert text.count('<script type="application/json">') == 1
    assert "&lt;script&gt;alert(1)" in text
    assert text.count("<svg ") == 2  # each quantity's picture stands in the page itself


def test_json_has_the_promised_keys_and_the_figures_of_the_table(found: Propagation) -> None:
    content = json_of(told(found, shortest=True))
    assert list(content)[8:12] == ["quantities", "points", "target", "first_order"]
    gain, row = content["quantities"]["thrust_gain"], found.quantities.loc["thrust_gain"]
    assert gain["unit"] == "N"
    assert gain["interval_95"] == [row["low"], row["high"]]
    assert gain["shortest_interval_95"] == [row["shortest_low"], row["shortest_high"]]
    assert gain["standard_error"]["interval_95"] == [row["low_standard_error"], row["high_standard_error"]]
    assert found.chance_met is not None
    assert content["target"] == {
        "quantity": "thrust_gain",
        "at_least": 0.04,
        "at_most": None,
        "chance_wanted": 0.8,
        "chance_met": pytest.approx(float(found.chance_met)),
        "standard_error": pytest.approx(found.chance_met.error),
    }
    assert "shortest_interval_95" not in json_of(told(found))["quantities"]["current"]


def test_csv_carries_units_and_the_same_figures(found: Propagation) -> None:
    rows = csv_of(told(found), "quantities.csv")
    assert [(row["quantity"], row["unit"]) for row in rows] == [("thrust_gain", "N"), ("current", "A")]
    assert float(rows[1]["high"]) == pytest.approx(float(found.figures["current"].high))


@pytest.mark.slow
def test_a_status_too_rare_in_one_repeat_is_told_without_drivers(bench: Study) -> None:
    changed = {"electrodes.main.source.voltage": "25 ± 4 V", "channel.gap_out": "8.8 ± 0.7 mm"}
    found = propagate(bench.replaced(changed), samples=2048)
    assert [name for name in found.status_shares.index if name not in ("ok", "no_contact")] == ["choked"]
    assert 0 < found.points["choked"] < 20
    (words,) = json_of(told(found))["warnings"]
    assert "choked" in words
    assert "hangs" not in words


def test_a_propagation_shows_its_main_figures_and_its_picture(found: Propagation) -> None:
    text, html = repr(found), found._repr_html_()
    assert "2048 points" in text.splitlines()[0]
    assert re.search(r"\n  thrust_gain +0\.0\d+ N +0\.0\d+ N +0\.0\d+ and 0\.\d+ N\n  current ", text)
    assert html.count("<tr>") == 3
    assert found.plot("current").axes[0].get_xlabel() == "current in one future firing [A]"
    assert found.plot().axes[0].get_xlabel() == "thrust gain in one future firing [N]"


def test_what_a_callable_gives_shows_itself_too() -> None:
    found = propagate(lambda v: {"y": v["a"]}, {"a": "0 ± 1"}, rng=1, samples=4096)
    assert re.search(r"\n  y +-?[\d.e-]+ +1 ", repr(found))
    assert found.plot().axes[0].get_xlabel() == "y in one future firing"
