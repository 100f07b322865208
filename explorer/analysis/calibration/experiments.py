"""Firings as a sample meets them: latent normals in, what each firing shows, how likely its readings are.

All that is not known is a standard normal before anything is read: what is *common* to all firings, and what each has
of its *own*, because it falls anew. Errors that enter readings linearly may be left out of a point and integrated in
closed form; given these and what is common, firings are independent of each other.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

#: Common latents (points, common) and own ones (points, firings, own) in; what each firing shows out, shape
#: (points, firings, columns), NaN where there is no number.
Simulate = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True)
class Particles:
    """Points of a sample, with what firings show there."""

    common: Floats  #: shape (points, common) [-]
    own: Floats  #: shape (points, firings, own) [-]
    simulated: Floats  #: shape (points, firings, columns) [any]

    @property
    def count(self) -> int:
        """How many points."""
        return len(self.common)

    @property
    def latents(self) -> Floats:
        """All latents, shape (points, all) [-]: common ones, then each firing's own."""
        return np.hstack([self.common, self.own.reshape(self.count, -1)])

    def taken(self, places: Places) -> "Particles":
        """Return the points at some places, in their order."""
        return Particles(self.common[places], self.own[places], self.simulated[places])

    def with_firings(self, other: "Particles", chosen: NDArray[np.bool_]) -> "Particles":
        """Return the points with some firings of the points from another sample; chosen has shape (points, firings)."""
        every = chosen[:, :, None]
        own, simulated = (
            np.where(every, other.own, self.own),
            np.where(every, other.simulated, self.simulated),
        )
        return replace(self, own=own, simulated=simulated)

    def with_points(self, other: "Particles", chosen: NDArray[np.bool_]) -> "Particles":
        """Return the points with some from another sample; chosen has shape (points,)."""
        every = chosen[:, None, None]
        return Particles(
            np.where(chosen[:, None], other.common, self.common),
            np.where(every, other.own, self.own),
            np.where(every, other.simulated, self.simulated),
        )


#: Points, exponents of the firings' likelihoods (firings or more: what stands behind them is the likelihood's own, and
#: may lead from one to another) and a standard uncertainty of each column of what firings
#: show (firings, columns), zero where the model itself computed, in; logarithm of the tempered density of all readings
#: out, shape (points,), minus infinity where they are impossible. A firing with exponent zero counts for nothing.
LogLikelihood = Callable[[Particles, Floats, Floats], Floats]


@dataclass(frozen=True)
class Linear:
    """Errors that enter readings linearly, which `log_likelihood` integrates."""

    #: Points, exponents, uncertainties of columns and a generator in; the errors drawn given all else out,
    #: shape (points, errors).
    drawn: Callable[[Particles, Floats, Floats, np.random.Generator], Floats]
    #: Points, errors, exponents and uncertainties of columns in; logarithm of each firing's density, not raised to its
    #: exponent, given them out, shape (points, firings).
    given: Callable[[Particles, Floats, Floats, Floats], Floats]
    #: What is shown where it is linear in latents of firings, or None where that isn't offered.
    expanded: "ExpandedLikelihood | None" = None


@dataclass(frozen=True)
class ExpandedLikelihood:
    """The likelihood where what firings show is linear in latents of their own: m + slopes·own.

    Points carry what is shown at none of these latents and, behind it along the last axis, by how much it rises with
    each of them: columns, then columns of the first latent's slopes and so on; then what is shown where these latents
    typically are, for errors that are shares of it. Without such latents nothing stands behind. Their own latents are
    the others.
    Uncertainties of columns have the shape (1 + together, firings, columns): each by itself, then what columns are off
    by together.
    """

    #: As `LogLikelihood`, these latents integrated.
    averaged: LogLikelihood
    #: As `Linear.drawn`: these latents drawn given all else, shape (points, firings, read).
    drawn: Callable[[Particles, Floats, Floats, np.random.Generator], Floats]
    #: Points, these latents, exponents and uncertainties of columns in; logarithm of the tempered density of all
    #: readings out, shape (points,).
    joint: Callable[[Particles, Floats, Floats, Floats], Floats]


@dataclass(frozen=True)
class Experiments:
    """What a sample is held against."""

    common: int  #: latents that all firings share [-]
    own: int  #: latents of each firing [-]
    firings: int  #: [-]
    columns: int  #: what a firing shows [-]
    simulate: Simulate
    log_likelihood: LogLikelihood
    inert: tuple[int, ...] = ()  #: common latents that `simulate` doesn't read
    linear: Linear | None = None  #: without them, each firing's own latents move with all others
    read: int | None = (
        None  #: of each firing's own latents, those that `simulate` reads: the first; all if left out
    )
    #: Coordinates of the common latents that are read in which what firings show is nearly a parabola, shape
    #: (points, read) [-]; the latents themselves if left out.
    coordinates: Callable[[Floats], Floats] | None = None
    #: Standard uncertainties with which columns are read, shape (firings, columns), infinite where they aren't [any]; a
    #: stand-in needs no more precision. None if it isn't known.
    noise: Floats | None = None

    @property
    def exact(self) -> Floats:
        """Uncertainties of the model's own columns: none, shape (firings, columns) [any]."""
        return np.zeros((self.firings, self.columns))

    def drawn(self, points: int, rng: np.random.Generator) -> Particles:
        """Return points drawn before anything is read.

        Parameters
        ----------
        points : int
            How many [-].
        """
        common = rng.standard_normal((points, self.common))
        return self.at(common, rng.standard_normal((points, self.firings, self.own)))

    def at(self, common: Floats, own: Floats) -> Particles:
        """Return the points with these latents [-], computed."""
        return Particles(common, own, self.simulate(common, own))


def joined(particles: Sequence[Particles]) -> Particles:
    """Return several samples as one."""
    return Particles(
        np.concatenate([own.common for own in particles]),
        np.concatenate([own.own for own in particles]),
        np.concatenate([own.simulated for own in particles]),
    )
