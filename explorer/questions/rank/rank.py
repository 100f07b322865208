"""Ranks what makes a target unsure: shares, then what could be learnt, measured and seen, and what hangs on guesses."""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate, order
from explorer.analysis.statistics import chance, distribution, tail
from explorer.questions.rank.guesses import FirstChoice, guesses
from explorer.questions.rank.learning.knowing import holds, knowing
from explorer.questions.rank.learning.learning import (
    Learning,
    LearningSample,
    learning,
    learning_sample,
    sample_cubes,
)
from explorer.questions.rank.learning.readings import measurements_of
from explorer.questions.rank.ranking import SHARE_DECIMALS, RankedRow, Ranking
from explorer.questions.rank.shares import Sampled, Shares, plain_cubes, sampled, shares, subjects
from explorer.space import Correlation
from explorer.study.joint import difference
from explorer.study.limits import events
from explorer.study.outcomes import NO_CONTACT
from explorer.study.problem import Model, Problem, problem_of
from explorer.study.visibility import change_quantity, visibility
from explorer.studyfile import Measurement, Study, StudyError
from explorer.units import Scale

#: Fewest points from which learning is told, and most that are sampled where many carry no number.
_FEWEST_FOR_LEARNING, _MOST_FOR_LEARNING = 4_096, 131_072

#: Points and leading inputs of the sample kept for pictures.
_PICTURE_POINTS, _PICTURE_INPUTS = 2_000, 4


