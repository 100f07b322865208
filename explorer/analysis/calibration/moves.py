"""Moves of a sample that leave its distribution alone, made for all points at once.

Five kinds, taken at random: all latents, by a Crank–Nicolson proposal that is reversible to the normal distribution
with the sample's own mean and covariance; some of them given the rest, likewise; each firing's own latents given the
common ones, accepted firing by firing; the latents that the model doesn't read, which cost no run of it; and jumps by
the difference of two points of the sample, which carry points between modes. Whole chains of them are made on what
stands in for the model (`chains.py`).

Sources: S. L. Cotter et al., Stat. Sci. 28 (2013) 424 (pCN); C. J. F. ter Braak and J. A. Vrugt, Stat. Comput. 18
(2008) 435 (jumps by differences of past points).
"""

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from scipy.linalg import solve_triangular

from explorer.analysis.calibration.experiments import Experiments, Floats, Particles, Places

Kind = Literal["all", "some", "own", "inert", "jump"]

#: How often each kind is taken [-].
_SHARES: Final[dict[Kind, float]] = {"all": 0.2, "some": 0.4, "own": 0.1, "inert": 0.15, "jump": 0.15}

#: Acceptance that the lengths of proposals are tuned to, and how fast [-].
_WANTED, _TUNING = 0.3, 1.0

#: Latents that are moved together where only some are, at least and at most [-].
_SOME: Final[tuple[int, int]] = (2, 10)

_SHORTEST: Final[float] = 0.01  #: length of a Crank–Nicolson proposal at least [-]
_SPREAD: Final[float] = 0.5  #: standard deviation of the logarithm of a length, from point to point [-]
_WHOLE_JUMPS: Final[float] = 0.3  #: share of jumps by a whole difference, from mode to mode [-]
_JITTER: Final[float] = 1e-3  #: of a jump, in standard deviations of the sample [-]
_SHRUNK: Final[float] = 0.02  #: share of the covariance that is replaced by its diagonal [-]

#: What points of a chain show.
Shown = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True)
class Judged:
    """Points with the logarithm of the tempered density of all readings there, shape (points,) [-]."""

    particles: Particles
    likelihood: Floats

    def taken(self, places: Places) -> "Judged":
        """Return the points at some places, in their order."""
        return Judged(self.particles.taken(places), self.likelihood[places])


@dataclass(frozen=True)
class Normal:
    """A normal distribution of some latents given others: mean = offset + given·slope, covariance factor·factorᵀ."""

    places: Places  #: of the latents it is about
    given: Places  #: of the latents it hangs on
    offset: Floats
    slope: Floats
    factor: Floats
    inverse: Floats  #: of the factor

    def mean(self, latents: Floats) -> Floats:
        """Return the mean at points [-]."""
        return np.asarray(self.offset + latents[:, self.given] @ self.slope)


def _normal(middle: Floats, covariance: Floats, places: Sequence[int], given: Sequence[int]) -> Normal:
    """Return the normal distribution of some latents given others."""
    own, other = np.array(places, dtype=np.intp), np.array(given, dtype=np.intp)
    slope = np.zeros((other.size, own.size))
    within = covariance[np.ix_(own, own)]
    if other.size:
        slope = np.asarray(
            np.linalg.solve(covariance[np.ix_(other, other)], covariance[np.ix_(other, own)]), np.float64
        )
        within = within - covariance[np.ix_(own, other)] @ slope
    factor = np.asarray(np.linalg.cholesky(0.5 * (within + within.T)), np.float64)
    inverse = solve_triangular(factor, np.eye(own.size), lower=True)
    return Normal(own, other, middle[own] - middle[other] @ slope, slope, factor, inverse)


