"""Carry what is uncertain through the stage: the distribution of quantities in one future firing.

Independent scrambles of a Sobol' sequence; where inputs scatter from firing to firing, every point has a twin that
shares the unknowns and draws the scatter anew, so that the two parts of the variance can be told apart. Points that
carry no number are left out and counted, never filled in; no contact is an outcome with numbers.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis import statistics
from explorer.analysis.given_data import given_data_first_order
from explorer.analysis.scrambles import Estimate, estimate
from explorer.questions.propagate.digits import Digits, sampled_to_digits
from explorer.questions.propagate.first_order import FirstOrderComparison, first_order_comparison
from explorer.sampling import Plan
from explorer.space import Correlation
from explorer.study.outcomes import MIXTURE, NoNumbers
from explorer.study.plans import Memory, Sink, carry_out
from explorer.study.problem import NO_CONTACT, OK, Model, Problem, problem_of
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]


#: Share of a status below which what drives it is not looked for.
_RARE: Final[float] = 0.002

#: Most rows of a scramble from which it is told.
_ROWS_FOR_DRIVERS: Final[int] = 8_192

#: Fewest points of a repeat from which an interval is told.
_FEWEST: Final[int] = 32


@dataclass(frozen=True)
class Mixture:
    """A distribution of firings that make contact and firings that don't."""

    contact: Estimate  #: Chance of contact [-]
    #: As `Propagation.quantities`, of the firings that make contact; empty where they are too few.
    given_contact: pd.DataFrame


@dataclass(frozen=True)
class Propagation:
    """What one future firing will show.

    Attributes
    ----------
    study : Study or None
        None for a plain callable.
    quantities : DataFrame
        Indexed by quantity [SI]: unit, mean, median, standard_uncertainty, low, high (ends of the 95 % interval),
        shortest_low, shortest_high, unknown, scatter (parts of the standard uncertainty), mean_low, mean_high
        (95 % interval of the mean over firings), and each figure's ``…_standard_error``.
    points : Mapping
        How many points had each status.
    status_shares : DataFrame
        Indexed by status: share, standard_error, drivers (text).
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
    digits : Digits or None
        Where a number of digits was asked for.
    """

    study: Study | None
    quantities: pd.DataFrame
    points: Mapping[str, int]
    status_shares: pd.DataFrame
    chance_met: Estimate | None
    mixture: Mixture | None
    first_order: FirstOrderComparison
    samples: int
    scrambles: int
    random_number: int
    histogram_values: Mapping[str, FloatArray]
    digits: Digits | None = None


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
    correlations: Sequence[Correlation] = (),
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
    correlations : sequence of Correlation
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
        return replace(summarised(problem, reached_plan, memory), digits=reached)
    plan = plan_of(problem, number, samples)
    place = sink(problem, plan) if sink else Memory.of(plan, len(problem.quantities))
    carry_out(plan, problem, place, jobs=jobs, progress=progress)
    return summarised(problem, plan, place)


def _random_number(problem: Problem) -> int:
    return problem.study.run.random_number if problem.study else 1


