"""Compiled code is kept under a digest of all its sources, checked before it is loaded, and never a reason to fail."""

import hashlib
import os
import pickle
import shutil
import subprocess
import sys
import warnings
from pathlib import Path

import pytest

from explorer.physics import kept_code
from explorer.physics.compiled import compiled
from explorer.physics.kept_code import MOST_FOLDERS, CacheWarning, _source_digest, cache_folder, has_code

ROOT = Path(__file__).parents[2]


@pytest.fixture
def package(tmp_path):
    for name in ("physics/walls.py", "physics/flight/ascent.py", "stage/march.py", "stage/gas/lookup.py"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"# {name}\n", encoding="utf-8")
    return tmp_path


def source_digest(package):
    return _source_digest.__wrapped__(package)


@pytest.mark.parametrize("name", ["physics/walls.py", "stage/march.py", "stage/gas/lookup.py"])
def test_a_change_of_any_source_changes_the_digest_in_sub_folders_too(package, name):
    before = source_digest(package)
    assert source_digest(package) == before
    (package / name).write_text("# changed\n", encoding="utf-8")
    assert source_digest(package) != before


def test_what_is_no_source_changes_nothing(package):
    before = source_digest(package)
    (package / "stage/MODEL.md").write_text("text", encoding="utf-8")
    assert source_digest(package) == before


def twice(x):
    return 2.0 * x


@pytest.fixture
def cache(tmp_path, monkeypatch):
    """A cache folder of the test's own, of which nothing was said yet."""
    folder = tmp_path / "cache"
    monkeypatch.setenv("MHDSTAGE_CACHE", str(folder))
    forget()
    yield folder
    forget()


def forget():
    """As in a new process."""
    kept_code._folder_in.cache_clear()
    kept_code._say_damaged.cache_clear()


def loaded() -> bool:
    """Whether the code of `twice` comes from the cache, right in either case."""
    function = compiled(twice)
    assert function(21.0) == 42.0
    return bool(sum(function.stats.cache_hits.values()))


def kept(cache: Path) -> Path:
    [path] = (cache / "compiled").rglob("*.code")
    return path


def flipped(content: bytes, place: int) -> bytes:
    return content[:place] + bytes([content[place] ^ 0x10]) + content[place + 1 :]


