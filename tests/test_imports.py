from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import grimp
import pytest


def check_no_circle(package: str) -> None:
    """Raise a CycleError where modules of a package import each other in a circle, within functions too."""
    graph = grimp.build_graph(package, cache_dir=None)
    TopologicalSorter({m: graph.find_modules_directly_imported_by(m) for m in graph.modules}).prepare()


def test_no_modules_import_each_other_in_a_circle() -> None:
    check_no_circle("explorer")


@pytest.mark.parametrize(
    ("above", "below"),
    [
        ("import circular.below", "def late():\n    from circular import above"),
        ("import circular.below", "from circular import late"),  # by way of the package itself
    ],
)
def test_a_circle_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, above: str, below: str) -> None:
    folder = tmp_path / "circular"
    folder.mkdir()
    (folder / "__init__.py").write_text("from circular.above import late")
    (folder / "above.py").write_text(above)
    (folder / "below.py").write_text(below)
    monkeypatch.syspath_prepend(tmp_path)
    with pytest.raises(CycleError):
        check_no_circle("circular")
