"""A small bench with all that a calibration meets: unknowns, scatter, a common error; and truths drawn from it."""

from collections.abc import Mapping
from typing import Any

import numpy as np

PRIOR = {
    "drop": "10 ± 4",
    "slope": {"median": 1.0, "factor": 1.8},
    "strength": {"value": 0.5, "unknown": 0.03, "scatter": 0.02},
}
VOLTAGES = (40.0, 80.0, 120.0, 160.0)
RANDOM, SHUNT = 0.4, 0.6


def bench(values: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """A current beyond a drop, less at a larger field."""
    beyond = np.maximum(values["voltage"] - values["drop"] - 30.0 * values["strength"], 0.0)
    return {"current": 0.2 * values["slope"] * beyond}


def truth(rng: np.random.Generator) -> dict[str, float]:
    """Inputs as they may be."""
    return {
        "drop": rng.normal(10.0, 4.0),
        "slope": float(np.exp(np.log(1.8) / 1.959964 * rng.standard_normal())),
        "strength": rng.normal(0.5, 0.03),
    }


def firings(true: Mapping[str, float], rng: np.random.Generator) -> list[dict[str, Any]]:
    """Firings of a bench whose inputs are these, with scatter, noise and one error of the shunt."""
    shunt = SHUNT * rng.standard_normal()
    found = []
    for voltage in VOLTAGES:
        field = true["strength"] + rng.normal(0.0, 0.02)
        values = {k: np.array([v]) for k, v in {**true, "strength": field, "voltage": voltage}.items()}
        current = float(bench(values)["current"][0]) + shunt + RANDOM * rng.standard_normal()
        reading = {"value": current, "random": RANDOM, "common": {"shunt": SHUNT}}
        found.append(
            {"name": f"{voltage:g}", "settings": {"voltage": voltage}, "readings": {"current": reading}}
        )
    return found
