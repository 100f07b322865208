"""Why nothing happens, in words, in both modes."""

import re

import pytest

from explorer.page.text import text_of
from explorer.questions.solve.contact import contact_words
from explorer.questions.solve.point import Point, solve
from explorer.questions.solve.report import solving_report
from explorer.studyfile import Study


def test_a_supply_below_the_threshold_is_told_with_both_voltages(bench: Study) -> None:
    point = solve(bench, {"electrodes.main.source.voltage": "15 V"})
    (words,) = contact_words(point)
    threshold = point.quantities["threshold_voltage"]
    assert words.startswith(
        f"No current flows through the gas: the supply's 15 V is below the {threshold:.0f} V that the moving gas and"
        " the electrodes' drop hold against it."
    )
    assert words in " ".join(text_of(solving_report(point)).split())


def test_voltages_that_nearly_agree_are_told_apart(bench: Study, bench_point: Point) -> None:
    just_below = bench_point.quantities["threshold_voltage"] - 0.01
    (words,) = contact_words(solve(bench, {"electrodes.main.source.voltage": just_below}))
    supply, held = re.findall(r"([\d.]+) V", words)
    assert float(supply) < float(held)


def test_a_supply_pulled_down_by_the_leak_is_told_so(bench: Study) -> None:
    settings = {"electrodes.main.source.voltage": "28 V", "electrodes.main.source.resistance": "50 ohm"}
    (words,) = contact_words(solve(bench, settings))
    assert "the leak along the walls pulls the supply's 28 V down to 16 V" in words


def test_a_current_limit_eaten_by_the_leak_is_told_so(bench: Study) -> None:
    (words,) = contact_words(solve(bench, {"electrodes.main.source.current_limit": "0.2 A"}))
    assert "takes the whole 0.2 A" in words


def test_a_generator_that_does_not_overcome_its_drop_is_told_so(extraction_point: Point) -> None:
    point = solve(extraction_point.study, {"electrodes.main.voltage_drop": "12 V"})
    (words,) = contact_words(point)
    assert words.startswith(
        "No current flows: the 10 V that the moving gas induces does not overcome the electrodes' drop of 12 V."
    )


def test_a_generator_without_a_field_is_told_so(extraction_point: Point) -> None:
    (words,) = contact_words(solve(extraction_point.study, {"magnet.field": "0 T"}))
    assert "without a magnetic field" in words


def test_of_two_pairs_the_idle_one_is_named(two_pair_point: Point) -> None:
    rear = two_pair_point.study.pairs[1]
    point = solve(two_pair_point.study, {f"electrodes.{rear}.source.voltage": "5 V"})
    (words,) = contact_words(point)
    assert words.startswith(f"Pair {rear}: no current flows")
    assert point.status == "ok"


@pytest.mark.parametrize("name", ["bench_point", "two_pair_point", "extraction_point"])
def test_nothing_is_said_where_current_flows(name: str, request: pytest.FixtureRequest) -> None:
    assert contact_words(request.getfixturevalue(name)) == ()
