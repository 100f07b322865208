"""What a test could pin down, and which measurement to make first: readings simulated from one plain sample.

What an input alone would leave if it were known, what each measurement and each set of measurements would leave, what
they are worth for the verdict on a requirement. A reading in another firing meets another draw of what scatters, so
scatter rows are drawn anew for each reading: a test can't learn them.
"""

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.analysis.information import BestPair, LeftIfKnown, best_pair, left_if_known
from explorer.analysis.measurement import Choice, reading_uncertainty
from explorer.analysis.measurement_sets import Measurement as Candidate
from explorer.analysis.measurement_sets import MeasurementRanking, rank_measurements
from explorer.analysis.scrambles import Estimate
from explorer.analysis.second_opinion import SecondOpinion, moment_independent
from explorer.analysis.statistics import met
from explorer.sampling import Purpose
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import Problem, model_factor
from explorer.studyfile import Decision, Measurement, Reading, Setup, StudyError, Target

FloatArray = NDArray[np.float64]

#: Points of the plain sample from which learning is told.
SAMPLES: Final[int] = 16_384

#: Most repeats whose scatter is simulated one by one; more average no further.
_MOST_REPEATS: Final[int] = 8

#: Streams beside the sample's own: noise of readings, scatter in the firings that are read, the model's own errors.
_NOISE, _FIRINGS, _MODEL_ERRORS = 1_000_000, 2_000_000, 3_000_000


@dataclass(frozen=True)
class LearningSample:
    """A plain sample: by scramble the cube, the target and the readings of every measurement, whole rows only.

    Attributes
    ----------
    cubes : list of NDArray
        [-] shape (rows, dimension).
    target : list of NDArray
        [SI] shape (rows,).
    readings : list of NDArray
        [SI] shape (rows, readings).
    candidates : tuple of Candidate
        Which readings each measurement brings.
    lost : float
        Share of rows left out because a point had no number [-].
    """

    cubes: list[FloatArray]
    target: list[FloatArray]
    readings: list[FloatArray]
    candidates: tuple[Candidate, ...]
    lost: float


@dataclass(frozen=True)
class Learning:
    """What tests could teach about the target.

    Attributes
    ----------
    left : LeftIfKnown
        For each unknown row.
    pair : BestPair or None
        Of inputs; None with fewer than two that are unknown.
    measurements : MeasurementRanking or None
        None without measurements.
    second_opinion : SecondOpinion
        A measure that shares nothing with variance.
    lost : float
        Share of the plain sample's rows left out because a point had no number [-].
    """

    left: LeftIfKnown
    pair: BestPair | None
    measurements: MeasurementRanking | None
    second_opinion: SecondOpinion
    lost: float


