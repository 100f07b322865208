"""Readings as arrays: what an instrument should read of what a firing shows, and how likely what it did read is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm, t

from explorer.analysis.calibration.densities import AS_NORMAL, random_errors
from explorer.firings import Firing, Reading
from explorer.questions.calibrate.learning.discrepancy import Discrepancy
from explorer.questions.calibrate.learning.settings import Moment
from explorer.questions.calibrate.learning.sides import StudySide
from explorer.questions.calibrate.learning.stand import Stand
from explorer.study.model_error import FIXED_BY_A_SUPPLY, off

Floats = NDArray[np.float64]

#: What a supply fixes needs these of a point beside the quantity itself.
_OF_SOURCE: Final = ("voltage", "current_limit", "resistance")


@dataclass(frozen=True)
class Shown:
    """A quantity of a step: in which column of what a firing shows it stands."""

    firing: int
    moment: int  #: among all steps
    quantity: str
    column: int
    source: Mapping[str, int]  #: by address, columns of inputs that tell what its supply fixes


@dataclass(frozen=True)
class Read:
    """One reading of a firing."""

    firing: int
    step: str
    quantity: str
    taken: int  #: place among what is shown
    less: int | None  #: the same of what is taken away
    reading: Reading


@dataclass(frozen=True)
class Instruments:
    """All readings of all firings."""

    stand: Stand
    shown: tuple[Shown, ...]
    reads: tuple[Read, ...]
    errors: tuple[str, ...]  #: named common errors, in order
    columns: int  #: of what a firing shows
    discrepancy: Discrepancy

    @property
    def common(self) -> int:
        """Common latents of a point: inputs, and scales of the model's own errors."""
        return self.stand.common + self.discrepancy.scales

    @property
    def linear(self) -> int:
        """Errors that enter readings linearly: the named ones, and the model's own."""
        return len(self.errors) + self.discrepancy.errors

    @property
    def own(self) -> int:
        """Latents of each firing: its scatter, its uncertain settings, variances that few readings are behind."""
        return self.stand.own + max(len(self.poorly_known(f)) for f in range(self.firings))

    @cached_property
    def firings(self) -> int:
        """How many firings there are."""
        return 1 + max(read.firing for read in self.reads)

    def poorly_known(self, firing: int) -> tuple[int, ...]:
        """Which readings of a firing have few degrees of freedom behind them."""
        reads = self.of(firing)
        return tuple(i for i, own in enumerate(reads) if own.reading.degrees_of_freedom < AS_NORMAL)

    def scales(self, common: Floats) -> Floats:
        """Latents of the scales of the model's own errors."""
        return common[:, self.stand.common :]

    def simulate(self, common: Floats, own: Floats) -> Floats:
        """What firings show, shape (points, firings, columns) [SI]."""
        inputs: list[dict[str, Floats]] = []
        for f in range(own.shape[1]):
            drawn = self.stand.drawn(common, own[:, f])
            inputs += [self.stand.inputs(m, common, own[:, f], drawn) for m in self.stand.of_firing(f)]
        found = self.stand.computed(self.stand.moments, inputs)
        columns = np.zeros((len(common), own.shape[1], self.columns))
        for each in self.shown:
            self._put(columns[:, each.firing], each, found[each.moment], inputs[each.moment])
        return columns

    def simulate_one(self, firing: int, inputs: Sequence[dict[str, Floats]], points: int) -> Floats:
        """What one firing shows whose steps have these inputs, shape (points, 1, columns) [SI]."""
        moments = self.stand.of_firing(firing)
        found = self.stand.computed(moments, inputs)
        first = self.stand.moments.index(moments[0])
        columns = np.zeros((points, 1, self.columns))
        for each in self.shown:
            if each.firing == firing:
                place = each.moment - first
                self._put(columns[:, 0], each, found[place], inputs[place])
        return columns

    def _put(
        self, columns: Floats, shown: Shown, found: Mapping[str, Floats], inputs: Mapping[str, Floats]
    ) -> None:
        columns[:, shown.column] = found[shown.quantity]
        central = self.stand.sides[self.stand.moments[shown.moment].side].central
        for address, column in shown.source.items():
            columns[:, column] = inputs.get(address, np.asarray(central[address]))

    def expected(
        self, simulated: Floats, common: Floats, errors: Floats, firing: int, *, at: int | None = None
    ) -> Floats:
        """What instruments should read of a firing but for their random errors, shape (points, readings) [SI].

        The firing stands `at` another place where it is computed by itself.
        """
        f = firing if at is None else at
        values = {p: self._true(each, simulated[:, f], common, errors) for p, each in self._shown_in(firing)}
        found = []
        for read in self.of(firing):
            value = values[read.taken] - (values[read.less] if read.less is not None else 0.0)
            for name, size in read.reading.common.items():
                value = value + size * errors[:, self.errors.index(name)]
            found.append(value)
        return np.column_stack(found)

    def factor(self, quantity: str, setting: int, common: Floats, errors: Floats) -> Floats | float:
        """By what the model's value of a quantity is to be multiplied at a setting [-]."""
        return self.discrepancy.factor(quantity, setting, self.scales(common), errors[:, len(self.errors) :])

    def offset(self, quantity: str, common: Floats, errors: Floats) -> Floats | float:
        """What is then to be added [SI]."""
        return self.discrepancy.offset(quantity, self.scales(common), errors[:, len(self.errors) :])

    def _shown_in(self, firing: int) -> list[tuple[int, Shown]]:
        return [(place, each) for place, each in enumerate(self.shown) if each.firing == firing]

    def _true(self, each: Shown, columns: Floats, common: Floats, errors: Floats) -> Floats:
        """What a step really gives: with what the model may be off by [SI]."""
        plain = columns[:, each.column]
        factor = self.factor(each.quantity, each.moment, common, errors)
        true = plain * factor if isinstance(factor, float) else self._off(each, columns, factor)
        # No current is no current: where the model has exactly none, it has no error to be added.
        return np.asarray(true + np.where(plain == 0.0, 0.0, self.offset(each.quantity, common, errors)))

    def _off(self, each: Shown, columns: Floats, factor: Floats) -> Floats:
        plain = columns[:, each.column]
        side = self.stand.sides[self.stand.moments[each.moment].side]
        if not each.source or not isinstance(side, StudySide):
            return np.asarray(plain * factor)
        inputs: dict[str, ArrayLike] = {a: columns[:, c] for a, c in each.source.items()}
        return off(side.side.study, each.quantity, plain, factor, inputs)

    @cached_property
    def _by_firing(self) -> tuple[tuple[Read, ...], ...]:
        return tuple(tuple(own for own in self.reads if own.firing == f) for f in range(self.firings))

    def of(self, firing: int) -> tuple[Read, ...]:
        """The readings of a firing."""
        return self._by_firing[firing]

    def density(self, expected: Floats, firing: int) -> Floats:
        """Logarithm of the density of a firing's readings about what is expected of them, shape (points,)."""
        reads = self.of(firing)
        value, random, freedom = _arrays(reads)
        none, numbered = np.isnan(value), np.isfinite(expected)
        deviation = np.where(none, 0.0, value) - np.where(numbered, expected, 0.0)
        few = freedom < AS_NORMAL
        logs = np.where(
            few, t.logpdf(deviation / random, np.where(few, freedom, 1.0)), norm.logpdf(deviation / random)
        )
        logs = np.where(
            none, np.where(numbered, -np.inf, 0.0), np.where(numbered, logs - np.log(random), -np.inf)
        )
        return np.asarray(logs.sum(axis=1))

    def replicas(self, expected: Floats, firing: int, rng: np.random.Generator) -> Floats:
        """What instruments might read of a firing, shape (points, readings) [SI]."""
        _, random, freedom = _arrays(self.of(firing))
        return np.asarray(expected + random * random_errors(freedom, len(expected), rng))


