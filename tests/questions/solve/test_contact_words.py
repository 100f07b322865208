"""Why nothing happens, in words, in both modes."""

import re

import pytest
from questions.pages import envelope_of, sentences

from explorer.questions.solve.answer import told
from explorer.questions.solve.point import Point, solve
from explorer.studyfile import Study


def in_short(point: Point) -> str:
    return sentences(told(point, envelope_of("solve")), "In short")


def test_a_supply_below_the_threshold_is_told_with_both_voltages(bench: Study) -> None:
    point = solve(bench, {"electrodes.main.source.voltage": "15 V"})
    threshold = point.quantities["threshold_voltage"]
    assert (
        f"No current flows through the gas: the supply's 15 V is below the {threshold:.0f} V that the moving gas and"
        " the electrodes' drop hold against it."
    ) in in_short(point)


def test_voltages_that_nearly_agree_are_told_apart(bench: Study, bench_point: Point) -> None:
    just_below = bench_point.quantities["threshold_voltage"] - 0.01
    words = in_short(solve(bench, {"electrodes.main.source.voltage": just_below}))
    ((supply, held),) = re.findall(r"the supply's ([\d.]+) V is below the ([\d.]+) V", words)
    assert float(supply) < float(held)


def test_a_supply_pulled_down_by_the_leak_is_told_so(bench: Study) -> None:
    settings = {"electrodes.main.source.voltage": "28 V", "electrodes.main.source.resistance": "50 ohm"}
    assert "the leak along the walls pulls the supply's 28 V down to 16 V" in in_short(solve(bench, settings))


def test_a_current_limit_eaten_by_the_leak_is_told_so(bench: Study) -> None:
    point = solve(bench, {"electrodes.main.source.current_limit": "0.2 A"})
    assert "takes the whole 0.2 A" in in_short(point)


def test_a_generator_that_does_not_overcome_its_drop_is_told_so(extraction_point: Point) -> None:
    point = solve(extraction_point.study, {"electrodes.main.voltage_drop": "12 V"})
    words = "No current flows: the 10 V that the moving gas induces does not overcome the electrodes' drop of 12 V."
    assert words in in_short(point)


def test_a_generator_without_a_field_is_told_so(extraction_point: Point) -> None:
    assert "without a magnetic field" in in_short(solve(extraction_point.study, {"magnet.field": "0 T"}))


def test_of_two_pairs_the_idle_one_is_named(two_pair_point: Point) -> None:
    rear = two_pair_point.study.pairs[1]
    point = solve(two_pair_point.study, {f"electrodes.{rear}.source.voltage": "5 V"})
    assert in_short(point).count("no current flows") == 1
    assert f"Pair {rear}: no current flows" in in_short(point)
    assert point.status == "ok"


@pytest.mark.parametrize("name", ["bench_point", "two_pair_point", "extraction_point"])
def test_nothing_is_said_where_current_flows(name: str, request: pytest.FixtureRequest) -> None:
    assert "no current flows" not in in_short(request.getfixturevalue(name)).lower()
