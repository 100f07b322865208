"""A flight in words, tables and data: the verdict first, then what would have to change."""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from questions.pages import csv_of, envelope_of, json_of, page_of, printed, sentences, table

from explorer.analysis.scrambles import Estimate
from explorer.page.answer import Answer
from explorer.page.document import Paragraph
from explorer.questions.flight import answer
from explorer.questions.flight.flight import Flight, flight, quantity_of
from explorer.questions.flight.paths import Separation
from explorer.study.contrasts import Figures
from explorer.studyfile import parse_study, read_study

STUDIES = Path(__file__).parents[2] / "studies"
BANNED = ("sobol", "index", "indices", "variance", "scramble", "posterior")


@pytest.fixture(scope="module")
def found() -> Flight:
    return flight(read_study(STUDIES / "sounding.toml"), samples=512)


@pytest.fixture(scope="module")
def light() -> Flight:
    """With masses so small that acceleration pays for them."""
    light = {
        "mass.magnet": "1 g",
        "mass.electrode_thickness": "0 mm",
        "mass.wall_thickness": "0 mm",
        "mass.supply_specific_power": "1e4 kW/kg",
        "mass.store_specific_energy": "1e5 Wh/kg",
    }
    return flight(read_study(STUDIES / "sounding.toml", light), samples=512)


def number(value: float) -> Estimate:
    return Estimate(*[np.asarray(value)] * 4, np.asarray([value]))


def with_figures(own: Figures, **figures: float) -> Figures:
    return replace(own, **{name: number(value) for name, value in figures.items()})


def told(found: Flight) -> Answer:
    return answer.told(found, envelope_of("flight"))


def plain_words(found: Flight) -> list[str]:
    """What is said in plain words, the warnings left out."""
    (plain,) = (section for section in told(found).sections if section.title == "In plain words")
    return [part.text for part in plain.parts if isinstance(part, Paragraph) and not part.marked]


def beginning(said: Sequence[str], *words: str) -> str | None:
    return next((sentence for sentence in said if sentence.startswith(words)), None)


def break_even_words(found: Flight) -> str:
    return beginning(plain_words(found), "Acceleration pays for", "What mass acceleration") or ""


def change_words(found: Flight) -> str:
    """What follows what acceleration pays for."""
    said = plain_words(found)
    return said[said.index(break_even_words(found)) + 1]


def drivers_words(found: Flight) -> str | None:
    return beginning(plain_words(found), "The difference in apogee depends")


def warnings_of(found: Flight) -> list[str]:
    warnings: list[str] = json_of(told(found))["warnings"]
    return warnings


def test_the_verdict_comes_first_with_its_interval_and_chance(found: Flight) -> None:
    apogee = found.figures["apogee"]
    less = {"mean": -34_500.0, "standard_uncertainty": 2_800.0, "low": -40_300.0, "high": -29_100.0}
    changed = replace(
        apogee,
        without=with_figures(apogee.without, mean=55_100.0, standard_uncertainty=3_100.0),
        whole=with_figures(apogee.whole, mean=20_600.0, standard_uncertainty=1_700.0),
        difference=with_figures(apogee.difference, **less),
    )
    assert plain_words(replace(found, figures={**found.figures, "apogee": changed}))[0] == (
        "The stage doesn't pay. With it the apogee is 20.6 ± 1.7 km instead of 55.1 ± 3.1 km: 34.5 ± 2.8 km less (one"
        " standard uncertainty), 19 times in 20 a difference between -40.3 and -29.1 km. Chance of flying higher"
        " with the"
        " stage: 0 % (no scenario of 512 does)."
    )


