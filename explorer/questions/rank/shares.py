"""What carries a prediction's uncertainty: shares of the target's variance behind every uncertain row.

First-order and total shares come from a pick-freeze design over independent scrambles. Where inputs depend on each
other, or too many points carry no number for the design to hold, shares come from the plain sample instead and there
are no totals; nothing is filled in, and what was done is said.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis.given_data import given_data_first_order
from explorer.analysis.scrambles import Estimate, estimate
from explorer.analysis.sensitivity import SensitivityIndices, complete_rows, jansen_1999, sensitivity_indices
from explorer.sampling import Plan, Purpose
from explorer.space import Row
from explorer.study.outcomes import NO_CONTACT, TooManyFailures
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import Problem
from explorer.studyfile import StudyError

FloatArray = NDArray[np.float64]

#: Share of base rows that may be lost to points without numbers before the design no longer holds.
MOST_LOST: Final[float] = 0.01

#: Fewest rows with numbers in a scramble from which shares are told.
_FEWEST: Final[int] = 64

#: Share of points without a number from which on a larger base is no help.
_MANY: Final[float] = 0.5


@dataclass(frozen=True)
class Subject:
    """What is ranked: a row of the unit cube, or several together under a group's name."""

    address: str  #: of the input, or of the output that the model is wrong about; a group's name
    part: str  #: unknown, scatter, model or group
    label: str  #: what a file calls it
    columns: tuple[int, ...]  #: of the unit cube

    @property
    def words(self) -> str:
        """What a reader is told that it is."""
        return registry.words_of(self.label)


@dataclass(frozen=True)
class Shares:
    """Shares of the target's variance."""

    subjects: tuple[Subject, ...]  #: Behind which they stand; groups only where the design held
    indices: SensitivityIndices  #: First-order shares, and total ones unless `how` says otherwise
    #: First-order shares of the yes/no "the stage runs", where too many points carry no number; None too where too
    #: few fail to tell.
    runs: Estimate | None
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
        return status_counts(self.outcomes)


def status_counts(outcomes: NDArray[np.int8]) -> dict[str, int]:
    """How many points had each status."""
    found = np.bincount(outcomes.ravel(), minlength=len(registry.STATUSES))
    return {status.name: int(n) for status, n in zip(registry.STATUSES, found, strict=True)}


def label(row: Row, *, apart: bool = False) -> str:
    """What a file calls a row; where asked for, its scatter told apart from its unknown part."""
    return f"{row.address} (scatter)" if apart and row.part == "scatter" else row.called or row.address


def row_words(row: Row) -> str:
    """What a reader is told that a row is, its scatter told apart from its unknown part."""
    words = registry.words_of(row.called or row.address)
    return f"{words} (scatter)" if row.part == "scatter" else words


def subjects(problem: Problem, groups: Mapping[str, Sequence[str]]) -> tuple[Subject, ...]:
    """The groups, then the rows that stand alone."""
    rows = problem.rows
    taken: dict[int, str] = {}
    for name, addresses in groups.items():
        for address in addresses:
            one = problem.space.one_with(address)
            columns = [
                i
                for i, row in enumerate(rows)
                if row.address == address or (row.shared and row.address in one)
            ]
            if not columns:
                raise StudyError(f'group "{name}": {address} is not uncertain in this study')
            for column in columns:
                if column in taken:
                    raise StudyError(f'{address} stands in both "{taken[column]}" and "{name}"')
                taken[column] = name
    together = [
        Subject(name, "group", name, tuple(i for i, group in taken.items() if group == name))
        for name in groups
    ]
    alone = [Subject(row.address, row.part, label(row), (i,)) for i, row in enumerate(rows) if i not in taken]
    return (*together, *alone)


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


def plain_cubes(plan: Plan) -> list[FloatArray]:
    """Points of the plain samples A and B of a plan, scramble by scramble, A first. [-]"""
    found = []
    for scramble in range(plan.scrambles):
        chunks = [plan.points(scramble, n) for n in range(plan.rows // plan.chunk_rows)]
        apart = np.stack([c.reshape(-1, plan.chunk_rows, plan.dimensions)[:2] for c in chunks], axis=1)
        found.append(apart.reshape(-1, plan.dimensions))
    return found


def shares(problem: Problem, sample: Sampled, ranked: Sequence[Subject]) -> Shares:
    """Shares of the target's variance from a sampled design."""
    count = len(ranked)
    kept, lost = complete_rows(sample.outputs)
    if min(block.shape[1] for block in kept) < _FEWEST and np.mean(sample.outcomes <= NO_CONTACT) < 0.02:
        raise TooManyFailures(_failure_words(sample.counts))
    if lost <= MOST_LOST and not problem.space.correlated:
        indices = sensitivity_indices([block[: count + 2] for block in kept])
        scatter = _scatter_variance(problem, kept, count)
        return Shares(tuple(ranked), indices, None, "design", lost, scatter)
    return _plain_shares(problem, sample, lost, tuple(s for s in ranked if len(s.columns) == 1))


def _plain_shares(problem: Problem, sample: Sampled, lost: float, singles: tuple[Subject, ...]) -> Shares:
    """Shares from the plain sample that the design holds, among its points with a number."""
    columns = [column for subject in singles for column in subject.columns]
    known = [problem.dependent(cube)[:, columns] for cube in plain_cubes(sample.plan)]
    plain = sample.outputs[:, :2].reshape(sample.plan.scrambles, -1)
    whole = np.isfinite(plain)
    inputs = [cube[rows] for cube, rows in zip(known, whole, strict=True)]
    targets = [values[rows] for values, rows in zip(plain, whole, strict=True)]
    if min(len(target) for target in targets) < _FEWEST:
        raise TooManyFailures(_failure_words(sample.counts))
    indices = given_data_first_order(inputs, targets)
    unknown = estimate(np.full(sample.plan.scrambles, np.nan))
    if lost <= MOST_LOST:
        return Shares(singles, indices, None, "correlated", lost, unknown)
    # A row of the design holds many points, so rows may be lost though hardly any point fails: then some scramble
    # holds no failed point at all, and what drives them can't be told.
    told = all(0 < rows.sum() < rows.size for rows in whole)
    runs = given_data_first_order(known, list(whole.astype(np.float64))).first if told else None
    return Shares(singles, indices, runs, "failures", lost, unknown)


def _scatter_variance(problem: Problem, kept: Sequence[FloatArray], count: int) -> Estimate:
    if not problem.scatter_columns:
        return estimate(np.zeros(len(kept)))
    return estimate([float(jansen_1999(block[0], block[count + 2 :])[0]) for block in kept])


def _failure_words(counts: Mapping[str, int]) -> str:
    total = max(sum(counts.values()), 1)
    failed = {
        name: count / total for name, count in counts.items() if name not in ("ok", "no_contact") and count
    }
    parts = ", ".join(f"{share:.1%} {name.replace('_', ' ')}" for name, share in failed.items())
    if sum(failed.values()) < _MANY:
        return (
            f"too few points are left to tell shares from ({parts} of all points): ask for a larger base; nothing was"
            " filled in"
        )
    return (
        f"hardly any point carries a number ({parts} of all points): move the design away from where it fails, or"
        " narrow the ranges; nothing was filled in"
    )
