"""Flights with and without the stage: what is shared, what is counted, where acceleration pays, what is refused."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from explorer import sampling
from explorer.physics.atmosphere import standard_atmosphere
from explorer.questions.flight.break_even import root
from explorer.questions.flight.exhaust import fastest_exhaust
from explorer.questions.flight.figures import STEPS, verdict
from explorer.questions.flight.flight import NoFlight, flight
from explorer.questions.flight.model import stage_in_flight
from explorer.questions.flight.space import error_name, flight_space
from explorer.questions.solve.point import solve
from explorer.sampling import Purpose
from explorer.study.engine import Stage
from explorer.studyfile import StudyError, parse_study, phase_study, read_study

STUDIES = Path(__file__).parents[2] / "studies"
SOUNDING = (STUDIES / "sounding.toml").read_text(encoding="utf-8")
SMALL = 512

#: An acceleration that pays: a magnet of next to no mass, and a store and supply nearly as light.
LIGHT = {
    "mass.magnet": "1 g",
    "mass.electrode_thickness": "0 mm",
    "mass.wall_thickness": "0 mm",
    "mass.supply_specific_power": "1e4 kW/kg",
    "mass.store_specific_energy": "1e5 Wh/kg",
}


def sounding(**changes):
    """The sounding rocket's study with texts in it replaced: {old: new}."""
    text = SOUNDING
    for old, new in changes.get("texts", {}).items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return parse_study(text, STUDIES, changes.get("settings", {}))


@pytest.fixture(scope="module")
def study():
    return sounding()


@pytest.fixture(scope="module")
def found(study):
    return flight(study, samples=SMALL, rng=3)


@pytest.fixture(scope="module")
def light():
    return flight(sounding(settings=LIGHT), samples=SMALL, rng=3)


def centre(table, row, *column):
    return float(table.loc[row, (*column, "centre") if column else "centre"])


# What the stage does in a phase.


def stage_at_centre(study):
    space = flight_space(study)
    return space, stage_in_flight(space.scenarios(np.empty((0, space.space.dimension))))


def test_thrust_between_vacuum_and_sea_level_is_what_the_stage_model_gives(study):
    """Asked at altitudes in between it lies on the line; a stage asked by itself has a gas table of its own."""
    _, stage = stage_at_centre(study)
    air = np.append(standard_atmosphere([0.0, 3e3, 15e3, 40e3]).pressure, 0.0)
    for phase in stage.phases:
        at = phase_study(study, phase.phase)
        pressure = phase.phase.throttle * study.central()["gas.chamber_pressure"]
        model = Stage(at, ["thrust"], samples={"gas.chamber_pressure": [pressure]})
        thrust = model({"gas.chamber_pressure": pressure, "ambient.pressure": air})["thrust"]
        line = thrust[-1] + (thrust[0] - thrust[-1]) * air / air[0]
        np.testing.assert_allclose(thrust, line, rtol=1e-12)
        told = phase.open_thrust[0] + phase.gain[0] - air * phase.exit_area[0]
        np.testing.assert_allclose(thrust, told, rtol=1e-4)


def test_the_exit_area_is_the_channels_outlet_times_the_area_ratio(study):
    _, stage = stage_at_centre(study)
    central = study.central()
    area = central["channel.gap_out"] * central["channel.width_out"] * central["exit.area_ratio"]
    for phase in stage.phases:
        assert phase.exit_area[0] == pytest.approx(area, rel=1e-6)


def test_the_plain_engine_follows_the_chamber(study):
    """At the study's own point it is what was stated; its flow is in proportion to the chamber pressure (c* nearly)."""
    _, stage = stage_at_centre(study)
    cruise, boost = stage.phases
    assert boost.engine_thrust[0] == pytest.approx(4400.0, rel=1e-4)
    assert boost.engine_flow[0] == pytest.approx(1.5, rel=1e-4)
    assert cruise.engine_flow[0] / boost.engine_flow[0] == pytest.approx(0.7, rel=0.01)
    assert cruise.engine_flow[0] / boost.engine_flow[0] == pytest.approx(
        cruise.flow[0] / boost.flow[0], rel=1e-9
    )


def test_what_moves_the_chamber_moves_both_vehicles_alike(found):
    """So the difference knows less of the chamber than either apogee does."""
    spread = found.differences.loc["propellant", ("with", "standard_uncertainty")]
    assert spread < 0.01 * found.compared.loc["propellant", ("with", "standard_uncertainty")]


