"""Experiments with known answers: readings of a function of latents, each in one firing of its own or all in one."""

from collections.abc import Callable

import numpy as np

from explorer.analysis.calibration.experiments import Experiments, Floats, Particles
from explorer.analysis.calibration.tempering import Tempered, tempered


def read_of(
    function: Callable[[Floats], Floats], read: list[float], noise: float, dimension: int
) -> Experiments:
    """Readings of a function of latents, with normal noise; the density's peak is 1, as in the check values."""
    y = np.array(read)

    def simulate(common: Floats, own: Floats) -> Floats:
        return function(common).reshape(len(common), 1, -1)

    def log_likelihood(particles: Particles, exponents: Floats, blur: Floats) -> Floats:
        spread = np.hypot(noise, blur)
        logs = -0.5 * ((y - particles.simulated) / spread) ** 2 - np.log(spread / noise)
        return np.asarray(exponents[0] * logs.sum(axis=(1, 2)))

    return Experiments(dimension, 0, 1, y.size, simulate, log_likelihood)


def posterior(experiments: Experiments, number: int, points: int = 4000) -> Tempered:
    """The posterior from a sample of the prior."""
    rng = np.random.default_rng(number)
    return tempered(experiments, experiments.drawn(points, rng), rng)
