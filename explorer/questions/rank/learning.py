"""What a test could pin down, and which measurement to make first: readings simulated from one plain sample.

What an input alone would leave if it were known, what each measurement and each set of measurements would leave, what
they are worth for the verdict on a requirement.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.analysis.information import best_pair, left_if_known
from explorer.analysis.measurement import Choice
from explorer.analysis.measurement_sets import Measurement as Candidate
from explorer.analysis.measurement_sets import MeasurementRanking, rank_measurements
from explorer.analysis.scrambles import Estimate, root
from explorer.analysis.second_opinion import moment_independent
from explorer.analysis.statistics import met
from explorer.questions.rank.readings import Simulation, in_pieces
from explorer.sampling import Purpose
from explorer.space import Row
from explorer.study.problem import Problem
from explorer.studyfile import Decision, Measurement, Setup, Target

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class LearningSample:
    """A plain sample: by scramble the cube, the target and the readings of every measurement, whole rows only."""

    cubes: list[FloatArray]  #: [-] shape (rows, dimension)
    target: list[FloatArray]  #: [SI] shape (rows,)
    readings: list[FloatArray]  #: [SI] shape (rows, readings)
    candidates: tuple[Candidate, ...]  #: Which readings each measurement brings
    lost: float  #: Share of rows left out because a point had no number [-]


@dataclass(frozen=True)
class Known:
    """What would be left if a row were known exactly."""

    row: Row
    variance: Estimate  #: left of the target [SI²]
    informative: bool  #: whether it falls by more than with a row that tells nothing

    @property
    def left(self) -> Estimate:
        """Standard uncertainty left of the target [SI]."""
        return root(self.variance)


@dataclass(frozen=True)
class Pair:
    """The two inputs that would leave least if both were known exactly."""

    rows: tuple[Row, Row]
    left: Estimate  #: standard uncertainty left of the target, judged apart from the choice [SI]


@dataclass(frozen=True)
class Moved:
    """How far the target's distribution moves when a row is held in a slice of its range."""

    row: Row
    distance: float  #: mean over the slices [-]
    largest: float  #: over the slices [-]


@dataclass(frozen=True)
class Opinion:
    """A measure that shares nothing with variance."""

    moved: tuple[Moved, ...]  #: largest first
    dummy: float  #: distance of a row that tells nothing [-]
    leading: Row | None  #: None if no row stands out of the dummy


@dataclass(frozen=True)
class Learning:
    """What tests could teach about the target."""

    known: tuple[Known, ...]  #: For each unknown row, the model's own error among them
    now: Estimate  #: Standard uncertainty of the target as it stands [SI]
    null_fall: (
        float  #: Of the variance, as the luckiest of rows that tell nothing would seem to make it fall [-]
    )
    pair: Pair | None  #: None with fewer than two inputs that are unknown
    measurements: MeasurementRanking | None  #: None without measurements
    second_opinion: Opinion
    lost: float  #: Share of the plain sample's rows left out because a point had no number [-]


def sample_cubes(problem: Problem, number: int, samples: int) -> list[FloatArray]:
    """Points of the plain sample, by scramble. [-]"""
    plan = sampling.sample_plan(number, problem.dimension, samples, purpose=Purpose.READINGS)
    chunks = range(plan.rows // plan.chunk_rows)
    return [np.concatenate([plan.points(s, n) for n in chunks]) for s in range(plan.scrambles)]


def learning_sample(
    problem: Problem,
    measurements: Sequence[Measurement],
    number: int,
    cubes: Sequence[FloatArray],
    *,
    jobs: int = 1,
) -> LearningSample:
    """A plain sample of the target with the readings that the measurements would give."""
    values = in_pieces(lambda points: problem(points)[0][:, 0], np.concatenate(cubes), jobs=jobs)
    target = np.split(values, np.cumsum([len(cube) for cube in cubes])[:-1])
    simulation = Simulation(problem, cubes, number, jobs)
    columns: list[list[FloatArray]] = [[] for _ in cubes]
    candidates: list[Candidate] = []
    # By name, not in the file's order: sums come out the same to the last bit.
    for measurement in sorted(measurements, key=lambda m: m.name):
        first = len(columns[0])
        for reading in simulation.readings(measurement):
            for scramble, own in enumerate(reading):
                columns[scramble].append(own)
        places = tuple(range(first, len(columns[0])))
        candidates.append(Candidate(measurement.name, places, measurement.hours, measurement.setup))
    readings = [np.column_stack([np.empty((len(y), 0)), *c]) for y, c in zip(target, columns, strict=True)]
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
    jobs: int = 1,
) -> Learning:
    """What tests could teach, from a plain sample."""
    unknown = [problem.rows[i] for i in problem.unknown_columns]
    cubes = [problem.dependent(cube) for cube in sample.cubes]  # learning one teaches what comes with it
    inputs = [cube[:, list(problem.unknown_columns)] for cube in cubes]
    hours = np.inf if decision is None or decision.hours is None else decision.hours

    def measured() -> MeasurementRanking | None:
        if not sample.candidates:
            return None
        return rank_measurements(
            sample.readings,
            sample.target,
            sample.candidates,
            setup_hours={setup.name: setup.hours for setup in setups},
            hours_given=hours,
            choice=_choice(sample, target, decision),
            left_if_all_known=scatter_variance,
        )

    rng = sampling.generator(number, Purpose.PERMUTATION)
    parts: list[tuple[Callable[[], Any]]] = [
        (measured,),
        (lambda: _pair(inputs, sample.target, unknown),),
        (lambda: left_if_known(inputs, sample.target, rng=rng),),
        (lambda: _opinion(cubes, sample.target, problem.rows, number),),
    ]
    ranking, pair, left, opinion = run.in_threads(lambda part: part(), parts, jobs=jobs, total=len(parts))
    known = [
        Known(row, left.variance[i], bool(informative))
        for i, (row, informative) in enumerate(zip(unknown, left.informative, strict=True))
    ]
    return Learning(tuple(known), left.now, left.null_fall, pair, ranking, opinion, sample.lost)


def _pair(inputs: Sequence[FloatArray], target: Sequence[FloatArray], rows: Sequence[Row]) -> Pair | None:
    """The best two inputs; the model's own error can't be pinned down."""
    pinned = [i for i, row in enumerate(rows) if row.part == "unknown"]
    if len(pinned) < 2:
        return None
    found = best_pair([cube[:, pinned] for cube in inputs], target)
    first, second = (rows[pinned[place]] for place in found.places)
    return Pair((first, second), found.left)


def _opinion(
    cubes: Sequence[FloatArray], target: Sequence[FloatArray], rows: Sequence[Row], number: int
) -> Opinion:
    rng = sampling.generator(number, Purpose.PERMUTATION, chunk=1)
    found = moment_independent(np.concatenate(cubes), np.concatenate(target), rng=rng)
    moved = [
        Moved(row, float(distance), float(largest))
        for row, distance, largest in zip(rows, found.distance, found.largest, strict=True)
    ]
    leading = None if found.leading is None else rows[found.leading]
    return Opinion(tuple(sorted(moved, key=lambda own: -own.distance)), found.dummy, leading)


def _choice(sample: LearningSample, target: Target | None, decision: Decision | None) -> Choice | None:
    if target is None or not target.has_requirement:
        return None
    passed = [met(y, at_least=target.at_least, at_most=target.at_most) for y in sample.target]
    if decision is None:
        return Choice(passed)
    return Choice(passed, (decision.gain_if_met, -decision.loss_if_not), (0.0, 0.0))