def summarised(problem: Problem, plan: Plan, sink: Sink) -> Propagation:
    """The figures of a sample that has been carried out."""
    outcomes = np.asarray(plan.arranged(sink.outcomes()))
    counts = np.bincount(outcomes.ravel(), minlength=len(registry.STATUSES))
    with_number = outcomes <= NO_CONTACT
    if _fewest(with_number) < _FEWEST:
        if with_number.all():
            raise StudyError(
                f"{plan.size} samples are too few for an interval: ask for {_FEWEST * plan.scrambles} or more"
            )
        shares = ", ".join(
            f"{count / outcomes.size:.1%} {status.name.replace('_', ' ')}"
            for status, count in zip(registry.STATUSES, counts, strict=True)
            if count
        )
        raise NoNumbers(f"hardly any point carries a number ({shares}): move the design or narrow the ranges")
    rows: dict[str, dict[str, Any]] = {}
    given: dict[str, dict[str, Any]] = {}
    pictures: dict[str, FloatArray] = {}
    contact = share_of(outcomes == OK, with_number)
    mixed = MIXTURE[0] < float(contact.value) < MIXTURE[1]
    chance: Estimate | None = None
    for k, quantity in enumerate(problem.quantities):
        values = np.asarray(plan.arranged(sink.column(k)))
        finite = np.isfinite(values)
        if _fewest(finite) < _FEWEST:
            raise NoNumbers(
                f"{quantity} has a number at {np.count_nonzero(finite)} of {finite.size} points, too few to tell a"
                f" distribution from: `mhdstage explain {quantity}` says what it is made of"
            )
        rows[quantity] = {"unit": problem.unit(quantity), **figures(values, finite, problem)}
        if mixed and _fewest(outcomes == OK) >= _FEWEST:
            given[quantity] = {
                "unit": problem.unit(quantity),
                **figures(values, finite & (outcomes == OK), problem),
            }
        whole = values[finite]
        # An odd step: every fourth point of a Sobol' sequence lies in one half of each coordinate.
        pictures[quantity] = whole[:: -(-whole.size // 20_000) | 1].copy()  # a view would keep the column
        if problem.study and quantity == problem.study.target.quantity:
            chance = _chance_met(problem.study, values, finite)
    return Propagation(
        study=problem.study,
        quantities=pd.DataFrame.from_dict(rows, orient="index"),
        points={s.name: int(n) for s, n in zip(registry.STATUSES, counts, strict=True)},
        status_shares=_status_shares(problem, plan, outcomes),
        chance_met=chance,
        mixture=Mixture(contact, pd.DataFrame.from_dict(given, orient="index")) if mixed else None,
        first_order=first_order_comparison(problem, pd.DataFrame.from_dict(rows, orient="index")),
        samples=plan.size,
        scrambles=plan.scrambles,
        random_number=plan.number,
        histogram_values=pictures,
    )


def _fewest(marked: NDArray[np.bool_]) -> int:
    """Marked points of the repeat that has fewest."""
    return int(marked.reshape(marked.shape[0], -1).sum(axis=1).min())


def share_of(marked: NDArray[np.bool_], among: NDArray[np.bool_]) -> Estimate:
    """Share of marked points among others, with its error from the scrambles."""
    axes = tuple(range(1, marked.ndim))
    return estimate((marked & among).sum(axis=axes) / np.maximum(among.sum(axis=axes), 1))


def figures(values: FloatArray, keep: NDArray[np.bool_], problem: Problem) -> dict[str, float]:
    """All figures of one quantity, each with its sampling error. [SI]"""
    found = statistics.distribution(block[mask] for block, mask in zip(values, keep, strict=True))
    estimates: dict[str, Estimate] = {
        "mean": found.mean,
        "median": found.median,
        "standard_uncertainty": found.standard_uncertainty,
        "low": found.low,
        "high": found.high,
        "shortest_low": found.shortest_low,
        "shortest_high": found.shortest_high,
    }
    estimates |= _parts(values, keep, problem, found)
    flat: dict[str, float] = {}
    for name, item in estimates.items():
        flat[name] = float(item.value)
        flat[f"{name}_standard_error"] = float(item.standard_error)
    return flat


def _parts(
    values: FloatArray, keep: NDArray[np.bool_], problem: Problem, found: statistics.Distribution
) -> dict[str, Estimate]:
    """Parts unknown and scatter, and the interval of the mean over firings."""
    zeros = np.zeros_like(found.mean.by_scramble)
    nothing = Estimate(np.asarray(0.0), np.asarray(0.0), np.asarray(0.0), np.asarray(0.0), zeros)
    if values.shape[1] == 2:
        whole = np.asarray(keep.all(axis=1))
        twins = [block[:, rows] for block, rows in zip(values, whole, strict=True)]
        unknown, scatter, _ = statistics.standard_uncertainties(statistics.variance_parts(twins))
        low, high = statistics.mean_over_firings(twins)
        return {"unknown": unknown, "scatter": scatter, "mean_low": low, "mean_high": high}
    if problem.scatter_columns:
        fixed = {"mean_low": found.mean, "mean_high": found.mean}
        return {"unknown": nothing, "scatter": found.standard_uncertainty, **fixed}
    return {
        "unknown": found.standard_uncertainty,
        "scatter": nothing,
        "mean_low": found.low,
        "mean_high": found.high,
    }


def _chance_met(study: Study, values: FloatArray, finite: NDArray[np.bool_]) -> Estimate | None:
    """Chance that the requirement is met among points with numbers."""
    target = study.target
    if target.at_least is None and target.at_most is None:
        return None
    parts: Iterable[FloatArray] = [block[mask] for block, mask in zip(values, finite, strict=True)]
    return statistics.chance(parts, at_least=target.at_least, at_most=target.at_most)


def _status_shares(problem: Problem, plan: Plan, outcomes: NDArray[np.int8]) -> pd.DataFrame:
    """Share of each status that occurs, and the rows that drive it."""
    found = {}
    everywhere = np.ones_like(outcomes, dtype=np.bool_)
    for code, status in enumerate(registry.STATUSES):
        share = share_of(outcomes == code, everywhere)
        if not share.value > 0:
            continue
        mixed = _RARE < float(share.value) < 1 - _RARE
        drivers = _drivers(problem, plan, outcomes[:, 0] == code) if mixed else ""
        found[status.name] = {
            "share": float(share.value),
            "standard_error": float(share.standard_error),
            "drivers": drivers,
        }
    return pd.DataFrame.from_dict(found, orient="index", columns=["share", "standard_error", "drivers"])


def _drivers(problem: Problem, plan: Plan, marked: NDArray[np.bool_], most: int = 3) -> str:
    """The rows that the yes/no of a status depends on most, largest first; empty where it is too rare to tell."""
    chunks = max(1, min(plan.rows, _ROWS_FOR_DRIVERS) // plan.chunk_rows)
    looked_at = marked[: sampling.SCRAMBLES, : chunks * plan.chunk_rows]
    if not (looked_at.any(axis=1) & ~looked_at.all(axis=1)).all():
        return ""
    cubes = [
        problem.dependent(
            np.concatenate([plan.points(scramble, chunk)[: plan.chunk_rows] for chunk in range(chunks)])
        )
        for scramble in range(looked_at.shape[0])
    ]
    names = [row.name for row in problem.rows]
    shares = given_data_first_order(cubes, list(looked_at.astype(np.float64)), names).table
    leading = shares[shares["first_low"] > 0.02].sort_values("first", ascending=False).head(most)
    return ", ".join(f"{name} ({share:.0%})" for name, share in leading["first"].items())
