"""What a test could pin down, and which measurement to make first: readings simulated from one plain sample.

What an input alone would leave if it were known, what each measurement and each set of measurements would leave, what
they are worth for the verdict on a requirement.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.analysis.measurement import Choice
from explorer.analysis.measurement_sets import Measurement as Candidate
from explorer.analysis.measurement_sets import MeasurementRanking, rank_measurements
from explorer.analysis.scrambles import Estimate, estimate, root
from explorer.analysis.second_opinion import moment_independent
from explorer.analysis.simulated_readings import SimulatedReadings
from explorer.analysis.statistics import met
from explorer.questions.rank.learning.knowing import Knowing, Known, Pair, knowing_by_regression
from explorer.questions.rank.learning.readings import SimulatedReading, Simulation, in_pieces
from explorer.sampling import Purpose
from explorer.space import Row
from explorer.study.problem import Problem
from explorer.studyfile import ASSUMED_WORTH, Decision, Measurement, Study, Target

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class LearningSample:
    """A plain sample: by scramble the cube, the target and the readings of every measurement; rows with a target only.

    A measurement whose firing gives no number takes no row away: that it gives none is its reading.
    """

    cubes: list[FloatArray]  #: [-] shape (rows, dimension)
    target: list[FloatArray]  #: [SI] shape (rows,)
    readings: SimulatedReadings  #: [SI]
    candidates: tuple[Candidate, ...]  #: Which readings each measurement brings
    pinned: Mapping[str, str]  #: The input that a measurement reads, where it reads one and fires nothing
    lost: float  #: Share of rows left out because the target had no number [-]
    failing: Mapping[str, float]  #: By measurement, share of firings without a number, where there are any


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
    by_design: bool  #: Whether what is left if rows are known comes from the design, else from a regression
    measurements: MeasurementRanking | None  #: None without measurements
    second_opinion: Opinion
    lost: float  #: Share of the plain sample's rows left out because the target had no number [-]
    failing: Mapping[str, float]  #: By measurement, share of its firings that give no number [-]


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
    target: Sequence[FloatArray] | None = None,
    jobs: int = 1,
) -> LearningSample:
    """A plain sample of the target, computed unless it is given, with the readings that the measurements would give."""
    if target is None:
        values = in_pieces(lambda points: problem(points)[0][:, 0], np.concatenate(cubes), jobs=jobs)
        target = np.split(values, np.cumsum([len(cube) for cube in cubes])[:-1])
    whole = [np.isfinite(y) for y in target]
    cubes = [cube[rows] for cube, rows in zip(cubes, whole, strict=True)]
    simulation = Simulation(problem, cubes, number, jobs)
    readings: list[SimulatedReading] = []
    candidates: list[Candidate] = []
    # By name, not in the file's order: sums come out the same to the last bit.
    for measurement in sorted(measurements, key=lambda m: m.name):
        found = simulation.readings(measurement)
        places = tuple(range(len(readings), len(readings) + len(found)))
        candidates.append(Candidate(measurement.name, places, measurement.hours, measurement.setup))
        readings += found
    return LearningSample(
        cubes=cubes,
        target=[y[rows] for y, rows in zip(target, whole, strict=True)],
        readings=_side_by_side(readings, [len(cube) for cube in cubes]),
        candidates=tuple(candidates),
        pinned={m.name: next(iter(m.pins)) for m in measurements if len(m.pins) == 1 and not m.observes},
        lost=float(1.0 - np.mean(np.concatenate(whole))),
        failing={
            candidate.name: share
            for candidate in candidates
            if (share := _failing([readings[place] for place in candidate.readings]))
        },
    )


def _side_by_side(readings: Sequence[SimulatedReading], rows: Sequence[int]) -> SimulatedReadings:
    def columns(scramble: int, kind: Callable[[SimulatedReading], list[FloatArray]]) -> FloatArray:
        return np.column_stack([np.empty((rows[scramble], 0)), *(kind(own)[scramble] for own in readings)])

    return SimulatedReadings(
        values=[columns(s, lambda own: own.values) for s in range(len(rows))],
        ideal=[columns(s, lambda own: own.ideal) for s in range(len(rows))],
        random=np.array([own.random for own in readings]),
        common=np.array([own.common for own in readings]),
        instruments=tuple(own.instrument for own in readings),
    )


def _failing(readings: Sequence[SimulatedReading]) -> float:
    """Share of firings in which some reading has no number [-]."""
    without = [np.isnan(np.concatenate(own.ideal)) for own in readings]
    return float(np.mean(np.any(without, axis=0)))


def learning(
    problem: Problem,
    sample: LearningSample,
    *,
    number: int,
    study: Study | None = None,
    target: Target | None = None,
    scatter_variance: Estimate | None = None,
    by_design: Knowing | None = None,
    jobs: int = 1,
) -> Learning:
    """What tests could teach, from a plain sample; what knowing rows would leave from the design where that holds."""
    cubes = [problem.dependent(cube) for cube in sample.cubes]  # learning one teaches what comes with it

    def measured() -> MeasurementRanking | None:
        if not sample.candidates:
            return None
        return rank_measurements(
            sample.readings,
            sample.target,
            [_with_floor(candidate, sample, by_design) for candidate in sample.candidates],
            **buying_rule(study),
            choice=_choice(sample, target, study.decision if study else None),
            left_if_all_known=scatter_variance,
            jobs=jobs,
        )

    parts: list[tuple[Callable[[], Any]]] = [
        (measured,),
        (lambda: by_design or knowing_by_regression(problem, cubes, sample.target, number),),
        (lambda: _opinion(cubes, sample.target, problem.rows, number),),
    ]
    ranking, knowing, opinion = run.in_threads(lambda part: part(), parts, jobs=jobs, total=len(parts))
    return Learning(
        known=knowing.known,
        now=root(estimate([y.var() for y in sample.target])),
        null_fall=knowing.null_fall,
        pair=knowing.pair,
        by_design=by_design is not None,
        measurements=ranking,
        second_opinion=opinion,
        lost=sample.lost,
        failing=sample.failing,
    )


def buying_rule(study: Study | None) -> dict[str, Any]:
    """By which measurements are bought: hours of set-ups, hours that there are [h], what is worth it [-]."""
    hours = study.decision.hours if study and study.decision else None
    return {
        "setup_hours": {setup.name: setup.hours for setup in (study.setups if study else ())},
        "hours_given": np.inf if hours is None else hours,
        "worth": study.target.worth if study else ASSUMED_WORTH,
    }


def _with_floor(candidate: Candidate, sample: LearningSample, by_design: Knowing | None) -> Candidate:
    """A measurement of one input alone can't leave less than knowing the input would."""
    address = sample.pinned.get(candidate.name)
    for own in by_design.known if by_design is not None else ():
        if own.row.address == address and own.row.part == "unknown":
            return replace(candidate, floor=own.variance)
    return candidate


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