def test_power_taken_out_and_put_in_have_their_signs_and_masses(study):
    _, stage = stage_at_centre(study)
    out, into = (float(phase.power[0]) for phase in stage.phases)
    assert out < 0.0 < into
    assert stage.energy_out[0] == pytest.approx(-35.0 * out)
    assert stage.energy_in[0] == pytest.approx(10.0 * into)
    assert stage.supply_mass[0] == pytest.approx(into / study.central()["mass.supply_specific_power"])
    assert stage.store_mass[0] == pytest.approx(10.0 * into / study.central()["mass.store_specific_energy"])
    point = solve(study)
    hardware = sum(
        point.quantities[name] for name in ("magnet_mass", "yoke_mass", "electrode_mass", "channel_mass")
    )
    assert stage.hardware_mass[0] == pytest.approx(hardware, rel=1e-9)


def test_an_open_circuit_gives_neither_gain_nor_power():
    text = {'mode = "extraction"\n': 'mode = "off"\n', 'power_wanted = "300 W"\n': "", _SETTINGS: ""}
    _, stage = stage_at_centre(sounding(texts=text))
    assert (stage.phases[0].gain[0], stage.phases[0].power[0]) == (0.0, 0.0)
    assert stage.phases[1].power[0] > 0.0


_SETTINGS = 'settings = { "electrodes.main.source.resistance" = "2 ohm" }\n'


# The space of scenarios.


def test_a_scenario_is_the_same_in_every_phase_but_for_what_a_phase_sets(study):
    space = flight_space(study)
    names = {row.address for row in space.space.rows}
    assert {"flight.vehicle_mass", "mass.magnet", error_name("thrust_gain")} <= names
    assert "ambient.altitude" not in names  # the ascent sets it
    cube = sampling.sample_plan(1, space.space.dimension, 64, purpose=Purpose.FLIGHT).points(0, 0)
    scenarios = space.scenarios(cube)
    cruise, boost = (scenarios.of_phase(number) for number in (0, 1))
    assert "electrodes.main.source.voltage" in boost
    assert "electrodes.main.source.voltage" not in cruise  # a load has none
    for address in cruise:
        assert np.array_equal(cruise[address], boost[address])


def test_what_a_phase_sets_with_an_uncertainty_is_its_own_row():
    changed = sounding(texts={"2 ohm": "2.0 ± 0.1 ohm"})
    own = "cruise: electrodes.main.source.resistance"
    space = flight_space(changed)
    assert own in {row.address for row in space.space.rows}
    scenarios = space.scenarios(np.full((3, space.space.dimension), 0.9))
    assert scenarios.of_phase(0)["electrodes.main.source.resistance"] is scenarios.drawn[own]
    assert scenarios.of_phase(1)["electrodes.main.source.resistance"] is not scenarios.drawn[own]


def test_the_central_scenario_is_that_of_the_study_with_a_model_that_is_right(study):
    space = flight_space(study)
    scenarios = space.scenarios(np.full((1, space.space.dimension), 0.1))
    assert scenarios.drawn["magnet.field"][0] == study.central()["magnet.field"]
    assert scenarios.drawn[error_name("thrust_gain")][0] == 1.0


# The whole flight.


def test_the_steps_add_up_to_the_difference(found):
    for quantity in ("apogee", "burnout_velocity", "impulse"):
        steps = sum(centre(found.steps, step, quantity) for step in STEPS)
        whole = centre(found.compared, quantity, "with") - centre(found.compared, quantity, "without")
        assert steps == pytest.approx(whole, rel=1e-9)


def test_extraction_costs_and_acceleration_brings_impulse(found):
    """Thrust gain × duration, both phases' own."""
    assert centre(found.steps, "extraction", "impulse") < 0.0 < centre(found.steps, "acceleration", "impulse")
    _, stage = stage_at_centre(found.study)
    gained = stage.phases[1].gain[0] * stage.phases[1].phase.duration
    # the vehicle with the current on is a little higher up, where the air presses less on the exit
    assert centre(found.steps, "acceleration", "impulse") == pytest.approx(gained, rel=0.02)


def test_the_sounding_rockets_stage_does_not_pay_and_is_told_so(found):
    assert found.verdict == "doesn't pay"
    assert float(found.chance.value) == 0.0
    assert found.differences.loc["apogee", ("with", "verdict")] == "smaller"
    assert found.stage.loc["break_even_specific_power", "missing"] == 1.0
    assert found.stage.loc["payable_mass", "mean"] < 0.1


def test_a_stage_of_next_to_no_mass_is_worth_its_gain_alone(light):
    """The must-differ twin: then the break-even figures are finite and lie below what is stated."""
    assert light.stage.loc["carried_mass", "mean"] < light.stage.loc["payable_mass", "mean"]
    for name, stated in (
        ("break_even_specific_power", "mass.supply_specific_power"),
        ("break_even_specific_energy", "mass.store_specific_energy"),
    ):
        assert light.stage.loc[name, "missing"] < 0.05
        assert light.stage.loc[name, "high"] < light.study.central()[stated]
    assert light.stage.loc["break_even_gain", "high"] < 1.0


