"""A wrong model must not grow falsely certain: the case of Brynjarsdóttir and O'Hagan.

Source: J. Brynjarsdóttir and A. O'Hagan, Inverse Problems 30 (2014) 114007: truth 0.65 x/(1 + x/20), model θx, noise
0.01, 11 points in 0.2 to 4; without a discrepancy θ = 0.5626 ± 0.00125 (least squares
of the noiseless truth, closed form).
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from explorer.questions.calibrate.calibrate import calibrate
from explorer.questions.calibrate.posterior import Posterior

X = np.linspace(0.2, 4.0, 11)
TRUTH = 0.65 * X / (1.0 + X / 20.0)


def learnt(y: np.ndarray, relative: float, **more: Any) -> Posterior:
    def model(values: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
        return {"y": values["theta"] * values["x"]}

    firings = [
        {"name": f"{x:.2f}", "settings": {"x": float(x)}, "readings": {"y": (float(own), 0.01)}}
        for x, own in zip(X, y, strict=True)
    ]
    return calibrate(
        model,
        {"theta": "0.5 ± 0.3"},
        firings,
        rng=1,
        model_error={"y": relative},
        particles=2000,
        **{"explain": False, **more},
    )


def test_without_an_error_of_its_own_the_model_is_falsely_certain() -> None:
    row = learnt(TRUTH, 0.0).inputs.loc["theta"]
    assert row["mean_after"] == pytest.approx(0.5626, abs=0.0002)
    assert row["standard_uncertainty_after"] == pytest.approx(0.00125, rel=0.08)
    assert row["high_after"] < 0.65


@pytest.mark.parametrize("number", range(3))
def test_with_an_error_of_its_own_the_interval_holds_the_truth(number: int) -> None:
    noise = 0.01 * np.random.default_rng(number).standard_normal(X.size)
    row = learnt(TRUTH + noise, 0.1).inputs.loc["theta"]
    assert row["low_after"] < 0.65 < row["high_after"]
    assert row["standard_uncertainty_after"] < 0.3 * 0.5  # and still something is learnt


@pytest.mark.slow
def test_one_run_tells_both_what_is_known_with_that_error_and_without() -> None:
    found = learnt(TRUTH, 0.1, explain=True)
    assert found.without is not None
    assert found.without.inputs is not None
    row = found.without.inputs.loc["theta"]
    assert row["mean_after"] == pytest.approx(0.5626, abs=0.0003)
    assert row["standard_uncertainty_after"] == pytest.approx(0.00125, rel=0.12)
    direct = learnt(TRUTH, 0.0)
    error = np.hypot(found.without.log_evidence_error, direct.log_evidence_error)
    assert found.without.log_evidence == pytest.approx(direct.log_evidence, abs=3.5 * error)
    assert found.log_evidence > found.without.log_evidence + 10.0  # a line doesn't fit a curve
