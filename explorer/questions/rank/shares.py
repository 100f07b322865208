"""What carries a prediction's uncertainty: shares of the target's variance behind every uncertain row.

First-order and total shares come from a pick-freeze design over independent scrambles. Where inputs depend on each
other, or too many points carry no number for the design to hold, shares come from the plain sample instead and there
are no totals; nothing is filled in, and what was done is said.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis.given_data import given_data_first_order
from explorer.analysis.scrambles import Estimate, estimate
from explorer.analysis.sensitivity import SensitivityIndices, complete_rows, jansen_1999, sensitivity_indices
from explorer.sampling import Plan, Purpose
from explorer.study.outcomes import TooManyFailures
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import NO_CONTACT, Problem
from explorer.studyfile import StudyError

FloatArray = NDArray[np.float64]

#: Share of base rows that may be lost to points without numbers before the design no longer holds.
MOST_LOST: Final[float] = 0.01

#: Fewest rows with numbers in a scramble from which shares are told.
_FEWEST: Final[int] = 64


@dataclass(frozen=True)
class Shares:
    """Shares of the target's variance."""

    indices: SensitivityIndices  #: First-order shares, and total ones unless `how` says otherwise
    #: Shares of the yes/no "the stage runs", where too many points carry no number; None too where too few
    #: fail to tell.
    runs: SensitivityIndices | None
    #: ``"design"``, ``"correlated"`` (dependent inputs: no totals) or ``"failures"`` (shares among the
    #: points that run: no totals).
    how: str
    lost: float  #: Share of base rows left out because a point had no number [-]
    #: Variance that stays even if everything were known [SI²]; NaN without a design.
    scatter_variance: Estimate


@dataclass(frozen=True)
class Sampled:
    """A target at every point of a design."""

    plan: Plan
    outputs: FloatArray  #: [SI] shape (scrambles, blocks, rows)
    outcomes: NDArray[np.int8]  #: The same shape

    @property
    def counts(self) -> Mapping[str, int]:
        """How many points had each status."""
        found = np.bincount(self.outcomes.ravel(), minlength=len(registry.STATUSES))
        return {status.name: int(n) for status, n in zip(registry.STATUSES, found, strict=True)}


def sampled(
    problem: Problem,
    number: int,
    base: int,
    *,
    groups: Sequence[Sequence[int]],
    jobs: int,
    progress: run.Progress | None = None,
) -> Sampled:
    """The target over a pick-freeze design; its last block redraws all scatter rows, if there are any."""
    if base < problem.dimension:
        raise StudyError(
            f"{base} rows are fewer than the {problem.dimension} uncertain rows: ask for a larger base"
        )
    scatter = [problem.scatter_columns] if problem.scatter_columns else []
    plan = sampling.pick_freeze_plan(
        number, problem.dimension, base, groups=[*groups, *scatter], purpose=Purpose.RANKING
    )
    memory = Memory.of(plan, 1)
    carry_out(plan, problem, memory, jobs=jobs, progress=progress)
    return Sampled(
        plan, np.asarray(plan.arranged(memory.column(0))), np.asarray(plan.arranged(memory.outcomes()))
    )


def cubes(plan: Plan, blocks: int) -> list[FloatArray]:
    """Points of the first blocks of a plan, scramble by scramble. [-]"""
    found = []
    for scramble in range(plan.scrambles):
        chunks = [plan.points(scramble, n) for n in range(plan.rows // plan.chunk_rows)]
        apart = np.stack([c.reshape(-1, plan.chunk_rows, plan.dimensions)[:blocks] for c in chunks], axis=1)
        found.append(apart.reshape(-1, plan.dimensions))
    return found


def shares(
    problem: Problem, sample: Sampled, names: Sequence[str], groups: Sequence[Sequence[int]]
) -> Shares:
    """Shares of the target's variance from a sampled design."""
    count = len(groups)
    kept, lost = complete_rows(sample.outputs)
    if min(block.shape[1] for block in kept) < _FEWEST and np.mean(sample.outcomes <= NO_CONTACT) < 0.02:
        raise TooManyFailures(_failure_words(sample.counts))
    if lost <= MOST_LOST and not problem.space.correlated:
        indices = sensitivity_indices([block[: count + 2] for block in kept], names)
        return Shares(indices, None, "design", lost, _scatter_variance(problem, kept, count))
    plain = sample.outputs[:, :2].reshape(sample.plan.scrambles, -1)
    points = cubes(sample.plan, 2)
    singles = [group[0] for group in groups if len(group) == 1]
    labels = [name for name, group in zip(names, groups, strict=True) if len(group) == 1]
    whole = np.isfinite(plain)
    known = [problem.dependent(cube)[:, singles] for cube in points]
    inputs = [cube[rows] for cube, rows in zip(known, whole, strict=True)]
    targets = [values[rows] for values, rows in zip(plain, whole, strict=True)]
    if min(len(target) for target in targets) < _FEWEST:
        raise TooManyFailures(_failure_words(sample.counts))
    indices = given_data_first_order(inputs, targets, labels)
    unknown = estimate(np.full(sample.plan.scrambles, np.nan))
    if lost <= MOST_LOST:
        return Shares(indices, None, "correlated", lost, unknown)
    # A row of the design holds many points, so rows may be lost though hardly any point fails: then some scramble
    # holds no failed point at all, and what drives them can't be told.
    told = all(0 < rows.sum() < rows.size for rows in whole)
    runs = given_data_first_order(known, list(whole.astype(np.float64)), labels) if told else None
    return Shares(indices, runs, "failures", lost, unknown)


def _scatter_variance(problem: Problem, kept: Sequence[FloatArray], count: int) -> Estimate:
    if not problem.scatter_columns:
        return estimate(np.zeros(len(kept)))
    return estimate([float(jansen_1999(block[0], block[count + 2 :])[0]) for block in kept])


def indices_table(
    problem: Problem, found: Shares, names: Sequence[str], groups: Sequence[Sequence[int]]
) -> pd.DataFrame:
    """Shares by row, most important first, with what each row is."""
    table = found.indices.table.copy()
    if found.indices.total is None:
        for column in ("total", "total_standard_error", "total_low", "total_high"):
            table[column] = np.nan
    spreads = problem.space.standard_uncertainties().tolist()
    rows = problem.rows
    of = dict(zip(names, groups, strict=True))
    single = [rows[of[name][0]] if len(of[name]) == 1 else None for name in table.index]
    table.insert(
        0,
        "address",
        [row.address if row else str(name) for row, name in zip(single, table.index, strict=True)],
    )
    table.insert(1, "part", [row.part if row else "group" for row in single])
    table["standard_uncertainty"] = [spreads[of[n][0]] if len(of[n]) == 1 else np.nan for n in table.index]
    leading = "first" if found.indices.total is None else "total"
    return table.sort_values(leading, ascending=False, kind="stable")


def _failure_words(counts: Mapping[str, int]) -> str:
    total = max(sum(counts.values()), 1)
    failed = {
        name: count / total for name, count in counts.items() if name not in ("ok", "no_contact") and count
    }
    parts = ", ".join(f"{share:.1%} {name.replace('_', ' ')}" for name, share in failed.items())
    return (
        f"hardly any point carries a number ({parts} of all points): move the design away from where it fails, or"
        " narrow the ranges; nothing was filled in"
    )
