"""The whole answer to "what should the next test pin down": shares, learning, measurements, instruments, guesses."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from explorer import run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.analysis.statistics import Distribution, chance, distribution
from explorer.questions.rank.difference import difference_problem
from explorer.questions.rank.guesses import Guesses, guesses
from explorer.questions.rank.learning import Learning, LearningSample, learning, learning_sample
from explorer.questions.rank.shares import Shares, indices_table, sampled, shares
from explorer.space import Correlation
from explorer.study.problem import NO_CONTACT, Model, Problem, problem_of
from explorer.study.visibility import change_quantity, visibility
from explorer.studyfile import Measurement, Study, StudyError

#: Fewest points from which learning is told, and most that are sampled where many carry no number.
_FEWEST_FOR_LEARNING, _MOST_FOR_LEARNING = 4_096, 131_072

#: Points and leading inputs of the sample kept for pictures.
_PICTURE_POINTS, _PICTURE_INPUTS = 2_000, 4


@dataclass(frozen=True)
class Ranking:
    """What makes a target unsure, and what would help, most important first.

    Attributes
    ----------
    study : Study or None
        None for a plain callable.
    target : str
        The output ranked.
    unit : str
        SI unit of the target; empty for a callable's own.
    inputs : DataFrame
        Indexed by row (or group): address, part (unknown, scatter, model, group), first, first_low, first_high,
        total, total_low, total_high [-] (NaN where there are no totals), standard_uncertainty [SI of the input],
        left_if_known, left_if_known_standard_error [SI of the target] (NaN for scatter rows).
    shares : Shares
        Everything that the estimators gave.
    learning : Learning
        What tests could teach.
    instruments : DataFrame
        See `visibility`.
    guesses : Guesses or None
        Whether the first choice survives other ranges; None where not asked for.
    chance_met : Estimate or None
        Chance that the target's requirement is met, where there is one [-].
    distribution : Distribution
        Of the target in one firing, from the plain sample [SI].
    picture : DataFrame
        Up to 2000 points of the sample: the target [SI] under its name, the leading inputs [SI] under theirs.
    against : Study or None
        The study whose quantity was taken off.
    points : Mapping
        How many points of the design had each status.
    base : int
        Rows of the design, over all scrambles.
    scrambles : int
        Independent repeats.
    random_number : int
    """

    study: Study | None
    target: str
    unit: str
    inputs: pd.DataFrame
    shares: Shares
    learning: Learning
    instruments: pd.DataFrame
    guesses: Guesses | None
    chance_met: Estimate | None
    distribution: Distribution
    picture: pd.DataFrame
    against: Study | None
    points: Mapping[str, int]
    base: int
    scrambles: int
    random_number: int

    @property
    def measurements(self) -> pd.DataFrame | None:
        """What each measurement would leave, least first; None without measurements."""
        return None if self.learning.measurements is None else self.learning.measurements.table

    @property
    def best_set(self) -> pd.DataFrame | None:
        """The best set of measurements in the order in which to make them; None without measurements."""
        return None if self.learning.measurements is None else self.learning.measurements.best_set

    @property
    def lost(self) -> float:
        """Share of the design's rows left out because a point had no number [-]."""
        return self.shares.lost

    @property
    def mean(self) -> tuple[float, float]:
        """Mean of the target and its standard error [SI]."""
        found = self.shares.indices.mean
        return float(found.value), float(found.standard_error)

    @property
    def standard_uncertainty(self) -> tuple[float, float]:
        """Standard uncertainty of the target in one firing and its standard error [SI]."""
        found = self.shares.indices.variance
        value = float(np.sqrt(found.value))
        return value, float(found.standard_error) / (2 * value)


