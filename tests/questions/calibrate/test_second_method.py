"""The same posterior by an independent method, emcee (Foreman-Mackey et al., PASP 125 (2013) 306)."""

import emcee
import numpy as np
import pytest
from questions.calibrate.shots import PRIOR, RANDOM, SHUNT, VOLTAGES, bench, firings, truth

from explorer.questions.calibrate.calibrate import calibrate


def by_ensemble(read: np.ndarray) -> np.ndarray:
    """Draws of drop, logarithm of the slope and field; scatter and the shunt's error are latents of the walkers."""
    count = len(VOLTAGES)

    def log_density(z: np.ndarray) -> np.ndarray:
        drop, slope, field = (
            10.0 + 4.0 * z[:, 0],
            np.exp(np.log(1.8) / 1.959964 * z[:, 1]),
            0.5 + 0.03 * z[:, 2],
        )
        logs = -0.5 * (z**2).sum(axis=1)
        for place, voltage in enumerate(VOLTAGES):
            values = {
                "drop": drop,
                "slope": slope,
                "strength": field + 0.02 * z[:, 4 + place],
                "voltage": voltage,
            }
            expected = bench(values)["current"] + SHUNT * z[:, 3]
            logs = logs - 0.5 * ((read[place] - expected) / RANDOM) ** 2
        return logs

    dimension = 4 + count
    rng = np.random.default_rng(3)
    np.random.seed(3)  # noqa: NPY002  # emcee's moves take numpy's own stream
    sampler = emcee.EnsembleSampler(64, dimension, log_density, vectorize=True)
    sampler.run_mcmc(0.5 * rng.standard_normal((64, dimension)), 6000)
    return sampler.get_chain(discard=1500, thin=20, flat=True)


@pytest.mark.slow
def test_an_ensemble_sampler_finds_the_same_posterior() -> None:
    rng = np.random.default_rng(21)
    made = firings(truth(rng), rng)
    read = np.array([f["readings"]["current"]["value"] for f in sorted(made, key=lambda f: float(f["name"]))])
    found = calibrate(bench, PRIOR, made, rng=1, particles=4000, explain=False).sample
    slope = np.log(found["slope"]) * 1.959964 / np.log(1.8)
    ours = np.column_stack([(found["drop"] - 10.0) / 4.0, slope, (found["strength"] - 0.5) / 0.03])
    theirs = by_ensemble(read)[:, :3]
    spread = theirs.std(axis=0)
    assert ours.mean(axis=0) == pytest.approx(theirs.mean(axis=0), abs=0.1 * spread.max())
    assert ours.std(axis=0) == pytest.approx(spread, rel=0.08)
    assert np.corrcoef(ours.T) == pytest.approx(np.corrcoef(theirs.T), abs=0.08)
