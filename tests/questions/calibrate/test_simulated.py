"""Truths drawn from the prior must look like draws of their posteriors; intervals hold them as often as they say.

Sources: S. Talts, M. Betancourt, D. Simpson, A. Vehtari and A. Gelman, Validating Bayesian inference algorithms with
simulation-based calibration, arXiv:1804.06788 (2018); binomial limits of 400 repeats (closed form).
"""

import numpy as np
import pandas as pd
import pytest
from questions.calibrate.shots import PRIOR, bench, firings, truth
from scipy.stats import binom, chisquare

from explorer.questions.calibrate.calibrate import calibrate

TRUTHS, DRAWS, BINS = 200, 99, 10


def ranks(
    samples: list[pd.DataFrame], truths: list[dict[str, float]], narrowed: float
) -> dict[str, np.ndarray]:
    """Rank of each truth among draws of its posterior, which may be narrowed about its mean."""
    found: dict[str, list[int]] = {name: [] for name in PRIOR}
    for number, (sample, true) in enumerate(zip(samples, truths, strict=True)):
        draws = sample.sample(DRAWS, random_state=number)[[*PRIOR]]
        middle = sample[[*PRIOR]].mean()
        draws = middle + narrowed * (draws - middle)
        for name in PRIOR:
            found[name].append(int(np.sum(draws[name] < true[name])))
    return {name: np.array(own) for name, own in found.items()}


def p_uniform(found: np.ndarray) -> float:
    counts = np.bincount(found * BINS // (DRAWS + 1), minlength=BINS)
    return float(chisquare(counts).pvalue)


@pytest.fixture(scope="module")
def simulated() -> tuple[list[pd.DataFrame], list[dict[str, float]]]:
    samples, truths = [], []
    for number in range(TRUTHS):
        rng = np.random.default_rng([11, number])
        true = truth(rng)
        posterior = calibrate(bench, PRIOR, firings(true, rng), rng=number, particles=500, explain=False)
        samples.append(posterior.sample)
        truths.append(true)
    return samples, truths


@pytest.mark.coverage
def test_truths_rank_evenly_among_the_draws_of_their_posteriors(simulated) -> None:
    assert {name: p_uniform(own) > 0.001 for name, own in ranks(*simulated, 1.0).items()} == dict.fromkeys(
        PRIOR, True
    )


@pytest.mark.coverage
def test_a_posterior_narrowed_to_seven_tenths_fails_the_same_check(simulated) -> None:
    assert min(p_uniform(own) for own in ranks(*simulated, 0.7).values()) < 0.001


@pytest.mark.coverage
def test_intervals_hold_the_truth_as_often_as_they_say(simulated) -> None:
    for name in PRIOR:
        low, high = zip(*(sample[name].quantile([0.025, 0.975]) for sample in simulated[0]), strict=True)
        held = sum(a < true[name] < b for a, b, true in zip(low, high, simulated[1], strict=True))
        assert binom.ppf(0.0005, TRUTHS, 0.95) <= held <= binom.ppf(0.9995, TRUTHS, 0.95), name


REPEATS, RANDOM, COMMON = (
    400,
    0.2,
    0.0945,
)  # ignored, such a common error leaves 80 % of 95 % intervals (closed form)


def held(*, told: bool) -> int:
    """How often the 95 % interval from six firings holds the truth."""
    found = 0
    for number in range(REPEATS):
        rng = np.random.default_rng([12, number])
        true, gauge = 0.0, COMMON * rng.standard_normal()
        firings = [
            {
                "name": str(place),
                "readings": {
                    "y": {
                        "value": float(true + gauge + RANDOM * rng.standard_normal()),
                        "random": RANDOM,
                        "common": {"gauge": COMMON} if told else {},
                    }
                },
            }
            for place in range(6)
        ]
        row = calibrate(
            lambda v: {"y": v["a"]}, {"a": "0 ± 3"}, firings, rng=number, particles=500, explain=False
        ).inputs.loc["a"]
        found += row["low_after"] < true < row["high_after"]
    return found


@pytest.mark.coverage
def test_an_interval_from_six_firings_holds_what_a_common_error_moves() -> None:
    assert binom.ppf(0.0005, REPEATS, 0.94) <= held(told=True) <= binom.ppf(0.9995, REPEATS, 0.96)


@pytest.mark.coverage
def test_an_interval_that_ignores_the_common_error_holds_four_in_five_only() -> None:
    assert binom.ppf(0.0005, REPEATS, 0.8) <= held(told=False) <= binom.ppf(0.9995, REPEATS, 0.8)
