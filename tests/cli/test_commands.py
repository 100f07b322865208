"""Each command end to end: what it prints and what it writes."""

import json
from pathlib import Path

import pytest

from explorer.cli import main
from explorer.studyfile import read_study, template_values_left

STUDIES = Path(__file__).parents[1] / "studies"
BENCH = str(STUDIES / "bench.toml")
ENVELOPE = ["format", "command", "study", "study_hash", "version", "commit", "random_number", "warnings"]
LEAST = [
    "mass_flow",
    "flame_temperature",
    "chamber_temperature",
    "characteristic_velocity",
    "inlet_pressure",
    "inlet_temperature",
    "inlet_velocity",
    "inlet_mach",
    "inlet_conductivity",
    "inlet_hall_parameter",
    "inlet_electron_density",
    "field",
    "back_emf",
    "threshold_voltage",
    "current",
    "plasma_current",
    "terminal_voltage",
    "load_factor",
    "electrical_power",
    "lorentz_force",
    "joule_heating",
    "electrode_drop_power",
    "wall_heat",
    "exit_pressure",
    "exit_temperature",
    "exit_velocity",
    "exit_mach",
    "exit_pressure_change",
    "thrust_open_circuit",
    "thrust",
    "thrust_gain",
    "thrust_gain_heating",
    "max_current_density",
    "max_hall_field",
    "interaction_parameter",
]


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def json_of(text: str) -> dict[str, object]:
    found: dict[str, object] = json.loads(text, parse_constant=pytest.fail)
    return found


def test_solve_prints_and_writes_the_operating_point(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", BENCH, "--burn", "6s", "--all"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    titles = (
        "IN SHORT,GAS,INLET,ELECTRICAL,THRUST,LIMITS,BY HAND,STREAMS,HOW UNCERTAIN VALUES WERE READ,CAUTION"
    )
    places = [out.index(f"\n{title}\n") for title in titles.split(",")]
    assert places == sorted(places)
    folder = Path("results/bench/solve")
    names = {path.name for path in folder.iterdir()} - {".files"}
    assert names == {"summary.json", "report.html", "answer.txt", "profile.csv"}
    assert list(folder.parent.iterdir()) == [folder]
    assert "<svg" in (folder / "report.html").read_text(encoding="utf-8")