DAMAGES = {
    "a bit of the digest": lambda content: flipped(content, 3),
    "a bit of the code": lambda content: flipped(content, len(content) // 2),
    "the last bit": lambda content: flipped(content, len(content) - 1),
    "a hole": lambda content: content[:4096] + bytes(4096) + content[8192:],
    "nothing but a hole": lambda content: bytes(len(content)),
    "cut off": lambda content: content[: len(content) // 2],
    "cut off in the digest": lambda content: content[:10],
    "empty": lambda _: b"",
    "longer": lambda content: content + b"\0",
}


def test_code_is_kept_and_loaded_again(cache):
    assert not has_code()
    assert not loaded()
    assert has_code()
    assert loaded()


@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
def test_damaged_code_is_said_once_and_compiled_again(cache, damage):
    loaded()
    whole = kept(cache).read_bytes()
    kept(cache).write_bytes(damage(whole))
    with pytest.warns(CacheWarning, match="was damaged and is compiled anew"):
        assert not loaded()
    assert loaded()
    kept(cache).write_bytes(damage(whole))
    with warnings.catch_warnings(action="error"):  # not said again
        assert not loaded()


class Planted:
    """What makes a folder when it is unpickled."""

    def __init__(self, mark):
        self.mark = mark

    def __reduce__(self):
        return os.mkdir, (str(self.mark),)


def plant(path: Path, mark: Path) -> None:
    content = pickle.dumps(Planted(mark))
    path.write_bytes(hashlib.sha256(content).digest() + content)


@pytest.mark.parametrize("level", [0, 1, 2])
@pytest.mark.parametrize("mode", [0o777, 0o707, 0o702])
def test_a_file_planted_where_others_may_write_is_not_run(cache, tmp_path, level, mode):
    loaded()
    plant(kept(cache), tmp_path / "run")
    [cache, cache / "compiled", kept(cache).parent][level].chmod(mode)
    forget()
    with pytest.warns(CacheWarning, match="everybody may write to it") as said:
        assert not loaded()
    assert not loaded()
    assert len(said) == 1
    assert not (tmp_path / "run").exists()
    assert not has_code()


def test_a_file_that_others_may_write_is_not_run(cache, tmp_path):
    """Put there, say, while the folder was open to all."""
    loaded()
    plant(kept(cache), tmp_path / "run")
    kept(cache).chmod(0o666)
    with pytest.warns(CacheWarning, match="was damaged"):
        assert not loaded()
    assert not (tmp_path / "run").exists()


def test_the_planted_file_would_run_in_a_folder_of_one_s_own(cache, tmp_path):
    """The twin that must fail: only the check of who may write stands between."""
    loaded()
    plant(kept(cache), tmp_path / "run")
    with pytest.raises(TypeError):
        loaded()
    assert (tmp_path / "run").exists()


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can give a folder away")
def test_a_folder_of_another_user_is_not_read(cache):
    loaded()
    os.chown(cache / "compiled", 12345, -1)
    forget()
    with pytest.warns(CacheWarning, match="belongs to another user"):
        assert not loaded()


def test_a_folder_that_only_a_group_of_one_s_own_may_write_to_is_one_s_own(cache, monkeypatch):
    loaded()
    cache.chmod(0o770)
    forget()
    monkeypatch.setattr(kept_code, "_is_own_group", lambda _: True)
    assert loaded()
    forget()
    monkeypatch.setattr(kept_code, "_is_own_group", lambda _: False)
    with pytest.warns(CacheWarning, match="a group may write to it"):
        assert not loaded()


@pytest.mark.parametrize("failing", ["mkdir", "touch", "replace"])
def test_a_folder_that_cannot_be_written_is_no_reason_to_fail(cache, monkeypatch, failing):
    def refused(*_args, **_options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, failing, refused)
    assert not loaded()
    assert not loaded()
    assert not list(cache.rglob("*.code")) + list(cache.rglob("*.partial"))


def test_a_read_only_folder_is_read(cache, monkeypatch):
    loaded()
    forget()
    monkeypatch.setattr(
        os, "utime", lambda *_: (_ for _ in ()).throw(PermissionError(13, "Permission denied"))
    )
    assert loaded()


def test_checkouts_with_other_sources_lie_side_by_side_up_to_a_bound(cache, monkeypatch):
    for number in range(2 * MOST_FOLDERS):
        forget()
        monkeypatch.setattr(kept_code, "_source_digest", lambda number=number: f"checkout{number}")
        assert not loaded()
        forget()
        monkeypatch.setattr(kept_code, "_source_digest", lambda: "checkout0")
        assert loaded()  # used in between, it stays
        for place in (cache / "compiled").iterdir():
            before = place.stat().st_mtime - 100.0
            os.utime(place, (before, before))
    assert len(list((cache / "compiled").iterdir())) == MOST_FOLDERS
    assert (cache / "compiled" / "checkout0").exists()


COMPILE = """
from explorer.physics.electrodes import current_density
print(current_density(100.0, 0.005, 8.0, 0.005, float("inf"))[0])
"""
REMOVED = """
import shutil
from explorer.physics.electrodes import current_density
from explorer.physics.kept_code import cache_folder
current_density(100.0, 0.005, 8.0, 0.005, 50.0)
shutil.rmtree(cache_folder())
current_density(100, 0.005, 8.0, 0.005, 50.0)
print(current_density(100.0, 0.005, 8.0, 0.005, float("inf"))[0])
"""
SOLVE = """
from explorer.questions.solve.point import solve
from explorer.studyfile import read_study
print(solve(read_study("tests/studies/bench.toml")).status)
"""


def answer_of(program, cache):
    done = subprocess.run(
        [sys.executable, "-W", "error::RuntimeWarning", "-c", program],
        cwd=ROOT,
        env={**os.environ, "MHDSTAGE_CACHE": str(cache)},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_compiled_code_is_kept_in_the_cache_folder(tmp_path):
    assert float(answer_of(COMPILE, tmp_path / "cache")) == pytest.approx(9200.0)
    assert list((tmp_path / "cache" / "compiled").rglob("*.code"))


def test_a_folder_for_compiled_code_that_can_t_be_made_is_no_reason_to_fail(tmp_path):
    place = tmp_path / "cache"
    place.write_text("a file")
    assert float(answer_of(COMPILE, place)) == pytest.approx(9200.0)
    assert place.read_text() == "a file"


def test_a_folder_for_compiled_code_that_vanishes_meanwhile_is_no_reason_to_fail(tmp_path):
    """Another version of the package clears it when it starts."""
    assert float(answer_of(REMOVED, tmp_path / "cache")) == pytest.approx(9200.0)


@pytest.mark.slow
def test_broken_compiled_code_is_compiled_again(tmp_path):
    answer_of(SOLVE, cache_folder())
    cache = shutil.copytree(cache_folder(), tmp_path / "cache", ignore=shutil.ignore_patterns("tables"))
    for path in (cache / "compiled").rglob("*.code"):
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    assert answer_of(SOLVE, cache) == "ok"


@pytest.mark.slow
def test_a_study_is_solved_without_any_cache(tmp_path):
    place = tmp_path / "cache"
    place.write_text("a file")
    assert answer_of(SOLVE, place) == "ok"
