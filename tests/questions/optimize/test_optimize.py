"""`mhdstage optimize` end to end: what it prints and writes, and what happens when it is broken off."""

import errno
import json
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from questions.optimize import proposals
from study.texts import of_one_mixture_ratio

from explorer.cli import main
from explorer.questions.optimize.search.proposal import Proposal
from explorer.questions.solve.point import solve
from explorer.studyfile import read_study

STUDY = Path("stage.toml")
FOLDER = Path("results/stage/optimize")
SEARCH = Path("results/stage/optimize.search")
ENVELOPE = ["format", "command", "study", "study_hash", "version", "commit", "random_number", "warnings"]
PROGRAM = [sys.executable, "-c", "import sys; from explorer.cli import main; sys.exit(main())"]
Captured = pytest.CaptureFixture[str]
QUICK = ["--budget", "60", "--formats", ""]


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_study()


def write_study(limits: str = proposals.LIMITS) -> None:
    bench = of_one_mixture_ratio(proposals.BENCH.read_text(encoding="utf-8").partition("[vary]")[0])
    STUDY.write_text(f"{bench}{proposals.SEARCHED}{proposals.ONE_WISH}{limits}", encoding="utf-8")


def optimize(*more: str) -> int:
    return main(["optimize", str(STUDY), *more])


def summary(folder: Path = FOLDER) -> dict[str, Any]:
    text = (folder / "summary.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text, parse_constant=pytest.fail)
    return found


def names(folder: Path = FOLDER) -> set[str]:
    return {path.name for path in folder.iterdir()} - {".files"}


def designs_kept() -> int:
    """Lines of the search's file behind its first."""
    try:
        return SEARCH.read_bytes().count(b"\n") - 1
    except FileNotFoundError:
        return 0


class Pretended:
    """Takes the search's place: tries some designs, then answers or fails."""

    def __init__(self, end: Callable[[], Proposal], tries: int = 3) -> None:
        self.end, self.tries = end, tries
        self.known, self.asked = 0, {}

    def __call__(self, study: object, *, search_file: Any, **asked: Any) -> Proposal:
        self.known, self.asked = search_file.count, asked
        for number in range(self.tries):
            search_file.extend({bytes([number]): (np.array([0.1]), np.array([0.2]))})
        return self.end()


Pretend = Callable[..., Pretended]


@pytest.fixture
def pretend(monkeypatch: pytest.MonkeyPatch) -> Pretend:
    def pretending(end: Callable[[], Proposal], tries: int = 3) -> Pretended:
        pretended = Pretended(end, tries)
        monkeypatch.setattr("explorer.questions.optimize.answer.optimize", pretended)
        return pretended

    return pretending


def fails(error: BaseException) -> Callable[[], Proposal]:
    def end() -> Proposal:
        raise error

    return end


def test_a_proposal_is_printed_and_written(pretend: Pretend, capsys: Captured) -> None:
    pretended = pretend(proposals.robust)
    assert (
        optimize("--budget", "77", "--random-number", "0", "--jobs", "2", "--all", "--formats", "svg,png")
        == 0
    )
    assert {key: pretended.asked[key] for key in ("budget", "rng", "central", "jobs")} == {
        "budget": 77,
        "rng": 0,
        "central": False,
        "jobs": 2,
    }
    out, err = capsys.readouterr()
    assert err == ""
    titles = (
        "IN PLAIN WORDS",
        "THE PROPOSAL",
        "DESIGNS NEARLY AS GOOD",
        "WHAT HOLDS IT BACK",
        "HOW UNCERTAIN VALUES WERE READ",
        "CAUTION",
    )
    places = [out.index(f"\n{title}\n") for title in titles]
    assert places == sorted(places)
    studies = {"proposal.toml", *(f"near-equal-{number}.toml" for number in (1, 2, 3))}
    pictures = {f"{name}.{form}" for name in ("search", "limits", "near_equal") for form in ("svg", "png")}
    assert names() == {
        "summary.json",
        "report.html",
        "answer.txt",
        "designs.csv",
        "judged.csv",
        *studies,
        *pictures,
    }
    page = (FOLDER / "report.html").read_text(encoding="utf-8")
    assert page.count('<svg role="img"') == 3
    assert re.search(r"""(src|href)\s*=\s*["']?(https?:)?//""", page) is None  # opens offline


def test_nothing_is_left_beside_the_results(pretend: Pretend) -> None:
    pretend(proposals.robust)
    assert optimize("--formats", "") == 0
    assert list(FOLDER.parent.iterdir()) == [FOLDER]  # neither lock nor search


def test_json_begins_with_the_envelope(pretend: Pretend, capsys: Captured) -> None:
    pretend(proposals.robust)
    assert optimize("--json", "--formats", "") == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out, parse_constant=pytest.fail)
    assert list(found)[:8] == ENVELOPE
    assert (found["command"], found["study"]) == ("optimize", "stage.toml")
    assert found["warnings"][0].startswith("Not decided")
    assert found == summary()