def test_json_alone_is_printed_and_has_what_was_promised(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", BENCH, "--json", "--set", "magnet.field=0.6 T"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json_of(out)
    assert list(found)[:8] == ENVELOPE
    assert (found["command"], found["study"], found["status"]) == ("solve", "bench.toml", "ok")
    quantities = found["quantities"]
    assert isinstance(quantities, dict)
    assert [name for name in LEAST if quantities[name]["value"] is None] == []
    assert quantities["field"] == {"value": pytest.approx(0.6), "unit": "T"}
    assert quantities["electrodes.main.current"] == quantities["current"]
    assert out == Path("results/bench/solve/summary.json").read_text(encoding="utf-8")


def test_a_value_that_is_set_is_said_to_be_exact(capsys: pytest.CaptureFixture[str]) -> None:
    main(["solve", BENCH, "--set", "magnet.field=0.6 T", "--all"])
    assert "Magnetic field is now taken as exactly 0.6 T." in capsys.readouterr().out


def test_a_comment_does_not_change_the_hash_but_a_value_does() -> None:
    Path("s.toml").write_text("# mine\n" + Path(BENCH).read_text(encoding="utf-8"), encoding="utf-8")
    assert read_study("s.toml").study_hash == read_study(BENCH).study_hash
    assert read_study("s.toml", {"magnet.field": "0.6 T"}).study_hash != read_study(BENCH).study_hash


def test_the_last_digit_that_processors_differ_in_leaves_the_hash_alone() -> None:
    hashes = [
        read_study(BENCH, {"magnet.field": f"{field} T"}).study_hash for field in (0.6, 0.6000000000000001)
    ]
    assert len(set(hashes)) == 1
    assert read_study(BENCH, {"magnet.field": "0.6000001 T"}).study_hash not in hashes


def test_a_choked_channel_has_no_numbers_and_says_what_to_change(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", BENCH, "--json", "--set", "channel.gap_out=6 mm"]) == 1
    out, err = capsys.readouterr()
    found = json_of(out)
    assert found["status"] == "choked"
    quantities = found["quantities"]
    assert isinstance(quantities, dict)
    assert {quantities[name]["value"] for name in ("thrust", "current", "thrust_gain")} == {None}
    assert err.startswith("mhdstage: choked: the flow cannot stay supersonic")
    assert len(err.splitlines()) == 1


def test_no_contact_is_an_answer(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", BENCH, "--json", "--set", "electrodes.main.source.voltage=5 V"]) == 0
    found = json_of(capsys.readouterr().out)
    assert found["status"] == "no_contact"
    quantities = found["quantities"]
    assert isinstance(quantities, dict)
    assert quantities["plasma_current"]["value"] == 0.0
    assert quantities["thrust_gain"]["value"] == 0.0


def test_pairs_that_do_not_add_are_null_at_top_level(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", str(STUDIES / "two-pair.toml"), "--json"]) == 0
    quantities = json_of(capsys.readouterr().out)["quantities"]
    assert isinstance(quantities, dict)
    assert quantities["back_emf"]["value"] is None
    parts = [quantities[f"electrodes.{pair}.current"]["value"] for pair in ("main", "rear")]
    assert quantities["current"]["value"] == pytest.approx(sum(parts))


def test_results_go_where_they_are_wanted_and_are_kept(capsys: pytest.CaptureFixture[str]) -> None:
    for _ in range(2):
        assert main(["solve", BENCH, "--json", "--out", "here", "--keep", "--formats", ""]) == 0
    assert sorted(path.name for path in Path().iterdir()) == ["here-1", "here-2"]
    assert not list(Path("here-1").glob("channel.*"))
    capsys.readouterr()


def test_a_title_is_escaped_in_the_page_and_harmless_on_the_terminal(
    capsys: pytest.CaptureFixture[str],
) -> None:
    text = Path(BENCH).read_text(encoding="utf-8")
    title = 'title = "Bench stage, acceleration (invented)"'
    assert title in text
    Path("s.toml").write_text(text.replace(title, r'title = "<b>x</b> $y$ \u001b[2J"'), encoding="utf-8")
    assert main(["solve", "s.toml"]) == 0
    assert "\x1b" not in capsys.readouterr().out
    page = Path("results/s/solve/report.html").read_text(encoding="utf-8")
    assert "<b>" not in page
    assert "&lt;b&gt;x&lt;/b&gt;" in page


def test_a_new_study_runs_and_says_what_is_still_the_templates(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "my-stage"]) == 0
    out = capsys.readouterr().out
    left = template_values_left(Path("my-stage.toml").read_text(encoding="utf-8"))
    assert len(left) > 10
    assert [address for address in left if address not in out] == []
    assert "mhdstage solve my-stage.toml" in out
    assert "mhdstage rank my-stage.toml" in out
    assert main(["solve", "my-stage.toml"]) == 0
    assert "Still the template's invented values" in capsys.readouterr().out


@pytest.mark.slow
def test_a_new_study_has_the_sections_asked_for_and_every_command_takes_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["new", "full", "--with", "flight,vary,measurements,instruments"]) == 0
    assert "mhdstage optimize full.toml" in capsys.readouterr().out
    study = read_study(Path("full.toml"))
    assert len(study.instruments) >= 2
    assert len(study.measurements) >= 3
    assert study.vary
    assert study.wishes
    assert study.limits
    assert study.flight is not None
    quick = ["--jobs", "1", "--formats", ""]
    assert main(["solve", "full.toml", "--formats", ""]) == 0
    assert main(["rank", "full.toml", "--base", "256", "--no-guesses", *quick]) == 0
    assert "field_map" in Path("results/full/rank/summary.json").read_text(encoding="utf-8")
    assert main(["optimize", "full.toml", "--budget", "50", "--central", *quick]) == 0
    assert main(["flight", "full.toml", "--samples", "512", *quick]) == 0


def test_a_section_that_a_new_study_cannot_have_is_named_with_the_nearest(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["new", "mine", "--with", "vary,flgiht"]) == 2
    assert capsys.readouterr().err == 'mhdstage: --with has no "flgiht": did you mean "flight"?\n'
    assert main(["new", "mine", "--with", "colours"]) == 2
    assert "known are instruments, measurements, vary and flight" in capsys.readouterr().err
    assert not Path("mine.toml").exists()


def test_a_study_that_is_there_is_not_overwritten(capsys: pytest.CaptureFixture[str]) -> None:
    Path("mine.toml").write_text("precious", encoding="utf-8")
    assert main(["new", "mine"]) == 2
    assert "is there already" in capsys.readouterr().err
    assert Path("mine.toml").read_text(encoding="utf-8") == "precious"


def test_rank_prints_and_writes_the_ranking(capsys: pytest.CaptureFixture[str]) -> None:
    known = ["--set", "gas.mixture_ratio=1.95"]  # whose gas tables are small, also twice as wide
    few = ["--base", "512", "--random-number", "0", *known]
    assert main(["rank", BENCH, *few, "--all", "--formats", "svg,png"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.index("IN PLAIN WORDS") < out.index("WHAT CARRIES THE UNCERTAINTY") < out.index("CAUTION")
    folder = Path("results/bench/rank")
    found = json_of((folder / "summary.json").read_text(encoding="utf-8"))
    assert list(found)[:8] == ENVELOPE
    assert found["random_number"] == 0
    assert {"ranking.csv", "ranking.svg", "ranking.png", "report.html"} <= {
        path.name for path in folder.iterdir()
    }


def test_a_target_that_nothing_moves_is_no_answer(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rank", BENCH, "--base", "64", "--target", "max_hall_field"]) == 1
    err = capsys.readouterr().err
    assert "no uncertain input moves it" in err
    assert len(err.splitlines()) == 1