def learning_sample(
    problem: Problem,
    measurements: Sequence[Measurement],
    number: int,
    *,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> LearningSample:
    """A plain sample of the target with the readings that the measurements would give.

    Parameters
    ----------
    problem : Problem
        Of one quantity, the target.
    measurements : sequence of Measurement
        What could be measured.
    number : int
        [-] random number.
    samples : int
        [-] points.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (chunks done, chunks) of the target's sample.
    """
    plan = sampling.sample_plan(number, problem.dimension, samples, purpose=Purpose.READINGS)
    memory = Memory.of(plan, 1)
    carry_out(plan, problem, memory, jobs=jobs, progress=progress)
    target = np.asarray(plan.arranged(memory.column(0)))[:, 0]
    cubes = [
        np.concatenate([plan.points(s, n) for n in range(plan.rows // plan.chunk_rows)])
        for s in range(plan.scrambles)
    ]
    columns: list[list[FloatArray]] = [[] for _ in cubes]
    candidates: list[Candidate] = []
    # By name, not in the file's order: sums come out the same to the last bit.
    for measurement in sorted(measurements, key=lambda m: m.name):
        first = len(columns[0])
        for address, reading in measurement.pins.items():
            for scramble, cube in enumerate(cubes):
                rng = _stream(number, scramble, _NOISE, f"{measurement.name} {address}")
                columns[scramble].append(_pinned(problem, address, reading, measurement.repeats, cube, rng))
        for quantity, observed in _observed(problem, measurement, cubes, number, jobs=jobs).items():
            reading = measurement.observes[quantity]
            typical = float(np.nanmean(np.concatenate(observed)))
            spread = reading_uncertainty(
                random=reading.random.at(typical),
                common=reading.common.at(typical),
                repeats=measurement.repeats,
            )
            for scramble, values in enumerate(observed):
                rng = _stream(number, scramble, _NOISE, f"{measurement.name} {quantity}")
                columns[scramble].append(values + spread * rng.standard_normal(values.size))
        names = tuple(range(first, len(columns[0])))
        candidates.append(Candidate(measurement.name, names, measurement.hours, measurement.setup))
    readings = [np.column_stack(c) if c else np.empty((plan.rows, 0)) for c in columns]
    whole = [np.isfinite(y) & np.isfinite(r).all(axis=1) for y, r in zip(target, readings, strict=True)]
    return LearningSample(
        cubes=[cube[rows] for cube, rows in zip(cubes, whole, strict=True)],
        target=[y[rows] for y, rows in zip(target, whole, strict=True)],
        readings=[r[rows] for r, rows in zip(readings, whole, strict=True)],
        candidates=tuple(candidates),
        lost=float(1.0 - np.mean(whole)),
    )


def learning(
    problem: Problem,
    sample: LearningSample,
    *,
    number: int,
    setups: Sequence[Setup] = (),
    target: Target | None = None,
    decision: Decision | None = None,
    scatter_variance: Estimate | None = None,
) -> Learning:
    """What tests could teach, from a plain sample.

    Parameters
    ----------
    problem : Problem
        What was sampled.
    sample : LearningSample
    number : int
        [-] random number.
    setups : sequence of Setup
        Set-ups that measurements name.
    target : Target, optional
        With a requirement, the measurements' worth for the verdict is told.
    decision : Decision, optional
        Pay-offs and the hours given.
    scatter_variance : Estimate, optional
        Variance that stays even if everything were known [SI²].
    """
    unknown = list(problem.unknown_columns)
    names = [problem.rows[i].name for i in unknown]
    known = [problem.dependent(cube) for cube in sample.cubes]  # learning one teaches what comes with it
    inputs = [cube[:, unknown] for cube in known]
    rng = sampling.generator(number, Purpose.PERMUTATION)
    found = left_if_known(inputs, sample.target, names, rng=rng)
    ranking = None
    if sample.candidates:
        ranking = rank_measurements(
            sample.readings,
            sample.target,
            sample.candidates,
            setup_hours={setup.name: setup.hours for setup in setups},
            hours_given=np.inf if decision is None or decision.hours is None else decision.hours,
            choice=_choice(sample, target, decision),
            left_if_all_known=scatter_variance,
        )
    opinion = moment_independent(
        np.concatenate(known),
        np.concatenate(sample.target),
        [row.name for row in problem.rows],
        rng=sampling.generator(number, Purpose.PERMUTATION, chunk=1),
    )
    pinned = [
        k for k, i in enumerate(unknown) if problem.rows[i].part == "unknown"
    ]  # the model's error can't be
    pair = (
        best_pair([cube[:, pinned] for cube in inputs], sample.target, [names[k] for k in pinned])
        if len(pinned) > 1
        else None
    )
    return Learning(found, pair, ranking, opinion, sample.lost)


def _stream(number: int, scramble: int, kind: int, name: str) -> np.random.Generator:
    """A stream that hangs on a name, not on a place in the file: reordering a study changes nothing."""
    place = kind + zlib.crc32(name.encode()) % 1_000_000
    return sampling.generator(number, Purpose.READINGS, scramble=scramble, chunk=place)


def _choice(sample: LearningSample, target: Target | None, decision: Decision | None) -> Choice | None:
    if target is None or not target.has_requirement:
        return None
    passed = [met(y, at_least=target.at_least, at_most=target.at_most) for y in sample.target]
    if decision is None:
        return Choice(passed)
    return Choice(passed, (decision.gain_if_met, -decision.loss_if_not), (0.0, 0.0))


def _pinned(
    problem: Problem,
    address: str,
    reading: Reading,
    repeats: int,
    cube: FloatArray,
    rng: np.random.Generator,
) -> FloatArray:
    """Readings of an input itself: what is fixed of it, with the instrument's noise and the scatter's share."""
    name = problem.aliases.get(address, address)
    item = next((item for item in problem.space.inputs if item.address == name), None)
    if item is None or item.unknown is None:
        raise StudyError(f"a measurement pins {address}, of which nothing is unknown: it would teach nothing")
    columns = problem.space.dependent(cube[:, : problem.space.dimension])
    parts, scatter = [columns[problem.space.row_number(name, "unknown")]], 0.0
    if item.scatter is not None:
        # Held at its mean behind the dependence: scatter that two inputs have in common must not show here either.
        middle = item.scatter.cumulative(np.array([item.scatter.mean]))[0]
        parts.append(np.full(len(cube), middle))
        scatter = item.scatter.standard_uncertainty
    values = item.values(*parts)
    spread = reading_uncertainty(
        random=reading.random.at(item.centre),
        common=reading.common.at(item.centre),
        scatter=scatter,
        repeats=repeats,
    )
    return np.asarray(values + spread * rng.standard_normal(values.size))


def _observed(
    problem: Problem,
    measurement: Measurement,
    cubes: Sequence[FloatArray],
    number: int,
    *,
    jobs: int,
) -> Mapping[str, list[FloatArray]]:
    """Outputs at the measurement's settings, scatter drawn anew, averaged over its repeats; by scramble."""
    if not measurement.observes:
        return {}
    quantities = list(measurement.observes)
    evaluate = problem.elsewhere(measurement.settings, quantities)
    inputs = problem.space.dimension
    scatter = [i for i in problem.scatter_columns if i < inputs]
    repeats = min(measurement.repeats, _MOST_REPEATS) if scatter else 1
    size = run.CHUNK_POINTS

    def part(values: Mapping[str, FloatArray]) -> Mapping[str, FloatArray]:
        outputs, _ = evaluate(values)
        return outputs

    streams = [_stream(number, s, _FIRINGS, measurement.name) for s in range(len(cubes))]
    total = {quantity: np.zeros(sum(len(cube) for cube in cubes)) for quantity in quantities}
    for _ in range(repeats):
        redrawn = np.concatenate([cube[:, :inputs] for cube in cubes])
        if scatter:
            anew = [rng.random((len(cube), len(scatter))) for rng, cube in zip(streams, cubes, strict=True)]
            redrawn[:, scatter] = np.maximum(np.concatenate(anew), 2.0**-53)
        starts = range(0, len(redrawn), size)
        calls = ((problem.space.values(redrawn[start : start + size]),) for start in starts)
        outputs = list(run.in_threads(part, calls, jobs=jobs, total=len(starts)))
        for quantity in quantities:
            total[quantity] += np.concatenate([np.asarray(o[quantity]) for o in outputs]) / repeats
    edges = np.cumsum([len(cube) for cube in cubes])[:-1]
    return {
        quantity: [
            values * _own_error(problem, quantity, cube, number, scramble)
            for scramble, (values, cube) in enumerate(
                zip(np.split(total[quantity], edges), cubes, strict=True)
            )
        ]
        for quantity in quantities
    }


def _own_error(
    problem: Problem, quantity: str, cube: FloatArray, number: int, scramble: int
) -> FloatArray | float:
    """Factor by which the model itself is off for an observed quantity: the target's own, or one drawn here.

    It is fixed but not known, so every measurement that observes the quantity meets the same factor.
    """
    if quantity in problem.errors:
        column = problem.space.dimension + list(problem.errors).index(quantity)
        return model_factor(cube[:, column], problem.errors[quantity])
    if problem.study is None:
        return 1.0
    relative = problem.study.model_error.of(quantity).relative
    if not relative:
        return 1.0
    rng = _stream(number, scramble, _MODEL_ERRORS, quantity)
    return model_factor(np.clip(rng.random(len(cube)), 2.0**-53, None), relative)