def test_a_curve_is_written_too(pretend: Pretend) -> None:
    pretend(proposals.curve)
    assert optimize("--formats", "png") == 0
    assert {"trade_off.csv", "trade_off.png", "proposal.toml"} < names()


def test_where_no_design_meets_the_limits_the_nearest_miss_is_shown_and_written(
    pretend: Pretend, capsys: Captured
) -> None:
    pretend(proposals.nothing)
    assert optimize("--formats", "", "--all") == 1
    out, err = capsys.readouterr()
    assert "THE NEAREST MISS" in out
    assert err == (
        "mhdstage: no design meets all limits; what would help most: relax current at most 50 A to 62 A (then a design"
        " meets all limits)\n"
    )
    assert names() == {"summary.json", "report.html", "answer.txt", "designs.csv", "judged.csv"}
    assert summary()["feasible"] is False


def test_an_interrupted_search_is_kept_and_gone_on_with(pretend: Pretend, capsys: Captured) -> None:
    pretend(fails(KeyboardInterrupt()))
    assert optimize(*QUICK) == 130
    err = capsys.readouterr().err
    assert re.fullmatch(
        r"mhdstage: interrupted; 3 assessed designs are kept in \S+optimize\.search: the same command with --resume"
        r" goes on with it\n",
        err,
    )
    assert not FOLDER.exists()
    again = pretend(proposals.robust, tries=0)
    assert optimize(*QUICK, "--resume") == 0
    assert again.known == 3


def test_a_search_broken_off_before_its_first_design_leaves_nothing(
    pretend: Pretend, capsys: Captured
) -> None:
    pretend(fails(KeyboardInterrupt()), tries=0)
    assert optimize(*QUICK) == 130
    assert capsys.readouterr().err == "mhdstage: interrupted; nothing was written\n"
    assert not SEARCH.exists()


def test_without_resume_a_search_begins_anew_and_says_so(pretend: Pretend, capsys: Captured) -> None:
    pretend(fails(KeyboardInterrupt()))
    assert optimize(*QUICK) == 130
    capsys.readouterr()
    again = pretend(proposals.robust, tries=0)
    assert optimize(*QUICK) == 0
    assert again.known == 0
    assert "was dropped: --resume was not given" in capsys.readouterr().err


OTHERS = {
    "the study has changed": ["--set", "nozzle.throat_diameter=9.1 mm"],
    "the random number is another": ["--random-number", "2"],
    "the budget is another": ["--budget", "50"],
    "the kind of search (--central) is another": ["--central"],
}


@pytest.mark.parametrize(("words", "more"), OTHERS.items())
def test_another_search_is_not_gone_on_with_and_left_alone(
    words: str, more: list[str], pretend: Pretend, capsys: Captured
) -> None:
    pretend(fails(KeyboardInterrupt()))
    assert optimize(*QUICK) == 130
    before = SEARCH.read_bytes()
    capsys.readouterr()
    assert optimize(*QUICK, "--resume", *more) == 2
    err = capsys.readouterr().err
    assert words in err
    assert len(err.splitlines()) == 1
    assert SEARCH.read_bytes() == before


def test_a_full_disk_is_one_sentence_and_what_was_tried_is_kept(pretend: Pretend, capsys: Captured) -> None:
    pretend(fails(OSError(errno.ENOSPC, "No space left on device", str(SEARCH))), tries=1)
    assert optimize(*QUICK) == 1
    err = capsys.readouterr().err
    assert re.fullmatch(
        r"mhdstage: the disk is full; 1 assessed design is kept in \S+: the same command with --resume goes on with it,"
        r" once there is room\n",
        err,
    )
    assert designs_kept() == 1
    pretend(proposals.robust)
    assert optimize(*QUICK, "--resume") == 0


