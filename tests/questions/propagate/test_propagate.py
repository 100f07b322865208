"""`mhdstage propagate` end to end: what it prints and writes, and what happens when it is broken off."""

import errno
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import psutil
import pytest
from pyarrow import parquet

from explorer.cli import main
from explorer.cli.terminal import Terminal
from explorer.questions.solve.point import solve_many
from explorer.store import results_folder
from explorer.studyfile import read_study

STUDIES = Path(__file__).parents[2] / "studies"
BENCH = str(STUDIES / "bench.toml")
ENVELOPE = ["format", "command", "study", "study_hash", "version", "commit", "random_number", "warnings"]
PROGRAM = [sys.executable, "-c", "import sys; from explorer.cli import main; sys.exit(main())"]
FOLDER = Path("results/bench/propagate")
SAMPLE = Path("results/bench/propagate.sample")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def propagate(*more: str, samples: int = 2048) -> int:
    return main(["propagate", BENCH, "--samples", str(samples), "--formats", "", *more])


def summary(folder: Path = FOLDER) -> dict[str, Any]:
    text = (folder / "summary.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text, parse_constant=pytest.fail)
    return found


def marks(folder: Path = SAMPLE) -> int:
    try:
        return (folder / "done.bin").read_bytes().count(1)
    except FileNotFoundError:
        return 0


def _heed_interrupts() -> None:
    """What a shell starts in the background ignores interrupts, and hands that on."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def broken_off(signal_number: int, samples: int) -> tuple[int, str]:
    """Start a run, send it a signal once some chunks stand, return its exit code and its complaints."""
    command = [*PROGRAM, "propagate", BENCH, "--samples", str(samples), "--jobs", "1", "--formats", ""]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=_heed_interrupts
    ) as process:
        end = time.monotonic() + 600  # compiling may come first, with other tests beside it
        while marks() < 3 and process.poll() is None and time.monotonic() < end:
            time.sleep(0.01)
        process.send_signal(signal_number)
        _, err = process.communicate(timeout=60)
    assert 3 <= marks() < samples // 4096, (process.returncode, err)  # midway, not before and not after
    return process.returncode, err


def test_propagate_prints_and_writes_how_sure_the_prediction_is(capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--quantities", "thrust_gain,current", "--all", "--formats", "svg,png"]
    assert main(["propagate", BENCH, "--samples", "2000", *options]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    titles = (
        "IN PLAIN WORDS",
        "THRUST GAIN",
        "CURRENT",
        "THE FIRST-ORDER LAW BESIDE IT",
        "THE MODEL'S OWN ERROR",
        "HOW UNCERTAIN VALUES WERE READ",
        "CAUTION",
    )
    places = [out.index(f"\n{title}\n") for title in titles]
    assert places == sorted(places)
    assert "2000 were asked for, and sizes are rounded up to 8 times a power of two" in " ".join(out.split())
    names = {path.name for path in FOLDER.iterdir()} - {".files"}
    pictures = {f"{name}.{form}" for name in ("thrust_gain", "current") for form in ("svg", "png")}
    assert names == {"summary.json", "report.html", "answer.txt", "quantities.csv", *pictures}
    assert list(FOLDER.parent.iterdir()) == [FOLDER]  # neither lock nor sample is left


def test_json_has_the_contracts_keys(capsys: pytest.CaptureFixture[str]) -> None:
    assert propagate("--json", "--random-number", "0") == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out, parse_constant=pytest.fail)
    assert list(found)[:8] == ENVELOPE
    assert list(found)[8:12] == ["quantities", "points", "target", "first_order"]
    assert (found["command"], found["random_number"]) == ("propagate", 0)
    gain = found["quantities"]["thrust_gain"]
    keys = {"mean", "median", "standard_uncertainty", "interval_95", "unknown", "scatter"}
    assert keys | {"unit", "standard_error"} <= gain.keys()
    assert keys <= gain["standard_error"].keys()
    assert found["points"] == dict.fromkeys(found["points"], 0) | {"ok": 2048}
    assert {"quantity", "chance_met", "standard_error"} <= found["target"].keys()
    assert found["first_order"]["thrust_gain"]["verdict"] in ("validated", "not validated", "not decided")
    whole = gain["unknown"] ** 2 + gain["scatter"] ** 2
    assert whole == pytest.approx(gain["standard_uncertainty"] ** 2, rel=0.01)


@pytest.mark.slow
def test_any_number_of_jobs_gives_the_same_numbers() -> None:
    for jobs in ("1", "3"):
        assert propagate("--json", "--jobs", jobs, "--out", f"jobs{jobs}", samples=16384) == 0
    assert summary(Path("jobs1")) == summary(Path("jobs3"))


@pytest.mark.slow
def test_a_run_that_was_killed_goes_on_and_gives_the_same_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    samples = 65536
    code, _ = broken_off(signal.SIGKILL, samples)
    assert code == -signal.SIGKILL
    before = marks()
    others = {
        "the study has changed": ["--set", "magnet.field=0.5 ± 0.01 T"],
        "the random number is another": ["--random-number", "2"],
        "the quantities are others": ["--quantities", "current"],
    }
    for words, more in others.items():
        assert propagate("--resume", *more, samples=samples) == 2
        assert words in capsys.readouterr().err
    assert propagate("--resume", samples=2 * samples) == 2
    assert "the number of samples is another" in capsys.readouterr().err
    assert marks() == before  # nothing lost

    assert propagate("--resume", "--jobs", "2", samples=samples) == 0
    resumed = summary()
    assert not SAMPLE.exists()
    assert propagate("--out", "whole", samples=samples) == 0
    assert resumed == summary(Path("whole"))


def test_an_interrupted_run_keeps_its_sample_and_says_how_to_go_on(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, err = broken_off(signal.SIGINT, 65536)
    assert code == 130
    assert re.fullmatch(
        r"mhdstage: interrupted; \d+ % of the sample is kept in \S+: the same command with --resume goes on with it\n",
        err,
    )
    assert not FOLDER.exists()
    assert propagate() == 0  # without --resume
    assert "was dropped: --resume was not given" in capsys.readouterr().err


_FULL = """
import sys
from explorer.cli import main
from explorer.store import SampleFiles

write = SampleFiles.write

def writes(self, chunk, values, outcomes):
    if chunk == 2:  # from here on no file may grow or be written behind its first kilobyte
        import resource
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, resource.RLIM_INFINITY))
    write(self, chunk, values, outcomes)