@pytest.mark.parametrize(
    ("verdict", "share", "words"),
    [
        ("pays", 1.0, "The stage pays. With it .* km more .*: 100 % (every scenario of 512 does)."),
        ("not decided", 0.62, "Whether the stage pays is not decided. With it .*: 62 % (sampling ± 1 %)."),
    ],
)
def test_other_verdicts_are_as_plain(found: Flight, verdict: str, share: float, words: str) -> None:
    error = 0.0 if share == 1.0 else 0.01
    chance = replace(found.chance, value=np.asarray(share), standard_error=np.asarray(error))
    apogee = found.figures["apogee"]
    more = with_figures(apogee.difference, mean=900.0, standard_uncertainty=1_300.0)
    figures = {**found.figures, "apogee": replace(apogee, difference=more)}
    changed = replace(found, verdict=verdict, chance=chance, figures=figures)  # type: ignore[arg-type]
    assert re.fullmatch(words.replace("(", r"\(").replace(")", r"\)"), plain_words(changed)[0])


def test_where_it_does_not_pay_it_is_said_what_would_have_to_change(found: Flight) -> None:
    words = change_words(found)
    assert words.startswith("To pay, magnet, electrodes, channel, supply and store together must weigh")
    assert "the thrust gain, at the same power and mass, must be" in words
    assert "Even without its mass the stage changes the apogee by" in words
    assert "If the power taken out removed all drag, the difference would be" in words


def test_where_no_finite_value_would_do_that_is_said_with_the_masses(found: Flight) -> None:
    words = break_even_words(found)
    assert re.match(
        r"Acceleration pays for 0\.03\d\d ± 0\.00\d\d kg at most; the magnet alone weighs 62", words
    )
    assert "No specific power of the supply or specific energy of the store is high enough" in words


def test_a_finite_break_even_is_told_against_what_is_stated(light: Flight) -> None:
    words = break_even_words(light)
    assert "is high enough" not in words
    for what, stated in (
        ("specific power of the supply", "10000 kW/kg"),
        ("specific energy of the store", "100000"),
    ):
        assert re.search(
            rf"breaks even at a {what} of [\d.]+ k?Wh?/kg \(median; 19 times in 20 between", words
        )
        assert stated in words


def test_a_current_that_costs_height_pays_for_nothing(found: Flight) -> None:
    worse = with_figures(found.of_stage["payable_mass"], mean=-0.2, low=-0.4, high=-0.05)
    changed = replace(found, of_stage={**found.of_stage, "payable_mass": worse})
    assert break_even_words(changed).startswith("Acceleration pays for no mass at all")
    assert not change_words(changed).startswith("To pay")


def test_a_stage_that_pays_is_told_what_there_is_to_spend(light: Flight) -> None:
    assert change_words(replace(light, verdict="pays")).startswith("Without its mass the stage would add")


def test_energies_are_told_with_what_a_store_would_weigh(found: Flight) -> None:
    taken, put = plain_words(found)[2:4]
    assert re.match(r"Taken out: 480 ± 1\d0 W, 1\d.* kJ in all\. The 300 W required are there in 8\d", taken)
    assert "A store and supply that give the same weigh" in taken
    assert re.match(r"Put in: 4\d.* kW, 4\d\d ± \d+ kJ in all", put)
    assert "N s of apogee, burn-out velocity and impulse" in put


def test_small_heights_are_told_in_metres(found: Flight) -> None:
    apogee = found.figures["apogee"]
    small = with_figures(apogee.without, mean=5.9, standard_uncertainty=1.3)
    large = with_figures(apogee.whole, mean=5_900.0, standard_uncertainty=1_300.0)
    figures = {**found.figures, "apogee": replace(apogee, without=small, whole=large)}
    rows = table(told(replace(found, figures=figures)), "With and without the stage")
    assert rows[1] == ("apogee", "5.9 ± 1.3 m", "5.9 ± 1.3 km")
    assert " m with power put in." in plain_words(found)[1]


def test_plain_words_keep_to_the_trades_words(found: Flight) -> None:
    words = " ".join((*plain_words(found), *warnings_of(found))).lower()
    assert not [word for word in BANNED if word in words]


def test_what_it_hangs_on_is_named_largest_first(found: Flight) -> None:
    words = drivers_words(found)
    assert words is not None
    assert re.match(r"The difference in apogee depends most on chamber pressure \(\d+ %\)", words)
    assert "The mass that acceleration pays for depends most on the model itself: thrust gain" in words
    assert drivers_words(replace(found, driven={})) is None


