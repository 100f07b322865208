"""Certified nonlinear regressions of the NIST StRD, learnt from as if each were one burn with a step a point.

The prior is wide and off the mark: `WIDTH` certified deviations wide, its middle up to two of them away. Where the
regression is nearly linear the posterior must have the certified values and deviations; elsewhere its most probable
point, polished by least squares, must have the values.
"""

import tomllib
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import least_squares

import explorer
from explorer.questions.calibrate.calibrate import calibrate

DATA = tomllib.loads((Path(__file__).parents[2] / "reference" / "nonlinear_regression.toml").read_text())

MODELS: dict[str, Callable[..., Any]] = {
    "Misra1a": lambda x, a, b: a * (1.0 - np.exp(-b * x)),
    "DanWood": lambda x, a, b: a * x**b,
    "Eckerle4": lambda x, a, b, c: a / b * np.exp(-0.5 * ((x - c) / b) ** 2),
    "BoxBOD": lambda x, a, b: a * (1.0 - np.exp(-b * x)),
    "Rat43": lambda x, a, b, c, d: a / (1.0 + np.exp(b - c * x)) ** (1.0 / d),
}
WIDTH = {"Misra1a": 20.0, "DanWood": 10.0, "Eckerle4": 20.0, "BoxBOD": 4.0, "Rat43": 1.5}


def own(name: str) -> tuple[np.ndarray, ...]:
    return tuple(np.array(DATA[name][key], dtype=float) for key in ("x", "y", "certified", "deviations"))


@lru_cache
def learnt(name: str) -> explorer.Posterior:
    x, y, certified, deviations = own(name)
    noise = np.sqrt(DATA[name]["residual_sum"] / (x.size - certified.size))
    names = "abcd"[: certified.size]

    def model(values: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
        with np.errstate(all="ignore"):
            found = MODELS[name](values["x"], *(values[key] for key in names))
        return {"y": np.where(np.isfinite(found), found, np.nan)}

    width, off = WIDTH[name], min(2.0, 0.3 * WIDTH[name])
    prior = {
        key: {
            "mean": c + off * d,
            "sd": width * d,
            "low": c - min(4 * width * d, 0.95 * c),
            "high": c + 4 * width * d,
        }
        for key, c, d in zip(names, certified.tolist(), deviations.tolist(), strict=True)
    }
    steps = [
        {"name": f"p{i}", "settings": {"x": float(a)}, "readings": {"y": (float(b), float(noise))}}
        for i, (a, b) in enumerate(zip(x, y, strict=True))
    ]
    return calibrate(model, prior, [{"steps": steps}], rng=1, explain=False)


def named(*names: str) -> list[Any]:
    slow = {"Misra1a", "Eckerle4", "Rat43", "DanWood"}
    return [pytest.param(name, marks=[pytest.mark.slow] if name in slow else []) for name in names]


def test_the_data_have_the_certified_residual_sum() -> None:
    for name, model in MODELS.items():
        x, y, certified, _ = own(name)
        assert np.sum((y - model(x, *certified)) ** 2) == pytest.approx(DATA[name]["residual_sum"], rel=1e-9)


@pytest.mark.parametrize("name", named(*MODELS))
def test_the_most_probable_point_polished_by_least_squares_has_the_certified_values(name: str) -> None:
    x, y, certified, deviations = own(name)

    def residuals(scaled: np.ndarray) -> np.ndarray:
        return MODELS[name](x, *(scaled * deviations)) - y

    draws = learnt(name).sample.to_numpy()[::20] / deviations
    best = min(draws, key=lambda point: float(np.sum(residuals(point) ** 2)))
    polished = least_squares(residuals, best, xtol=1e-15, ftol=1e-15, gtol=1e-15).x * deviations
    assert polished == pytest.approx(certified, rel=5e-5)


@pytest.mark.parametrize("name", named("Misra1a", "DanWood", "Eckerle4"))
def test_the_posterior_of_a_nearly_linear_regression_has_the_certified_values_and_deviations(
    name: str,
) -> None:
    _, _, certified, deviations = own(name)
    after = learnt(name).inputs
    assert np.all(np.abs(after["mean_after"] - certified) < 0.1 * deviations)
    assert after["standard_uncertainty_after"].to_numpy() == pytest.approx(deviations, rel=0.1)
