"""How likely the readings of all firings are at points, all readings at once.

Given the scales of the model's own errors every error enters linearly: see `analysis/calibration/linear_errors.py`.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.analysis.calibration.densities import variance_ratio
from explorer.analysis.calibration.experiments import Particles
from explorer.analysis.calibration.linear_errors import drawn_errors, integrated, integrated_in_blocks
from explorer.questions.calibrate.learning.instruments import Instruments, Shown
from explorer.questions.calibrate.learning.sides import StudySide
from explorer.study.model_error import off
from explorer.studyfile import Study

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

#: Relative change of a value that shows whether something fixes it [-].
_NUDGE: Final[float] = 1e-3


@dataclass(frozen=True)
class _Held:
    """Values of one quantity that a supply may fix: their places, and of its inputs, among all columns."""

    study: Study
    quantity: str
    columns: Places
    source: dict[str, Places]


@dataclass(frozen=True)
class _Terms:
    """All readings at points."""

    possible: NDArray[np.bool_]  #: shape (points, firings)
    deviation: Floats  #: shape (points, readings) [SI]
    effects: Floats  #: shape (points, readings, errors) [SI]
    variance: Floats  #: shape (points or 1, readings) [SI²]


@dataclass(frozen=True)
class Likelihood:
    """The readings of all firings, arranged for arrays."""

    instruments: Instruments

    @cached_property
    def _firing(self) -> Places:
        return np.array([read.firing for read in self.instruments.reads], dtype=np.intp)

    @cached_property
    def _value(self) -> Floats:
        return np.array([read.reading.value for read in self.instruments.reads])

    @cached_property
    def _random(self) -> Floats:
        return np.array([read.reading.random_of_mean for read in self.instruments.reads])

    @cached_property
    def _taken(self) -> Places:
        return np.array([self._column(read.taken) for read in self.instruments.reads], dtype=np.intp)

    @cached_property
    def _less(self) -> tuple[Places, Places]:
        """Readings that are differences, and the columns that are taken away."""
        found = [
            (r, self._column(own.less))
            for r, own in enumerate(self.instruments.reads)
            if own.less is not None
        ]
        places = np.array(found, dtype=np.intp).reshape(-1, 2)
        return places[:, 0], places[:, 1]

    def _column(self, place: int | None) -> int:
        """Among the columns of all firings, where what is shown stands."""
        assert place is not None
        shown = self.instruments.shown[place]
        return shown.firing * self.instruments.columns + shown.column

    @cached_property
    def _named(self) -> Floats:
        """Effects of the named errors, shape (readings, errors) [SI]."""
        errors = self.instruments.errors
        return np.array(
            [[read.reading.common.get(name, 0.0) for name in errors] for read in self.instruments.reads]
        ).reshape(len(self.instruments.reads), len(errors))

    @cached_property
    def _held(self) -> tuple[_Held, ...]:
        """What supplies may fix, by study and quantity."""
        groups: dict[tuple[int, str], list[Shown]] = {}
        for shown in self.instruments.shown:
            if shown.source:
                where = self.instruments.stand.moments[shown.moment].side
                groups.setdefault((where, shown.quantity), []).append(shown)
        found = []
        for (number, quantity), every in groups.items():
            side = self.instruments.stand.sides[number]
            assert isinstance(side, StudySide)
            starts = np.array([own.firing * self.instruments.columns for own in every], dtype=np.intp)
            source = {a: starts + np.array([own.source[a] for own in every]) for a in every[0].source}
            columns = starts + np.array([own.column for own in every])
            found.append(_Held(side.side.study, quantity, columns, source))
        return tuple(found)

    @cached_property
    def _poorly_known(self) -> tuple[tuple[int, int, float], ...]:
        """Readings with few degrees of freedom behind them: place, own latent of the firing, degrees of freedom."""
        found = []
        for f in range(self.instruments.firings):
            places = np.flatnonzero(self._firing == f)
            for i, r in enumerate(self.instruments.poorly_known(f)):
                reading = self.instruments.of(f)[r].reading
                found.append((int(places[r]), self.instruments.stand.own + i, reading.degrees_of_freedom))
        return tuple(found)

    def _scaling(self, flat: Floats) -> Floats:
        """What a relative error scales of each column: its value, and nothing where a supply fixes it [SI]."""
        found = flat
        if self._held:
            found = flat.copy()
        for held in self._held:
            plain = flat[:, held.columns]
            inputs: dict[str, ArrayLike] = {a: flat[:, columns] for a, columns in held.source.items()}
            less = off(held.study, held.quantity, plain, np.full(plain.shape, 1.0 - _NUDGE), inputs)
            found[:, held.columns] = (plain - less) / _NUDGE
        return found

    def _model_error(self, exponents: Floats) -> float:
        """By what the model's own errors are to be multiplied: what stands behind the firings' exponents [-]."""
        return (
            float(exponents[self.instruments.firings]) if exponents.size > self.instruments.firings else 1.0
        )

    def _effects(self, flat: Floats, scales: Floats, share: float) -> Floats:
        """How strongly every error enters every reading, shape (points, readings, errors) [SI]."""
        instruments, errors = self.instruments, self.instruments.discrepancy
        found = np.zeros((len(flat), len(instruments.reads), instruments.linear))
        found[:, :, : len(instruments.errors)] = self._named
        scaling = self._scaling(flat) if errors.relative else flat
        rows_less, less = self._less
        for quantity in errors.relative:
            rows = np.array(
                [r for r, own in enumerate(instruments.reads) if own.quantity == quantity], dtype=np.intp
            )
            relative, additive = (share * own for own in errors.scale(quantity, scales))
            first = len(instruments.errors) + errors.first(quantity)
            smooth = slice(first, first + errors.functions)
            loadings = errors.loadings[[instruments.shown[instruments.reads[r].taken].moment for r in rows]]
            taken = self._taken[rows]
            found[:, rows, smooth] = (relative[:, None] * scaling[:, taken])[:, :, None] * loadings
            found[:, rows, smooth.stop] = additive[:, None] * (flat[:, taken] != 0.0)
            for r, column in zip(rows_less, less, strict=True):
                place = instruments.reads[r].less
                if instruments.reads[r].quantity != quantity or place is None:
                    continue
                own = errors.loadings[instruments.shown[place].moment]
                found[:, r, smooth] -= (relative * scaling[:, column])[:, None] * own
                found[:, r, smooth.stop] -= additive * (flat[:, column] != 0.0)
        return found

    def _terms(self, particles: Particles, exponents: Floats, blur: Floats) -> _Terms:
        flat = particles.simulated.reshape(particles.count, -1)
        deviation = self._value - flat[:, self._taken]
        rows, less = self._less
        deviation[:, rows] += flat[:, less]
        scales = self.instruments.scales(particles.common)
        effects = self._effects(flat, scales, self._model_error(exponents))
        spread = blur.reshape(-1)
        variance = (self._random**2 + spread[self._taken] ** 2)[None, :]
        variance[0, rows] += spread[less] ** 2
        if self._poorly_known:
            variance = np.repeat(variance, particles.count, axis=0)
        for r, latent, freedom in self._poorly_known:
            ratio = variance_ratio(particles.own[:, self._firing[r], latent], freedom)
            variance[:, r] += self._random[r] ** 2 * (ratio - 1.0)
        none = np.isnan(self._value)
        if not none.any() and np.isfinite(deviation).all() and np.isfinite(effects).all():
            possible = np.ones((particles.count, self.instruments.firings), dtype=np.bool_)
            return _Terms(possible, deviation, effects, variance)
        return self._partly(flat, spread, none, _Terms(np.ones(0, np.bool_), deviation, effects, variance))

    def _partly(self, flat: Floats, spread: Floats, none: NDArray[np.bool_], terms: _Terms) -> _Terms:
        """Readings some of which are no numbers, or are of points without any."""
        shown = np.isfinite(flat[:, self._taken])
        whole = np.isfinite(terms.deviation) & np.isfinite(terms.effects).all(axis=2)
        # What only stands in for the model gives numbers everywhere: a firing without one is then always possible.
        each = np.where(none, ~shown | (spread[self._taken] != 0.0), whole)
        failed = (~each).astype(np.float64) @ self._of_firing
        counted = whole & ~none
        return _Terms(
            failed == 0.0,
            np.where(counted, terms.deviation, 0.0),
            np.where(counted[:, :, None], terms.effects, 0.0),
            terms.variance,
        )

    @cached_property
    def _of_firing(self) -> Floats:
        """Which readings are a firing's, shape (readings, firings)."""
        return np.asarray(self._firing[:, None] == np.arange(self.instruments.firings), dtype=np.float64)

    def _powers(self, exponents: Floats) -> Floats:
        """Exponent of each reading that is a number [-]."""
        return np.where(np.isnan(self._value), 0.0, exponents[self._firing])

    def log_likelihood(self, particles: Particles, exponents: Floats, blur: Floats) -> Floats:
        """Logarithm of the tempered density of all readings, linear errors integrated, shape (points,)."""
        terms = self._terms(particles, exponents, blur)
        logs = integrated(terms.deviation, terms.effects, terms.variance, self._powers(exponents))
        return np.where(
            terms.possible[:, exponents[: self.instruments.firings] != 0.0].all(axis=1), logs, -np.inf
        )

    def drawn(
        self, particles: Particles, exponents: Floats, blur: Floats, rng: np.random.Generator
    ) -> Floats:
        """Linear errors drawn given the readings, shape (points, errors)."""
        terms = self._terms(particles, exponents, blur)
        return drawn_errors(terms.deviation, terms.effects, terms.variance, self._powers(exponents), rng)

    def given(self, particles: Particles, errors: Floats, exponents: Floats, blur: Floats) -> Floats:
        """Logarithm of each firing's density given the linear errors, shape (points, firings)."""
        terms = self._terms(particles, exponents, blur)
        left = terms.deviation - np.matmul(terms.effects, errors[:, :, None])[:, :, 0]
        logs = -0.5 * (left**2 / terms.variance + np.log(2.0 * np.pi * terms.variance))
        summed = np.where(np.isnan(self._value), 0.0, logs) @ self._of_firing
        return np.where(terms.possible, summed, -np.inf)

    @property
    def noise(self) -> Floats:
        """The least random error with which a column is read, infinite where none is, (firings, columns) [SI]."""
        found = np.full(self.instruments.firings * self.instruments.columns, np.inf)
        np.minimum.at(found, self._taken, self._random)
        rows, less = self._less
        np.minimum.at(found, less, self._random[rows])
        return found.reshape(self.instruments.firings, self.instruments.columns)

    @cached_property
    def _blocks(self) -> tuple[slice, ...]:
        """The readings of each firing, which stand side by side."""
        edges = np.searchsorted(self._firing, np.arange(self.instruments.firings + 1))
        return tuple(slice(int(first), int(last)) for first, last in pairwise(edges))

    def _expanded(self, particles: Particles, exponents: Floats, blur: Floats) -> tuple[_Terms, Floats]:
        """Terms at none of the latents that what is shown is linear in, and their effects on readings.

        The effects have the shape (points, readings, read) [SI].
        """
        columns, (count, firings) = self.instruments.columns, particles.own.shape[:2]
        read = max(particles.simulated.shape[2] // columns - 2, 0)
        own = np.concatenate([np.zeros((count, firings, read)), particles.own], axis=2)
        shown = particles.simulated.reshape(count, firings, -1, columns)
        typical = Particles(particles.common, own, shown[:, :, -1])
        terms = self._terms(typical, exponents, blur[0])
        together = blur[1:].reshape(len(blur) - 1, -1).T
        slopes = shown[:, :, 1 : 1 + read].transpose(0, 1, 3, 2).reshape(count, firings * columns, read)
        nearer = (shown[:, :, -1] - shown[:, :, 0]).reshape(count, -1, 1)
        nearer, effects, errors = (self._of_readings(each) for each in (nearer, slopes, together[None]))
        errors = np.broadcast_to(errors, (count, *errors.shape[1:]))
        every = np.concatenate([terms.effects, errors], axis=2)
        return replace(terms, deviation=terms.deviation + nearer[:, :, 0], effects=every), effects

    def _of_readings(self, columns: Floats) -> Floats:
        """What columns mean for readings, shape (points, readings, ·) from (points, columns of all firings, ·)."""
        found = columns[:, self._taken]
        rows, less = self._less
        found[:, rows] -= columns[:, less]
        return found

    def averaged(self, particles: Particles, exponents: Floats, blur: Floats) -> Floats:
        """The density of all readings where firings are linear in their own latents, these integrated too."""
        terms, own = self._expanded(particles, exponents, blur)
        powers = self._powers(exponents)
        return integrated_in_blocks(terms.deviation, terms.effects, own, terms.variance, powers, self._blocks)

    def own_drawn(
        self, particles: Particles, exponents: Floats, blur: Floats, rng: np.random.Generator
    ) -> Floats:
        """Firings' own latents drawn given the readings, where firings are linear in them."""
        terms, own = self._expanded(particles, exponents, blur)
        firings, read = self.instruments.firings, own.shape[2]
        apart = (own[:, :, None, :] * self._of_firing[None, :, :, None]).reshape(*own.shape[:2], -1)
        every = np.concatenate([terms.effects, apart], axis=2)
        found = drawn_errors(terms.deviation, every, terms.variance, self._powers(exponents), rng)
        return found[:, terms.effects.shape[2] :].reshape(particles.count, firings, read)

    def joint(self, particles: Particles, latents: Floats, exponents: Floats, blur: Floats) -> Floats:
        """The density of all readings where firings are linear in their own latents, at given ones."""
        terms, own = self._expanded(particles, exponents, blur)
        left = terms.deviation - (own * latents[:, self._firing]).sum(axis=2)
        return integrated(left, terms.effects, terms.variance, self._powers(exponents))