def test_results_that_find_the_disk_full_leave_the_search(
    pretend: Pretend,
    capsys: Captured,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", "results/x")

    pretend(proposals.robust)
    with monkeypatch.context() as patched:
        patched.setattr("explorer.store.results.ResultsFolder.write", full)
        assert optimize(*QUICK) == 1
    assert "the disk is full; 3 assessed designs are kept" in capsys.readouterr().err
    assert designs_kept() == 3


def test_another_failure_is_not_taken_for_a_full_disk(pretend: Pretend, capsys: Captured) -> None:
    pretend(fails(OSError(errno.EACCES, "Permission denied", "somewhere")))
    assert optimize(*QUICK) == 1
    assert capsys.readouterr().err == "mhdstage: somewhere: Permission denied\n"


def test_a_file_where_the_search_would_go_is_not_removed(capsys: Captured) -> None:
    SEARCH.parent.mkdir(parents=True)
    SEARCH.write_text("mine", encoding="utf-8")
    assert optimize(*QUICK) == 2
    assert "no search has written it" in capsys.readouterr().err
    assert SEARCH.read_text(encoding="utf-8") == "mine"


def vary_nothing() -> None:
    text = STUDY.read_text(encoding="utf-8")
    STUDY.write_text(text.replace(proposals.SEARCHED, "\n"), encoding="utf-8")


BAD: dict[str, tuple[list[str], str, Callable[[], None]]] = {
    "no budget": (["--budget", "0"], "expected a whole number, 1 or more", lambda: None),
    "nothing to go on with": (["--resume"], "leave --resume out", lambda: None),
    "too small a budget": (["--budget", "9"], "too small", lambda: None),
    "nothing varied": ([], "there is nothing to vary", vary_nothing),
    "an unknown address": (["--set", "magnet.fild=0.5 T"], "magnet.field", lambda: None),
    "an unknown format": (["--formats", "gif"], '"gif" is none of', lambda: None),
}


@pytest.mark.parametrize(("more", "words", "before"), BAD.values(), ids=BAD.keys())
def test_bad_input_is_one_sentence(
    more: list[str], words: str, before: Callable[[], None], capsys: Captured
) -> None:
    before()
    assert optimize(*more) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert len(err.splitlines()) == 1
    assert not FOLDER.exists()
    assert not SEARCH.exists()


def test_help_names_what_can_be_asked(capsys: Captured) -> None:
    assert main(["optimize", "--help"]) == 0
    out = capsys.readouterr().out
    for option in ("--budget", "--central", "--resume", "--random-number", "--jobs", "--out", "--keep"):
        assert option in out
    assert "kill" in out


@pytest.mark.slow
def test_the_design_that_is_proposed_is_a_study_that_runs(capsys: Captured) -> None:
    colder = STUDY.read_text(encoding="utf-8").replace('heat_loss_share = "0.5 .. 1"', "heat_loss_share = 1")
    STUDY.write_text(colder, encoding="utf-8")  # else every design constricts at central values
    assert optimize(*QUICK, "--central", "--out", "found") == 0
    text = capsys.readouterr().out
    found = summary(Path("found"))
    proposed = read_study("found/proposal.toml")
    point = solve(proposed)
    wish = found["proposal"]["wishes"]["thrust_gain"]
    # Interpolated in a gas table of another range: to the table's accuracy.
    assert point.quantities["thrust_gain"] == pytest.approx(wish["expected"], rel=1e-3)
    assert point.quantities["current"] <= 50.0 * (1 + 1e-3)
    present = solve(read_study(STUDY))
    assert point.quantities["thrust_gain"] > 1.1 * present.quantities["thrust_gain"]
    assert "Leave --central out before anything is built." in " ".join(text.split())


@pytest.mark.slow
def test_any_number_of_jobs_gives_the_same_numbers() -> None:
    for jobs in ("1", "3"):
        assert optimize(*QUICK, "--jobs", jobs, "--out", f"jobs{jobs}", "--json") in (0, 1)
    assert summary(Path("jobs1")) == summary(Path("jobs3"))
    assert (Path("jobs1") / "designs.csv").read_bytes() == (Path("jobs3") / "designs.csv").read_bytes()


def test_limits_that_exclude_each_other_are_named() -> None:
    current = '\n[[limit]]\nquantity = "current"\nat_most = "5 A"\n'
    gain = '\n[[limit]]\nquantity = "thrust_gain"\nat_least = "1 N"\n'
    write_study(limits=current + gain)
    assert optimize(*QUICK, "--central") == 1
    miss = summary()["nearest_miss"]
    assert {limit["quantity"] for limit in miss["conflict"]} <= {"current", "thrust_gain"}
    assert miss["changes"]
    assert miss["shortfall"] > 0


@pytest.mark.slow
def test_a_killed_search_goes_on_and_gives_the_same_numbers() -> None:
    command = [*PROGRAM, "optimize", str(STUDY), *QUICK, "--jobs", "1"]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        end = time.monotonic() + 240
        while designs_kept() < 5 and process.poll() is None and time.monotonic() < end:
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
    assert process.returncode == -signal.SIGKILL
    assert designs_kept() >= 5
    assert optimize(*QUICK, "--resume") in (0, 1)
    resumed = summary()
    assert not SEARCH.exists()
    assert optimize(*QUICK, "--out", "whole") in (0, 1)
    assert resumed == summary(Path("whole"))