def rank(
    model: Study | Model,
    inputs: Mapping[str, object] | None = None,
    *,
    target: str | None = None,
    rng: int | np.random.Generator | None = None,
    base: int = 8192,
    measurements: Sequence[Measurement | Mapping[str, object]] | None = None,
    groups: Mapping[str, Sequence[str]] | None = None,
    correlations: Sequence[Correlation | Mapping[str, object]] = (),
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
    measurements : sequence of Measurement or mapping, optional
        What could be measured; a study's own if left out. A mapping has the keys of a study's table, numbers in SI:
        ``{"name": "shot", "hours": 3.0, "observes": {"current": {"random": 0.1}}}``.
    groups : mapping, optional
        Addresses to be ranked together, by a group's name; rows not named stand alone.
    correlations : sequence of Correlation or mapping
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
    explorer.study.outcomes.TooManyFailures
        If hardly any point carries a number.
    explorer.analysis.sensitivity.ConstantOutput
        If the target is the same everywhere.
    """
    wanted = _target(model, target)
    study = model if isinstance(model, Study) else None
    origins: Mapping[str, str] = {}
    if against is None:
        problem = problem_of(model, inputs, [wanted], correlations=correlations, jobs=jobs, progress=progress)
    elif study is None:
        raise StudyError("only a study can be held against another study")
    else:
        problem, origins = difference(study, against, wanted, jobs=jobs)
    number = sampling.random_number((study.run.random_number if study else 1) if rng is None else rng)
    if groups and problem.space.correlated:
        raise StudyError("groups can't be ranked where inputs depend on each other: leave them out")
    ranked = subjects(problem, groups or {})
    columns = [subject.columns for subject in ranked]
    design = sampled(problem, number, base, groups=columns, jobs=jobs, progress=progress)
    found = shares(problem, design, ranked)
    choices = measurements_of(model, measurements)
    sample = _plain_sample(problem, choices, number, base, design, jobs=jobs)
    # Many small systems are solved from here on: more threads of linear algebra would only wait for each other.
    with threadpool_limits(limits=1, user_api="blas"):
        by_design = knowing(problem, design, found, jobs=jobs) if holds(found) else None
        learnt = learning(
            problem,
            sample,
            number=number,
            study=study,
            target=study.target if study and against is None and wanted == study.target.quantity else None,
            scatter_variance=found.scatter_variance if found.how == "design" else None,
            by_design=by_design,
            jobs=jobs,
        )
        rows = _ranked_rows(problem, found, learnt, origins)
        leading = list(dict.fromkeys(row.address for row in rows if row.part == "unknown"))
        tested = None
        if test_guesses and leading and not groups:
            tested = guesses(
                problem, leading, _first_choice(learnt), choices, study, number, jobs=jobs, progress=progress
            )
    return Ranking(
        study=study,
        target=wanted,
        unit=problem.unit(wanted),
        rows=rows,
        shares=found,
        learning=learnt,
        instruments=_instruments(study, number, jobs=jobs) if study else pd.DataFrame(),
        guesses=tested,
        chance_met=_chance_met(study, wanted, sample) if against is None else None,
        distribution=distribution(sample.target),
        tail=tail(np.concatenate(sample.target)),
        events=None if study is None else events(study, number, jobs=jobs),
        picture=_picture(problem, sample, wanted, rows),
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


def _plain_sample(
    problem: Problem,
    choices: Sequence[Measurement],
    number: int,
    base: int,
    design: Sampled,
    *,
    jobs: int,
) -> LearningSample:
    """The design's own plain points, A and B; where many carry no number or there are few, a larger sample instead."""
    numbered = float(np.mean(design.outcomes <= NO_CONTACT))
    points = min(int(max(2 * base, _FEWEST_FOR_LEARNING) / max(numbered, 1e-3)), _MOST_FOR_LEARNING)
    plan = design.plan
    if points > 2 * plan.rows * plan.scrambles:
        return learning_sample(problem, choices, number, sample_cubes(problem, number, points), jobs=jobs)
    target = list(design.outputs[:, :2].reshape(plan.scrambles, -1))
    return learning_sample(problem, choices, number, plain_cubes(plan), target=target, jobs=jobs)


def _first_choice(learnt: Learning) -> FirstChoice | None:
    """What is told to be done first: the measurement to buy first, else the input to pin down."""
    found = learnt.measurements
    if found is not None and found.best:
        return FirstChoice("measurement", found.best[0].names[0])
    pinnable = [known for known in learnt.known if known.row.part == "unknown" and known.informative]
    if not pinnable:
        return None
    return FirstChoice("input", min(pinnable, key=lambda known: float(known.variance)).row.address)


def _ranked_rows(
    problem: Problem, found: Shares, learnt: Learning, origins: Mapping[str, str]
) -> tuple[RankedRow, ...]:
    """What was ranked, most important first."""
    indices, spreads = found.indices, problem.space.standard_uncertainties()
    places = np.argsort(-indices.leading.value.round(SHARE_DECIMALS), kind="stable")
    known = {(own.row.address, own.row.part): own.left for own in learnt.known}
    rows = []
    for above, place in zip([None, *places], places, strict=False):
        subject, leading = found.subjects[place], indices.leading
        row = RankedRow(
            **vars(subject),
            first=indices.first[place],
            total=None if indices.total is None else indices.total[place],
            left=known.get((subject.address, subject.part)),
            level=above is not None and order(leading[above], leading[place]) == "level",
            standard_uncertainty=np.nan if subject.part == "group" else float(spreads[subject.columns[0]]),
            scale=_scale(origins.get(subject.address, subject.address), subject.part),
        )
        rows.append(row)
    return tuple(rows)


def _scale(address: str, part: str) -> Scale | None:
    try:
        return registry.quantity(address).scale if part in ("unknown", "scatter") else None
    except registry.UnknownAddressError:  # a callable's own
        return None


def _chance_met(study: Study | None, target: str, sample: LearningSample) -> Estimate | None:
    """Chance that the study's requirement on the target is met."""
    if study is None or target != study.target.quantity or not study.target.has_requirement:
        return None
    return chance(sample.target, at_least=study.target.at_least, at_most=study.target.at_most)


def _picture(
    problem: Problem, sample: LearningSample, target: str, rows: Sequence[RankedRow]
) -> pd.DataFrame:
    """A thin sample of the target and of the leading inputs."""
    # The first rows of each repeat: every n-th point of a Sobol' sequence leaves parts of the ranges out.
    each = _PICTURE_POINTS // len(sample.cubes)
    cube = np.concatenate([block[:each] for block in sample.cubes])
    values = np.concatenate([block[:each] for block in sample.target])
    inputs = problem.space.values(cube)
    own = [row.address for row in rows if row.part in ("unknown", "scatter")]
    leading = list(dict.fromkeys(own))[:_PICTURE_INPUTS]
    return pd.DataFrame({target: values, **{address: inputs[address] for address in leading}})


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
