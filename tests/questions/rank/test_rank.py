"""`rank` from the command line: its options, what it writes, what it refuses."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from explorer.cli import main

STUDIES = Path(__file__).parents[2] / "studies"
BENCH = str(STUDIES / "bench.toml")
SMALL = ["--base", "64", "--no-guesses", "--formats", ""]
FOLDER = Path("results/bench/rank")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def summary() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(
        (FOLDER / "summary.json").read_text(encoding="utf-8"), parse_constant=pytest.fail
    )
    return found


def refused(capsys: pytest.CaptureFixture[str], *options: str, code: int = 2) -> str:
    """Return the one line that is said, nothing being written."""
    assert main(["rank", BENCH, *options]) == code
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert not FOLDER.exists()
    return err


@pytest.mark.slow
def test_several_targets_each_have_their_results_and_files(capsys: pytest.CaptureFixture[str]) -> None:
    targets = [
        "--target",
        "thrust_gain,exit_pressure_change",
        "--group",
        "gaps=channel.gap_in,channel.gap_out",
    ]
    assert main(["rank", BENCH, *targets, *SMALL[:-1], "png", "--all"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = summary()
    assert [each["target"] for each in found["targets"]] == ["thrust_gain", "exit_pressure_change"]
    assert all("gaps" in {row["address"] for row in each["inputs"]} for each in found["targets"])
    assert found["warnings"] == ["A rough look: base 64, where 8192 is usual."]
    assert out.count("WOULD THE INSTRUMENTS SEE IT") == 1
    names = {path.name for path in FOLDER.iterdir()}
    pictures = {
        f"{name}-{each['target']}.png"
        for each in found["targets"]
        for name in ("target", "ranking", "inputs", "measurements")
    }
    assert pictures < names
    assert {"ranking-thrust_gain.csv", "ranking-exit_pressure_change.csv"} < names
    page = (FOLDER / "report.html").read_text(encoding="utf-8")
    assert page.count('<svg role="img"') == 8
    assert re.search(r"""(src|href)\s*=\s*["']?(https?:)?//""", page) is None  # opens offline


def test_a_difference_of_two_studies_is_ranked(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rank", BENCH, "--against", str(STUDIES / "two-pair.toml"), *SMALL, "--all"]) == 0
    assert "thrust gain of bench less that of two-pair" in capsys.readouterr().out
    found = summary()
    assert found["against"]["study"] == "two-pair"
    assert found["study_hash"] != found["against"]["study_hash"]
    assert (found["chance_met"], found["first_choice_stands"]) == (None, None)  # the guesses were left out
    assert {path.name for path in FOLDER.iterdir()} - {".files"} == {
        "summary.json",
        "report.html",
        "answer.txt",
        "ranking.csv",
    }


def test_the_cheap_first_look_says_that_it_is_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rank", BENCH, "--elementary", "--formats", "svg"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "This is a first look" in out
    found = summary()
    sizes = [row["mean_size"] for row in found["elementary"]]
    assert sizes == sorted(sizes, reverse=True)
    assert sum(found["points"].values()) == 50 * (len(sizes) + 1)
    assert "inputs" not in found
    assert {"elementary.csv", "elementary.svg"} < {path.name for path in FOLDER.iterdir()}


@pytest.mark.slow
def test_where_the_stage_often_fails_the_summary_has_nulls_for_totals(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["rank", BENCH, "--set", "channel.gap_out=7 mm", "--base", "512", *SMALL[2:], "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out, parse_constant=pytest.fail)
    assert found["shares_from"] == "failures"
    assert {row["total"] for row in found["inputs"]} == {None}
    assert any("of the sample carries no number" in warning for warning in found["warnings"])


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--base", "20"], "20 rows are fewer than the 28 uncertain rows"),
        (["--group", "gaps"], "expected NAME=ADDRESS,ADDRESS"),
        (["--group", "Gaps=magnet.field"], "expected NAME=ADDRESS,ADDRESS"),
        (["--group", "a=magnet.fild"], "magnet.fild is not uncertain in this study"),
        (["--group", "a=magnet.field", "--group", "b=magnet.field"], 'stands in both "a" and "b"'),
        (["--group", "a=magnet.field", "--group", "a=gas.nozzle_lag"], "is given twice"),
        (["--elementary", "--group", "a=magnet.field"], "every input by itself"),
        (["--elementary", "--target", "thrust_gain,current"], "one target"),
        (["--target", "thurst"], 'did you mean "thrust"'),
        (["--target", ","], "expected outputs with commas between"),
        (["--formats", "gif"], '"gif" is none of svg, png, pdf'),
        (["--against", "nowhere.toml"], "nowhere.toml: no such file"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(
    capsys: pytest.CaptureFixture[str], options: list[str], said: str
) -> None:
    assert said in refused(capsys, *options)


@pytest.mark.parametrize("look", [[], ["--elementary"]])
def test_no_answer_is_one_sentence_too(capsys: pytest.CaptureFixture[str], look: list[str]) -> None:
    said = refused(capsys, *look, "--base", "64", "--target", "max_hall_field", code=1)
    assert said.startswith("mhdstage: max_hall_field: the output is constant")
    failing = ["--set", "channel.gap_out=6 mm", "--set", "gas.mixture_ratio=1.95"]
    narrow = refused(capsys, *look, "--base", "256", *failing, code=1)
    assert "nothing was filled in" in narrow
