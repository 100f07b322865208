"""Readings that a measurement would give, simulated from a sample.

A reading in another firing meets another draw of what scatters, so scatter rows are drawn anew for each: a test can't
learn them. What is fixed but not known is the same in every reading: the inputs, the model's own error of a quantity,
the calibration of an instrument that two measurements share. Streams hang on names, not on places in a file.
"""

import zlib
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.sampling import Purpose
from explorer.study.model_error import model_factor
from explorer.study.problem import Problem
from explorer.studyfile import Measurement, Reading, StudyError

FloatArray = NDArray[np.float64]

#: Values of one reading, by scramble.
Simulated = list[FloatArray]

#: Most repeats simulated one by one. Of more, the mean is taken from pairs of opposite draws, in which the scatter
#: cancels as far as it is linear, and what is left of the scatter is put on as noise.
_MOST_REPEATS: Final[int] = 8

#: Streams beside the sample's own: noise, calibrations, scatter in the firings that are read, the model's own errors.
_NOISE, _COMMON, _FIRINGS, _MODEL_ERRORS = 1_000_000, 2_000_000, 3_000_000, 4_000_000


def simulated_readings(
    problem: Problem, measurement: Measurement, cubes: Sequence[FloatArray], number: int, *, jobs: int
) -> list[Simulated]:
    """Every reading of a measurement, at the points of a sample. [SI]"""
    found = [
        _pinned(problem, measurement, address, reading, cubes, number)
        for address, reading in measurement.pins.items()
    ]
    if not measurement.observes:
        return found
    quantities = list(measurement.observes)
    for quantity, values in zip(
        quantities, _firings(problem, measurement, quantities, cubes, number, jobs=jobs), strict=True
    ):
        own = [
            y * _own_error(problem, quantity, cube, number, scramble)
            for scramble, (y, cube) in enumerate(zip(values, cubes, strict=True))
        ]
        key = f"{measurement.name} {quantity}"
        typical = float(np.nanmean(np.concatenate(own)))
        found.append(_read(own, measurement.observes[quantity], typical, measurement.repeats, number, key))
    return found


def _stream(number: int, scramble: int, kind: int, name: str) -> np.random.Generator:
    place = kind + zlib.crc32(name.encode()) % 1_000_000
    return sampling.generator(number, Purpose.READINGS, scramble=scramble, chunk=place)


def _read(
    values: Simulated,
    reading: Reading,
    typical: float,
    repeats: int,
    number: int,
    key: str,
    *,
    scatter: float = 0.0,
) -> Simulated:
    """Values with the instrument's noise, which repeats lessen, and its calibration, which they don't."""
    noise = float(np.hypot(reading.random.at(typical), scatter) / np.sqrt(repeats))
    common = reading.common.at(typical)
    instrument = reading.instrument or key
    return [
        y
        + noise * _stream(number, s, _NOISE, key).standard_normal(y.size)
        + common * _stream(number, s, _COMMON, instrument).standard_normal(y.size)
        for s, y in enumerate(values)
    ]


def _pinned(
    problem: Problem,
    measurement: Measurement,
    address: str,
    reading: Reading,
    cubes: Sequence[FloatArray],
    number: int,
) -> Simulated:
    """Readings of an input itself: what is fixed of it, with the instrument's noise and the scatter's share."""
    name = problem.aliases.get(address, address)
    item = next((item for item in problem.space.inputs if item.address == name), None)
    if item is None or item.unknown is None:
        raise StudyError(f"a measurement pins {address}, of which nothing is unknown: it would teach nothing")
    place, scatter = problem.space.row_number(name, "unknown"), 0.0
    fixed = [[problem.space.dependent(cube)[place]] for cube in cubes]
    if item.scatter is not None:
        # Held at its mean behind the dependence: scatter that two inputs have in common must not show here either.
        middle = item.scatter.cumulative(np.array([item.scatter.mean]))[0]
        fixed = [[*parts, np.full(parts[0].size, middle)] for parts in fixed]
        scatter = item.scatter.standard_uncertainty
    values = [item.values(*parts) for parts in fixed]
    key = f"{measurement.name} {address}"
    return _read(values, reading, item.centre, measurement.repeats, number, key, scatter=scatter)


def _firings(
    problem: Problem,
    measurement: Measurement,
    quantities: Sequence[str],
    cubes: Sequence[FloatArray],
    number: int,
    *,
    jobs: int,
) -> list[Simulated]:
    """Outputs at the measurement's settings, averaged over its repeats with scatter drawn anew in each."""
    evaluate = problem.elsewhere(measurement.settings, quantities)
    scatter = list(problem.scatter_columns)
    many = bool(scatter) and measurement.repeats > _MOST_REPEATS
    draws = min(measurement.repeats, _MOST_REPEATS) if scatter else 1
    streams = [_stream(number, s, _FIRINGS, measurement.name) for s in range(len(cubes))]
    whole = np.concatenate(cubes)
    edges = np.cumsum([len(cube) for cube in cubes])[:-1]

    def outputs_at(points: FloatArray) -> FloatArray:
        starts = range(0, len(points), run.CHUNK_POINTS)
        calls = ((problem.space.values(points[start : start + run.CHUNK_POINTS]),) for start in starts)
        parts = run.in_threads(lambda values: evaluate(values)[0], calls, jobs=jobs, total=len(starts))
        return np.concatenate([np.column_stack([np.asarray(p[q]) for q in quantities]) for p in parts])

    found, last = [], np.empty((len(whole), len(scatter)))
    for draw in range(draws):
        points = whole.copy()
        if many and draw % 2:
            points[:, scatter] = 1.0 - last
        elif scatter:
            anew = [rng.random((len(c), len(scatter))) for rng, c in zip(streams, cubes, strict=True)]
            last = np.clip(np.concatenate(anew), 2.0**-53, 1.0 - 2.0**-53)
            points[:, scatter] = last
        found.append(outputs_at(points))
    mean = np.mean(found, axis=0)
    if many:
        spread = np.sqrt(np.nanmean(np.var(found[::2], axis=0, ddof=1), axis=0) / measurement.repeats)
        left = [rng.standard_normal((len(c), len(quantities))) for rng, c in zip(streams, cubes, strict=True)]
        mean = mean + spread * np.concatenate(left)
    return [np.split(column, edges) for column in mean.T]


def _own_error(
    problem: Problem, quantity: str, cube: FloatArray, number: int, scramble: int
) -> FloatArray | float:
    """Factor by which the model itself is off for an observed quantity: the target's own, or one drawn here.

    It is fixed but not known, so every measurement that observes the quantity meets the same factor; a single pair's
    output is the same under both of its names.
    """
    name = _plain(problem, quantity)
    for column, row in enumerate(problem.rows):
        if problem.study is not None and row.part == "model" and _plain(problem, row.address) == name:
            return model_factor(cube[:, column], problem.study.model_error.of(row.address).relative)
    if problem.study is None:
        return 1.0
    relative = problem.study.model_error.of(quantity).relative
    if not relative:
        return 1.0
    rng = _stream(number, scramble, _MODEL_ERRORS, name)
    return model_factor(np.clip(rng.random(len(cube)), 2.0**-53, None), relative)


def _plain(problem: Problem, quantity: str) -> str:
    """An output's name; a single pair's without the pair."""
    one = problem.study is not None and len(problem.study.pairs) == 1
    return quantity.rpartition(".")[2] if one else quantity
