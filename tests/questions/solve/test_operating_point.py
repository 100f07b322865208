"""The printed operating point: every input with whose it is, limits, worth, streams, hand calculation."""

import re

import numpy as np
import pint
import pytest
from questions.pages import envelope_of, json_of, printed, sentences, table
from study.texts import study_named

from explorer import registry
from explorer.page.answer import Answer
from explorer.page.text import WIDTH
from explorer.questions.solve import answer
from explorer.questions.solve.hand_calculation import HandLine, hand_lines
from explorer.questions.solve.point import Point, solve
from explorer.questions.solve.tables import BLOCKS
from explorer.studyfile import Study

POINTS = ["bench_point", "two_pair_point", "extraction_point"]
UNITS = pint.UnitRegistry(cache_folder=None)


def told(point: Point, burn: float | None = None) -> Answer:
    return answer.told(point, envelope_of("solve"), burn=burn)


def in_short(point: Point) -> str:
    return sentences(told(point), "In short")


@pytest.fixture(params=POINTS)
def point(request: pytest.FixtureRequest) -> Point:
    found: Point = request.getfixturevalue(request.param)
    return found


def test_every_input_of_the_study_is_printed_with_whose_it_is(point: Point) -> None:
    said = told(point)
    lines = [line for block in BLOCKS for line in printed(said, title=block).splitlines()]
    for address in point.study.central():
        words = registry.words_of(address)
        line = next(line for line in lines if line.startswith(f"  {words}  "))
        assert re.search(r"(stated|default|assumed)(, uncertain)?$", line), line


def test_blocks_hold_outputs_of_the_registry_only() -> None:
    known = {quantity.address for quantity in registry.OUTPUTS}
    assert {name for _, outputs in BLOCKS.values() for name in outputs.split()} <= known


def test_nothing_printed_is_wider_than_the_page(point: Point) -> None:
    assert max(len(line) for line in printed(told(point, burn=6.0)).splitlines()) <= WIDTH


def test_cautions_stand_at_the_foot(point: Point) -> None:
    foot = sentences(told(point)).split("CAUTION")[1]
    for word in (
        "High voltage",
        "strong magnets",
        "oxidisers",
        "hot firings kill",
        "range rules",
        "licensed practice",
    ):
        assert word in foot


def test_uncertain_values_are_echoed_in_words_once(point: Point) -> None:
    text = sentences(told(point))
    assert text.count("19 times in 20 between 0.8432 and 1.157 %") == 1
    assert "takes each at its centre" in text


def redone(line: HandLine) -> float:
    """Return the value of a line's formula as Pint works it out from the printed text. [SI]"""
    text = line.formula.partition(" = ")[2]
    text = re.split(r",| between| were", text)[0]
    for shown, spelled in (("×", "*"), ("²", "**2"), ("½", "0.5"), ("ohm m", "ohm*m"), ("(V s)", "(V*s)")):
        text = text.replace(shown, spelled)
    return float(UNITS.parse_expression(text.replace("(m^2 s)", "(m^2*s)")).to_base_units().magnitude)


def test_the_hand_calculation_can_be_redone_from_what_is_printed(point: Point) -> None:
    for line in hand_lines(point):
        assert redone(line) == pytest.approx(line.by_hand, rel=2e-3), line


def test_the_hand_calculation_agrees_with_the_march_or_bounds_it(point: Point) -> None:
    for line in hand_lines(point):
        program = abs(point.quantities[line.address])
        if "at most" in line.title:
            assert program <= line.by_hand
        else:
            # The march's own course along the pair: gap, field and open-circuit flow differ by less than 1 %.
            assert program == pytest.approx(line.by_hand, rel=1e-2), line


def test_limits_are_marked_where_they_are_exceeded(bench_point: Point) -> None:
    verdicts = {row[0]: row[3] for row in table(told(bench_point), "Limits")}
    assert verdicts["largest current density"] == "BEYOND"
    assert verdicts["overheating number"] == "within"


def test_pairs_that_touch_at_different_voltages_are_beyond_the_limit(two_pair_point: Point) -> None:
    settings = {"electrodes.rear.start": "40 mm", "electrodes.rear.source.voltage": "100 V"}
    rows = table(told(solve(two_pair_point.study, settings)), "Limits")
    assert ("main to rear", "they touch", "4 kV/m", "BEYOND") in [row[:4] for row in rows]


def test_every_warning_is_a_sentence_that_says_what_to_do(bench_point: Point) -> None:
    (sentence,) = json_of(told(bench_point))["warnings"]
    assert sentence.startswith("Current density above the diffuse limit. ")
    assert sentence.endswith(".")
    assert "\n! " + sentence[:30] in printed(told(bench_point))


