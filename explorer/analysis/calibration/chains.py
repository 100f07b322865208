"""Chains of moves on what stands in for the model, their ends accepted by the model itself.

Where firings are nearly linear in latents of their own, these are integrated: the chain moves what firings have in
common, given all readings, and draws the rest at its end. Its stationary distribution q is that of the stand-in over
all latents, and it is reversible, so that an end is accepted with the ratio of π/q there and where the chain began.

Source: J. S. Liu, Monte Carlo Strategies in Scientific Computing (2001), sections 2.3 (latents integrated) and 9.4.3;
J. A. Christen and C. Fox, J. Comput. Graph. Stat. 14 (2005) 795.
"""

from collections.abc import Callable, Iterable, Sequence
from copy import copy
from dataclasses import replace
from itertools import starmap
from typing import Any, Final

import numpy as np

from explorer.analysis.calibration.expansion import Expansion, expansion, read_of
from explorer.analysis.calibration.experiments import Experiments, Floats, Particles, joined
from explorer.analysis.calibration.moves import Judged, Mover, change

#: Moves on the stand-in behind one that is computed, at first, at least and at most [-].
_FIRST, _SHORTEST, _LONGEST = 24, 16, 96

#: Acceptance of chains below which they are shortened and above which they may be lengthened, and correlation of their
#: ends with their beginnings above which they are then lengthened, and below which they are shortened [-].
_SHORTEN, _LENGTHEN, _REMEMBERS, _FORGETS = 0.1, 0.2, 0.4, 0.2

#: Latest computed points that the stand-in is fitted to, and computed moves after which it is fitted anew [-].
_REMEMBERED, _REFITTED = 30_000, 4

#: Acceptance below which a stand-in that was fitted before is fitted anew [-].
_ERRS: Final[float] = 0.2

#: Points of a piece whose chain can run beside others: fixed, so that results don't hang on the number of threads.
_PIECE: Final[int] = 500

#: Gives a function's results for several calls in their order, one after the other or side by side.
Mapper = Callable[[Callable[..., Any], Sequence[tuple[Any, ...]]], Iterable[Any]]


class Chains:
    """Chains on what stands in for the model, as it is learnt from step to step."""

    def __init__(self, experiments: Experiments, rng: np.random.Generator, mapper: Mapper = starmap) -> None:
        self._experiments, self._mapper, self._rng = experiments, mapper, rng
        self._near: Expansion | None = None
        self._length = _FIRST
        self._read = read_of(experiments)
        linear = experiments.linear
        self._offered = not experiments.own or (linear is not None and linear.expanded is not None)
        self._apart = experiments
        if linear is not None and linear.expanded is not None:
            self._apart = replace(
                experiments,
                own=experiments.own - self._read,
                log_likelihood=linear.expanded.averaged,
                linear=None,
            )
        self._known: list[Particles] = []
        self._learnt = False

    def again(self, rng: np.random.Generator) -> "Chains":
        """Return chains that go on from what these have learnt, with random numbers of their own.

        What stands in for the model is fitted anew only where it errs much.
        """
        found = copy(self)
        found._rng, found._learnt = rng, self._near is not None
        return found

    def begin(self, exponents: Floats, known: Particles) -> None:
        """Begin at another temperature, with points that are computed already."""
        self._mover = Mover(self._apart, exponents, self._rng)
        self._moves = 0
        if not self._known:
            self._known = [known]
        if not self._learnt:
            self.fit()

    def fit(self) -> None:
        """Fit what stands in for the model to the latest points that are computed already."""
        if self._offered:
            found = expansion(self._experiments, joined(self._known), self._rng, self._near)
            self._near = found or self._near

    def moved(self, mover: Mover, now: Judged) -> tuple[Judged, float] | None:
        """Return the sample after a chain, and the share accepted; None where nothing stands in for the model."""
        if self._near is None:
            return None
        after, trial, share = self._judged(mover, now, self._ends(now.particles, self._near))
        if share < _SHORTEN or self._remembered < _FORGETS:
            self._length = max(self._length * 2 // 3, _SHORTEST)
        elif share > _LENGTHEN and self._remembered > _REMEMBERS:
            self._length = min(self._length * 3 // 2, _LONGEST)
        most = _REMEMBERED // trial.count + 1
        self._known = [*self._known[-most:], trial]
        self._moves += 1
        if share < _ERRS if self._learnt else self._moves % _REFITTED == 0:
            self.fit()
        return after, share

    def _judged(
        self, mover: Mover, now: Judged, ends: tuple[Particles, Floats]
    ) -> tuple[Judged, Particles, float]:
        """Let the model judge the ends of chains."""
        experiments, (moved, rise) = self._experiments, ends
        trial = mover.judged(experiments.at(moved.common, moved.own), experiments.exact)
        log_ratio = change(now.likelihood, trial.likelihood) - rise
        taken = np.log(mover.rng.random(moved.count)) < log_ratio
        likelihood = np.where(taken, trial.likelihood, now.likelihood)
        after = Judged(now.particles.with_points(trial.particles, taken), likelihood)
        return after, trial.particles, float(taken.mean())

    def _pieces(self, mover: Mover, particles: Particles, chain: Callable[..., Any], *more: Any) -> list[Any]:
        parts = np.array_split(np.arange(particles.count), max(particles.count // _PIECE, 1))
        movers = [mover.beside(rng) for rng in mover.rng.spawn(len(parts))]
        calls = [
            (own, particles.taken(part.astype(np.intp)), *more)
            for own, part in zip(movers, parts, strict=True)
        ]
        found = list(self._mapper(chain, calls))
        mover.take_note(movers)
        return found

    def _ends(self, particles: Particles, near: Expansion) -> tuple[Particles, Floats]:
        mover = self._mover
        mover.fit(Particles(particles.common, particles.own[:, :, self._read :], particles.simulated))
        found = self._pieces(mover, particles, _chain, near, self._read, self._length)
        mover.tune()
        ends, rises = joined([end for end, _ in found]), np.concatenate([rise for _, rise in found])
        self._remembered = largest_correlation(particles.common, ends.common)
        return ends, rises


def _chain(
    mover: Mover, particles: Particles, near: Expansion, read: int, length: int
) -> tuple[Particles, Floats]:
    """Return points at the end of a chain, and how far the stand-in's log-likelihood rose."""
    common, own, rest = particles.common, particles.own[:, :, :read], particles.own[:, :, read:]
    linear = near.experiments.linear
    offered = linear is not None and linear.expanded is not None
    misfit = near.misfit if offered else near.misfit[0]
    start = mover.judged(Particles(common, rest, near(common, rest)), misfit)
    end = start
    for _ in range(length):
        end = mover.moved(end, near, misfit)
    found = end.particles
    if not read or linear is None or linear.expanded is None:
        return found, end.likelihood - start.likelihood
    drawn = linear.expanded.drawn(found, mover.exponents, misfit, mover.rng)
    before, after = (
        linear.expanded.joint(each.particles, latents, mover.exponents, misfit)
        for each, latents in ((start, own), (end, drawn))
    )
    whole = np.concatenate([drawn, found.own], axis=2)
    return Particles(found.common, whole, found.simulated), after - before


def largest_correlation(before: Floats, after: Floats) -> float:
    """Return the correlation of the latent that remembers most of where it began [-]."""
    one, two = before - before.mean(axis=0), after - after.mean(axis=0)
    norm = np.sqrt((one**2).sum(axis=0) * (two**2).sum(axis=0))
    products = (one * two).sum(axis=0)
    return float(np.max(products / np.where(norm > 0.0, norm, 1.0)))
