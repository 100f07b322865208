"""What the other firings say of one that is left out.

The posterior's points are weighed by one over the firing's likelihood; where the weights' tail says that too few points
carry them, the sample is led back instead, the firing's exponent falling from one to zero.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from explorer.analysis.calibration.chains import Chains, Mapper
from explorer.analysis.calibration.experiments import Experiments, Particles
from explorer.analysis.calibration.importance import TRUSTED, smoothed_weights
from explorer.analysis.calibration.tempering import systematic_draws, tempered

Floats = NDArray[np.float64]

#: Points of a sample that is led back, and computed moves of its steps at most [-].
_LED_BACK, _MOVES = 600, 3


@dataclass(frozen=True)
class LeftOut:
    """A sample of what the other firings say."""

    particles: Particles
    errors: Floats  #: linear errors, shape (points, errors)
    log_predictive: float  #: logarithm of the density of the firing's readings, foreseen by the others [-]
    by: str  #: "weights", "moves" or "prior"
    shape: float  #: of the weights' tail [-]
    evaluations: int


@dataclass(frozen=True)
class Known:
    """A sample of all firings, with linear errors drawn at its points."""

    particles: Particles
    errors: Floats  #: shape (points, errors)


def known(
    experiments: Experiments, particles: Particles, exponents: Floats, rng: np.random.Generator
) -> Known:
    """Return a sample with linear errors drawn given the firings that have an exponent."""
    if experiments.linear is None:
        return Known(particles, np.zeros((particles.count, 0)))
    return Known(particles, experiments.linear.drawn(particles, exponents, experiments.exact, rng))


def left_out(
    experiments: Experiments,
    posterior: Known,
    prior: Known,
    firing: int,
    rng: np.random.Generator,
    mapper: Mapper,
    chains: Chains,
) -> LeftOut:
    """What is known without a firing."""
    if experiments.firings == 1 or experiments.linear is None:
        return LeftOut(prior.particles, prior.errors, np.nan, "prior", 0.0, 0)
    particles = posterior.particles
    every = np.ones(experiments.firings)
    likelihood = experiments.linear.given(particles, posterior.errors, every, experiments.exact)
    weights, shape = smoothed_weights(-likelihood[:, firing])
    if shape < TRUSTED:
        places = systematic_draws(weights, particles.count, rng)
        inverse = logsumexp(-likelihood[:, firing]) - np.log(particles.count)
        return LeftOut(
            particles.taken(places), posterior.errors[places], -float(inverse), "weights", shape, 0
        )
    few = rng.permutation(particles.count)[: min(_LED_BACK, particles.count)]
    end = every.copy()
    end[firing] = 0.0
    found = tempered(
        experiments,
        particles.taken(few),
        rng,
        start=every,
        end=end,
        most_moves=_MOVES,
        mapper=mapper,
        chains=chains,
    )
    others = known(experiments, found.particles, end, rng)
    return LeftOut(others.particles, others.errors, -found.log_evidence, "moves", shape, found.evaluations)