def test_scenarios_that_do_not_fly_are_counted_aloud(found: Flight) -> None:
    ends = {name: {**shares, "no_number": 0.03} for name, shares in found.ends.items()}
    ends["with"]["never_left"] = 0.12
    words = warnings_of(replace(found, ends=ends))
    assert words[0].startswith(
        "In 3 % of the scenarios the stage carries no number; they are left out and counted"
    )
    assert words[1] == (
        "In 12 % of the scenarios the vehicle doesn't rise when its engine starts with the stage; that counts as not"
        " paying, and has no apogee."
    )


def test_separation_and_a_flow_that_does_not_fit_are_warned_of(found: Flight) -> None:
    separations = {"cruise": Separation(share=0.9, up_to=8_000.0)}
    words = " ".join(warnings_of(replace(found, separations=separations, flow_ratio=0.8)))
    assert "In cruise the flow likely separates at the stage's exit up to 8 km at central values" in words
    assert "The plain engine's flow is 80 % of what the stage model burns" in words
    assert "separates" not in " ".join(warnings_of(found))
    assert "plain engine's flow" not in " ".join(warnings_of(found))


def test_an_exhaust_unlike_the_stage_s_own_is_warned_of_with_both_speeds(found: Flight) -> None:
    study = found.study
    # 5.7 kN from 1.5 kg/s is 3800 m/s, which all the heat allows and the stage's own nozzle doesn't give.
    fast = flight(study.replaced({"flight.engine_thrust": "5.7 kN"}), samples=512)
    words = " ".join(warnings_of(fast))
    assert re.search(
        r"exhaust leaves at 3800 m/s in vacuum .* its circuit open at 29\d\d m/s: 1\.2\d to 1\.3\d times",
        words,
    )
    slow = flight(study.replaced({"flight.engine_thrust": "3.3 kN"}), samples=512)
    assert "exhaust leaves at 2200 m/s" in " ".join(warnings_of(slow))
    # The study's own 2933 m/s, and one that is so uncertain that it may be the stage's, pass.
    unsure = flight(study.replaced({"flight.engine_thrust": "4.8 ± 0.4 kN"}), samples=512)
    assert "exhaust leaves" not in " ".join([*warnings_of(unsure), *warnings_of(found)])


def test_warnings_of_the_stage_are_told_with_their_phase(found: Flight) -> None:
    share = r"in boost \(5\d % of flights\)"
    assert any(
        re.match(f"Current density above the diffuse limit {share}", words) for words in warnings_of(found)
    )


STEPS = ["the channel in place of the plain nozzle", "the stage's mass", "power taken out", "power put in"]


def test_tables_hold_every_quantity_with_units(found: Flight) -> None:
    said = told(found)
    _, *rows = table(said, "With and without the stage")
    assert [row[0] for row in rows] == [quantity_of(name).words for name in found.compared.index]
    assert all(re.search(r" (km|m/s|kN s|kg)", cell) for row in rows for cell in row[1:])
    _, *less = table(said, "With and without the stage", 1)
    assert all(re.search(r" (km|m/s|N s|kg) \(sampling ±", row[1]) for row in less)
    assert [row[0] for row in table(said, "Where the difference comes from")[1:]] == STEPS
    assert table(said, "Break-even")[2] == ("break-even specific power", "none", "", "100 %")


def test_the_smallest_rows_are_counted_not_printed(found: Flight) -> None:
    title = "What drives the difference in apogee"
    _, *rows = table(told(found), title)
    left = re.search(r"(\d+) more carry less than 1 % each", sentences(told(found), title))
    assert left is not None
    assert len(rows) + int(left[1]) == len(found.drivers["apogee"])
    assert rows[0][3] == "█" * 10