SampleFiles.write = writes
sys.exit(main())
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX")
def test_a_disk_that_fills_up_is_one_sentence_and_nothing_is_lost() -> None:
    command = [sys.executable, "-c", _FULL, "propagate", BENCH, "--samples", "32768", "--jobs", "1"]
    done = subprocess.run(
        [*command, "--formats", ""], capture_output=True, text=True, check=False, timeout=120
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert re.fullmatch(
        r"mhdstage: the disk is full; 25 % of the sample is kept in \S+: the same command with --resume goes on with"
        r" it, once there is room\n",
        done.stderr,
    )
    assert marks() == 2
    assert propagate("--resume", samples=32768) == 0
    assert propagate("--out", "whole", samples=32768) == 0
    assert summary() == summary(Path("whole"))


def test_results_that_find_the_disk_full_leave_the_sample(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", "results/x")

    with monkeypatch.context() as patched:
        patched.setattr("explorer.store.results.ResultsFolder.write", full)
        assert propagate() == 1
    assert "the disk is full; 100 % of the sample is kept" in capsys.readouterr().err
    assert propagate("--resume") == 0


def test_a_sample_that_cannot_fit_is_refused_before_the_run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = shutil.disk_usage(".")
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=10_000))
    assert propagate() == 2
    err = capsys.readouterr().err
    assert "the sample needs 18.4 kB and 10 kB are free" in err  # 2048 points of 8 + 1 bytes
    assert not SAMPLE.exists()


