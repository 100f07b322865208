"""`--set` of `solve` and `propagate`: before and after stand beside each other, and before is the study unset."""

import json
from pathlib import Path
from typing import Any

import pytest

from explorer.cli import main

BENCH = str(Path(__file__).parents[1] / "studies" / "bench.toml")
SET = ["--set", "magnet.field=0.6 T"]


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    assert main([arguments[0], BENCH, *arguments[1:], "--formats", "", "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_before_is_what_the_study_says_without_the_setting(capsys: pytest.CaptureFixture[str]) -> None:
    plain, after = told(capsys, "solve"), told(capsys, "solve", *SET)
    assert after["before"] == {key: plain[key] for key in ("status", "quantities")}
    gains = [found["quantities"]["thrust_gain"]["value"] for found in (plain, after)]
    assert gains[0] < gains[1]
    few = ["propagate", "--samples", "1024"]
    plain, after = told(capsys, *few), told(capsys, *few, *SET)
    before = after["before"]["thrust_gain"]
    assert before == {key: plain["quantities"]["thrust_gain"][key] for key in before} | {
        "standard_error": {
            key: plain["quantities"]["thrust_gain"]["standard_error"][key] for key in before["standard_error"]
        }
    }


def test_what_only_asks_something_else_has_no_before(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["--set", "target.quantity=current", "--set", "run.random_number=3"]
    assert "before" not in told(capsys, "solve", *asked)
    assert "before" in told(capsys, "solve", *asked, *SET)
    assert main(["solve", BENCH, *SET, "--formats", ""]) == 0
    out = capsys.readouterr().out
    assert "BEFORE AND AFTER" in out
    assert "+0.00767 N (17 %)" in " ".join(out.split())