def test_at_the_specific_power_found_acceleration_just_pays(light):
    """Stated in the study, it gives a factor of one: the current with its mass against neither."""
    power = centre(light.stage, "break_even_specific_power")
    settings = {**LIGHT, "mass.supply_specific_power": f"{power!r} W/kg"}
    again = flight(sounding(settings=settings), samples=SMALL, rng=3)
    assert centre(again.stage, "break_even_gain") == pytest.approx(1.0, rel=2e-3)
    energy = again.stage.loc["break_even_specific_energy", "centre"]
    assert energy == pytest.approx(light.study.central()["mass.store_specific_energy"], rel=0.1)


def test_payable_mass_is_the_gain_over_the_cost_of_mass(light):
    """To first order: height that the gain brings over height that a kilogram costs, both at the same start."""
    payable = centre(light.stage, "payable_mass")
    brought = centre(light.steps, "acceleration", "apogee")
    cost = -centre(light.steps, "mass", "apogee") / centre(light.stage, "carried_mass")
    assert payable == pytest.approx(brought / cost, rel=0.05)


@pytest.mark.slow
def test_the_same_number_gives_the_same_flight_for_any_number_of_threads(study, found):
    again = flight(study, samples=SMALL, rng=3, jobs=2)
    other = flight(study, samples=SMALL, rng=0, jobs=2)  # zero is a number like any other
    assert again.compared.equals(found.compared)
    assert again.stage.equals(found.stage)
    assert not other.compared.equals(found.compared)
    assert other.random_number == 0


def test_sampling_errors_hold_the_figures_of_a_larger_sample(study, found):
    large = flight(study, samples=2048, rng=5)
    for name in ("apogee", "burnout_velocity"):
        small, whole = found.differences.loc[name, "with"], large.differences.loc[name, "with"]
        error = np.hypot(small["mean_standard_error"], whole["mean_standard_error"])
        assert abs(small["mean"] - whole["mean"]) < 5.0 * error
        assert whole["mean_standard_error"] < small["mean_standard_error"]


def test_what_drives_the_difference_is_shared_out(found):
    table = found.drivers["apogee"]
    assert table["first"].is_monotonic_decreasing
    assert 0.6 < table["first"].sum() < 1.2
    assert "flight.vehicle_mass" in set(table["address"].head(6))
    assert set(found.drivers) == {"apogee", "payable_mass"}
    assert found.drivers["payable_mass"]["address"].iloc[0] == error_name("thrust_gain")


def test_curves_end_at_the_apogee_and_bands_hold_them(found):
    for case in ("without", "with"):
        curve = found.curves[case]
        assert curve["altitude"].iloc[-1] == pytest.approx(centre(found.compared, "apogee", case))
        assert curve["velocity"].iloc[-1] == 0.0
        told = curve.dropna()
        assert len(told) > 100
        assert (told["altitude_low"] <= told["altitude"]).all()
        assert (told["altitude"] <= told["altitude_high"]).all()


def test_power_wanted_is_reached_as_often_as_it_is(found):
    much = flight(sounding(settings={"flight.power_wanted": "5 kW"}), samples=SMALL, rng=3).chance_of_power
    assert float(much.value) == 0.0
    assert 0.6 < float(found.chance_of_power.value) < 0.9  # of 300 W against 430 ± 160 W


def test_a_flight_without_acceleration_has_nothing_to_break_even():
    texts = {'mode = "acceleration"\n\n[target]': 'mode = "off"\n\n[target]', 'power_wanted = "300 W"\n': ""}
    off = flight(sounding(texts=texts), samples=SMALL)
    assert off.chance_of_power is None
    assert np.isnan(off.stage.loc["payable_mass", "mean"])
    assert off.stage.loc["energy_in", "mean"] == 0.0
    assert centre(off.steps, "acceleration", "apogee") == 0.0
    assert set(off.drivers) == {"apogee"}


def test_low_down_the_flow_separates_at_the_large_exit(found):
    low = flight(sounding(settings={"flight.launch_altitude": "5 km", "mass.magnet": "10 kg"}), samples=SMALL)
    assert low.separations["cruise"].share == 1.0
    exit_pressure = stage_at_centre(low.study)[1].phases[0].exit_pressure[0]
    up_to = low.separations["cruise"].up_to
    assert standard_atmosphere(up_to).pressure * 0.4 == pytest.approx(exit_pressure, rel=0.1)
    assert not found.separations  # the must-differ twin, higher up


# Scenarios that don't fly.