def test_the_effect_is_set_against_the_thrust_and_a_heater(bench_point: Point) -> None:
    found = bench_point.quantities
    words = in_short(bench_point)
    share = 100 * found["thrust_gain"] / found["thrust_open_circuit"]
    assert f"{found['thrust_gain']:.3g} N of {found['thrust_open_circuit']:.3g} N: {share:.2g} %" in words
    assert f"{100 * found['thrust_gain_heating'] / found['thrust_gain']:.2g} % of that" in words


def test_a_heater_without_a_number_is_said_to_have_none(bench: Study) -> None:
    """Hard on, the push keeps the flow supersonic where the heat alone would choke it."""
    hard = {
        "magnet.field": "1.5 T",
        "gas.conductivity_factor": 3.0,
        "electrodes.main.drop_resistance": "0 ohm m^2",
        "electrodes.main.source.current_limit": "5000 A",
        "electrodes.main.source.voltage": "680 V",
    }
    point = solve(bench, hard)
    assert point.status == "ok"
    assert point.quantities["thrust_gain"] > 5.0
    assert np.isnan(point.quantities["thrust_gain_heating"])
    words = in_short(point)
    assert "is not known" in words
    assert "the magnet's" not in words


def test_without_a_field_a_heater_is_said_to_give_it_all(bench: Study) -> None:
    assert "The magnet adds nothing here." in in_short(solve(bench, {"magnet.field": "0 T"}))


def test_extraction_is_set_against_the_jet(extraction_point: Point) -> None:
    assert re.search(r"The stage delivers \S+ \S+ into its load, .* in the jet\.", in_short(extraction_point))


def test_streams_add_up_to_the_mass_flow_and_amounts_to_the_burn(bench_point: Point) -> None:
    _, *rows = table(told(bench_point, burn=6.0), "Streams")
    grams = [[float(n) for n in re.findall(r"([\d.]+) g\b", " ".join(row))] for row in rows]
    flows, amounts = np.array(grams).T
    assert flows.sum() == pytest.approx(1e3 * bench_point.quantities["mass_flow"], rel=1e-3)
    assert amounts == pytest.approx(6 * flows, rel=1e-3)


def test_a_point_without_numbers_says_what_to_change(bench: Study) -> None:
    said = told(solve(bench, {"channel.gap_out": "6 mm"}))
    assert said.failure is not None
    assert said.failure.startswith("choked: the flow cannot stay supersonic")
    assert "widen the outlet" in said.failure
    assert said.failure in sentences(said, "In short")
    assert not said.files
    assert not said.pictures


def test_a_point_shows_its_main_outputs_and_its_picture(bench_point: Point, bench: Study) -> None:
    text = repr(bench_point)
    assert text.splitlines()[0].endswith(": ok")
    assert re.search(r"\n  thrust_gain +0\.0\d+ N  ", text)
    assert bench_point._repr_html_().count("<tr>") == len(text.splitlines()) - 1
    assert bench_point.plot().axes[0].get_ylabel() == "pressure p [bar]"
    choked = solve(bench, {"channel.gap_out": "6 mm"})
    assert re.search(r"choked\n.*\n  thrust +none  ", repr(choked))
    with pytest.raises(ValueError, match="carries numbers"):
        choked.plot()


@pytest.mark.parametrize(
    ("name", "at_the_stand", "of_the_gas"),
    [
        ("plain", [("ethanol", "g/s", "mL/min"), ("oxygen", "g/s", "")], {"mixture ratio": "1.95"}),
        ("flows", [("ethanol", "15 g/s", "mL/min"), ("oxygen", "30 g/s", "")], {"mixture ratio": "2"}),
        ("orifices", [("methane", "g/s", "", "30 bar"), ("oxygen", "g/s", "", "32 bar")], {}),
        ("heated", [("N2", "g/s", ""), ("cesium", "g/s", "")], {"chamber pressure": "8 bar"}),
    ],
)
def test_both_views_of_a_gas_stand_on_the_page_however_it_is_stated(name, at_the_stand, of_the_gas, tmp_path):
    """What is set at the stand and what the gas sees: flows, pressures upstream where stated, and the mixture."""
    page = told(solve(study_named(name, tmp_path)))
    assert "As set at the stand:" in sentences(page, "Streams")
    assert "As the gas sees it:" in sentences(page, "Streams")
    _, *streams = table(page, "Streams")
    for row, expected in zip(streams, at_the_stand, strict=False):
        assert len(row) == len(expected)
        assert all(text.endswith(end) if end else text == "" for text, end in zip(row, expected, strict=True))
    _, *gas = table(page, "Streams", 1)
    seen = {words: text for words, text, _ in gas}
    assert {"chamber pressure", "chamber temperature", "seed fraction"} <= seen.keys()
    assert ("mixture ratio" in seen) == (name != "heated")
    assert of_the_gas.items() <= seen.items()
