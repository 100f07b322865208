"""Functions with known answers, their reference values, and plans run through them."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from explorer.sampling import Plan

Floats = NDArray[np.float64]
REFERENCE = Path(__file__).parents[1] / "reference"


def reference(file: str) -> dict[str, Any]:
    return tomllib.loads((REFERENCE / f"{file}.toml").read_text(encoding="utf-8"))


def ishigami(u: Floats) -> Floats:
    x = (2.0 * u - 1.0) * np.pi
    return np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


def sobol_g(u: Floats) -> Floats:
    a = np.array(reference("sensitivity")["sobol_g"]["a"])
    return np.prod((np.abs(4.0 * u - 2.0) + a) / (1.0 + a), axis=1)


def product(u: Floats) -> Floats:
    case = reference("sensitivity")["product"]
    return np.prod(np.array(case["means"]) + np.array(case["standard_deviations"]) * ndtri(u), axis=1)


def correlated_gaussian(u: Floats) -> Floats:
    """Three Gaussian inputs, standard deviations 1, 1, 2, the last two correlated by 0.5."""
    z = ndtri(u)
    return np.stack([z[..., 0], z[..., 1], z[..., 1] + np.sqrt(3.0) * z[..., 2]], axis=-1)


def points_of(plan: Plan) -> Floats:
    return np.concatenate([plan.points(*chunk) for chunk in plan.chunks()])


def outputs_of(plan: Plan, function: Callable[[Floats], Floats]) -> Floats:
    return plan.arranged(np.concatenate([function(plan.points(*chunk)) for chunk in plan.chunks()]))