def test_scenarios_that_the_stage_keeps_on_the_pad_count_as_not_paying():
    heavy = flight(sounding(settings={"mass.magnet": "100 ± 12 kg"}), samples=SMALL)
    assert 0.0 < heavy.outcomes.loc["never_left", "with"] < 0.9
    assert heavy.outcomes.loc["never_left", "without"] == 0.0
    assert heavy.outcomes["with"].sum() == pytest.approx(1.0)
    missing = heavy.compared.loc["apogee", ("with", "missing")]
    assert missing == pytest.approx(heavy.outcomes.loc["never_left", "with"])
    assert heavy.differences_of_apogee.size == pytest.approx((1 - missing) * SMALL)


def test_a_vehicle_that_never_leaves_the_pad_is_refused():
    with pytest.raises(
        StudyError,
        match="without the stage the vehicle doesn't rise when its engine starts: its thrust there",
    ):
        flight(sounding(settings={"flight.vehicle_mass": "600 kg"}), samples=SMALL)


def test_a_vehicle_that_falls_back_between_phases_is_refused():
    late = {'start = "35 s"': 'start = "400 s"', 'end = "45 s"': 'end = "410 s"'}
    with pytest.raises(
        StudyError, match="without the stage the vehicle falls back before its last phase ends"
    ):
        flight(sounding(texts=late), samples=SMALL)


def test_a_stage_that_keeps_the_vehicle_on_the_pad_does_not_pay():
    with pytest.raises(
        NoFlight,
        match=r"with the stage the vehicle doesn't rise when its engine starts.*the stage doesn't pay",
    ):
        flight(sounding(settings={"mass.magnet": "400 kg"}), samples=SMALL)


def test_more_propellant_than_the_vehicle_weighs_is_refused():
    with pytest.raises(
        StudyError, match=r"the phases burn 5\d.* kg of propellant, and the vehicle weighs 40 kg"
    ):
        flight(sounding(settings={"flight.vehicle_mass": "40 kg"}), samples=SMALL)


def test_a_stage_without_numbers_is_told_with_its_phase():
    with pytest.raises(NoFlight, match="no number in the phase cruise: choked"):
        flight(sounding(settings={"channel.gap_out": "25 mm"}), samples=SMALL)


# Refusals before anything is computed.


def test_a_study_without_a_flight_is_told_so():
    with pytest.raises(StudyError, match="this study has no flight"):
        flight(read_study(STUDIES / "bench.toml"))


def test_a_magnet_that_nobody_weighed_is_asked_for():
    with pytest.raises(StudyError, match=r"missing key \"mass.magnet\": a flight carries the magnet"):
        flight(sounding(texts={'magnet = "62 ± 5 kg"\n': ""}))


def test_too_few_scenarios_are_refused(study):
    with pytest.raises(StudyError, match="too few for an interval: ask for 512 or more"):
        flight(study, samples=100)


def test_a_phase_that_lacks_what_its_mode_needs_is_named():
    with pytest.raises(StudyError, match=r"flight.phase cruise: missing key .*resistance"):
        flight(sounding(texts={_SETTINGS: ""}))


# The parts.


def test_a_root_is_found_side_by_side_and_missing_where_there_is_none():
    goal = np.array([2.0, 3.0, -1.0])
    found = root(lambda x: np.where(x**2 >= 0, x**2, np.nan), goal, np.full(3, 1.0), np.full(3, 1.5))
    np.testing.assert_allclose(found[:2], np.sqrt(goal[:2]), rtol=1e-6)
    assert np.isnan(found[2])


def test_verdicts_follow_the_chance_beyond_its_sampling_error(found):
    def chance(low, high):
        return replace(found.chance, low=np.float64(low), high=np.float64(high))

    assert verdict(chance(0.98, 0.99)) == "pays"
    assert verdict(chance(0.0, 0.02)) == "doesn't pay"
    for low, high in ((0.96, 0.99), (0.01, 0.03), (0.4, 0.6)):
        assert verdict(chance(low, high)) == "not decided"


def test_phases_stand_in_their_order(study):
    assert all(first.end <= second.start for first, second in pairwise(study.flight.phases))


def test_an_exhaust_faster_than_the_propellants_heat_allows_is_refused_with_both_speeds():
    """30 kN from 1.5 kg/s is 20 km/s; the study's own 2.9 km/s passes."""
    fast = sounding(settings={"flight.engine_thrust": "30 kN"})
    with pytest.raises(StudyError, match=r"exhaust at 20000 m/s.*would give 4\d\d\d m/s at the most"):
        flight(fast, samples=SMALL)


def test_the_fastest_exhaust_of_hydrogen_and_oxygen_is_its_heat_of_reaction():
    """241.83 kJ/mol of water vapour (standard tables), 18.015 g/mol, stoichiometric and unseeded: 5182 m/s."""
    changes = {"gas.fuel": "hydrogen", "gas.mixture_ratio": 7.937, "gas.seed": "none"}
    speed = fastest_exhaust(sounding().replaced(changes))
    assert speed == pytest.approx((2 * 241.83e3 / 18.015e-3) ** 0.5, rel=1e-3)
