"""The table [flight]: what it holds, the study of a phase, and one sentence for whatever is wrong."""

from pathlib import Path

import pytest

from explorer import registry
from explorer.space import Uncertain
from explorer.studyfile import Study, StudyError, parse_study, phase_study, read_study, study_text

STUDIES = Path(__file__).parents[1] / "studies"
SOUNDING = (STUDIES / "sounding.toml").read_text(encoding="utf-8")
TABLE = SOUNDING[SOUNDING.index("[flight]") : SOUNDING.index("[target]")]


def with_flight(*changes: tuple[str, str]) -> Study:
    text = SOUNDING
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return parse_study(text, STUDIES)


def test_a_flight_is_read_with_its_units_and_uncertainties() -> None:
    plan = with_flight().flight
    assert plan is not None
    mass = plan.values["flight.vehicle_mass"]
    assert isinstance(mass, Uncertain)
    assert (mass.centre, mass.standard_uncertainty) == (150.0, 1.5)
    assert plan.values["flight.engine_exit_area"] == pytest.approx(0.0144)
    assert plan.values["flight.launch_velocity"] == 0.0
    assert plan.origin["flight.launch_velocity"] == "default"
    cruise, boost = plan.phases
    assert (cruise.name, cruise.start, cruise.end, cruise.mode, cruise.throttle) == (
        "cruise",
        0.0,
        35.0,
        "extraction",
        0.7,
    )
    assert cruise.settings == {"electrodes.main.source.resistance": "2 ohm"}
    assert (boost.duration, boost.mode, boost.throttle, dict(boost.settings)) == (
        10.0,
        "acceleration",
        1.0,
        {},
    )
    assert plan.has_extraction
    assert plan.has_acceleration


def test_a_study_without_the_table_has_no_flight() -> None:
    assert read_study(STUDIES / "bench.toml").flight is None
    assert "flight" not in read_study(STUDIES / "bench.toml").as_resolved()


def test_the_vehicle_is_no_input_of_the_stage() -> None:
    """So that no other command draws it, and its hash changes with it all the same."""
    study = with_flight()
    assert not any(address.startswith("flight.") for address in study.central())
    heavier = study.replaced({"flight.vehicle_mass": "160 kg"})
    assert heavier.study_hash != study.study_hash
    assert heavier.flight is not None
    assert heavier.flight.values["flight.vehicle_mass"] == 160.0
    assert "vehicle mass is now taken as exactly 160 kg" in heavier.notes


def test_a_phase_in_the_other_mode_has_that_modes_source() -> None:
    study = with_flight()
    assert study.flight is not None
    cruise, boost = (phase_study(study, phase) for phase in study.flight.phases)
    assert (cruise.mode, cruise.choices["electrodes.main.source.kind"]) == ("extraction", "load")
    assert cruise.central()["electrodes.main.source.resistance"] == 2.0
    assert "electrodes.main.source.voltage" not in cruise.central()
    assert (boost.mode, boost.choices["electrodes.main.source.kind"]) == ("acceleration", "supply")
    assert (
        boost.central()["electrodes.main.source.voltage"] == study.central()["electrodes.main.source.voltage"]
    )
    assert boost.central()["ambient.pressure"] == 0.0
    assert boost.flight is None


def test_a_study_that_is_like_another_states_only_what_differs_of_the_flight(tmp_path: Path) -> None:
    (tmp_path / "sounding.toml").write_text(SOUNDING, encoding="utf-8")
    child = tmp_path / "child.toml"
    child.write_text('like = "sounding.toml"\n[flight]\nvehicle_mass = "120 kg"\n', encoding="utf-8")
    plan = read_study(child).flight
    assert plan is not None
    assert plan.values["flight.vehicle_mass"] == 120.0
    assert [phase.name for phase in plan.phases] == ["cruise", "boost"]


def test_a_flight_is_written_and_read_again() -> None:
    study = with_flight()
    assert parse_study(study_text(study), STUDIES).study_hash == study.study_hash


