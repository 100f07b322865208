"""Freezes tests/reference/slow_reference_points.json: 200 random points solved by the slow reference.

Run from the repository's root: `python -m tests.slow_reference.make_points`.
Each point is solved at STEPS and again at half as many; the largest change of each quantity stands in the
file as `step_halving`. The error left is a third of that (second order).
"""

from __future__ import annotations

import json
import math
import platform
from collections import Counter
from pathlib import Path
from typing import Any

import cantera
import joblib
import numpy as np
import scipy

from .model import Outputs, reference_point
from .points import random_point

NUMBER = 200
STEPS = 192
RANDOM_NUMBER = 20
FILE = Path(__file__).parents[1] / "reference" / "slow_reference_points.json"


def _shown(value: float | str) -> float | str | None:
    if isinstance(value, str):
        return value
    return float(f"{value:.8g}") if math.isfinite(value) else None


def _solved(inputs: dict[str, Any]) -> tuple[Outputs, Outputs]:
    return reference_point(inputs, steps=STEPS), reference_point(inputs, steps=STEPS // 2)


def _changes(pairs: list[tuple[Outputs, Outputs]]) -> dict[str, float]:
    """Largest relative change of each quantity; gains and the pressure change against their carriers."""
    worst: dict[str, float] = {}
    carrier = {
        "thrust_gain": "thrust",
        "thrust_gain_heating": "thrust",
        "exit_pressure_change": "exit_pressure",
    }
    for fine, coarse in pairs:
        for key, value in fine.items():
            if isinstance(value, str) or key not in coarse or not math.isfinite(value):
                continue
            size = abs(float(fine[carrier.get(key, key)]))
            change = abs(value - float(coarse[key])) / size if size else 0.0
            worst[key] = max(worst.get(key, 0.0), change)
    return {key: float(f"{value:.2g}") for key, value in worst.items() if value}


def frozen_points() -> dict[str, Any]:
    """The points with their outputs and where they come from."""
    rng = np.random.default_rng(RANDOM_NUMBER)
    inputs = [random_point(rng) for _ in range(NUMBER)]
    solved = joblib.Parallel(n_jobs=2)(joblib.delayed(_solved)(point) for point in inputs)
    status = Counter(str(fine["status"]) for fine, _ in solved)
    flips = sum(fine["status"] != coarse["status"] for fine, coarse in solved)
    return {
        "about": "Points solved by tests/slow_reference; a comparison between two own implementations, SI",
        "made_by": "python -m tests.slow_reference.make_points",
        "versions": {
            "python": platform.python_version(),
            "cantera": cantera.__version__,
            "numpy": np.__version__,
            "scipy": scipy.__version__,
        },
        "random_number": RANDOM_NUMBER,
        "steps": STEPS,
        "status": dict(status),
        "status_changed_on_halving": flips,
        "step_halving": _changes(solved),
        "points": [
            {"inputs": point, "outputs": {key: _shown(value) for key, value in fine.items()}}
            for point, (fine, _) in zip(inputs, solved, strict=True)
        ],
    }


def write(frozen: dict[str, Any]) -> None:
    """Write the file, one point a line."""
    points = frozen["points"]
    head_only = {key: value for key, value in frozen.items() if key != "points"}
    head = json.dumps(head_only, indent=1, ensure_ascii=False)[:-2]
    lines = ",\n".join(json.dumps(point, separators=(",", ":")) for point in points)
    FILE.write_text(f'{head},\n "points": [\n{lines}\n]}}\n', encoding="utf-8")


if __name__ == "__main__":
    write(frozen_points())
