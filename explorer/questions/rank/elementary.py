"""A cheap first look at many inputs: elementary effects, one input moved at a time along a few random paths.

A path that meets a point without a number is left out whole and counted; nothing is filled in.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis.second_opinion import elementary_effects, elementary_plan
from explorer.analysis.sensitivity import refuse_constant
from explorer.questions.rank.difference import difference_problem
from explorer.sampling import Purpose
from explorer.study.outcomes import TooManyFailures
from explorer.study.problem import problem_of
from explorer.studyfile import Study, StudyError

#: Paths, each of which moves every row once; ten to fifty are usual.
PATHS: Final[int] = 50

#: Fewest whole paths from which effects are told.
_FEWEST: Final[int] = 10


@dataclass(frozen=True)
class FirstLook:
    """Which inputs move a target, by elementary effects."""

    study: Study
    target: str  #: The output looked at
    unit: str  #: SI unit of the target
    against: Study | None  #: The study whose quantity was taken off
    #: Indexed by row, largest first: address, part (unknown, scatter, model), mean_size,
    #: mean_size_interval (half-width, 95 %), mean, spread [SI of the target], each for a move through the
    #: middle 95 % of the row's range.
    table: pd.DataFrame
    points: Mapping[str, int]  #: How many points had each status
    paths: int  #: Whole paths
    lost: int  #: Paths left out because a point had no number
    random_number: int


def first_look(
    study: Study,
    *,
    target: str | None = None,
    rng: int | np.random.Generator | None = None,
    against: Study | None = None,
    paths: int = PATHS,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> FirstLook:
    """Take a first look at what moves a target."""
    if study.space.correlated:
        raise StudyError(
            "a first look moves one input at a time, which has no meaning where inputs depend on each other: rank"
            " without --elementary"
        )
    wanted = target or study.target.quantity
    if against is None:
        problem = problem_of(study, None, [wanted], jobs=jobs, progress=progress)
    else:
        problem = difference_problem(study, against, wanted, jobs=jobs)
    number = sampling.random_number(study.run.random_number if rng is None else rng)
    plan = elementary_plan(
        problem.dimension, paths, rng=sampling.generator(number, Purpose.ELEMENTARY_EFFECTS)
    )
    values, outcomes = problem(plan)
    counts = np.bincount(outcomes, minlength=len(registry.STATUSES))
    whole = _whole_paths(values[:, 0], problem.dimension + 1)
    if whole.sum() < _FEWEST * (problem.dimension + 1):
        raise TooManyFailures(
            f"of {paths} paths hardly any is free of points without a number: move the design away from where it fails,"
            " or narrow the ranges; nothing was filled in"
        )
    refuse_constant(values[whole])
    table = elementary_effects(
        plan[whole],
        values[whole, 0],
        [row.name for row in problem.rows],
        rng=sampling.generator(number, Purpose.ELEMENTARY_EFFECTS, chunk=1),
    )
    rows = {row.name: row for row in problem.rows}
    table.insert(0, "address", [rows[str(name)].address for name in table.index])
    table.insert(1, "part", [rows[str(name)].part for name in table.index])
    return FirstLook(
        study=study,
        target=wanted,
        unit=problem.unit(wanted),
        against=against,
        table=table,
        points={status.name: int(n) for status, n in zip(registry.STATUSES, counts, strict=True)},
        paths=int(whole.sum()) // (problem.dimension + 1),
        lost=paths - int(whole.sum()) // (problem.dimension + 1),
        random_number=number,
    )


def _whole_paths(values: NDArray[np.float64], length: int) -> NDArray[np.bool_]:
    """Which points stand on a path that has a number everywhere."""
    whole = np.isfinite(values).reshape(-1, length).all(axis=1)
    return np.repeat(whole, length)
