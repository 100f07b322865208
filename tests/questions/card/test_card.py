"""The card of a firing, and a firing held against it: normal laws in closed form, planted slips found."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chi2, norm

from explorer import against, card, read_study
from explorer.cli import main
from explorer.firings import Firing, Reading, firing_of
from explorer.questions.card.words import pulses
from explorer.studyfile import Amount, Instrument, StudyError

STUDIES = Path(__file__).parents[2] / "studies"
BENCH = str(STUDIES / "bench.toml")

#: Two inputs that are normal in the bench study, and how a plain model's current and thrust gain follow from them.
FIELD, THROAT = "magnet.field", "nozzle.throat_diameter"


@pytest.fixture(scope="module")
def bench():
    return read_study(BENCH)


@pytest.fixture(scope="module")
def plain(bench):
    """A linear model of normal inputs: current = 100 A/T · B, thrust gain = 10 N/m · d, no error of its own."""

    def model(values):
        one = np.ones(np.shape(values[FIELD]))
        rest = {
            "thrust": 90.0,
            "electrical_power": 1.0,
            "mass_flow": 0.045,
            "mixture_ratio": 1.95,
            "seed_fraction": 0.01,
        }
        found = {"current": 100.0 * values[FIELD], "thrust_gain": 10.0 * values[THROAT] * one}
        return found | {name: value * one for name, value in rest.items()}

    instruments = (
        Instrument("ammeter", "current", Amount(0.5), Amount(relative=0.01), range=(0.0, 50.0)),
        Instrument("cell", "thrust_gain", Amount(0.001), Amount()),
    )
    sure = replace(bench.model_error, relative=dict.fromkeys(("current", "thrust_gain"), 0.0))
    return replace(bench, instruments=instruments, firings=(), model_error=sure).calculated_by(model)


def spread_of(study, address):
    return next(item for item in study.space.inputs if item.address == address).standard_uncertainty


def test_a_band_is_that_of_the_normal_law_with_the_instrument_s_errors(plain):
    """Closed form: a sum of independent normals; the model's own error as the study states it, taken as normal here."""
    band = card(plain, rng=1).steps[0].bands[0]
    relative = plain.model_error.of("current").relative
    mean = 100.0 * plain.central()[FIELD]
    sigma = np.sqrt(
        (100.0 * spread_of(plain, FIELD)) ** 2 + 0.5**2 + (0.01 * mean) ** 2 + (relative * mean) ** 2
    )
    assert band.low == pytest.approx(mean + norm.ppf(0.025) * sigma, abs=0.25 * sigma)
    assert band.high == pytest.approx(mean + norm.ppf(0.975) * sigma, abs=0.25 * sigma)
    assert band.middle == pytest.approx(mean, abs=0.1 * sigma)
    beyond = norm.sf((50.0 - mean) / sigma) + norm.cdf((0.0 - mean) / sigma)
    assert band.beyond == pytest.approx(beyond, abs=0.04)


def test_the_chance_of_readings_is_chi_squared_s(plain):
    mean = 100.0 * plain.central()[FIELD]
    sigma = np.sqrt((100.0 * spread_of(plain, FIELD)) ** 2 + 0.5**2)
    firing = Firing(readings={"current": Reading(mean + 2.0 * sigma, 0.5)}, name="F1")
    assert against(plain, firing, rng=1).chance == pytest.approx(float(chi2.sf(4.0, 1)), rel=0.2)


def test_readings_as_predicted_need_no_explanation_and_far_ones_do(plain):
    mean = 100.0 * plain.central()[FIELD]
    fine = against(plain, Firing(readings={"current": Reading(mean, 0.5)}, name="F1"), rng=1)
    assert (fine.surprises, fine.explanations) == (False, ())
    wrong = against(plain, Firing(readings={"current": Reading(1.2 * mean, 0.5)}, name="F1"), rng=1)
    assert wrong.surprises
    assert not wrong.held[0].inside
    assert wrong.explanations[0].address == FIELD  # nothing else moves the current
    assert wrong.explanations[0].needed == pytest.approx(1.2 * mean / 100.0, rel=0.02)


def test_an_instrument_that_is_off_is_found_by_its_name(plain):
    mean = 100.0 * plain.central()[FIELD]
    steps = [
        {"name": name, "readings": {"current": Reading(1.5 * mean, 0.5, {"ammeter": 0.015 * mean})}}
        for name in ("a", "b")
    ]
    found = against(plain, firing_of({"name": "F1", "steps": steps}), rng=1)
    assert "instrument ammeter" in [own.address for own in found.explanations]


READ = {"current": Reading(0.02, 0.05, {"ammeter": 0.0002}), "exit_pressure_change": Reading(1.0, 30.0)}


