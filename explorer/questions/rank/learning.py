"""What a test could pin down, and which measurement to make first: readings simulated from one plain sample.

What an input alone would leave if it were known, what each measurement and each set of measurements would leave, what
they are worth for the verdict on a requirement.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.analysis.information import BestPair, LeftIfKnown, best_pair, left_if_known
from explorer.analysis.measurement import Choice
from explorer.analysis.measurement_sets import Measurement as Candidate
from explorer.analysis.measurement_sets import MeasurementRanking, rank_measurements
from explorer.analysis.scrambles import Estimate
from explorer.analysis.second_opinion import SecondOpinion, moment_independent
from explorer.analysis.statistics import met
from explorer.questions.rank.readings import simulated_readings
from explorer.sampling import Purpose
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import Problem
from explorer.studyfile import Decision, Measurement, Setup, Target

FloatArray = NDArray[np.float64]

#: Points of the plain sample from which learning is told.
SAMPLES: Final[int] = 16_384


@dataclass(frozen=True)
class LearningSample:
    """A plain sample: by scramble the cube, the target and the readings of every measurement, whole rows only."""

    cubes: list[FloatArray]  #: [-] shape (rows, dimension)
    target: list[FloatArray]  #: [SI] shape (rows,)
    readings: list[FloatArray]  #: [SI] shape (rows, readings)
    candidates: tuple[Candidate, ...]  #: Which readings each measurement brings
    lost: float  #: Share of rows left out because a point had no number [-]


@dataclass(frozen=True)
class Learning:
    """What tests could teach about the target."""

    left: LeftIfKnown  #: For each unknown row
    pair: BestPair | None  #: Of inputs; None with fewer than two that are unknown
    #: None without measurements. With pay-offs its table also has net_value: what a measurement is worth
    #: for the verdict less what its hours cost, in the pay-offs' unit.
    measurements: MeasurementRanking | None
    second_opinion: SecondOpinion  #: A measure that shares nothing with variance
    lost: float  #: Share of the plain sample's rows left out because a point had no number [-]


def learning_sample(
    problem: Problem,
    measurements: Sequence[Measurement],
    number: int,
    *,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> LearningSample:
    """A plain sample of the target with the readings that the measurements would give."""
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
        for reading in simulated_readings(problem, measurement, cubes, number, jobs=jobs):
            for scramble, values in enumerate(reading):
                columns[scramble].append(values)
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
    """What tests could teach, from a plain sample."""
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
        if decision is not None and "value" in ranking.table:
            worth = ranking.table["value"] - decision.cost_per_hour * ranking.table["hours"]
            ranking = replace(ranking, table=ranking.table.assign(net_value=worth))
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


def _choice(sample: LearningSample, target: Target | None, decision: Decision | None) -> Choice | None:
    if target is None or not target.has_requirement:
        return None
    passed = [met(y, at_least=target.at_least, at_most=target.at_most) for y in sample.target]
    if decision is None:
        return Choice(passed)
    return Choice(passed, (decision.gain_if_met, -decision.loss_if_not), (0.0, 0.0))