def test_the_vehicles_inputs_stand_apart_in_the_registry() -> None:
    addresses = {quantity.address for quantity in registry.FLIGHT_INPUTS}
    assert not addresses & {quantity.address for quantity in registry.INPUTS}
    for quantity in registry.FLIGHT_INPUTS:
        assert registry.quantity(quantity.address) is quantity
        assert quantity.sentence.endswith(".")
    for quantity in registry.FLIGHT_OUTPUTS:
        assert registry.entry(quantity.address) is quantity
        assert quantity.address not in {output.address for output in registry.OUTPUTS}


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("150 ± 1.5 kg", "-150 kg", "flight.vehicle_mass: must be above 0 kg; got -150 kg"),
        ("150 ± 1.5 kg", "150 mm", "flight.vehicle_mass: expected a mass, got 150 mm"),
        ('vehicle_mass = "150 ± 1.5 kg"', "", 'missing key "flight.vehicle_mass"'),
        ("vehicle_mass", "vehicle_mas", 'unknown key "flight.vehicle_mas": did you mean "vehicle_mass"?'),
        ("4.40 ± 0.02 kN", "0 kN", "flight.engine_thrust: must be above 0 kN"),
        ("200 ± 30 cm^2", "-1 cm^2", "flight.drag_area: must be 0 cm^2 or more"),
        (
            'start = "35 s"',
            'start = "30 s"',
            "flight.phase boost: starts at 30 s, before cruise ends at 35 s",
        ),
        (
            'end = "35 s"',
            'end = "0 s"',
            "flight.phase cruise: ends at 0 s, which is not after its start at 0 s",
        ),
        ('end = "45 s"', 'end = "45 m"', "flight.phase boost: end: expected a time"),
        ("throttle = 0.7", "throttle = 1.2", "flight.phase cruise: throttle: must be between 0 and 1"),
        ('name = "boost"', 'name = "cruise"', 'flight.phase "cruise" stands twice'),
        ('name = "boost"', 'name = "Boost!"', 'flight.phase "Boost!": a name has small letters'),
        (
            'mode = "extraction"\nthrottle',
            'mode = "extracting"\nthrottle',
            'flight.phase cruise: unknown mode "extracting": did you mean "extraction"?',
        ),
        (
            'mode = "extraction"\nthrottle',
            'mode = "off"\nthrottle',
            "flight.power_wanted: no phase takes power out",
        ),
        (
            "electrodes.main.source.resistance",
            "gas.chamber_pressure",
            "flight.phase cruise: settings gas.chamber_pressure: write throttle",
        ),
        (
            "electrodes.main.source.resistance",
            "ambient.altitude",
            "flight.phase cruise: settings ambient.altitude: the ascent sets the pressure",
        ),
        (
            "electrodes.main.source.resistance",
            "electrodes.main.source.kind",
            "flight.phase cruise: settings electrodes.main.source.kind: the mode decides it",
        ),
        (
            "electrodes.main.source.resistance",
            "flight.drag_area",
            "flight.phase cruise: settings flight.drag_area: belongs to the vehicle",
        ),
    ],
)
def test_what_is_wrong_is_told_in_one_sentence(old: str, new: str, words: str) -> None:
    with pytest.raises(StudyError) as caught:
        with_flight((old, new))
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_flight_needs_a_phase() -> None:
    without = TABLE[: TABLE.index("# The long part")]
    with pytest.raises(StudyError, match="flight: needs at least one"):
        parse_study(SOUNDING.replace(TABLE, f"{without}\n"), STUDIES)


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ('"electrodes.main.source.resistans" = "2 ohm"', "flight.phase cruise: .*did you mean"),
        ('"electrodes.main.source.resistance" = "2 V"', "flight.phase cruise: .*expected a resistance"),
        (
            '"magnet.field" = "0.4 T"',
            r"flight.phase cruise: missing key .*source.resistance.*: a load has one",
        ),
    ],
)
def test_a_phase_that_does_not_fit_is_told_with_its_name(settings: str, words: str) -> None:
    study = with_flight(('"electrodes.main.source.resistance" = "2 ohm"', settings))
    assert study.flight is not None
    with pytest.raises(StudyError, match=words):
        phase_study(study, study.flight.phases[0])


@pytest.mark.parametrize(
    "table",
    [
        '[vary]\n"flight.vehicle_mass" = "100 .. 200 kg"\n',
        '[[correlation]]\nbetween = ["flight.vehicle_mass", "magnet.field"]\nrank = 0.5\n',
        '[[measurement]]\nname = "scale"\nhours = 1\npins = { "flight.vehicle_mass" = "0.1 kg" }\n',
    ],
)
def test_what_asks_the_stage_knows_nothing_of_the_vehicle(table: str) -> None:
    with pytest.raises(
        StudyError, match=r'"flight.vehicle_mass" belongs to the vehicle, and only a flight knows it'
    ):
        parse_study(f"{SOUNDING.partition('[vary]')[0]}\n{table}", STUDIES)
