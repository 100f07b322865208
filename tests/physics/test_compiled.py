"""Compiled code is kept under a digest of all the sources that it may have come from."""

import pytest

from explorer.physics.compiled import _source_digest


@pytest.fixture
def package(tmp_path):
    for name in ("physics/walls.py", "physics/flight/ascent.py", "stage/march.py", "stage/gas/lookup.py"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"# {name}\n", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("name", ["physics/walls.py", "stage/march.py", "stage/gas/lookup.py"])
def test_a_change_of_any_source_changes_the_digest_in_sub_folders_too(package, name):
    before = _source_digest(package)
    assert _source_digest(package) == before
    (package / name).write_text("# changed\n", encoding="utf-8")
    assert _source_digest(package) != before


def test_what_is_no_source_changes_nothing(package):
    before = _source_digest(package)
    (package / "stage/MODEL.md").write_text("text", encoding="utf-8")
    assert _source_digest(package) == before
