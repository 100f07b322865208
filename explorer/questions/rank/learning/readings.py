"""Readings that a measurement would give, simulated from a sample.

A reading in another firing meets another draw of what scatters, so scatter rows are drawn anew for each: a test can't
learn them. What is fixed but not known is the same in every reading: the inputs, the model's own error of a quantity,
the calibration of an instrument that two measurements share. Streams hang on names, not on places in a file.
"""

from __future__ import annotations  # so that help() shows short names

import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from explorer import registry, run, sampling
from explorer.sampling import Purpose
from explorer.study.model_error import FIXED_BY_A_SUPPLY, model_factor, off_found, with_parts
from explorer.study.problem import Model, Problem, problem_of
from explorer.studyfile import Measurement, ReadingUncertainty, Study, StudyError, measurement_of

FloatArray = NDArray[np.float64]

#: Most repeats simulated one by one. Of more, the mean is taken from pairs of opposite draws, in which the scatter
#: cancels as far as it is linear, and what is left of the scatter is put on as noise.
_MOST_REPEATS: Final[int] = 8

#: Streams beside the sample's own: noise, calibrations, scatter in the firings that are read, the model's own errors.
_NOISE, _COMMON, _FIRINGS, _MODEL_ERRORS = 1_000_000, 2_000_000, 3_000_000, 4_000_000

#: Points that a thread computes at once.
_PIECE: Final[int] = 1024


def in_pieces(function: Callable[[FloatArray], FloatArray], points: FloatArray, *, jobs: int) -> FloatArray:
    """What a function gives at points, computed piece by piece in threads."""
    pieces = [(points[start : start + _PIECE],) for start in range(0, len(points), _PIECE)]
    return np.concatenate(list(run.in_threads(function, pieces, jobs=jobs, total=len(pieces))))


def measurements_of(
    model: Study | Model, given: Sequence[Measurement | Mapping[str, object]] | None
) -> list[Measurement]:
    """What could be measured: what is given, else a study's own."""
    stated = model.measurements if isinstance(model, Study) else ()
    return [measurement_of(own) for own in (stated if given is None else given)]


def draws(
    model: Study | Model,
    n: int,
    rng: int | np.random.Generator,
    *,
    inputs: Mapping[str, object] | None = None,
    quantities: Sequence[str] | None = None,
    measurements: Sequence[Measurement | Mapping[str, object]] | None = None,
    jobs: int = 1,
) -> pd.DataFrame:
    """Draw what may be true and what would be seen, for a plan of one's own.

    Parameters
    ----------
    model : Study or callable
        With a study `inputs` is None: its own.
    n : int
        Independent draws [-].
    rng : int or Generator
        Random number.
    inputs : mapping, optional
        For a callable: values of the grammar by name.
    quantities : sequence of str, optional
        Outputs; a study's target, or all that a callable gives, if left out.
    measurements : sequence of Measurement or mapping, optional
        What is read; a study's own if left out.
    jobs : int
        Threads [-].

    Returns
    -------
    DataFrame
        A row a draw [SI]: uncertain inputs by address, with what scatters as in one firing; outputs by address, the
        model's own error put on; ``model error: <output>``, its factor [-]; ``<measurement>: <address>``, what its
        instrument would read, scatter drawn anew in its own firings; ``status``. NaN where there is no number.
    """
    problem = problem_of(model, inputs, quantities, jobs=jobs)
    number = sampling.random_number(rng)
    cube = sampling.generator(number, Purpose.READINGS).random((n, problem.dimension))
    cube = np.clip(cube, 2.0**-53, 1.0 - 2.0**-53)
    errors = {item.address for item in problem.space.inputs if item.called}
    drawn = problem.space.values(cube)
    found = {f"model error: {a}" if a in errors else a: values for a, values in drawn.items()}
    values, outcomes = problem(cube)
    found |= dict(zip(problem.quantities, values.T, strict=True))
    simulation = Simulation(problem, [cube], number, jobs)
    for measurement in measurements_of(model, measurements):
        read = simulation.readings(measurement)
        names = [f"{measurement.name}: {address}" for address in (*measurement.pins, *measurement.observes)]
        found |= {name: own.values[0] for name, own in zip(names, read, strict=True)}
    statuses = pd.Index([status.name for status in registry.STATUSES])
    return pd.DataFrame({**found, "status": pd.Categorical.from_codes(outcomes, categories=statuses)})


