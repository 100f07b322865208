"""What may be true and what would be seen, drawn for a plan of one's own; measurements as mappings."""

import numpy as np
import pytest

import explorer
from explorer import StudyError, draws, rank

INPUTS = {"a": "0 ± 1", "b": {"value": 0, "scatter": 2}}
SHOT = {"name": "shot", "hours": 1.0, "observes": {"y": {"random": 0.5, "common": 0.1}}, "repeats": 4}


def model(v):
    return {"y": v["a"] + v["b"]}


def test_draws_are_what_the_space_and_the_instrument_say() -> None:
    found = draws(
        model, 40_000, 3, inputs=INPUTS, measurements=[SHOT, {"name": "pin", "hours": 1, "pins": {"a": 0.3}}]
    )
    assert list(found) == ["a", "b", "y", "shot: y", "pin: a", "status"]
    np.testing.assert_allclose(found["y"], found["a"] + found["b"])
    # Independent draws: a standard deviation of n is off by 1/sqrt(2n), here 0.4 %.
    assert found["a"].std() == pytest.approx(1.0, rel=0.02)
    assert (found["pin: a"] - found["a"]).std() == pytest.approx(0.3, rel=0.02)
    # The shot's own firings draw the scatter anew: (2² + 0.5²)/4 of its mean, 0.1² of the instrument.
    assert (found["shot: y"] - found["a"]).std() == pytest.approx(np.sqrt(4.25 / 4 + 0.01), rel=0.02)
    assert set(found["status"]) == {"ok"}
    again = draws(model, 40_000, 3, inputs=INPUTS, measurements=[SHOT])
    assert again["shot: y"].equals(found["shot: y"])


def test_a_mapping_is_read_as_the_measurement_that_it_names() -> None:
    shot = explorer.Measurement(
        "shot",
        1.0,
        observes={"y": explorer.ReadingUncertainty(explorer.Amount(0.5), explorer.Amount(0.1))},
        repeats=4,
    )
    options = {"target": "y", "rng": 1, "base": 512, "test_guesses": False}
    one, two = (rank(model, INPUTS, measurements=[own], **options).measurements for own in (SHOT, shot))
    assert one.equals(two)


def test_a_correlation_may_be_a_mapping() -> None:
    inputs = {"a": "0 ± 1", "b": "0 ± 1"}
    tied = {"between": ["a", "b"], "rank": 0.5}
    found = [
        rank(
            lambda v: {"y": v["a"]},
            inputs,
            target="y",
            rng=1,
            base=512,
            test_guesses=False,
            correlations=[own],
        )
        for own in (tied, explorer.Correlation(("a", "b"), 0.5))
    ]
    assert found[0].inputs.equals(found[1].inputs)


@pytest.mark.parametrize(
    ("measurement", "message"),
    [
        ({"hours": 1}, "needs a name and hours"),
        ({"name": "m", "hours": 1}, "neither pins nor observes"),
        ({"name": "m", "hours": 0, "pins": {"a": 1.0}}, "hours must be above 0"),
        ({"name": "m", "hours": 1, "pins": {"a": "a lot"}}, "expected a standard uncertainty in SI"),
        ({"name": "m", "hours": 1, "pins": {"a": {"sigma": 1}}}, "expected a standard uncertainty in SI"),
        ({"name": "m", "hours": 1, "pins": {"a": 1.0}, "when": 3}, "when is no key of a measurement"),
    ],
)
def test_what_is_no_measurement_is_one_sentence(measurement, message: str) -> None:
    with pytest.raises(StudyError, match=message):
        rank(model, INPUTS, target="y", rng=1, base=64, measurements=[measurement])


def test_what_is_no_correlation_is_one_sentence() -> None:
    for wrong in ({"rank": 0.5}, {"between": ["a", "b"], "rank": 3}, "a with b"):
        with pytest.raises(ValueError, match="correlat"):
            rank(model, {"a": "0 ± 1", "b": "0 ± 1"}, target="y", rng=1, base=64, correlations=[wrong])
