"""The frozen points are what the reference gives, and are converged far inside the tolerances they serve."""

import json
from typing import Any

import pytest

from .make_points import FILE, NUMBER, frozen_points, write
from .model import reference_point

# Largest change allowed on halving the steps: a tenth of what the fast path is allowed to differ by.
FINE = {
    **dict.fromkeys(("thrust", "mass_flow", "exit_velocity", "exit_temperature"), 3e-4),
    **dict.fromkeys(
        ("current", "electrical_power", "lorentz_force", "electrode_drop_power", "wall_heat"), 2e-3
    ),
    **dict.fromkeys(("thrust_gain", "thrust_gain_heating"), 1e-6),
}


@pytest.fixture(scope="module")
def frozen() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
    return found


def test_halving_the_steps_moved_no_frozen_point_by_a_tenth_of_the_tolerances(frozen: dict[str, Any]) -> None:
    assert frozen["status_changed_on_halving"] == 0
    for key, allowed in FINE.items():
        assert frozen["step_halving"].get(key, 0.0) < allowed, key


def test_frozen_points_cover_modes_layouts_and_statuses(frozen: dict[str, Any]) -> None:
    points = frozen["points"]
    assert len(points) == NUMBER
    kinds = {(point["inputs"]["mode"], point["outputs"]["status"]) for point in points}
    assert {(m, s) for m in ("acceleration", "extraction") for s in ("ok", "no_contact")} <= kinds
    assert "choked" in frozen["status"]
    words = [value for point in points for value in point["inputs"].values() if isinstance(value, str)]
    assert {"continuous", "segmented", "cesium carbonate", "hydrogen", "air"} <= set(words)
    assert sum(point["outputs"].get("constricted", 0.0) for point in points) >= 10


def test_frozen_points_are_reproduced_at_a_coarser_step(frozen: dict[str, Any]) -> None:
    """Regression on our own output."""
    for point in frozen["points"][::40]:
        found = reference_point(point["inputs"], steps=48)
        assert found["status"] == point["outputs"]["status"]
        for key in ("thrust", "exit_temperature", "wall_heat"):
            assert found[key] == pytest.approx(point["outputs"][key], rel=1e-4), key


@pytest.mark.slow
@pytest.mark.remake
def test_remake_the_frozen_points(request: pytest.FixtureRequest) -> None:
    """`pytest -m remake tests/slow_reference`: solves all points again and writes the file."""
    if "remake" not in request.config.getoption("markexpr"):
        pytest.skip("rewrites a frozen file: only when asked for by its marker")
    made = frozen_points()
    assert made["status_changed_on_halving"] == 0
    write(made)
