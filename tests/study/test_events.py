"""Warnings and limits of firings: told by whoever samples, at once where they are common."""

from pathlib import Path

import pytest
from study.known_models import study_of

from explorer import propagate, rank, read_study
from explorer.page.events import at_once, beware, events_data, events_section
from explorer.study.limits import events
from explorer.studyfile import parse_study

STUDIES = Path(__file__).parents[1] / "studies"
HIGH = {"electrodes.main.source.voltage": "400 V"}


@pytest.fixture(scope="module")
def bench():
    return read_study(STUDIES / "bench.toml")


def test_arcs_at_a_high_voltage_are_told_at_once_and_few_at_a_low_one(bench) -> None:
    high, low = events(bench.replaced(HIGH), 1, jobs=2), events(bench, 1, jobs=2)
    assert float(high.warnings["current_density"]) > 0.95
    assert float(high.warnings["constricted"]) > 0.5
    assert at_once(high).startswith("Beware: current density above the diffuse limit in 100 %")
    assert "Not met: largest current density at most 2 A/cm^2" in at_once(high)
    assert "hot_electrons" not in low.warnings
    assert list(high.warnings.values()) == sorted(high.warnings.values(), key=lambda share: -float(share))


def test_propagate_and_rank_carry_them(bench) -> None:
    high = bench.replaced(HIGH)
    spread = propagate(high, samples=1024, jobs=2).events
    ranked = rank(high, base=64, measurements=(), test_guesses=False, jobs=2).events
    assert spread is not None
    assert ranked is not None
    assert {k: float(v) for k, v in spread.warnings.items()} == {
        k: float(v) for k, v in ranked.warnings.items()
    }
    assert events_data(ranked)["limits"][0]["verdict"] == "not met"
    (section,) = events_section(spread)
    assert section.title == "Warnings and limits"


def test_the_chance_of_each_form_of_contact_is_told_where_it_is_worked_out(bench) -> None:
    """Layers that are stated say nothing of it; a fair share of cold copper at 300 V finds an arc."""
    assert events(bench, 1, jobs=2).contacts == {}
    cold = read_study(STUDIES / "cold-electrodes.toml").replaced({"electrodes.main.source.voltage": "300 V"})
    spread = propagate(cold, samples=1024, jobs=2).events
    ranked = rank(cold, base=64, measurements=(), test_guesses=False, jobs=2).events
    assert spread is not None
    assert ranked is not None
    forms = {form: float(share) for form, share in spread.contacts["main"].items()}
    assert forms.keys() >= {"diffuse", "arc"}
    assert min(forms["diffuse"], forms["arc"]) > 0.1
    assert sum(forms.values()) == pytest.approx(1.0, abs=0.03)  # rare ones are left out
    assert forms == {form: float(share) for form, share in ranked.contacts["main"].items()}
    assert at_once(spread).startswith("Beware: contact is ")
    assert next(beware(spread)).endswith("of firings.")
    assert events_data(ranked)["contact"]["main"]["arc"]["share"] == forms["arc"]
    (section,) = events_section(spread)
    assert "an arc in" in section.parts[0].text


def test_an_arc_is_told_at_once_where_it_is_rare_too() -> None:
    found = events(read_study(STUDIES / "cold-electrodes.toml"), 1, jobs=2)
    assert 0.01 < float(found.contacts["main"]["arc"]) < 0.1
    assert "an arc in" in next(beware(found))


def test_a_limit_for_which_no_firing_has_a_number_is_not_decided(bench) -> None:
    """A magnet that is stated as a field has no mass."""
    limit = '\n[[limit]]\nquantity = "magnet_mass"\nat_most = "5 kg"\n'
    found = events(parse_study((STUDIES / "bench.toml").read_text(encoding="utf-8") + limit), 1)
    said = "Limit not decided: magnet mass at most 5 kg; no firing has a number for it."
    assert said in list(beware(found))
    assert [own.row()["verdict"] for own in found.limits if not own.has_numbers] == ["not decided"]
    whole = "Limit: magnet mass at most 5 kg. Not decided: no firing has a number for it."
    assert whole in [part.text for part in events_section(found)[0].parts]


def test_a_callable_and_a_study_without_any_say_nothing() -> None:
    assert propagate(lambda v: {"y": v["a"]}, {"a": "0 ± 1"}, rng=1, samples=1024).events is None
    assert at_once(None) == ""
    assert events_section(None) == ()
    quiet = events(study_of({"channel.wall_temperature": "800 ± 10 K"}, ""), 1)
    assert quiet.limits == ()


def test_a_requirement_on_the_target_is_left_to_who_samples_it(bench) -> None:
    assert bench.target.has_requirement
    found = [own.limit.quantity for own in events(bench, 1, jobs=2).limits]
    assert found == ["max_current_density", "chance.constricted"]