def _arrays(reads: Sequence[Read]) -> tuple[Floats, Floats, Floats]:
    readings = [read.reading for read in reads]
    return (
        np.array([own.value for own in readings]),
        np.array([own.random_of_mean for own in readings]),
        np.array([own.degrees_of_freedom for own in readings]),
    )


def instruments_of(stand: Stand, firings: Sequence[Firing], discrepancy: Discrepancy) -> Instruments:
    """All readings of firings that are computed on a stand."""
    shown: list[Shown] = []
    columns: dict[int, int] = {}
    for number, moment in enumerate(stand.moments):
        for quantity in moment.quantities:
            first = columns.get(moment.firing, 0)
            source = {a: first + 1 + i for i, a in enumerate(_source_of(stand, moment, quantity))}
            shown.append(Shown(moment.firing, number, quantity, first, source))
            columns[moment.firing] = first + 1 + len(source)
    places = {(own.firing, stand.moments[own.moment].name, own.quantity): i for i, own in enumerate(shown)}
    reads: list[Read] = []
    for f, firing in enumerate(firings):
        for step in firing.moments:
            for quantity, reading in sorted(step.readings.items()):
                reads.append(Read(f, step.name, quantity, places[f, step.name, quantity], None, reading))
        for each in firing.differences:
            taken, less = (places[f, name, each.quantity] for name in (each.step, each.less))
            reads.append(Read(f, f"{each.step} less {each.less}", each.quantity, taken, less, each.reading))
    errors = tuple(sorted({name for read in reads for name in read.reading.common}))
    return Instruments(stand, tuple(shown), tuple(reads), errors, max(columns.values()), discrepancy)


def _source_of(stand: Stand, moment: Moment, quantity: str) -> list[str]:
    """Inputs that tell what a pair's supply fixes of a quantity; none where it fixes nothing."""
    side = stand.sides[moment.side]
    head, _, bare = quantity.rpartition(".")
    if bare not in FIXED_BY_A_SUPPLY or not isinstance(side, StudySide):
        return []
    study = side.side.study
    pair = head.removeprefix("electrodes.") or (study.pairs[0] if len(study.pairs) == 1 else "")
    if study.choices.get(f"electrodes.{pair}.source.kind") != "supply":
        return []
    found = [f"electrodes.{pair}.source.{key}" for key in _OF_SOURCE]
    return [*found, f"electrodes.{pair}.leak_conductance"] if bare == "leak_current" else found
