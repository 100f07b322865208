"""The program as a whole: exit codes, one or two lines for bad input, never a traceback, quick help."""

import subprocess
import sys
from pathlib import Path

import pytest

from explorer.cli import main

STUDIES = Path(__file__).parents[1] / "studies"
BENCH = str(STUDIES / "bench.toml")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def setting(value: str) -> list[str]:
    return ["solve", BENCH, "--set", value]


BAD = {
    "a file that isn't there": (["solve", "nix.toml"], "no such file"),
    "a folder": (["solve", "."], "cannot be read"),
    "a command that isn't there": (["slove", BENCH], "slove"),
    "an option that isn't there": (["solve", BENCH, "--frob"], "--frob"),
    "no study": (["solve"], "STUDY"),
    "an unknown address": (setting("magnet.feild=0.6 T"), 'did you mean "magnet.field"?'),
    "an output as input": (setting("thrust=3 N"), "only inputs can be set"),
    "no value": (setting("magnet.field"), "expected ADDRESS=VALUE"),
    "another dimension": (setting("gas.chamber_pressure=12 mm"), "expected a pressure, got 12 mm"),
    "no unit": (setting("magnet.field=0.6"), "without a unit"),
    "a decimal comma": (setting("magnet.field=0,6 T"), '"0.6 T"'),
    "a negative size": (setting("channel.length=-90 mm"), "must be above 0 mm"),
    "a zero size": (setting("nozzle.throat_diameter=0 mm"), "must be above 0 mm"),
    "a fraction above 1": (setting("gas.seed_vaporized=1.2"), "between"),
    "not a number": (setting("magnet.field=nan T"), "magnet.field"),
    "infinity": (setting("magnet.field=1e999 T"), "finite"),
    "a pair outside the channel": (setting("electrodes.main.length=160 mm"), "outside the channel"),
    "an inlet smaller than the throat": (setting("nozzle.throat_diameter=20 mm"), "smaller than the throat"),
    "an unknown fuel": (setting("gas.fuel=ethanlo"), "ethanol"),
    "an unknown seed": (setting("gas.seed=salt"), "gas.seed"),
    "a source that doesn't fit": (setting("electrodes.main.source.kind=load"), "source"),
    "soot": (setting("gas.mixture_ratio=0.3"), "less oxygen than carbon"),
    "a burn without a unit": (["solve", BENCH, "--burn", "6"], '"6 s"'),
    "a burn of no time": (["solve", BENCH, "--burn", "0 s"], "takes some time"),
    "an unknown format": (["solve", BENCH, "--formats", "gif"], "svg"),
    "an unknown target": (["rank", BENCH, "--target", "thrst"], 'did you mean "thrust"?'),
    "no rows": (["rank", BENCH, "--base", "0"], "1 or more"),
    "half a job": (["rank", BENCH, "--jobs", "0.5"], "whole number"),
    "a negative random number": (["rank", BENCH, "--random-number", "-1"], "0 or more"),
    "an unknown name": (["explain", "magnet.feild"], "magnet.field"),
    "a folder for results that holds something": (
        ["solve", BENCH, "--out", str(STUDIES)],
        "no run has written",
    ),
    "results below a file": (["solve", BENCH, "--out", f"{BENCH}/x"], "can't be written"),
}


@pytest.mark.parametrize(("argv", "words"), BAD.values(), ids=BAD.keys())
def test_bad_input_is_told_in_a_line_or_two(
    argv: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(argv) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert 1 <= len(err.splitlines()) <= 2
    assert "Traceback" not in err
    assert not Path("results").exists() or not any(path.is_file() for path in Path("results").rglob("*"))


FILES = {
    "broken TOML": (b'title = "x"\nmode = acceleration\n', "line 2"),
    "not UTF-8": ('title = "Prüfstand"\n'.encode("latin-1"), "UTF-8"),
    "an unknown key": (b'title = "x"\nmode = "acceleration"\n[gas]\nfule = "ethanol"\n', "fuel"),
    "a missing key": (b'title = "x"\nmode = "acceleration"\n', "missing"),
    "nothing": (b"", "missing"),
}


@pytest.mark.parametrize(("content", "words"), FILES.values(), ids=FILES.keys())
def test_a_bad_file_is_told_in_a_line_or_two(
    content: bytes, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("s.toml").write_bytes(content)
    assert main(["solve", "s.toml"]) == 2
    err = capsys.readouterr().err
    assert words in err
    assert 1 <= len(err.splitlines()) <= 2


def test_an_error_that_nobody_foresaw_is_no_traceback(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("explorer.questions.solve.answer.solve", fails)
    assert main(["solve", BENCH]) == 1
    err = capsys.readouterr().err
    assert "ZeroDivisionError" in err
    assert len(err.splitlines()) == 2
    assert not Path("results/bench/solve.partial").exists()


def test_an_interruption_is_one_line_and_leaves_nothing(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("explorer.questions.solve.answer.solve", interrupted)
    assert main(["solve", BENCH]) == 130
    assert capsys.readouterr().err == "mhdstage: interrupted; nothing was written\n"
    assert list(Path("results/bench").iterdir()) == []


def test_a_full_disk_is_one_sentence_and_the_answer_stands(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device", "results/x")

    monkeypatch.setattr("explorer.store.results.ResultsFolder.write", full)
    assert main(["solve", BENCH]) == 1
    out, err = capsys.readouterr()
    assert "thrust gain" in out
    assert err == "mhdstage: results/x: No space left on device\n"


_LIGHT = """
import sys
from explorer.cli import main
heavy, code = set(sys.argv[1].split(",")), main(sys.argv[2:])
assert not heavy & set(sys.modules), heavy & set(sys.modules)
sys.exit(code)
"""
_MODEL = "numba,cantera,pandas,matplotlib,scipy"


@pytest.mark.parametrize("argv", [["--help"], ["explain", "magnet.field"], ["explain"], ["solve", "--help"]])
def test_help_and_explanations_load_no_model(argv: list[str]) -> None:
    command = [sys.executable, "-c", _LIGHT, _MODEL, *argv]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_one_point_waits_for_no_statistics(tmp_path: Path) -> None:
    libraries, out = "scipy.stats,pandas,SALib,optuna", str(tmp_path / "point")
    command = [sys.executable, "-c", _LIGHT, libraries, "solve", BENCH, "--out", out]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_reader_who_goes_away_is_no_error() -> None:
    command = (
        f"{sys.executable} -c 'import sys; from explorer.cli import main; sys.exit(main())' explain | head -1"
    )
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", command], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")


def test_output_in_ascii_is_no_error(tmp_path: Path) -> None:
    command = [sys.executable, "-c", "import sys; from explorer.cli import main; sys.exit(main())"]
    environment = {**__import__("os").environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run([*command, "explain"], capture_output=True, env=environment, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.isascii()


def test_without_a_command_the_help_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert "solve" in capsys.readouterr().out


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("mhdstage ")
