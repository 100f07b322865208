"""Carry what is uncertain through the stage: the distribution of quantities in one future firing.

Independent scrambles of a Sobol' sequence; where inputs scatter from firing to firing, every point has a twin that
shares the unknowns and draws the scatter anew, so that the two parts of the variance can be told apart. Points that
carry no number are left out and counted, never filled in; no contact is an outcome with numbers.
"""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis import statistics
from explorer.analysis.scrambles import Estimate
from explorer.questions.propagate.digits import Digits, sampled_to_digits
from explorer.questions.propagate.figures import Figures, figures
from explorer.questions.propagate.first_order import FirstOrderComparison, first_order_comparison
from explorer.questions.propagate.statuses import StatusShare, status_shares
from explorer.sampling import Plan
from explorer.space import Correlation
from explorer.study.contrasts import share_of
from explorer.study.limits import Events, events
from explorer.study.outcomes import FEWEST, MIXTURE, NO_CONTACT, OK, NoNumbers, fewest, refuse_numberless
from explorer.study.plans import Memory, Sink, carry_out
from explorer.study.problem import Model, Problem, problem_of
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Inputs named of a point that carries much by itself.
_MOST_NAMED: Final[int] = 3

#: Most values of a quantity that are kept for its picture.
_PICTURE_VALUES: Final[int] = 20_000


@dataclass(frozen=True)
class Mixture:
    """A distribution of firings that make contact and firings that don't."""

    contact: Estimate  #: Chance of contact [-]
    figures: Mapping[str, Figures]  #: Of the firings that make contact; empty where they are too few

    @property
    def given_contact(self) -> pd.DataFrame:
        """As `Propagation.quantities`, of the firings that make contact."""
        return _table(self.figures)


@dataclass(frozen=True)
class RareTail:
    """That the figures of a quantity hang on points that hardly any repeat meets."""

    tail: statistics.Tail
    points: int  #: With numbers [-]
    inputs: Mapping[str, float]  #: What lies farthest out at the farthest point, by address [SI]


@dataclass(frozen=True, repr=False)
class Propagation(Shown):
    """What one future firing will show.

    Attributes
    ----------
    study : Study or None
        None for a plain callable.
    figures : Mapping
        By quantity, its figures [SI] with their sampling errors.
    points : Mapping
        How many points had each status.
    statuses : Mapping
        By status that occurs, its share [-] and what drives it.
    chance_met : Estimate or None
        Chance that the target's requirement is met, where there is one [-].
    mixture : Mixture or None
        Where contact is neither nearly sure nor nearly excluded.
    first_order : FirstOrderComparison
        The first-order law beside it.
    samples : int
        Points in all.
    scrambles : int
        Independent repeats.
    random_number : int
    histogram_values : Mapping
        Up to 20 000 values of each quantity, for pictures.
    tails : Mapping
        By quantity, where its figures hang on rare points: see `RareTail`.
    events : Events or None
        Warnings and limits of the study's firings; None of a callable.
    digits : Digits or None
        Where a number of digits was asked for.
    """

    study: Study | None
    figures: Mapping[str, Figures]
    points: Mapping[str, int]
    statuses: Mapping[str, StatusShare]
    chance_met: Estimate | None
    mixture: Mixture | None
    first_order: FirstOrderComparison
    samples: int
    scrambles: int
    random_number: int
    histogram_values: Mapping[str, FloatArray]
    tails: Mapping[str, RareTail] = field(default_factory=dict)
    events: Events | None = None
    digits: Digits | None = None

    @property
    def quantities(self) -> pd.DataFrame:
        """All figures as a table.

        Returns
        -------
        DataFrame
            Indexed by quantity [SI]: unit, mean, median, standard_uncertainty, low, high (ends of the 95 % interval),
            shortest_low, shortest_high, unknown, scatter (parts of the standard uncertainty), mean_low, mean_high
            (95 % interval of the mean over firings), and each figure's ``…_standard_error``.
        """
        return _table(self.figures)

    @property
    def status_shares(self) -> pd.DataFrame:
        """Indexed by status: share [-], standard_error [-], drivers (text)."""
        rows = {name: status.row() for name, status in self.statuses.items()}
        return pd.DataFrame.from_dict(rows, orient="index", columns=["share", "standard_error", "drivers"])

    def _summary(self) -> Summary:
        of = f' of "{self.study.title}"' if self.study else ""
        rows = []
        for name, found in self.figures.items():
            scale = scale_of(name)
            rows.append(
                (
                    name,
                    scale.text(float(found.mean), 3),
                    scale.difference(found.spread, 2),
                    scale.span(float(found.low), float(found.high), 3),
                )
            )
        head = ("one future firing", "mean", "standard uncertainty", "19 times in 20 between")
        return Summary(f"Propagation{of}, {self.samples} points", head, tuple(rows))


def _table(found: Mapping[str, Figures]) -> pd.DataFrame:
    return pd.DataFrame.from_dict({name: each.row() for name, each in found.items()}, orient="index")


def plan_of(problem: Problem, number: int, samples: int) -> Plan:
    """The plan by which a problem is sampled."""
    if samples < problem.dimension:
        raise StudyError(
            f"{samples} samples are fewer than the {problem.dimension} uncertain rows: ask for more"
        )
    if problem.scatter_columns and problem.unknown_columns:
        return sampling.twin_plan(number, problem.dimension, samples, redrawn=problem.scatter_columns)
    return sampling.sample_plan(number, problem.dimension, samples)


