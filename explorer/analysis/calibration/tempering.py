"""A sample led from one distribution to another by small steps: from what was known before firings to what is after.

Each step raises (or lowers) the exponents of the firings' likelihoods as far as half of the sample's effective size
allows, weighs the points, draws them anew in proportion (systematically), and moves them until they have forgotten
where they began. All exponents from zero to one give the posterior and the evidence; one of them back from one to zero
gives what the other firings alone would say.

Sources: P. Del Moral, A. Doucet and A. Jasra, J. R. Stat. Soc. B 68 (2006) 411; A. Jasra et al., Scand. J. Stat. 38
(2011) 1 (step sizes from the effective size); G. Kitagawa, J. Comput. Graph. Stat. 5 (1996) 1 (systematic draws).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from itertools import starmap
from typing import Final

import numpy as np
from threadpoolctl import threadpool_limits

from explorer.analysis.calibration.chains import Chains, Mapper, largest_correlation
from explorer.analysis.calibration.experiments import Experiments, Floats, Particles, Places
from explorer.analysis.calibration.moves import Mover, change

#: Effective size that a step leaves, as a share of the points that can explain the firings at all [-].
_KEPT: Final[float] = 0.5

#: Effective size that is near enough to it, shortest step as a share of the way, and most trials to find one [-].
_ENOUGH, _SHORTEST_STEP, _HALVINGS = 0.52, 1e-12, 60
_FALLING: Final[float] = 0.2  #: by which a step is shortened at first [-]

#: Correlation with where the moves of a step began, from which on they have forgotten it [-].
FORGOTTEN: Final[float] = 0.1

#: Computed moves of a step at least, of the last one and of others at most, and most steps [-].
_FEWEST_MOVES, _MOST_MOVES, _MOST_BETWEEN, _MOST_STEPS = 2, 30, 12, 80


class Impossible(ArithmeticError):
    """No point of the sample explains the firings."""


@dataclass(frozen=True)
class Step:
    """One step on the way."""

    progress: float  #: share of the way that is behind it [-]
    effective_size: float  #: of the weighted sample before it was drawn anew [-]
    moves: int  #: computed moves [-]
    acceptance: float  #: of these, the mean [-]
    unique: int  #: distinct points at its end [-]
    correlation: float  #: of the latent that remembers most [-]


@dataclass(frozen=True)
class Tempered:
    """A sample at the end of its way."""

    particles: Particles  #: equally weighted
    log_evidence: float  #: logarithm of the ratio of the two distributions' normalisations [-]
    log_evidence_error: float  #: sampling error [-]
    steps: tuple[Step, ...]
    evaluations: int  #: points computed, all firings of one counting once [-]
    chains: Chains  #: with what stood in for the model near the end


def systematic_draws(weights: Floats, count: int, rng: np.random.Generator) -> Places:
    """Return places drawn in proportion to weights that add to 1, evenly spaced.

    Parameters
    ----------
    weights : ndarray
        Shape (points,) [-].
    count : int
        How many draws [-].
    """
    edges = np.cumsum(weights)
    edges[-1] = 1.0
    marks = (rng.random() + np.arange(count)) / count
    return np.searchsorted(edges, marks, side="right").clip(max=weights.size - 1).astype(np.intp)


def tempered(
    experiments: Experiments,
    begin: Particles,
    rng: np.random.Generator,
    *,
    start: Floats | None = None,
    end: Floats | None = None,
    most_moves: int = _MOST_MOVES,
    mapper: Mapper = starmap,
    chains: Chains | None = None,
) -> Tempered:
    """Return the sample led from one set of exponents to another.

    Parameters
    ----------
    experiments : Experiments
        What it is held against.
    begin : Particles
        Equally weighted points of the distribution at the start.
    start, end : ndarray, optional
        Exponents of the firings' likelihoods and what the likelihood takes behind them, shape (firings or more,) [-];
        all zero and all one if left out.
    most_moves : int
        Computed moves of the last step at most [-].
    mapper : callable, optional
        As `itertools.starmap`, for chains side by side.
    chains : Chains, optional
        Of a sample that was led before, whose stand-in for the model is near.

    Raises
    ------
    Impossible
        If no point explains the firings, or the way has no end.
    """
    here = np.zeros(experiments.firings) if start is None else np.asarray(start, dtype=np.float64)
    there = np.ones(experiments.firings) if end is None else np.asarray(end, dtype=np.float64)
    # Many small systems are solved: more threads of linear algebra would wait for each other, and change last digits.
    with threadpool_limits(limits=1, user_api="blas"):
        mine = Chains(experiments, rng, mapper) if chains is None else chains.again(rng)
        return _led(experiments, begin, rng, here, there, most_moves, mine)


def _led(
    experiments: Experiments,
    begin: Particles,
    rng: np.random.Generator,
    here: Floats,
    there: Floats,
    most_moves: int,
    chains: Chains,
) -> Tempered:
    way, progress, particles = there - here, 0.0, begin
    evidence, variance, evaluations = 0.0, 0.0, 0
    steps: list[Step] = []

    def exponents(place: float) -> Floats:
        return there if place >= 1.0 else here + place * way

    while progress < 1.0:
        if len(steps) == _MOST_STEPS:
            raise Impossible(f"after {_MOST_STEPS} steps the sample has come {progress:.1%} of its way")
        progress, logs = _step(partial(_rise, experiments, particles, exponents, progress), progress)
        weights, log_mean = _weights(logs)
        evidence += log_mean
        variance += float(particles.count * (weights**2).sum() - 1.0) / particles.count
        particles = particles.taken(systematic_draws(weights, particles.count, rng))
        most = most_moves if progress >= 1.0 else min(most_moves, _MOST_BETWEEN)
        particles, step, computed = _forgotten(experiments, particles, exponents(progress), rng, chains, most)
        evaluations += computed
        steps.append(replace(step, progress=progress, effective_size=1.0 / float((weights**2).sum())))
    return Tempered(particles, evidence, float(np.sqrt(variance)), tuple(steps), evaluations, chains)


def _rise(
    experiments: Experiments,
    particles: Particles,
    exponents: Callable[[float], Floats],
    begin: float,
    end: float,
) -> Floats:
    """Return the rise of the log-likelihood of points between two places on the way [-]."""
    before, after = (
        experiments.log_likelihood(particles, exponents(place), experiments.exact) for place in (begin, end)
    )
    return change(before, after)


def _weights(logs: Floats) -> tuple[Floats, float]:
    """Return weights that add to 1, and the logarithm of their mean before."""
    most = float(logs.max())
    raw = np.exp(logs - most)
    return raw / raw.sum(), most + float(np.log(raw.mean()))


def _step(rise: Callable[[float], Floats], begin: float) -> tuple[float, Floats]:
    """Return how far the effective size allows to go, and the logarithms of the weights there."""
    possible = int(np.count_nonzero(np.isfinite(rise(1.0))))
    if not possible:
        raise Impossible("no point of the sample explains the firings")

    def size(logs: Floats) -> float:
        return 1.0 / float((_weights(logs)[0] ** 2).sum()) / possible

    low, high, logs = begin, 1.0, rise(1.0)
    if size(logs) >= _KEPT:
        return 1.0, logs
    place, shortest = 1.0, (1.0 - begin) * _SHORTEST_STEP
    for _ in range(_HALVINGS):
        place = 0.5 * (low + high) if low > begin else begin + _FALLING * (high - begin)
        logs = rise(place)
        kept = size(logs)
        if _KEPT <= kept < _ENOUGH:
            return place, logs
        low, high = (place, high) if kept >= _KEPT else (low, place)
        if high - begin < shortest:
            raise Impossible("the readings are too sharp for any point of the sample")
    return low, rise(low)


def _forgotten(
    experiments: Experiments,
    particles: Particles,
    exponents: Floats,
    rng: np.random.Generator,
    chains: Chains,
    most_moves: int,
) -> tuple[Particles, Step, int]:
    """Move a sample until it has forgotten where it began."""
    mover = Mover(experiments, exponents, rng)
    mover.fit(particles)
    now = mover.judged(particles, experiments.exact)
    beginning, correlation, shares = particles.latents, 1.0, list[float]()
    chains.begin(exponents, particles)
    for move in range(1, most_moves + 1):
        moved = chains.moved(mover, now)
        if moved is None:
            now = mover.moved(now, experiments.simulate, experiments.exact)
            share = next(iter(mover.accepted.values()))[-1]
        else:
            now, share = moved
        mover.tune()
        shares.append(share)
        correlation = largest_correlation(beginning, now.particles.latents)
        if move >= _FEWEST_MOVES and correlation < FORGOTTEN:
            break
    particles = now.particles
    unique = len(np.unique(particles.latents, axis=0))
    step = Step(0.0, 0.0, len(shares), float(np.mean(shares)), unique, correlation)
    return particles, step, len(shares) * particles.count
