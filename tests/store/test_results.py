"""Folders of results are whole or not there, one run writes at a time, nothing of the user's is lost."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from explorer.store import ResultsError, envelope, json_text, results_folder


def fill(place: Path, text: str = "x", *, keep: bool = False) -> Path:
    with results_folder(place, keep=keep) as folder:
        folder.write("summary.json", text)
    return folder.final


def test_a_finished_folder_holds_what_was_written_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    fill(tmp_path / "a" / "solve")
    assert (tmp_path / "a" / "solve" / "summary.json").read_text(encoding="utf-8") == "x"
    assert [path.name for path in (tmp_path / "a").iterdir()] == ["solve"]


def test_results_are_replaced_as_a_whole(tmp_path: Path) -> None:
    with results_folder(tmp_path / "solve") as folder:
        folder.write("old.csv", "1")
    fill(tmp_path / "solve", "new")
    assert not (tmp_path / "solve" / "old.csv").exists()
    assert (tmp_path / "solve" / "summary.json").read_text(encoding="utf-8") == "new"


def test_a_run_that_fails_leaves_the_earlier_results_and_no_partial_folder(tmp_path: Path) -> None:
    fill(tmp_path / "solve", "first")

    def interrupted() -> None:
        with results_folder(tmp_path / "solve") as folder:
            folder.write("summary.json", "half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert (tmp_path / "solve" / "summary.json").read_text(encoding="utf-8") == "first"
    assert [path.name for path in tmp_path.iterdir()] == ["solve"]


def test_keep_numbers_the_results(tmp_path: Path) -> None:
    fill(tmp_path / "solve")
    names = [fill(tmp_path / "solve", keep=True).name for _ in range(2)]
    assert names == ["solve-1", "solve-2"]
    assert (tmp_path / "solve").is_dir()


def test_a_folder_with_a_users_file_is_not_replaced(tmp_path: Path) -> None:
    fill(tmp_path / "solve")
    (tmp_path / "solve" / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(ResultsError, match=r"notes\.txt"):
        fill(tmp_path / "solve")
    assert (tmp_path / "solve" / "notes.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("wanted", [".", ".."])
def test_the_folder_that_a_command_runs_in_is_not_replaced(
    wanted: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inside = tmp_path / "rig" / "firings"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)
    with pytest.raises(ResultsError, match="a folder in it"), results_folder(Path(wanted)):
        pass
    assert Path.cwd().is_dir()


def test_a_file_in_the_way_is_refused(tmp_path: Path) -> None:
    (tmp_path / "solve").write_text("mine", encoding="utf-8")
    with pytest.raises(ResultsError, match="is a file"):
        fill(tmp_path / "solve")


_HOLDER = """
import sys, pathlib
from explorer.store import results_folder
with results_folder(pathlib.Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_a_second_run_into_one_folder_is_refused_and_names_the_first(tmp_path: Path) -> None:
    command = [sys.executable, "-c", _HOLDER, str(tmp_path / "solve")]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(ResultsError, match=f"process {holder.pid}, started 2"):
            fill(tmp_path / "solve")
        numbered = fill(tmp_path / "solve", keep=True)
        holder.communicate()
    assert numbered.name == "solve-1"
    fill(tmp_path / "solve")


def test_what_a_killed_run_left_is_named_and_cleared(tmp_path: Path) -> None:
    command = [sys.executable, "-c", _HOLDER, str(tmp_path / "solve")]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None
        holder.stdout.readline()
        holder.kill()
    assert (tmp_path / "solve.partial").is_dir()
    with results_folder(tmp_path / "solve") as folder:
        folder.write("summary.json", "x")
    assert str(holder.pid) in folder.notes[0]
    assert [path.name for path in tmp_path.iterdir()] == ["solve"]


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_folder_that_cannot_be_written_is_an_error_of_the_system(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(OSError):
        fill(tmp_path / "solve")
    tmp_path.chmod(0o700)


def test_json_begins_with_the_envelope_and_has_null_for_what_is_no_number() -> None:
    head = envelope(command="solve", study="s.toml", study_hash="00", random_number=0, warnings=["w"])
    text = json_text({**head, "quantities": {"a": float("nan"), "b": float("inf"), "c": 1.5}})
    found = json.loads(text, parse_constant=pytest.fail)
    names = ["format", "command", "study", "study_hash", "version", "commit", "random_number", "warnings"]
    assert list(found)[:8] == names
    assert found["quantities"] == {"a": None, "b": None, "c": 1.5}


def test_json_can_be_had_in_ascii() -> None:
    assert json.loads(json_text({"a": "± σ"}, ascii_only=True)) == {"a": "± σ"}
    assert json_text({"a": "± σ"}, ascii_only=True).isascii()


def test_what_is_spent_goes_when_the_results_stand_file_or_folder(tmp_path: Path) -> None:
    file, folder = tmp_path / "r.search", tmp_path / "r.sample"
    file.write_text("kept while it runs", encoding="utf-8")
    folder.mkdir()
    (folder / "values.bin").write_bytes(b"0")

    def stopped() -> None:
        with results_folder(tmp_path / "r") as results:
            results.spent += [file, folder]
            raise RuntimeError

    with pytest.raises(RuntimeError):
        stopped()
    assert file.exists()
    assert folder.exists()
    with results_folder(tmp_path / "r") as results:
        results.spent += [file, folder]
    assert not file.exists()
    assert not folder.exists()
