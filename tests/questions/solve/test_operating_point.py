"""The printed operating point: every input with whose it is, limits, worth, streams, hand calculation."""

import re

import numpy as np
import pint
import pytest

from explorer import registry
from explorer.page.text import WIDTH, text_of
from explorer.questions.solve.hand_calculation import HandLine, hand_lines
from explorer.questions.solve.limits import limits
from explorer.questions.solve.operating_point import BLOCKS, blocks
from explorer.questions.solve.point import Point, solve
from explorer.questions.solve.report import failure_words, solving_report, warning_sentences
from explorer.questions.solve.worth import worth_words
from explorer.studyfile import Study

POINTS = ["bench_point", "two_pair_point", "extraction_point"]
UNITS = pint.UnitRegistry(cache_folder=None)


@pytest.fixture(params=POINTS)
def point(request: pytest.FixtureRequest) -> Point:
    found: Point = request.getfixturevalue(request.param)
    return found


def test_every_input_of_the_study_is_printed_with_whose_it_is(point: Point) -> None:
    text = text_of(blocks(point))
    for address in point.study.central():
        line = next(line for line in text.splitlines() if line.split()[:1] == [address])
        assert re.search(r"(yours|default|assumed)(, uncertain)?$", line), line


def test_blocks_hold_outputs_of_the_registry_only() -> None:
    known = {quantity.address for quantity in registry.OUTPUTS}
    assert {name for _, outputs in BLOCKS.values() for name in outputs} <= known


def test_nothing_printed_is_wider_than_the_page(point: Point) -> None:
    assert max(len(line) for line in text_of(solving_report(point, burn=6.0)).splitlines()) <= WIDTH


def test_cautions_stand_at_the_foot(point: Point) -> None:
    foot = " ".join(text_of(solving_report(point)).split("CAUTION")[1].split())
    for word in (
        "High voltage",
        "strong magnets",
        "oxidizers",
        "hot firings kill",
        "range rules",
        "licensed practice",
    ):
        assert word in foot


def test_uncertain_values_are_echoed_in_words_once(point: Point) -> None:
    text = " ".join(text_of(solving_report(point)).split())
    assert text.count("19 times in 20 between 0.8432 and 1.157 %") == 1
    assert "takes each at its centre" in text


def redone(line: HandLine) -> float:
    """Return the value of a line's formula as Pint works it out from the printed text. [SI]"""
    text = line.formula.partition(" = ")[2]
    text = re.split(r",| between| were", text)[0]
    for printed, spelled in (("×", "*"), ("²", "**2"), ("½", "0.5"), ("ohm m", "ohm*m"), ("(V s)", "(V*s)")):
        text = text.replace(printed, spelled)
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
    lines = {
        line.split()[0]: line for line in text_of([limits(bench_point)]).splitlines()[3:] if line[2] != " "
    }
    assert "BEYOND" in lines["max_current_density"]
    assert "within" in lines["overheating_number"]


def test_pairs_that_touch_at_different_voltages_are_beyond_the_limit(two_pair_point: Point) -> None:
    settings = {"electrodes.rear.start": "40 mm", "electrodes.rear.source.voltage": "100 V"}
    text = text_of([limits(solve(two_pair_point.study, settings))])
    assert re.search(r"main to rear\s+they touch\s+4 kV/m\s+BEYOND", text)


def test_every_warning_is_a_sentence_that_says_what_to_do(bench_point: Point) -> None:
    (sentence,) = warning_sentences(bench_point)
    assert sentence.startswith("Current density above the diffuse limit. ")
    assert sentence.endswith(".")
    assert "\n! " + sentence[:30] in text_of(solving_report(bench_point))


def test_the_effect_is_set_against_the_thrust_and_a_heater(bench_point: Point) -> None:
    found = bench_point.quantities
    change, heater = worth_words(bench_point)
    share = 100 * found["thrust_gain"] / found["thrust_open_circuit"]
    assert f"{found['thrust_gain']:.3g} N of {found['thrust_open_circuit']:.4g} N: {share:.2g} %" in change
    assert f"{100 * found['thrust_gain_heating'] / found['thrust_gain']:.2g} % of that" in heater


def test_without_a_field_a_heater_is_said_to_give_it_all(bench: Study) -> None:
    words = worth_words(solve(bench, {"magnet.field": "0 T"}))
    assert "The magnet adds nothing here." in words[-1]


def test_extraction_is_set_against_the_jet(extraction_point: Point) -> None:
    (words,) = worth_words(extraction_point)
    assert words.startswith("The stage delivers ")
    assert "in the jet" in words


def test_streams_add_up_to_the_mass_flow_and_amounts_to_the_burn(bench_point: Point) -> None:
    text = text_of(solving_report(bench_point, burn=6.0))
    rows = text[text.index("STREAMS") :].splitlines()[3:6]
    grams = [[float(n) for n in re.findall(r"([\d.]+) g\b", row)] for row in rows]
    flows, amounts = np.array(grams).T
    assert flows.sum() == pytest.approx(1e3 * bench_point.quantities["mass_flow"], rel=1e-3)
    assert amounts == pytest.approx(6 * flows, rel=1e-3)


def test_a_point_without_numbers_says_what_to_change(bench: Study) -> None:
    point = solve(bench, {"channel.gap_out": "6 mm"})
    assert failure_words(point).startswith("choked: the flow cannot stay supersonic")
    assert "widen the outlet" in failure_words(point)