@dataclass
class Mover:
    """Moves tuned to one temperature's sample."""

    experiments: Experiments
    exponents: Floats  #: β of each firing [-]
    rng: np.random.Generator
    lengths: dict[Kind, float] = field(default_factory=lambda: dict.fromkeys(_SHARES, 0.6))
    accepted: dict[Kind, list[float]] = field(
        default_factory=dict
    )  #: by kind, of its moves since the last tuning

    def fit(self, particles: Particles) -> None:
        """Take proposals' shape from a sample."""
        own, latents = self.experiments, particles.latents
        self._archive = latents
        self._middle, self._spread = latents.mean(axis=0), latents.std(axis=0)
        covariance = np.atleast_2d(np.cov(latents, rowvar=False))
        self._covariance = (1.0 - _SHRUNK) * covariance + np.diag(_SHRUNK * np.diag(covariance) + 1e-12)
        common = list(range(own.common))
        self._all = self._of(range(latents.shape[1]))
        self._inert = self._of(own.inert) if own.inert else None
        self._own = [
            _normal(
                self._middle,
                self._covariance,
                [own.common + f * own.own + i for i in range(own.own)],
                common,
            )
            for f in range(own.firings if own.own else 0)
        ]

    def _of(self, places: Sequence[int]) -> Normal:
        """Return the normal distribution of some latents given all others."""
        chosen = set(places)
        rest = [i for i in range(self._middle.size) if i not in chosen]
        return _normal(self._middle, self._covariance, list(places), rest)

    def tune(self) -> None:
        """Lengthen or shorten proposals by what was accepted since the last time."""
        for kind, shares in self.accepted.items():
            longer = self.lengths[kind] * np.exp(_TUNING * (float(np.mean(shares)) - _WANTED))
            self.lengths[kind] = float(np.clip(longer, _SHORTEST, 1.0))
        self.accepted.clear()

    def beside(self, rng: np.random.Generator) -> "Mover":
        """Return one that makes the same moves with random numbers of its own."""
        found = copy(self)
        found.rng, found.accepted = rng, {}
        return found

    def take_note(self, others: Sequence["Mover"]) -> None:
        """Take over what was accepted of the moves of others."""
        for other in others:
            for kind, shares in other.accepted.items():
                self.accepted.setdefault(kind, []).extend(shares)

    def kinds(self) -> list[Kind]:
        """Return which kinds of moves there are."""
        absent = set() if self.experiments.own and self.experiments.linear else {"own"}
        if not self.experiments.inert:
            absent.add("inert")
        return [kind for kind in _SHARES if kind not in absent]

    def kind(self) -> Kind:
        """Return a kind at random."""
        kinds = self.kinds()
        shares = np.array([_SHARES[kind] for kind in kinds])
        return kinds[int(self.rng.choice(len(kinds), p=shares / shares.sum()))]

    def judged(self, particles: Particles, blur: Floats) -> Judged:
        """Return points with their likelihood; `blur` is by how much what they show may be off [any]."""
        return Judged(particles, self.experiments.log_likelihood(particles, self.exponents, blur))

    def moved(self, now: Judged, shown: Shown, blur: Floats) -> Judged:
        """Return the sample after one move; `shown` and `blur` are the model's or its stand-in's."""
        kind, particles = self.kind(), now.particles
        if kind == "own":
            return self._moved_own(particles, shown, blur)
        proposed, log_ratio = self._proposed(particles, kind)
        common, own = self._split(proposed)
        simulated = particles.simulated if kind == "inert" else shown(common, own)
        trial = self.judged(Particles(common, own, simulated), blur)
        log_ratio += (
            _log_prior(proposed) - _log_prior(particles.latents) + change(now.likelihood, trial.likelihood)
        )
        taken = np.log(self.rng.random(particles.count)) < log_ratio
        self.accepted.setdefault(kind, []).append(float(taken.mean()))
        likelihood = np.where(taken, trial.likelihood, now.likelihood)
        return Judged(particles.with_points(trial.particles, taken), likelihood)

    def _proposed(self, particles: Particles, kind: Kind) -> tuple[Floats, Floats]:
        latents = particles.latents
        if kind == "jump":
            return self._jumped(latents), np.zeros(particles.count)
        normal = self._inert if kind == "inert" and self._inert else self._all
        if kind == "some":
            normal = self._of(self._some())
        places = normal.places
        found, log_ratio = self._crank_nicolson(latents[:, places], normal, normal.mean(latents), kind)
        proposed = latents.copy()
        proposed[:, places] = found
        return proposed, log_ratio

    def _crank_nicolson(self, now: Floats, normal: Normal, mean: Floats, kind: Kind) -> tuple[Floats, Floats]:
        """Propose and return the logarithm of the ratio of reverse and forward proposals."""
        white = (now - mean) @ normal.inverse.T
        length = self.lengths[kind] * np.exp(_SPREAD * self.rng.standard_normal((len(now), 1)))
        length = np.minimum(length, 1.0)
        new = np.sqrt(1.0 - length**2) * white + length * self.rng.standard_normal(white.shape)
        return mean + new @ normal.factor.T, 0.5 * ((new**2).sum(axis=1) - (white**2).sum(axis=1))

    def _some(self) -> list[int]:
        """Return some latents at random."""
        dimension = self._middle.size
        size = int(self.rng.integers(_SOME[0], _SOME[1] + 1))
        return [int(i) for i in self.rng.permutation(dimension)[: min(size, dimension)]]

    def _jumped(self, latents: Floats) -> Floats:
        count, places = len(latents), self._some()
        first, second = self.rng.integers(len(self._archive), size=(2, count))
        whole = self.rng.random(count) < _WHOLE_JUMPS
        scale = np.where(whole, 1.0, self.lengths["jump"] * 2.38 / np.sqrt(2.0 * len(places)))
        jump = scale[:, None] * (self._archive[np.ix_(first, places)] - self._archive[np.ix_(second, places)])
        jump += _JITTER * self._spread[places] * self.rng.standard_normal(jump.shape)
        proposed = latents.copy()
        proposed[:, places] += jump
        return proposed

    def _moved_own(self, particles: Particles, shown: Shown, blur: Floats) -> Judged:
        """Move each firing's own latents, accepted firing by firing given linear errors that are drawn for the move."""
        linear = self.experiments.linear
        assert linear is not None
        errors = linear.drawn(particles, self.exponents, blur, self.rng)
        latents, proposed = particles.latents, np.empty_like(particles.own)
        log_ratio = np.empty(proposed.shape[:2])
        for f, normal in enumerate(self._own):
            now = particles.own[:, f]
            proposed[:, f], log_ratio[:, f] = self._crank_nicolson(now, normal, normal.mean(latents), "own")
        log_ratio += 0.5 * ((particles.own**2).sum(axis=2) - (proposed**2).sum(axis=2))
        trial = Particles(particles.common, proposed, shown(particles.common, proposed))
        exponents = self.exponents[: self.experiments.firings]
        read = exponents != 0.0
        before, after = (
            linear.given(each, errors, self.exponents, blur)[:, read] for each in (particles, trial)
        )
        log_ratio[:, read] += exponents[read] * change(before, after)
        taken = np.log(self.rng.random(log_ratio.shape)) < log_ratio
        self.accepted.setdefault("own", []).append(float(taken.mean()))
        return self.judged(particles.with_firings(trial, taken), blur)

    def _split(self, latents: Floats) -> tuple[Floats, Floats]:
        own = self.experiments
        return latents[:, : own.common], latents[:, own.common :].reshape(len(latents), own.firings, own.own)


def _log_prior(latents: Floats) -> Floats:
    return np.asarray(-0.5 * (latents**2).sum(axis=1))


def change(before: Floats, after: Floats) -> Floats:
    """Return the change of log-likelihoods [-]; leaving what is impossible is always welcome, going there never."""
    with np.errstate(invalid="ignore"):
        return np.where(np.isneginf(before), np.where(np.isneginf(after), 0.0, np.inf), after - before)