def test_the_size_on_disk_is_told_before_the_run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Terminal, "interactive", property(lambda _: True))
    assert propagate("--quantities", "thrust,current,thrust_gain") == 0
    err = capsys.readouterr().err
    assert "2048 points: up to 51.2 kB on disk" in err  # of 3 · 8 + 1 bytes
    assert err.index("51.2 kB") < err.index("operating points: ")


def test_a_second_run_into_one_folder_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with results_folder(FOLDER):
        assert propagate() == 2
    err = capsys.readouterr().err
    assert "another run" in err
    assert str(os.getpid()) in err


def test_a_folder_where_the_sample_would_go_is_not_removed(capsys: pytest.CaptureFixture[str]) -> None:
    SAMPLE.mkdir(parents=True)
    (SAMPLE / "precious.txt").write_text("mine", encoding="utf-8")
    assert propagate() == 2
    assert "precious.txt, which no run has written" in capsys.readouterr().err
    assert (SAMPLE / "precious.txt").exists()


def test_kept_results_are_numbered_and_their_samples_go() -> None:
    for _ in range(2):
        assert propagate("--keep", "--out", "here", "--json") == 0
    assert sorted(path.name for path in Path().iterdir()) == ["here-1", "here-2"]


def test_the_sample_in_parquet_holds_every_point_with_its_inputs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("explorer.questions.propagate.samples.TOGETHER", 2)
    wanted = ["--quantities", "thrust_gain,exit_velocity", "--formats", "parquet"]
    assert main(["propagate", BENCH, "--samples", "16384", *wanted]) == 0
    file = parquet.ParquetFile(FOLDER / "samples.parquet")
    assert file.metadata.num_rows == 16384
    assert file.metadata.num_row_groups == 4  # written in pieces
    assert file.schema_arrow.metadata[b"study_hash"].decode() == summary()["study_hash"]
    table = file.read_row_group(3).to_pandas()
    study = read_study(BENCH)
    inputs = {
        name: table[f"{name} [{unit}]"].to_numpy()
        for name, unit in (
            column[:-1].split(" [") for column in table.columns if ".0" not in column and "[" in column
        )
        if name in study.space.central()
    }
    assert inputs.keys() == study.space.central().keys()
    again = solve_many(study, inputs, quantities=["thrust_gain", "exit_velocity"])
    # Interpolated in another gas table, of another range: to the table's accuracy.
    for name, unit, tolerance in (("thrust_gain", "N", 1e-3), ("exit_velocity", "m/s", 1e-4)):
        factor = table[f"model error of {name} [1]"].to_numpy()
        np.testing.assert_allclose(table[f"{name} [{unit}]"], again[name] * factor, rtol=tolerance)
    first, twin = (table[table["twin"] == number].set_index(["repeat", "row"]) for number in (0, 1))
    assert (first["gas.seed_water [1]"] == twin["gas.seed_water [1]"]).all()
    assert (first["magnet.field [T]"] != twin["magnet.field [T]"]).all()
    assert set(table["status"]) == {"ok"}
    means = [file.read_row_group(i, ["thrust_gain [N]"]).to_pandas().mean().iloc[0] for i in range(4)]
    assert np.mean(means) == pytest.approx(summary()["quantities"]["thrust_gain"]["mean"], rel=1e-12)


