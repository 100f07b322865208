"""`flight` from the command line: what it prints and writes, and what it refuses in one sentence."""

import json
from pathlib import Path
from typing import Any

import pytest

from explorer.cli import main

STUDIES = Path(__file__).parents[2] / "studies"
SOUNDING = str(STUDIES / "sounding.toml")
SMALL = ["--samples", "512", "--formats", ""]
FOLDER = Path("results/sounding/flight")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def summary(folder: Path = FOLDER) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(
        (folder / "summary.json").read_text(encoding="utf-8"), parse_constant=pytest.fail
    )
    return found


def refused(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 2) -> str:
    """Return the one line that is said, nothing being written."""
    assert main(["flight", *arguments]) == code
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert not FOLDER.exists()
    return err


def test_a_flight_prints_its_verdict_and_writes_page_data_and_pictures(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["flight", SOUNDING, "--samples", "512", "--quiet", "--all", "--formats", "svg,png"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "The stage doesn't pay." in out
    assert "BREAK-EVEN" in out
    pictures = {
        f"{name}.{form}"
        for name in ("ascent", "difference", "drivers-apogee", "drivers-payable_mass")
        for form in ("svg", "png")
    }
    data = {"report.html", "summary.json", "flight.csv", "ascent.csv", "drivers.csv"}
    assert pictures | data <= {path.name for path in FOLDER.iterdir()}
    page = (FOLDER / "report.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 4
    assert "Flight needs range safety" in page
    found = summary()
    assert list(found)[:8] == [
        "format",
        "command",
        "study",
        "study_hash",
        "version",
        "commit",
        "random_number",
        "warnings",
    ]
    assert found["command"] == "flight"
    assert any("current density above the diffuse limit" in words.lower() for words in found["warnings"])


@pytest.mark.slow
def test_any_number_of_jobs_gives_the_same_files() -> None:
    for jobs in ("1", "2"):
        options = [*SMALL, "--jobs", jobs, "--out", f"out{jobs}", "--random-number", "0", "--quiet"]
        assert main(["flight", SOUNDING, *options]) == 0
    for name in ("summary.json", "flight.csv", "ascent.csv", "drivers.csv"):
        assert Path("out1", name).read_bytes() == Path("out2", name).read_bytes()
    assert summary(Path("out1"))["random_number"] == 0


def test_values_of_the_vehicle_can_be_set(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["flight", SOUNDING, *SMALL, "--set", "flight.vehicle_mass=120 kg", "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out)
    assert found["compared"]["start_mass"]["without"]["mean"] == pytest.approx(120.0)
    assert found["compared"]["start_mass"]["without"]["standard_uncertainty"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("replacement", "words"),
    [
        ("flight.vehicle_mass=600 kg", "without the stage the vehicle doesn't rise when its engine starts"),
        ("flight.vehicle_mass=-5 kg", "flight.vehicle_mass: must be above 0 kg"),
        ("flight.vehicle_mass=45 kg", "kg of propellant, and the vehicle weighs 45 kg"),
        ("flight.vehicle_mas=150 kg", 'did you mean "flight.vehicle_mass"?'),
        ("flight.drag_area=2 kg", "flight.drag_area: expected an area"),
    ],
)
def test_bad_input_is_told_in_one_sentence(
    replacement: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert words in refused(capsys, SOUNDING, *SMALL, "--quiet", "--set", replacement)


def test_phases_that_overlap_are_told_in_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = Path(SOUNDING).read_text(encoding="utf-8").replace('start = "35 s"', 'start = "20 s"')
    (tmp_path / "sounding.toml").write_text(text, encoding="utf-8")
    words = refused(capsys, "sounding.toml", *SMALL)
    assert "flight.phase boost: starts at 20 s, before cruise ends at 35 s: phases must not overlap" in words


def test_a_study_without_a_flight_says_what_to_add(capsys: pytest.CaptureFixture[str]) -> None:
    assert "add a table [flight]" in refused(capsys, str(STUDIES / "bench.toml"))


def test_a_stage_too_heavy_to_leave_the_pad_has_no_answer_but_a_reason(
    capsys: pytest.CaptureFixture[str],
) -> None:
    options = [*SMALL, "--quiet", "--set", "mass.magnet=500 kg"]
    words = refused(capsys, SOUNDING, *options, code=1)
    assert "with the stage the vehicle doesn't rise when its engine starts" in words
    assert "make it lighter" in words


def test_what_a_flight_reads_and_gives_is_explained(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("flight.vehicle_mass", "flight.power_wanted", "apogee", "payable_mass"):
        assert main(["explain", name]) == 0
    out, _ = capsys.readouterr()
    assert "propellant included" in out
    assert "Geometric altitude at which the velocity falls to zero." in out