def test_a_lead_that_was_off_and_no_seed_are_told_apart_on_the_stage(bench):
    settings = {"electrodes.main.source.voltage": "150 V"}
    off = against(bench, Firing(settings, READ, "F1"), rng=1)
    assert off.surprises
    assert "a lead was off" in off.explanations[0].slip
    strong = {"current": Reading(40.0, 0.05, {"ammeter": 0.4}), "exit_pressure_change": Reading(520.0, 30.0)}
    hot = against(bench, Firing(settings, strong, "F2"), rng=1)
    assert hot.surprises
    assert not any(own.slip for own in hot.explanations)  # neither slip makes more current


def test_a_card_says_what_to_set_to_read_and_when_to_stop(capsys, tmp_path):
    assert main(["card", BENCH, "--firing", "four_steps", "--out", str(tmp_path / "card"), "--all"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    for words in (
        "STOP IF",
        "LOGGERS",
        "FEED AND ENERGY",
        "An aid beside the team's own checklist",
        "CAUTION",
        "at_150_V",
    ):
        assert words in out
    sheet = (tmp_path / "card/card.txt").read_text(encoding="utf-8")
    assert "mL/min" in sheet
    found = json.loads((tmp_path / "card/summary.json").read_text(encoding="utf-8"))
    assert found["command"] == "card"
    assert len(found["readings"]) == 12


def test_where_the_supply_fixes_the_voltage_the_model_s_error_is_off_it(bench):
    meter = Instrument("voltmeter", "terminal_voltage", Amount(0.01), Amount())
    study = replace(bench, instruments=(meter,), firings=())
    band = card(study, rng=1).steps[0].bands[0]
    assert band.span < 12.0  # 150 ± 2 V less some amperes through 0.1 ohm, and not 15 % of it


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--firing", "another"], 'no firing "another" (it plans four_steps)'),
        (["--against", "F1"], "bench-firings.csv: no such file"),
        (["--against", "F1", "--firings", "nothing.csv"], "no such file"),
    ],
)
def test_what_can_t_be_asked_is_refused_in_a_sentence(capsys, tmp_path, monkeypatch, more, words):
    study = tmp_path / "bench.toml"
    study.write_text(Path(BENCH).read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["card", str(study), *more]) == 2
    err = capsys.readouterr().err
    assert words in err
    assert len(err.splitlines()) == 1


def test_a_study_without_instruments_has_no_card(bench):
    with pytest.raises(StudyError, match="lists none"):
        card(replace(bench, instruments=(), firings=()))


def test_a_firing_is_held_against_its_prediction_from_a_spreadsheet(capsys, tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text(
        "name;electrodes.main.source.voltage [V];current [A];thrust_gain [N];exit_pressure_change [mbar]\n"
        "F1;150;10,4;0,1;1,1\nF2;150;0,02;0;0\n",
        encoding="utf-8",
    )
    for name, words in (("F1", "agrees with the prediction"), ("F2", "a lead was off")):
        options = ["--against", name, "--firings", str(file), "--out", str(tmp_path / name)]
        assert main(["card", BENCH, *options]) == 0
        out, err = capsys.readouterr()
        assert err == ""
        assert words in " ".join(out.split())


def test_what_a_planned_step_sets_itself_is_said_not_to_be_changed(capsys, tmp_path):
    """Plain logic: a step's own setting stands, whatever --set says of the study."""
    given = ["--set", "electrodes.main.source.voltage=200 V", "--set", "magnet.field=0.5 T"]
    assert main(["card", BENCH, "--firing", "four_steps", *given, "--out", str(tmp_path / "card")]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "--set electrodes.main.source.voltage changes nothing in off_1" in out
    assert "--set magnet.field" not in out


def test_every_step_is_as_warm_as_the_burn_so_far():
    """Plain logic: copper that stands one second of this gas is told of as too hot after four."""
    study = read_study(STUDIES / "cold-electrodes.toml")
    found = card(study)
    seconds = np.array([step.seconds for step in found.firing.steps])
    times = [step.moment.study.central()["gas.burn_time"] for step in found.steps]
    assert times == pytest.approx(np.cumsum(seconds))
    assert times[-1] > study.central()["gas.burn_time"]
    assert found.steps[-1].warnings["electrodes_too_hot"] > found.steps[0].warnings.get(
        "electrodes_too_hot", 0.0
    )


def test_a_shunt_is_told_the_peaks_of_pulses_that_are_read_as_means():
    found = card(replace(read_study(STUDIES / "coil.toml"), firings=()))
    (peak,) = {step.peaks["main"] for step in found.steps}
    ammeter = next(band for band in found.steps[0].bands if band.quantity == "current")
    assert peak > 3.0 * abs(ammeter.middle)
    assert any("means over its pulses" in text for text in pulses(found))