def rank(
    model: Study | Model,
    inputs: Mapping[str, object] | None = None,
    *,
    target: str | None = None,
    rng: int | np.random.Generator | None = None,
    base: int = 8192,
    measurements: Sequence[Measurement] | None = None,
    groups: Mapping[str, Sequence[str]] | None = None,
    correlations: Sequence[Correlation] = (),
    against: Study | None = None,
    test_guesses: bool = True,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Ranking:
    """Rank what makes a target unsure, and what a test could do about it.

    Parameters
    ----------
    model : Study or callable
        With a study `inputs` is None: its own.
    inputs : mapping, optional
        For a callable: values of the grammar by name.
    target : str, optional
        The output; a study's own target if left out. A callable needs it.
    rng : int or Generator, optional
        Random number; a study's own if left out.
    base : int
        [-] rows over all scrambles, rounded up to scrambles · 2^k.
    measurements : sequence of Measurement, optional
        What could be measured; a study's own if left out.
    groups : mapping, optional
        Addresses to be ranked together, by a group's name; rows not named stand alone.
    correlations : sequence of Correlation
        Between a callable's inputs.
    against : Study, optional
        Another study: the target is then this study's quantity less the other's.
    test_guesses : bool
        [-] whether the largest ranges are halved and doubled to see whether the first choice stands.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (chunks done, chunks) of the design.

    Returns
    -------
    Ranking

    Raises
    ------
    StudyError
        If nothing is uncertain or the target is unknown.
    explorer.questions.rank.shares.TooManyFailures
        If hardly any point carries a number.
    explorer.analysis.sensitivity.ConstantOutput
        If the target is the same everywhere.
    """
    wanted = _target(model, target)
    study = model if isinstance(model, Study) else None
    if against is None:
        problem = problem_of(model, inputs, [wanted], correlations=correlations, jobs=jobs, progress=progress)
    elif study is None:
        raise StudyError("only a study can be held against another study")
    else:
        problem = difference_problem(study, against, wanted, jobs=jobs)
    number = sampling.random_number((study.run.random_number if study else 1) if rng is None else rng)
    if groups and problem.space.correlated:
        raise StudyError("groups can't be ranked where inputs depend on each other: leave them out")
    names, columns = _grouped(problem, groups or {})
    design = sampled(problem, number, base, groups=columns, jobs=jobs, progress=progress)
    found = shares(problem, design, names, columns)
    table = indices_table(problem, found, names, columns)
    choices = list(study.measurements if study else []) if measurements is None else list(measurements)
    setups = list(study.setups) if study else []
    numbered = float(np.mean(design.outcomes <= NO_CONTACT))
    wanted_points = min(int(max(2 * base, _FEWEST_FOR_LEARNING) / max(numbered, 1e-3)), _MOST_FOR_LEARNING)
    sample = learning_sample(problem, choices, number, samples=wanted_points, jobs=jobs)
    with threadpool_limits(
        limits=1, user_api="blas"
    ):  # many small systems: more threads only wait for each other
        learnt = learning(
            problem,
            sample,
            number=number,
            setups=setups,
            target=study.target if study and against is None and wanted == study.target.quantity else None,
            decision=study.decision if study else None,
            scatter_variance=found.scatter_variance if found.how == "design" else None,
        )
    left = learnt.left.table
    table["left_if_known"] = left["left"].reindex(table.index)
    table["left_if_known_standard_error"] = left["left_standard_error"].reindex(table.index)
    tested = None
    leading = [str(a) for a, part in zip(table["address"], table["part"], strict=True) if part == "unknown"]
    if test_guesses and leading and not groups:
        helpful = choices if learnt.measurements is not None and len(learnt.measurements.best_set) else []
        with threadpool_limits(limits=1, user_api="blas"):
            tested = guesses(
                problem, list(dict.fromkeys(leading)), helpful, setups, number, jobs=jobs, progress=progress
            )
    return Ranking(
        study=study,
        target=wanted,
        unit=problem.unit(wanted),
        inputs=table,
        shares=found,
        learning=learnt,
        instruments=_instruments(study, number, jobs=jobs) if study else pd.DataFrame(),
        guesses=tested,
        chance_met=_chance_met(study, wanted, sample) if against is None else None,
        distribution=distribution(sample.target),
        picture=_picture(problem, sample, wanted, table),
        against=against,
        points=design.counts,
        base=design.plan.rows * design.plan.scrambles,
        scrambles=design.plan.scrambles,
        random_number=number,
    )


def _target(model: Study | Model, target: str | None) -> str:
    if target is not None:
        return target
    if isinstance(model, Study):
        return model.target.quantity
    raise StudyError("a callable needs a target: the name of one of its outputs")


def _chance_met(study: Study | None, target: str, sample: LearningSample) -> Estimate | None:
    """Chance that the study's requirement on the target is met."""
    if study is None or target != study.target.quantity or not study.target.has_requirement:
        return None
    return chance(sample.target, at_least=study.target.at_least, at_most=study.target.at_most)


def _picture(problem: Problem, sample: LearningSample, target: str, table: pd.DataFrame) -> pd.DataFrame:
    """A thin sample of the target and of the leading inputs."""
    # The first rows of each repeat: every n-th point of a Sobol' sequence leaves parts of the ranges out.
    each = _PICTURE_POINTS // len(sample.cubes)
    cube = np.concatenate([block[:each] for block in sample.cubes])
    values = np.concatenate([block[:each] for block in sample.target])
    inputs = problem.space.values(cube)
    own = {item.address for item in problem.space.inputs if not item.called}
    leading = [str(a) for a in dict.fromkeys(table["address"]) if a in own][:_PICTURE_INPUTS]
    return pd.DataFrame({target: values, **{address: inputs[address] for address in leading}})


def _grouped(
    problem: Problem, groups: Mapping[str, Sequence[str]]
) -> tuple[list[str], list[tuple[int, ...]]]:
    """Names and columns of the groups and of the rows that stand alone."""
    rows = problem.rows
    taken: dict[int, str] = {}
    for name, addresses in groups.items():
        for address in addresses:
            columns = [i for i, row in enumerate(rows) if row.address == address]
            if not columns:
                raise StudyError(f'group "{name}": {address} is not uncertain in this study')
            for column in columns:
                if column in taken:
                    raise StudyError(f'{address} stands in both "{taken[column]}" and "{name}"')
                taken[column] = name
    found = [(name, tuple(i for i, g in taken.items() if g == name)) for name in groups]
    found += [(row.name, (i,)) for i, row in enumerate(rows) if i not in taken]
    return [name for name, _ in found], [columns for _, columns in found]


def _instruments(study: Study, number: int, *, jobs: int) -> pd.DataFrame:
    """Each instrument against the effect that it should show, from a small sample."""
    changes = {change for i in study.instruments if (change := change_quantity(i.reads, study.mode))}
    wanted = sorted(changes | {i.reads for i in study.instruments if change_quantity(i.reads, study.mode)})
    effects: dict[str, tuple[float, float]] = {}
    if wanted:
        problem = problem_of(study, None, wanted, jobs=jobs)
        cube = sampling.sample_plan(number, problem.dimension, 2048, scrambles=1).points(0, 0)
        values, _ = problem(cube)
        for quantity, column in zip(wanted, values.T, strict=True):
            whole = column[np.isfinite(column)]
            if whole.size:
                effects[quantity] = float(whole.mean()), float(whole.std())
    return visibility(study, effects, {quantity: mean for quantity, (mean, _) in effects.items()})
