"""`scale` from the command line: what it writes, that its steps run, what it refuses."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from questions.scale.scaled import small_and_large

from explorer.cli import main
from explorer.studyfile import study_text

STUDIES = Path(__file__).parents[2] / "studies"
BENCH, SOUNDING = str(STUDIES / "bench.toml"), str(STUDIES / "sounding.toml")
FOLDER = Path("results/small-large/scale")
QUICK = ["--steps", "3", "--samples", "1024", "--formats", "", "--cost-exponent", "6"]


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name, study in zip(("small", "large"), small_and_large(), strict=True):
        (tmp_path / f"{name}.toml").write_text(study_text(study), encoding="utf-8")


def summary(folder: Path = FOLDER) -> dict[str, Any]:
    text = (folder / "summary.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text, parse_constant=pytest.fail)
    return found


def refused(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 2) -> str:
    """Return the one line that is said, nothing being written."""
    assert main(["scale", *arguments]) == code
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert not list(Path().glob("results/*/scale"))
    return err


def test_it_answers_and_writes_page_tables_pictures_and_studies_that_run(
    capsys: pytest.CaptureFixture[str],
) -> None:
    options = ["--steps", "3", "--samples", "4096", "--formats", "svg", "--cost-exponent", "6"]
    assert main(["scale", "small.toml", "--toward", "large.toml", *options, "--all"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "What no firing of small can teach" in out
    assert "WHICH STEPS TO FIRE, AND WHY" in out
    found = summary()
    assert (found["command"], found["study"]) == ("scale", ["small.toml", "large.toml"])
    assert len(found["study_hash"]) == 2
    fired = [step["design"] for step in found["ladder"]["steps"]]
    assert fired
    names = {path.name for path in FOLDER.iterdir()}
    assert {"report.html", "path.csv", "ladder.csv", "ladder.svg", "path.svg"} <= names
    studies = sorted(name for name in names if name.startswith("step-"))
    assert studies == [f"{name.replace(' ', '-')}.toml" for name in fired]
    for name in studies:
        assert main(["solve", str(FOLDER / name), "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["status"] == "ok"
    text = (FOLDER / "report.html").read_text(encoding="utf-8")
    assert text.count('<svg role="img"') == 2
    assert re.search(r"""(src|href)\s*=\s*["']?(https?:)?//""", text) is None


@pytest.mark.slow
def test_json_alone_is_printed_and_jobs_change_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    printed = []
    for jobs in ("1", "2"):
        assert main(["scale", "small.toml", "--toward", "large.toml", *QUICK, "--jobs", jobs, "--json"]) == 0
        out, err = capsys.readouterr()
        assert err == ""
        printed.append(out)
    assert printed[0] == printed[1]
    assert json.loads(printed[0], parse_constant=pytest.fail)["samples"] == 1024


@pytest.mark.slow
def test_options_reach_the_answer(capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--cost-exponent", "3", "--random-number", "0", "--set", "magnet.field=0.6 T", "--out", "here"]
    assert main(["scale", "small.toml", "--toward", "large.toml", *QUICK, *options, "--all"]) == 0
    assert "to the power of 3" in capsys.readouterr().out
    found = summary(Path("here"))
    assert (found["cost_exponent"], found["random_number"]) == (3.0, 0)
    assert found["ways"]["magnet.field"] == "alike"
    assert len(found["designs"]) == 5
    sizes = [design["size"] ** 3 for design in found["designs"]]
    assert [design["cost"] for design in found["designs"]] == pytest.approx(sizes)


def test_one_study_twice_is_answered(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["scale", "small.toml", "--toward", "small.toml", *QUICK]) == 0
    assert "nothing to learn from scaling up" in " ".join(capsys.readouterr().out.split())
    found = summary(Path("results/small-small/scale"))
    assert found["ladder"]["steps"] == []
    assert [design["name"] for design in found["designs"]] == ["small 1", "small 2"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["small.toml"], "--toward"),
        (["small.toml", "--toward", "nowhere.toml"], "nowhere.toml: no such file"),
        (
            ["small.toml", "--toward", "large.toml", "--steps", "0"],
            'expected a whole number, 1 or more, got "0"',
        ),
        (
            ["small.toml", "--toward", "large.toml", "--steps", "-3"],
            'expected a whole number, 1 or more, got "-3"',
        ),
        (["small.toml", "--toward", "large.toml", "--samples", "100"], "ask for 256 or more"),
        (
            ["small.toml", "--toward", "large.toml", "--cost-exponent", "-1"],
            'expected a number, 0 or more, got "-1"',
        ),
        (
            ["small.toml", "--toward", "large.toml", "--cost-exponent", "x"],
            'expected a number, 0 or more, got "x"',
        ),
        ([BENCH, "--toward", str(STUDIES / "bench-extraction.toml")], "and nothing lies between"),
        ([BENCH, "--toward", str(STUDIES / "two-pair.toml")], "matched by their names, and these differ"),
        (["small.toml", "--toward", "large.toml", "--set", "magnet.fild=1 T"], 'did you mean "magnet.field"'),
    ],
)
def test_what_cannot_be_scaled_is_one_sentence(
    capsys: pytest.CaptureFixture[str], arguments: list[str], said: str
) -> None:
    assert said in refused(capsys, *arguments)


def test_no_answer_is_one_sentence_too(capsys: pytest.CaptureFixture[str]) -> None:
    narrow = ["--set", "channel.gap_out=9 mm", "--set", "channel.width_out=9 mm"]
    said = refused(capsys, "small.toml", "--toward", "large.toml", *QUICK, *narrow, code=1)
    assert "hardly any point carries a number" in said
