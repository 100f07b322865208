"""A decision on the stage, tried on 100 hidden truths: what a measurement leaves is what Bayes' rule finds.

Nothing of the ranking's own estimators is used: a hidden truth gives a reading, a plain sample of the prior is weighed
by the reading's likelihood (A. F. M. Smith and A. E. Gelfand, Am. Stat. 46 (1992) 84), and the weighted sample is asked
for the target.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from study.known_models import bench_text

from explorer import Measurement, ReadingUncertainty, draws, parse_study, rank
from explorer.studyfile import Amount

TRUTHS, PRIOR = 100, 40_000
TARGET = "thrust_gain"


def columns(measurement: Measurement) -> dict[str, ReadingUncertainty]:
    own = {**measurement.pins, **measurement.observes}
    return {f"{measurement.name}: {address}": reading for address, reading in own.items()}


def exact(measurement: Measurement) -> Measurement:
    """The same with instruments that are never off, so that a draw shows what its firing would truly give."""

    def sharp(readings):
        return {address: ReadingUncertainty(Amount(1e-12)) for address in readings}

    return replace(measurement, pins=sharp(measurement.pins), observes=sharp(measurement.observes))


def conditioned(
    measurement: Measurement, truths: pd.DataFrame, prior: pd.DataFrame
) -> tuple[np.ndarray, np.ndarray]:
    """By hidden truth, the target's variance given its reading, and the square by which its mean misses the truth."""
    logs = np.zeros((len(truths), len(prior)))
    for name, reading in columns(measurement).items():
        typical = float(prior[name].mean())
        noise = reading.random.at(typical) / np.sqrt(measurement.repeats)
        variance = noise**2 + reading.common.at(typical) ** 2
        logs -= (truths[name].to_numpy()[:, None] - prior[name].to_numpy()) ** 2 / (2.0 * variance)
    weights = np.exp(logs - logs.max(axis=1, keepdims=True))
    weights /= weights.sum(axis=1, keepdims=True)
    carriers = 1.0 / (weights**2).sum(
        axis=1
    )  # points that carry a reading, some hundreds for all but a rare one
    assert np.median(carriers) > 500.0
    assert carriers.min() > 3.0
    y = prior[TARGET].to_numpy()
    mean = weights @ y
    variance = (weights @ y**2 - mean**2) / (1.0 - (weights**2).sum(axis=1))
    return variance, (mean - truths[TARGET].to_numpy()) ** 2


@pytest.mark.slow
def test_what_the_first_measurement_leaves_is_found_on_hidden_truths() -> None:
    study = parse_study(bench_text())
    ranking = rank(study, base=8192, jobs=2, test_guesses=False)
    ranked, now = ranking.measurements, ranking.learning.now
    by_name = {own.name: own for own in study.measurements}
    first, last = by_name[ranked.index[0]], by_name[ranked.index[-1]]
    assert first.name != last.name
    truths = draws(study, TRUTHS, 101, measurements=[first, last], jobs=2)
    prior = draws(study, PRIOR, 202, measurements=[exact(first), exact(last)], jobs=2)
    found = {own.name: conditioned(own, truths, prior) for own in (first, last)}
    unread = (truths[TARGET] - prior[TARGET].mean()).to_numpy() ** 2
    for name, (variance, miss) in found.items():
        left, left_error = ranked.loc[name, "left"], ranked.loc[name, "left_standard_error"]
        # By how much a guess comes nearer: against the one made without the reading, a truth's own luck drops out.
        for each, stated, stated_error in (
            (variance, left**2, 2.0 * left * left_error),
            (unread - miss, float(now) ** 2 - left**2, 2.0 * left * np.hypot(left_error, now.error)),
        ):
            error = np.hypot(each.std(ddof=1) / np.sqrt(TRUTHS), stated_error)
            assert error < 0.1 * float(now) ** 2  # tight enough to tell something
            assert abs(each.mean() - stated) < 3.0 * error
    # Whoever takes the first rather than the last knows more, and by so much as is said.
    saved = found[last.name][0] - found[first.name][0]
    error = saved.std(ddof=1) / np.sqrt(TRUTHS)
    assert saved.mean() > 3.0 * error
    said = ranked.loc[[last.name, first.name], "left"] ** 2
    told = 2.0 * (ranked["left"] * ranked["left_standard_error"]).loc[[last.name, first.name]]
    assert abs(saved.mean() - (said.iloc[0] - said.iloc[1])) < 3.0 * np.hypot(error, np.hypot(*told))
