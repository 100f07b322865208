"""The path between two designs: how numbers go, what switches, what a step's file says, what can't be joined."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from study.known_models import NO_MODEL_ERROR, STUDIES, study_of
from study.texts import _BLOCKS, FIELD_MAP, PLAIN, study_named

from explorer import parse_study, read_study
from explorer.physics.atmosphere import standard_atmosphere
from explorer.questions.scale.path.path import Path, between, path_between
from explorer.questions.scale.path.surroundings import fired
from explorer.studyfile import Study, StudyError, study_text

FACTOR, LAG = "gas.conductivity_factor", "gas.nozzle_lag"


@pytest.fixture(scope="module")
def demo() -> Path:
    return path_between(read_study(STUDIES / "bench.toml"), read_study(STUDIES / "sounding.toml"), 8)


def item(study: Study, address: str):
    return next(item for item in study.space.inputs if item.address == address)


# How numbers go


def test_numbers_go_by_equal_ratios_or_by_equal_steps() -> None:
    # Half-way between 1 and 4 lies their geometric mean, 2, or their arithmetic one, 2.5.
    assert between(1.0, 4.0, place=0.5, way="by ratios") == pytest.approx(2.0)
    assert between(1.0, 4.0, place=0.5, way="by steps") == pytest.approx(2.5)
    for way in ("by ratios", "by steps"):
        assert between(3.0, 7.0, place=0.0, way=way) == pytest.approx(3.0)
        assert between(3.0, 7.0, place=1.0, way=way) == pytest.approx(7.0)


def test_sizes_field_pressure_voltage_and_seed_go_by_ratios_and_the_rest_by_steps(demo: Path) -> None:
    by_ratios = {address for address, way in demo.ways.items() if way == "by ratios"}
    assert {
        "channel.length",
        "nozzle.throat_diameter",
        "electrodes.main.start",
        "magnet.field",
        "electrodes.main.source.voltage",
        "gas.seed_fraction",
    } <= by_ratios
    by_steps = {address for address, way in demo.ways.items() if way == "by steps"}
    assert {"gas.chamber_pressure", "channel.wall_temperature", "exit.area_ratio"} <= by_steps
    assert demo.ways["gas.mixture_ratio"] == "alike"
    one, two = (end.central()["channel.length"] for end in (demo.first, demo.second))
    for step in demo.steps:
        values = step.study.central()
        assert values["channel.length"] == pytest.approx(one * (two / one) ** step.place, rel=1e-3)
        assert values["gas.chamber_pressure"] == pytest.approx(12e5 + 8e5 * step.place, rel=1e-3)


def test_what_is_zero_at_one_end_goes_by_steps_though_it_is_a_size() -> None:
    ends = [study_of({"electrodes.main.start": start}) for start in ("0 mm", "20 mm")]
    path = path_between(*ends, 3)
    assert path.ways["electrodes.main.start"] == "by steps"
    starts = [step.study.central()["electrodes.main.start"] for step in path.steps]
    np.testing.assert_allclose(starts, [0.005, 0.010, 0.015])


def test_pairs_that_fit_at_both_ends_fit_in_between() -> None:
    # Edges that touch: each pair ends where the next begins, the last with the channel.
    text = PLAIN + PLAIN[PLAIN.index("[electrodes.main]") : PLAIN.index("[exit]")].replace("main", "rear")
    ends = [
        parse_study(
            text + NO_MODEL_ERROR,
            replacements={
                "electrodes.main.start": "0.1 mm",
                "electrodes.main.length": f"{first} mm",
                "electrodes.rear.start": f"{0.1 + first} mm",
                "electrodes.rear.length": f"{length - first - 0.1} mm",
                "channel.length": f"{length} mm",
            },
        )
        for first, length in ((11.3, 90.0), (357.7, 402.9))
    ]
    path = path_between(*ends, 9)
    assert (len(path.steps), path.left_out) == (9, {})


def test_a_step_is_rounded_as_a_drawing_is(demo: Path) -> None:
    assert demo.steps[0].study.document["channel"]["length"] == "106.2 mm"
    assert demo.steps[0].study.document["nozzle"]["throat_diameter"] == "10.62 ± 0.05 mm"


# Surroundings


def test_steps_and_the_end_itself_are_fired_where_the_first_end_is(demo: Path) -> None:
    # Nobody has the pressure of 22.5 km around a stand on the ground.
    assert demo.ways["ambient.pressure"] == "held"
    there = fired(demo.second, demo.first)
    for study in (*(step.study for step in demo.steps), there):
        assert study.central()["ambient.pressure"] == 101_300.0
        assert "ambient.altitude" not in study.central()
        assert study.document["ambient"] == demo.first.document["ambient"]
    changed = {a for a, value in demo.second.central().items() if there.central().get(a) != value}
    assert changed == {"ambient.altitude"}


CELL = '[[setup]]\nname = "altitude_cell"\nhours = 20\nlowest_pressure = "{}"\n'


def test_in_an_altitude_cell_they_are_fired_at_the_pressure_on_their_way_or_the_lowest_it_holds() -> None:
    # U.S. Standard Atmosphere 1976: the pressure of 15 … 30 km's middle, 22.5 km, is some 4 kPa (from memory).
    bench, sounding = (read_study(STUDIES / f"{name}.toml") for name in ("bench", "sounding"))
    ground, high = 101_300.0, float(standard_atmosphere(22_500.0).pressure)
    assert 3_500 < high < 4_500
    text = study_text(bench)
    for held in (1_000.0, 20_000.0):
        first = parse_study(text + CELL.format(f"{held / 100:g} mbar"))
        assert first.setups[-1].lowest_pressure == pytest.approx(held)
        path = path_between(first, sounding, 8)
        assert path.ways["ambient.pressure"] == "by ratios"
        for step in path.steps:
            on_the_way = ground * (high / ground) ** step.place
            assert step.study.central()["ambient.pressure"] == pytest.approx(max(on_the_way, held), rel=1e-3)
        assert fired(sounding, first).central()["ambient.pressure"] == pytest.approx(
            max(high, held), rel=1e-3
        )


def test_a_cell_that_cannot_be_is_refused_and_none_leaves_the_studys_hash_alone() -> None:
    text = study_text(read_study(STUDIES / "bench.toml"))
    with pytest.raises(
        StudyError, match="setup altitude_cell: lowest_pressure: expected a pressure, got 3 N"
    ):
        parse_study(text + CELL.format("3 N"))
    bare = text + '[[setup]]\nname = "altitude_cell"\nhours = 20\n'
    assert parse_study(bare).as_resolved()["setups"][-1] == {"name": "altitude_cell", "hours": 20}
    assert parse_study(bare).study_hash != parse_study(text + CELL.format("3 mbar")).study_hash


# What a step says


def test_the_uncertainty_is_the_nearer_ends_as_written_there(demo: Path) -> None:
    for step in demo.steps:
        near = demo.first if step.place < 0.5 else demo.second
        throat = item(step.study, "nozzle.throat_diameter").unknown.standard_deviation
        assert throat == pytest.approx({0: 0.05e-3, 1: 0.15e-3}[near is demo.second])
        friction = item(step.study, "channel.friction_coefficient").unknown
        assert friction.factor == item(near, "channel.friction_coefficient").unknown.factor


def test_relative_uncertainty_stays_relative() -> None:
    ends = [study_of({"magnet.field": field}) for field in ("0.4 T ± 5 %", "0.9 T ± 2 %")]
    path = path_between(*ends, 2)
    for step, share in zip(path.steps, (0.05, 0.02), strict=True):
        field = item(step.study, "magnet.field")
        assert field.standard_uncertainty == pytest.approx(share * field.centre)


def test_where_the_nearer_ends_uncertainty_has_no_place_the_other_one_stands_and_is_said(demo: Path) -> None:
    # Seen from the rocket, a leak of 0 … 0.05 S moved towards the bench's would reach below zero.
    step = demo.steps[4]
    leak = item(step.study, "electrodes.main.leak_conductance").unknown
    assert leak.high - leak.low == pytest.approx(0.03)
    assert any("leak conductance of the main pair has the further end's ±" in note for note in step.notes)


def test_what_is_shared_stays_shared_where_it_stays_the_same(demo: Path) -> None:
    for step in demo.steps:
        own = item(step.study, FACTOR)
        assert (own.shared, own.unknown) == ("water cross section", item(demo.first, FACTOR).unknown)


def test_what_moves_is_no_longer_the_same_thing() -> None:
    probe = {"value": "0.4 T", "unknown": "0.01 T", "shared": "probe"}
    path = path_between(study_of({"magnet.field": probe}), study_of({"magnet.field": "0.9 ± 0.02 T"}), 2)
    first = path.steps[0]
    assert item(first.study, "magnet.field").shared is None
    assert any('does not share "probe"' in note for note in first.notes)


def test_a_steps_file_reads_to_what_was_looked_at(demo: Path) -> None:
    for step in demo.steps:
        titled = replace(step.study, document={**step.study.document, "title": "any"})
        assert parse_study(study_text(titled, head=["A step."])).study_hash == step.study.study_hash


def test_what_an_end_says_of_itself_stays_behind(demo: Path) -> None:
    for step in demo.steps:
        assert step.study.measurements == ()
        assert not step.study.target.has_requirement
        assert step.study.target.quantity == demo.second.target.quantity
        assert step.study.instruments == demo.first.instruments
        assert step.study.path is None
    searching = parse_study(
        PLAIN
        + '[vary]\n"magnet.field" = "0.2 .. 0.6 T"\n[[limit]]\nquantity = "thrust"\nat_least = "1 N"\n'
        + NO_MODEL_ERROR
    )
    step = path_between(searching, study_of({"magnet.field": "2 T"}), 1).steps[0]
    assert (step.study.vary, step.study.limits) == ((), ())


# Words


def test_words_switch_half_way_and_with_them_what_hangs_on_them(demo: Path) -> None:
    (switch,) = demo.switches
    assert (switch.address, switch.before, switch.after) == (
        "gas.seed",
        "potassium carbonate",
        "potassium hydroxide",
    )
    assert set(switch.with_it) == {"gas.seed_water", "gas.seed_vaporized"}
    for step in demo.steps:
        near = demo.first if step.place < 0.5 else demo.second
        assert step.study.choices["gas.seed"] == near.choices["gas.seed"]
        for address in switch.with_it:
            assert step.study.central()[address] == near.central()[address]


def test_a_limit_that_only_one_end_has_switches_too() -> None:
    bare = parse_study(PLAIN.replace(', current_limit = "50 A"', "") + NO_MODEL_ERROR)
    path = path_between(bare, study_of({"channel.length": "180 mm"}), 2)
    assert path.ways["electrodes.main.source.current_limit"] == "switches"
    limits = [step.study.central()["electrodes.main.source.current_limit"] for step in path.steps]
    assert limits == [math.inf, 50.0]


def test_custom_fuels_switch_with_all_that_is_theirs(tmp_path) -> None:
    path = path_between(study_named("plain", tmp_path), study_named("custom", tmp_path), 4)
    fuel = next(switch for switch in path.switches if switch.address == "gas.fuel")
    assert {"gas.mixture_ratio", "gas.custom_fuel.enthalpy_of_formation"} <= set(fuel.with_it)
    assert [step.study.choices["gas.fuel"] for step in path.steps] == ["ethanol"] * 2 + ["custom"] * 2


def test_an_unseeded_end_keeps_its_nothing() -> None:
    none = parse_study(PLAIN.replace('seed = "potassium carbonate"', 'seed = "none"') + NO_MODEL_ERROR)
    path = path_between(none, study_of({}), 2)
    shares = [step.study.central()["gas.seed_fraction"] for step in path.steps]
    assert shares == [0.0, 0.01]


def test_a_grade_switches_with_its_remanence() -> None:
    graded = _BLOCKS.replace('remanence = "1.3 T"', 'grade = "{}"')
    ends = [
        parse_study(PLAIN.replace('[magnet]\nfield = "0.48 T"\n', graded.format(grade)) + NO_MODEL_ERROR)
        for grade in ("N42", "N52")
    ]
    path = path_between(*ends, 2)
    assert path.ways["magnet.blocks.remanence"] == "switches"
    assert [step.study.choices["magnet.blocks.grade"] for step in path.steps] == ["N42", "N52"]


# Ends


def test_one_study_twice_gives_a_path_of_no_length() -> None:
    bench = read_study(STUDIES / "bench.toml")
    path = path_between(bench, bench, 5)
    assert not path.has_length
    assert path.steps == ()
    assert path_between(bench, bench.replaced({"magnet.field": "0.5 T"}), 1).has_length


def test_a_step_that_cannot_stand_is_left_out_and_said() -> None:
    # Pairs that change places along the channel meet half-way.
    text = PLAIN + PLAIN[PLAIN.index("[electrodes.main]") : PLAIN.index("[exit]")].replace("main", "rear")
    places = ({"main": "10 mm", "rear": "50 mm"}, {"main": "50 mm", "rear": "10 mm"})
    ends = [
        parse_study(
            text + NO_MODEL_ERROR,
            replacements={
                f"electrodes.{pair}.{key}": value
                for pair, start in place.items()
                for key, value in (("start", start), ("length", "30 mm"))
            },
        )
        for place in places
    ]
    path = path_between(*ends, 9)
    assert 0 < len(path.left_out) < 9
    assert {step.number for step in path.steps} | set(path.left_out) == set(range(1, 10))
    assert all("overlaps" in why for why in path.left_out.values())


@pytest.mark.parametrize(
    ("one", "two", "said"),
    [
        ("plain", "extraction", "one design works in acceleration, the other in extraction"),
        ("plain", "blocks", "the magnets can't be joined, a stated field and blocks"),
        ("profile", "plain", "the magnets can't be joined, a field map and a stated field"),
    ],
)
def test_designs_that_cannot_be_joined_are_refused(tmp_path, one: str, two: str, said: str) -> None:
    with pytest.raises(StudyError, match=said):
        path_between(study_named(one, tmp_path), study_named(two, tmp_path), 3)


def test_pairs_with_other_names_and_other_field_maps_are_refused(tmp_path) -> None:
    bench, two_pair = (read_study(STUDIES / f"{name}.toml") for name in ("bench", "two-pair"))
    with pytest.raises(StudyError, match=r"these differ \(main against main, rear\)"):
        path_between(bench, two_pair, 3)
    folders = [tmp_path / name for name in ("here", "there")]
    for folder in folders:
        folder.mkdir()
    ends = [study_named("profile", folder) for folder in folders]
    with pytest.raises(StudyError, match="two different field maps"):
        path_between(*ends, 3)
    assert FIELD_MAP  # both maps hold the same: it is the file that is another


@pytest.mark.parametrize("steps", [0, -1])
def test_a_path_has_a_step_at_least(steps: int) -> None:
    bench = read_study(STUDIES / "bench.toml")
    with pytest.raises(StudyError, match=f"one step or more between its ends; got {steps}"):
        path_between(bench, bench, steps)


def test_steps_lie_evenly_and_are_numbered(demo: Path) -> None:
    places = [0.0, *(step.place for step in demo.steps), 1.0]
    assert all(b - a == pytest.approx(1 / 9) for a, b in itertools.pairwise(places))
    assert [step.study.title for step in demo.steps] == [f"step {n}" for n in range(1, 9)]
