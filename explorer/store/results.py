"""Folders of results: built beside as a partial folder, renamed when complete, one run at a time.

A run locks the folder that it writes with a file that holds its process id and start. The operating system lets
go of the lock when the process ends, however it ends, so that a lock which can be had although its file is there
is a stale one: it is named and cleared. A finished folder is replaced as a whole, but only if everything in it
was written by an earlier run.
"""

import contextlib
import json
import os
import shutil
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Final

_FILES: Final = ".files"  #: names of all that a finished run wrote, one a line
_DESKTOP: Final = {".DS_Store", "Thumbs.db"}  #: what file managers leave everywhere
_MOST_NUMBERED: Final = 10_000


class ResultsError(RuntimeError):
    """A folder of results that can't be had; the message says why and what to do."""


@dataclass
class ResultsFolder:
    """A folder of results while it is filled."""

    final: Path  #: Where the results will lie
    partial: Path  #: Where they are written
    #: What a reader should know, such as a stale lock that was cleared.
    notes: list[str] = field(default_factory=list)
    #: Folders and files that nobody needs once the results stand, and that are removed then.
    spent: list[Path] = field(default_factory=list)

    def write(self, name: str, content: str | bytes) -> None:
        """Write one file."""
        data = content.encode("utf-8") if isinstance(content, str) else content
        (self.partial / name).write_bytes(data)


@contextlib.contextmanager
def results_folder(wanted: Path, *, keep: bool = False) -> Iterator[ResultsFolder]:
    """A folder to fill; it takes its place when the block ends, and nothing is left of it if that fails."""
    final, lock, notes = _locked(wanted, keep)
    try:
        _refuse_foreign(final)
        partial = _beside(final, ".partial")
        if partial.exists():
            shutil.rmtree(partial)
        partial.mkdir()
        try:
            folder = ResultsFolder(final, partial, notes)
            yield folder
            _finish(final, partial)
            for spent in folder.spent:  # while the lock is held, so that no other run uses them
                _remove(spent)
        finally:
            shutil.rmtree(partial, ignore_errors=True)
    finally:
        _unlock(_beside(final, ".lock"), lock)


def _remove(spent: Path) -> None:
    if spent.is_dir():
        shutil.rmtree(spent, ignore_errors=True)
    else:
        with contextlib.suppress(OSError):
            spent.unlink(missing_ok=True)


def _beside(final: Path, ending: str) -> Path:
    return final.with_name(final.name + ending)


def _locked(wanted: Path, keep: bool) -> tuple[Path, IO[str], list[str]]:
    place = Path(os.path.abspath(wanted))  # a lexical path: "." and ".." must not become part of a name
    if not place.name:
        raise ResultsError(f"{place} can't hold results: name a folder of its own with --out")
    place.parent.mkdir(parents=True, exist_ok=True)
    if not keep:
        lock, note = _lock(place)
        return place, lock, note
    for number in range(1, _MOST_NUMBERED):
        numbered = place.with_name(f"{place.name}-{number}")
        if numbered.exists():
            continue
        try:
            lock, note = _lock(numbered)
        except ResultsError:  # another run is taking this number
            continue
        if numbered.exists():
            _unlock(_beside(numbered, ".lock"), lock)
            continue
        return numbered, lock, note
    raise ResultsError(f"{place} has been numbered too often: clear some of its results away")


def _lock(final: Path) -> tuple[IO[str], list[str]]:
    path = _beside(final, ".lock")
    while True:
        existed = path.exists()
        file = path.open("a+", encoding="utf-8")
        if not _taken(file):
            holder = _holder(path)
            file.close()
            raise ResultsError(
                f"another run{holder} is writing to {final}: wait for it, or give another --out"
            )
        if _same_file(file, path):
            break
        file.close()  # its owner removed it between our opening and locking it
    notes = []
    if existed and (holder := _holder(path)):
        notes.append(f"A lock left by a run{holder} that no longer works there was cleared.")
    file.seek(0)
    file.truncate()
    json.dump({"process": os.getpid(), "start": time.strftime("%Y-%m-%d %H:%M:%S")}, file)
    file.flush()
    return file, notes


def _holder(path: Path) -> str:
    """Return the process in a lock file as words, or nothing where the file says nothing."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        return f" (process {int(found['process'])}, started {found['start']})"
    except (OSError, ValueError, KeyError, TypeError):
        return ""


def _same_file(file: IO[str], path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.stat())
    except FileNotFoundError:
        return False


def _unlock(path: Path, file: IO[str]) -> None:
    try:
        path.unlink()  # before letting go, so that nobody locks a file about to vanish (_same_file)
        file.close()
    except OSError:  # where an open file can't be removed
        file.close()
        with contextlib.suppress(OSError):
            path.unlink()


if sys.platform == "win32":
    import msvcrt

    def _taken(file: IO[str]) -> bool:
        """Lock an open file; False if another process has it."""
        file.seek(1 << 20)  # behind the text, which others may read
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _taken(file: IO[str]) -> bool:
        """Lock an open file; False if another process has it."""
        try:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


def _refuse_foreign(final: Path) -> None:
    """Refuse to replace what no run has written."""
    if not final.exists():
        return
    if not final.is_dir():
        raise ResultsError(f"{final} is a file: give --out the name of a folder")
    if final.resolve() in (here := Path.cwd(), *here.parents):
        raise ResultsError(
            f"{final} is where this command runs, and results replace a folder as a whole: give --out the name of a"
            " folder in it"
        )
    own = _written_by_run(final)
    foreign = sorted(path.name for path in final.iterdir() if path.name not in own | _DESKTOP)
    if foreign:
        raise ResultsError(
            f"{final} holds {foreign[0]}, which no run has written, and would be replaced as a whole: move it away,"
            " or give --keep or another --out"
        )


def _written_by_run(folder: Path) -> set[str]:
    try:
        return {*(folder / _FILES).read_text(encoding="utf-8").splitlines(), _FILES}
    except OSError:
        return set()


def _finish(final: Path, partial: Path) -> None:
    names = sorted(path.name for path in partial.iterdir())
    (partial / _FILES).write_text("".join(f"{name}\n" for name in names), encoding="utf-8")
    previous = _beside(final, f".previous-{os.getpid()}")
    if final.exists():
        final.rename(previous)
    try:
        partial.rename(final)
    except OSError:
        if previous.exists():
            previous.rename(final)
        raise
    shutil.rmtree(previous, ignore_errors=True)