def propagate(
    model: Study | Model,
    inputs: Mapping[str, object] | None = None,
    *,
    rng: int | np.random.Generator | None = None,
    samples: int = 131_072,
    digits: int | None = None,
    quantities: Sequence[str] | None = None,
    correlations: Sequence[Correlation | Mapping[str, object]] = (),
    jobs: int = 1,
    sink: Callable[[Problem, Plan], Sink] | None = None,
    progress: run.Progress | None = None,
) -> Propagation:
    """Carry a study's (or a callable's) uncertain inputs to its outputs.

    Parameters
    ----------
    model : Study or callable
        With a study `inputs` is None: its own.
    inputs : mapping, optional
        For a callable: values of the grammar by name.
    rng : int or Generator, optional
        Random number; a study's own if left out.
    samples : int
        [-] points, rounded up to 8 · 2^k.
    digits : int, optional
        [-] instead of a number of points: significant digits of each standard uncertainty that shall stand.
    quantities : sequence of str, optional
        What is wanted; a study's target if left out.
    correlations : sequence of Correlation or mapping
        Between a callable's inputs.
    jobs : int
        [-] threads.
    sink : callable, optional
        Makes the place where values go as they come; memory if left out.
    progress : callable, optional
        Told (chunks done, chunks).

    Returns
    -------
    Propagation

    Raises
    ------
    StudyError
        If nothing is uncertain or a quantity is unknown.
    NoNumbers
        If hardly any point carries a number.
    """
    problem = problem_of(model, inputs, quantities, correlations=correlations, jobs=jobs)
    number = sampling.random_number(_random_number(problem) if rng is None else rng)
    if digits is not None:
        reached_plan, memory, reached = sampled_to_digits(
            problem, number, digits, jobs=jobs, progress=progress
        )
        return replace(summarised(problem, reached_plan, memory, jobs=jobs), digits=reached)
    plan = plan_of(problem, number, samples)
    place = sink(problem, plan) if sink else Memory.of(plan, len(problem.quantities))
    carry_out(plan, problem, place, jobs=jobs, progress=progress)
    return summarised(problem, plan, place, jobs=jobs)


def _random_number(problem: Problem) -> int:
    return problem.study.run.random_number if problem.study else 1


def summarised(problem: Problem, plan: Plan, sink: Sink, *, jobs: int = 1) -> Propagation:
    """The figures of a sample that has been carried out."""
    outcomes = np.asarray(plan.arranged(sink.outcomes()))
    counts = np.bincount(outcomes.ravel(), minlength=len(registry.STATUSES))
    refuse_numberless(outcomes, advice="move the design or narrow the ranges")
    contact = share_of(outcomes == OK, outcomes <= NO_CONTACT)
    mixed = MIXTURE[0] < float(contact) < MIXTURE[1]
    enough = mixed and fewest(outcomes == OK) >= FEWEST
    found: dict[str, Figures] = {}
    given: dict[str, Figures] = {}
    pictures: dict[str, FloatArray] = {}
    chance: Estimate | None = None
    tails: dict[str, RareTail] = {}
    for k, quantity in enumerate(problem.quantities):
        values = np.asarray(plan.arranged(sink.column(k)))
        finite = np.isfinite(values)
        _refuse_empty(quantity, finite)
        found[quantity] = figures(values, finite, problem, quantity)
        if enough:
            given[quantity] = figures(values, finite & (outcomes == OK), problem, quantity)
        whole = values[finite]
        if (rare := statistics.tail(whole)).heavy:
            tails[quantity] = RareTail(rare, whole.size, _inputs_at(problem, plan, finite, rare.place))
        # An odd step: every fourth point of a Sobol' sequence lies in one half of each coordinate.
        step = -(-whole.size // _PICTURE_VALUES) | 1
        pictures[quantity] = whole[::step].copy()  # a view would keep the column
        if problem.study and quantity == problem.study.target.quantity:
            chance = _chance_met(problem.study, values, finite)
    return Propagation(
        study=problem.study,
        figures=found,
        points={status.name: int(count) for status, count in zip(registry.STATUSES, counts, strict=True)},
        statuses=status_shares(problem, plan, outcomes),
        chance_met=chance,
        mixture=Mixture(contact, given) if mixed else None,
        first_order=first_order_comparison(problem, found),
        samples=plan.size,
        scrambles=plan.scrambles,
        random_number=plan.number,
        histogram_values=pictures,
        tails=tails,
        events=None if problem.study is None else events(problem.study, plan.number, jobs=jobs),
    )


def _inputs_at(problem: Problem, plan: Plan, finite: Mask, place: int) -> dict[str, float]:
    """The inputs of a value's point that lie farthest out in their distributions, farthest first [SI]."""
    scramble, block, row = np.unravel_index(np.flatnonzero(finite)[place], finite.shape)
    chunk, inside = divmod(int(row), plan.chunk_rows)
    point = plan.points(int(scramble), chunk)[int(block) * plan.chunk_rows + inside]
    values = problem.space.values(point[None])
    farthest = np.argsort(-np.abs(point - 0.5), kind="stable")
    addresses = dict.fromkeys(problem.rows[column].address for column in farthest)
    return {address: float(values[address][0]) for address in list(addresses)[:_MOST_NAMED]}


def _refuse_empty(quantity: str, finite: Mask) -> None:
    """Refuse a quantity that hardly has a number anywhere."""
    if fewest(finite) < FEWEST:
        raise NoNumbers(
            f"{quantity} has a number at {np.count_nonzero(finite)} of {finite.size} points, too few to tell a"
            f" distribution from: `mhdstage explain {quantity}` says what it is made of"
        )


def _chance_met(study: Study, values: FloatArray, finite: Mask) -> Estimate | None:
    """Chance that the requirement is met among points with numbers."""
    target = study.target
    if not target.has_requirement:
        return None
    parts = [block[mask] for block, mask in zip(values, finite, strict=True)]
    return statistics.chance(parts, at_least=target.at_least, at_most=target.at_most)