def test_the_report_reads_as_text_and_as_a_page_with_its_caution(found: Flight) -> None:
    text = printed(told(found))
    assert max(len(line) for line in text.splitlines()) < 100  # an address is not broken
    assert "FLIGHT NEEDS" not in text
    words = " ".join(text.split())
    assert "Flight needs range safety, clearance of the airspace and people licensed for it" in words
    assert "up to 81 km and no air above it" in words
    html = page_of(told(found))
    assert html.count("<svg") == 4
    assert html.count("Local codes, range rules and licensed practice come first") == 1


def test_json_keeps_intervals_and_sampling_errors_apart(found: Flight) -> None:
    content = json_of(told(found))
    assert content["verdict"] == "doesn't pay"
    apogee = content["compared"]["apogee"]
    assert apogee["unit"] == "m"
    for case in ("without", "with", "difference"):
        low, high = apogee[case]["interval_95"]
        assert low < apogee[case]["mean"] < high
        assert apogee[case]["standard_error"]["mean"] < 0.05 * (high - low)
    assert content["stage"]["break_even_specific_power"]["mean"] is None  # no number, not zero
    assert content["stage"]["break_even_specific_power"]["missing"] == 1.0
    assert [phase["mode"] for phase in content["phases"]] == ["extraction", "acceleration"]
    assert set(content["outcomes"]["with"]) == {"flew", "never_left", "fell_back", "no_number"}
    assert content["words"].startswith("The stage doesn't pay.")


def test_csv_files_are_si_with_units(found: Flight) -> None:
    rows = csv_of(told(found), "flight.csv")
    by_case = {(row["case"], row["quantity"]): row for row in rows}
    less = by_case["difference", "apogee"]
    assert less["unit"] == "m"
    assert float(less["mean"]) == pytest.approx(float(found.figures["apogee"].difference.mean), rel=1e-9)
    assert by_case["stage", "break_even_specific_power"]["mean"] == ""
    cases = {"without", "with", "difference", "step channel", "stage", "weightless", "undragged"}
    assert cases <= {row["case"] for row in rows}
    curves = csv_of(told(found), "ascent.csv")
    assert list(curves[0])[:3] == ["case", "time [s]", "altitude [m]"]
    assert {row["case"] for row in curves} == {"without", "with"}
    assert {row["of"] for row in csv_of(told(found), "drivers.csv")} == {"apogee", "payable_mass"}
    assert "drivers.csv" not in told(replace(found, driven={})).files


def test_a_flight_shows_its_verdict_and_its_pictures(found: Flight) -> None:
    text = repr(found)
    assert text.splitlines()[0].endswith("512 scenarios: the stage doesn't pay")
    assert re.search(r"\n  apogee +5\d\.\d+ km +2\d\.\d+ km +-3\d\.\d km\n", text)
    assert found._repr_html_().count("<tr>") == len(text.splitlines()) - 1
    assert found.plot().axes[0].get_ylabel() == "altitude [km]"
    assert "apogee" in found.plot("drivers-apogee").axes[0].get_xlabel()
    with pytest.raises(ValueError, match="no picture"):
        found.plot("drivers-nothing")


def test_every_result_of_a_flight_is_in_the_registry(found: Flight) -> None:
    for name in (*found.compared.index, *found.stage.index):
        assert quantity_of(name).sentence.endswith(".")


def test_a_flight_with_open_circuits_alone_is_told_without_power() -> None:
    text = (STUDIES / "sounding.toml").read_text(encoding="utf-8")
    text = text.replace('mode = "extraction"\n', 'mode = "off"\n').replace('power_wanted = "300 W"\n', "")
    head, boost, tail = text.partition('name = "boost"')
    off = head + boost + tail.replace('mode = "acceleration"', 'mode = "off"', 1)
    off = off.replace('settings = { "electrodes.main.source.resistance" = "2 ohm" }\n', "")
    found = flight(parse_study(off, STUDIES), samples=512)
    words = " ".join(plain_words(found))
    assert "Taken out" not in words
    assert "Put in" not in words
    assert "pays for" not in words
    said = told(found)
    assert "Break-even" not in {section.title for section in said.sections}
    assert [row[0] for row in table(said, "Where the difference comes from")[1:]] == STEPS[:2]
