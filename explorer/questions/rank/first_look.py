"""A cheap first look at many inputs: elementary effects, one input moved at a time along a few random paths.

A path that meets a point without a number is left out whole and counted; nothing is filled in.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from explorer import run, sampling
from explorer.analysis.second_opinion import elementary_effects, elementary_plan
from explorer.analysis.sensitivity import refuse_constant
from explorer.questions.rank.shares import label, row_words, status_counts
from explorer.sampling import Purpose
from explorer.space import Row
from explorer.study.joint import difference, difference_name
from explorer.study.outcomes import TooManyFailures
from explorer.study.problem import problem_of
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import Study, StudyError

#: Paths, each of which moves every row once; ten to fifty are usual.
PATHS: Final[int] = 50

#: Rows that a first look shows of itself.
_ROWS_SHOWN: Final[int] = 8

#: Fewest whole paths from which effects are told.
_FEWEST: Final[int] = 10


@dataclass(frozen=True)
class Effect:
    """How far a row moves the target, for a move through the middle 95 % of its range [SI of the target]."""

    row: Row
    mean_size: float
    half_width: float  #: of the mean size's 95 % interval
    mean: float
    spread: float

    @property
    def label(self) -> str:
        """What a table calls the row."""
        return label(self.row, apart=True)

    @property
    def words(self) -> str:
        """What a reader is told that it is."""
        return row_words(self.row)


@dataclass(frozen=True, repr=False)
class FirstLook(Shown):
    """Which inputs move a target, by elementary effects."""

    study: Study
    target: str  #: The output looked at
    unit: str  #: SI unit of the target
    against: Study | None  #: The study whose quantity was taken off
    effects: tuple[Effect, ...]  #: Largest first
    points: Mapping[str, int]  #: How many points had each status
    paths: int  #: Whole paths
    lost: int  #: Paths left out because a point had no number
    random_number: int

    @property
    def table(self) -> pd.DataFrame:
        """By address and part, largest first: mean_size, mean_size_interval (half-width), mean, spread [SI]."""
        rows = [effect.row for effect in self.effects]
        index = pd.MultiIndex.from_tuples(
            [(row.address, row.part) for row in rows], names=["address", "part"]
        )
        figures = {
            "mean_size": "mean_size",
            "mean_size_interval": "half_width",
            "mean": "mean",
            "spread": "spread",
        }
        return pd.DataFrame(
            {name: [getattr(e, own) for e in self.effects] for name, own in figures.items()}, index=index
        )

    @property
    def name(self) -> str:
        """What was looked at: an output, or the difference of one between two studies."""
        return difference_name(self.target, self.study, self.against)

    def _summary(self) -> Summary:
        scale = scale_of(self.target)
        rows = [
            (
                effect.row.address,
                effect.row.part,
                str(scale.difference(effect.mean_size)),
                str(scale.difference(effect.spread)),
            )
            for effect in self.effects[:_ROWS_SHOWN]
        ]
        return Summary(f"A first look at what moves {self.name}", ("", "", "size", "spread"), tuple(rows))


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
        problem = difference(study, against, wanted, jobs=jobs).problem
    number = sampling.random_number(study.run.random_number if rng is None else rng)
    plan = elementary_plan(
        problem.dimension, paths, rng=sampling.generator(number, Purpose.ELEMENTARY_EFFECTS)
    )
    values, outcomes = problem(plan)
    length = problem.dimension + 1
    whole = np.repeat(np.isfinite(values[:, 0]).reshape(-1, length).all(axis=1), length)
    kept = int(whole.sum()) // length
    if kept < _FEWEST:
        raise TooManyFailures(
            f"of {paths} paths hardly any is free of points without a number: move the design away from where it fails,"
            " or narrow the ranges; nothing was filled in"
        )
    refuse_constant(values[whole])
    rng_of_error = sampling.generator(number, Purpose.ELEMENTARY_EFFECTS, chunk=1)
    found = elementary_effects(plan[whole], values[whole, 0], rng=rng_of_error)
    figures = (found.mean_size, found.half_width, found.mean, found.spread)
    effects = [Effect(row, *map(float, own)) for row, *own in zip(problem.rows, *figures, strict=True)]
    return FirstLook(
        study=study,
        target=wanted,
        unit=problem.unit(wanted),
        against=against,
        effects=tuple(sorted(effects, key=lambda effect: -effect.mean_size)),
        points=status_counts(outcomes),
        paths=kept,
        lost=paths - kept,
        random_number=number,
    )
