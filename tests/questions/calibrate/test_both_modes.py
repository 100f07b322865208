"""Firings of the bench in both modes, made by the stage itself with hidden truths: what is learnt holds them."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

import explorer
from explorer import registry
from explorer.questions.calibrate.calibrate import calibrate
from explorer.questions.calibrate.posterior import Posterior

STUDIES = Path(__file__).parents[2] / "studies"
SOURCE = "electrodes.main.source"
TRUE = {"gas.conductivity_factor": 0.75, "electrodes.main.voltage_drop": 12.0, "magnet.field": 0.49}
EXTRACTION = {"mode": "extraction", f"{SOURCE}.resistance": "15 ohm"}


def study() -> explorer.Study:
    """The bench with three unknowns and one that scatters."""
    whole = explorer.read_study(STUDIES / "bench.toml")
    kept = {*TRUE, "gas.chamber_pressure"}
    exact = {item.address: item.centre for item in whole.space.inputs if item.address not in kept}
    units = {address: registry.quantity(address).unit for address in exact}
    texts = {a: f"{v!r} {units[a]}" if units[a] != "1" else v for a, v in exact.items()}
    return whole.replaced(texts)


def shown(settings: dict[str, Any], quantities: list[str]) -> dict[str, float]:
    """What the stage gives at the truth."""
    texts = {
        "gas.conductivity_factor": 0.75,
        "electrodes.main.voltage_drop": "12 V",
        "magnet.field": "0.49 T",
    }
    words = {f"{SOURCE}.kind": "load"} if "mode" in settings else {}
    point = explorer.solve(study().replaced({**settings, **words, **texts}))
    return {quantity: float(point.quantities[quantity]) for quantity in quantities}


@pytest.fixture(scope="module")
def learnt() -> Posterior:
    rng = np.random.default_rng(4)
    firings: list[dict[str, Any]] = []
    for name in ("last season 1", "last season 2"):
        current = shown(EXTRACTION, ["current"])["current"] * 1.01 + 0.005 * rng.standard_normal()
        reading = {"value": current, "random": 0.005, "common": {"shunt": 0.01 * abs(current)}}
        firings.append({"name": name, "settings": EXTRACTION, "readings": {"current": reading}})
    steps, thrust = [], []
    for name, volts in (("off", "0 V"), ("on", "150 V")):
        settings = {f"{SOURCE}.voltage": volts}
        given = shown(settings, ["current", "thrust"])
        current = given["current"] * 1.01 + 0.05 * rng.standard_normal()
        reading = {"value": current, "random": 0.05, "common": {"shunt": 0.01 * abs(current)}}
        steps.append({"name": name, "settings": settings, "readings": {"current": reading}})
        thrust.append(given["thrust"])
    change = {"value": float(np.diff(thrust)[0]), "random": 0.01}
    difference = {"quantity": "thrust", "step": "on", "less": "off", "reading": change}
    firings.append({"name": "this season", "steps": steps, "differences": [difference]})
    return calibrate(study(), None, firings, rng=1, particles=500, explain=False)


@pytest.mark.slow
def test_the_truths_lie_within_what_is_learnt_of_both_modes_together(learnt: Posterior) -> None:
    for address, true in TRUE.items():
        row = learnt.inputs.loc[address]
        assert row["low_after"] < true < row["high_after"], address
    assert learnt.inputs.loc["electrodes.main.voltage_drop", "left"] < 0.9


@pytest.mark.slow
def test_one_input_is_one_thing_in_both_modes(learnt: Posterior) -> None:
    assert set(learnt.inputs.index) == {*TRUE, "gas.chamber_pressure"}


@pytest.mark.slow
def test_the_shunt_is_one_instrument_in_both_modes(learnt: Posterior) -> None:
    assert "common error: shunt" in learnt.errors.index


@pytest.mark.slow
def test_what_was_learnt_narrows_the_target(learnt: Posterior) -> None:
    spread = learnt.prediction["standard_uncertainty"]
    assert spread["after", True] < spread["before", True]


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"magnet.feild": "0.5 T"}, "magnet.field"),
        ({"thrust": "5 N"}, "is an output"),
        ({"magnet.field": "-1 T"}, "must be"),
        ({"mode": "idle"}, "mode"),
    ],
)
def test_settings_that_the_stage_cannot_have_are_refused(settings: dict[str, str], said: str) -> None:
    firing = {"settings": settings, "readings": {"current": (1.0, 0.1)}}
    with pytest.raises(explorer.StudyError, match=said):
        calibrate(study(), None, [firing])