BAD = {
    "too few samples": (["--samples", "100"], "256 or more"),
    "samples and digits": (["--samples", "512", "--digits", "2"], "not allowed with"),
    "digits beyond reason": (["--digits", "9"], "1 to 4 digits"),
    "resuming what has no sample": (["--digits", "2", "--resume"], "--resume goes with --samples"),
    "a sample of what has none": (["--digits", "2", "--formats", "parquet"], "goes with --samples"),
    "nothing to go on with": (["--resume"], "leave --resume out"),
    "an unknown quantity": (["--quantities", "thrst"], 'did you mean "thrust"?'),
    "an input as quantity": (["--quantities", "magnet.field"], "not an output"),
    "no quantity": (["--quantities", ","], "expected outputs"),
    "a backend without a scheduler": (["--backend", "dask"], "go together"),
    "a scheduler without a backend": (["--scheduler", "tcp://127.0.0.1:9"], "go together"),
    "an address that is none": (["--backend", "dask", "--scheduler", "here"], "no scheduler answers at here"),
    "an unknown format": (["--formats", "gif"], "parquet"),
    "nothing uncertain": (["--set", "magnet.field=0.5 T"], "nothing is uncertain"),
}


@pytest.mark.parametrize(("more", "words"), BAD.values(), ids=BAD.keys())
def test_bad_input_is_one_sentence(
    more: list[str], words: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    study = BENCH
    if "nothing" in words:  # a study whose one uncertain value is set
        study = "exact.toml"
        text = Path(BENCH).read_text(encoding="utf-8")
        Path(study).write_text(exact_but_the_field(text), encoding="utf-8")
    assert main(["propagate", study, *more]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert len(err.splitlines()) == 1


def exact_but_the_field(text: str) -> str:
    """The bench study with each uncertain input at its central value."""
    study = read_study(BENCH)
    lines, table = [], ""
    for line in text.split("[[instrument]]")[0].split("[model_error]")[0].splitlines():
        if match := re.match(r"\[([\w.]+)\]", line):
            table = match[1]
        key = line.split(" = ")[0]
        address = f"{table}.{key}"
        shown = study.as_resolved()["inputs"].get(address, {"words": None})
        lines.append(f'{key} = "{shown["shown"]}"' if shown["words"] and key != "field" else line)
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("module", "more", "words"),
    [
        ("distributed", ["--backend", "dask", "--scheduler", "tcp://127.0.0.1:9"], "mhdstage[cluster]"),
        ("pyarrow", ["--formats", "parquet"], "mhdstage[parquet]"),
    ],
)
def test_an_extra_that_is_missing_is_named(
    module: str,
    more: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, module, None)
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    monkeypatch.setattr("explorer.store.parquet.find_spec", lambda _: None)
    assert propagate(*more) == 2
    err = capsys.readouterr().err
    assert words in err
    assert len(err.splitlines()) == 1


@pytest.mark.slow
def test_hardly_a_number_is_no_answer_and_leaves_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert propagate("--set", "channel.gap_out=6 mm") == 1
    err = capsys.readouterr().err
    assert "hardly any point carries a number" in err
    assert list(FOLDER.parent.iterdir()) == []


def test_a_quantity_that_nothing_moves_is_said_to_be_the_same() -> None:
    assert propagate("--quantities", "max_hall_field") == 0
    found = summary()
    assert "in every firing: no uncertain input moves it" in found["words"]
    assert found["quantities"]["max_hall_field"]["standard_uncertainty"] == 0.0
    assert found["target"]["chance_met"] is None


def test_a_quantity_without_value_for_several_pairs_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    study = str(STUDIES / "two-pair.toml")
    assert main(["propagate", study, "--quantities", "back_emf"]) == 2
    assert "ask for electrodes.main.back_emf" in capsys.readouterr().err
    wanted = ["--quantities", "electrodes.main.back_emf", "--samples", "2048", "--json"]
    assert main(["propagate", study, *wanted]) == 0


def test_where_contact_is_not_sure_its_chance_comes_first(capsys: pytest.CaptureFixture[str]) -> None:
    assert propagate("--set", "electrodes.main.source.voltage=25 ± 4 V", "--all", samples=4096) == 0
    out = " ".join(capsys.readouterr().out.split())
    first, given, together = (
        out.index(words) for words in ("Chance of contact:", "given contact:", "All firings together")
    )
    assert first < given < together
    found = summary()
    mixture = found["mixture"]
    assert mixture["contact"] == pytest.approx(found["points"]["ok"] / 4096)
    # Without contact the gain is zero, so that the mean of all firings is the chance times the mean given contact.
    alone = mixture["given_contact"]["thrust_gain"]["mean"]
    assert found["quantities"]["thrust_gain"]["mean"] == pytest.approx(mixture["contact"] * alone, rel=1e-9)


_CLUSTER = """
import json, subprocess, sys
from distributed import Client, LocalCluster

if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        command = json.loads(sys.argv[1]) + ["--backend", "dask", "--scheduler", cluster.scheduler_address]
        done = subprocess.run(command, capture_output=True, text=True)
        with Client(cluster) as client:
            executed = client.run(lambda dask_worker: dask_worker.state.executed_count)
    print(json.dumps({"code": done.returncode, "err": done.stderr, "executed": list(executed.values())}))
"""


@pytest.mark.slow
def test_a_cluster_of_two_workers_gives_the_same_numbers() -> None:
    samples = 16384
    command = [*PROGRAM, "propagate", BENCH, "--samples", str(samples), "--formats", "", "--out", "cluster"]
    Path("cluster.py").write_text(_CLUSTER, encoding="utf-8")
    run = subprocess.run(
        [sys.executable, "cluster.py", json.dumps(command)],
        capture_output=True,
        text=True,
        check=True,
        timeout=180,
    )
    told = json.loads(run.stdout.splitlines()[-1])
    assert (told["code"], told["err"]) == (0, "")
    assert min(told["executed"]) >= 1
    assert sum(told["executed"]) >= samples // 4096  # a task a chunk
    assert propagate("--out", "local", samples=samples) == 0
    assert summary(Path("cluster")) == summary(Path("local"))


@pytest.mark.slow
def test_a_scheduler_that_does_not_answer_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert propagate("--backend", "dask", "--scheduler", "tcp://127.0.0.1:9") == 2
    assert "no scheduler answers at tcp://127.0.0.1:9" in capsys.readouterr().err


@pytest.mark.slow
def test_digits_are_asked_for_and_stand(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["propagate", BENCH, "--digits", "1", "--jobs", "2", "--formats", ""]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Asked for: 1 significant digit of each standard uncertainty. They stand after 10" in out
    assert summary()["digits"]["reached"] is True
    assert not SAMPLE.exists()


MANY = "thrust_gain,current,thrust,exit_pressure,exit_velocity,electrical_power,terminal_voltage,wall_heat"

_IN_MEMORY = f"""
import sys
from explorer.questions.propagate.propagation import propagate
from explorer.studyfile import read_study
propagate(read_study({BENCH!r}), samples=int(sys.argv[1]), jobs=2, quantities={MANY.split(",")!r})
"""


def peak_of(command: list[str]) -> int:
    """Most memory that a process held. [bytes]"""
    most = 0
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as process:
        watched = psutil.Process(process.pid)
        while process.poll() is None:
            try:
                most = max(most, watched.memory_info().rss)
            except psutil.Error:
                break
            time.sleep(0.01)
    assert process.returncode == 0
    return most


@pytest.mark.slow
@pytest.mark.parametrize("on_disk", [True, False])
def test_memory_grows_by_one_column_not_by_the_sample(on_disk: bool) -> None:
    sizes = (200_000, 1_000_000)
    rounded = (262_144, 1_048_576)
    peaks = []
    for size in sizes:
        command = [*PROGRAM, "propagate", BENCH, "--quantities", MANY, "--formats", "", "--jobs", "2"]
        command += ["--samples", str(size)]
        peaks.append(peak_of(command if on_disk else [sys.executable, "-c", _IN_MEMORY, str(size)]))
    slope = (peaks[1] - peaks[0]) / (rounded[1] - rounded[0])
    sample = 8 * len(MANY.split(","))  # bytes of a point
    print(f"\nmemory slope {'on disk' if on_disk else 'in memory'}: {slope:.0f} bytes a point")
    assert (slope < sample) == on_disk  # a sample held in memory is the twin that must fail