@dataclass(frozen=True)
class SimulatedReading:
    """One reading by scramble, NaN where its firing gives no number, and what it was made from."""

    values: list[FloatArray]  #: [SI]
    ideal: list[FloatArray]  #: without the instrument's errors [SI]
    random: float  #: standard uncertainty that falls anew at each reading [SI]
    common: float  #: standard uncertainty that readings of the instrument share [SI]
    instrument: str


@dataclass(frozen=True)
class Simulation:
    """A sample of a problem, at the points of which readings are simulated."""

    problem: Problem
    cubes: Sequence[FloatArray]  #: by scramble, shape (rows, dimension) [-]
    number: int  #: random number of the run
    jobs: int = 1  #: threads

    def readings(self, measurement: Measurement) -> list[SimulatedReading]:
        """Every reading of a measurement [SI]."""
        found = [self._pinned(measurement, address, reading) for address, reading in measurement.pins.items()]
        if not measurement.observes:
            return found
        firings = self._firings(measurement)
        for quantity, reading in measurement.observes.items():
            own = [self._off(quantity, y, n, measurement.settings) for n, y in enumerate(firings)]
            key, every = f"{measurement.name} {quantity}", np.concatenate(own)
            if not np.isfinite(every).any():
                raise StudyError(
                    f"measurement {measurement.name}: its firing never gives a number for {quantity}: move its settings"
                )
            typical = float(np.nanmean(every))
            found.append(self._read(own, reading, typical, measurement.repeats, key))
        return found

    def _stream(self, scramble: int, kind: int, name: str) -> np.random.Generator:
        place = kind + zlib.crc32(name.encode()) % 1_000_000
        return sampling.generator(self.number, Purpose.READINGS, scramble=scramble, chunk=place)

    def _read(
        self,
        values: list[FloatArray],
        reading: ReadingUncertainty,
        typical: float,
        repeats: int,
        key: str,
        *,
        scatter: float = 0.0,
    ) -> SimulatedReading:
        """Values with the instrument's noise, which repeats lessen, and its calibration, which they don't."""
        noise = float(np.hypot(reading.random.at(typical), scatter) / np.sqrt(repeats))
        common = reading.common.at(typical)
        instrument = reading.instrument or key
        read = [
            y
            + noise * self._stream(s, _NOISE, key).standard_normal(y.size)
            + common * self._stream(s, _COMMON, instrument).standard_normal(y.size)
            for s, y in enumerate(values)
        ]
        return SimulatedReading(read, values, noise, common, instrument)

    def _pinned(
        self, measurement: Measurement, address: str, reading: ReadingUncertainty
    ) -> SimulatedReading:
        """Readings of an input itself: what is fixed of it, with the instrument's noise and the scatter's share."""
        space, name = self.problem.space, self.problem.aliases.get(address, address)
        item = next((item for item in space.inputs if item.address == name), None)
        if item is None or item.unknown is None:
            raise StudyError(
                f"a measurement pins {address}, of which nothing is unknown: it would teach nothing"
            )
        place, scatter = space.row_number(name, "unknown"), 0.0
        fixed = [[space.dependent(cube)[place]] for cube in self.cubes]
        if item.scatter is not None:
            # Held at its mean behind the dependence: scatter that two inputs have in common must not show here either.
            middle = item.scatter.cumulative(np.array([item.scatter.mean]))[0]
            fixed = [[*parts, np.full(parts[0].size, middle)] for parts in fixed]
            scatter = item.scatter.standard_uncertainty
        values = [item.values(*parts) for parts in fixed]
        key = f"{measurement.name} {address}"
        return self._read(values, reading, item.centre, measurement.repeats, key, scatter=scatter)

    def _firings(self, measurement: Measurement) -> list[dict[str, FloatArray]]:
        """Outputs by scramble at the measurement's settings, averaged over repeats with scatter drawn anew in each."""
        study, observed = self.problem.study, tuple(measurement.observes)
        quantities = observed if study is None else with_parts(study, observed)
        evaluate = self.problem.elsewhere(measurement.settings, quantities)

        def outputs(points: FloatArray) -> FloatArray:
            found = evaluate(self.problem.space.values(points))[0]
            return np.column_stack([np.asarray(found[quantity]) for quantity in quantities])

        scatter = list(self.problem.scatter_columns)
        many = bool(scatter) and measurement.repeats > _MOST_REPEATS
        draws = min(measurement.repeats, _MOST_REPEATS) if scatter else 1
        streams = [self._stream(s, _FIRINGS, measurement.name) for s in range(len(self.cubes))]
        found, points = [], np.concatenate(self.cubes)
        for draw in range(draws):
            if many and draw % 2:
                points[:, scatter] = 1.0 - points[:, scatter]
            elif scatter:
                shapes = [(len(cube), len(scatter)) for cube in self.cubes]
                anew = [rng.random(shape) for rng, shape in zip(streams, shapes, strict=True)]
                points[:, scatter] = np.clip(np.concatenate(anew), 2.0**-53, 1.0 - 2.0**-53)
            found.append(in_pieces(outputs, points, jobs=self.jobs))
        mean = np.mean(found, axis=0)
        if many:
            spread = np.sqrt(np.nanmean(np.var(found[::2], axis=0, ddof=1), axis=0) / measurement.repeats)
            shapes = [(len(cube), len(quantities)) for cube in self.cubes]
            left = [rng.standard_normal(shape) for rng, shape in zip(streams, shapes, strict=True)]
            mean = mean + spread * np.concatenate(left)
        edges = np.cumsum([len(cube) for cube in self.cubes])[:-1]
        return [dict(zip(quantities, block.T, strict=True)) for block in np.split(mean, edges)]

    def _off(
        self, quantity: str, found: Mapping[str, FloatArray], scramble: int, settings: Mapping[str, float]
    ) -> FloatArray:
        """What is read of a quantity with what the model itself is off by."""
        study, factor = self.problem.study, self._own_error(quantity, scramble)
        if study is None or quantity.rpartition(".")[2] not in FIXED_BY_A_SUPPLY:
            return np.asarray(found[quantity] * factor)
        inputs: dict[str, ArrayLike] = {**self.problem.space.values(self.cubes[scramble]), **settings}
        return off_found(study, quantity, found, factor, inputs)

    def _own_error(self, quantity: str, scramble: int) -> FloatArray | float:
        """Factor by which the model itself is off for an observed quantity: the target's own, or one drawn here.

        It is fixed but not known, so every measurement that observes the quantity meets the same factor; a single
        pair's output is the same under both of its names.
        """
        study, cube = self.problem.study, self.cubes[scramble]
        if study is None:
            return 1.0
        one = len(study.pairs) == 1

        def plain(output: str) -> str:
            return output.rpartition(".")[2] if one else output

        for column, row in enumerate(self.problem.rows):
            if row.part == "model" and plain(row.address) == plain(quantity):
                if study.calibrated is not None and row.address in study.calibrated.model_errors:
                    return self.problem.space.values(cube)[row.address]
                return model_factor(cube[:, column], study.model_error.of(row.address).relative)
        relative = study.model_error.of(quantity).relative
        if not relative:
            return 1.0
        rng = self._stream(scramble, _MODEL_ERRORS, plain(quantity))
        return model_factor(np.clip(rng.random(len(cube)), 2.0**-53, None), relative)
