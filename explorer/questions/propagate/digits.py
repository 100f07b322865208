"""Sampling until a wanted number of digits stands: JCGM 101 clause 7.9 with independent scrambles as its blocks."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run
from explorer.analysis.adaptive import adaptive_distributions
from explorer.sampling import Plan, Purpose
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import Problem
from explorer.studyfile import StudyError

FloatArray = NDArray[np.float64]

#: Points of a block: more than the standard's 10 000, and a power of two.
BLOCK: Final[int] = 16_384

#: Most blocks tried.
MOST_BLOCKS: Final[int] = 400


@dataclass(frozen=True)
class Digits:
    """How many digits were wanted, and whether they stand."""

    wanted: int  #: Significant digits of each standard uncertainty [-]
    reached: bool  #: [-]
    tolerances: Mapping[str, float]  #: Numerical tolerance of each quantity [SI]
    blocks: int  #: Independent blocks taken [-]


def sampled_to_digits(
    problem: Problem, number: int, digits: int, *, jobs: int, progress: run.Progress | None = None
) -> tuple[Plan, Memory, Digits]:
    """Sample block after block until all figures of all quantities are stable."""
    if not 1 <= digits <= 4:
        raise StudyError(f"1 to 4 digits can be asked for; got {digits}")
    twin = bool(problem.scatter_columns) and bool(problem.unknown_columns)
    blocks: tuple[tuple[int, ...], ...] = ((), problem.scatter_columns) if twin else ((),)
    memories: list[Memory] = []

    def block(index: int) -> FloatArray:
        # A plan's streams depend on the scramble's number alone: one scramble after the other is the same plan.
        so_far = Plan(number, Purpose.ADAPTIVE, problem.dimension, blocks, BLOCK, index + 1, "sobol")
        memory = Memory.of(so_far, len(problem.quantities))
        first = index * (BLOCK // so_far.chunk_rows)
        memory.come[:first] = True
        carry_out(so_far, problem, memory, jobs=jobs)
        here = slice(first * so_far.chunk_size, None)
        part = Memory(memory.values[:, here].copy(), memory.statuses[here].copy(), memory.come[first:])
        memories.append(part)
        if progress:
            progress(index + 1, index + 1)
        single = Plan(number, Purpose.ADAPTIVE, problem.dimension, blocks, BLOCK, 1, "sobol")
        columns = [np.asarray(single.arranged(column))[0, 0] for column in part.values]
        values = np.column_stack(columns)
        return np.asarray(values[np.isfinite(values).all(axis=1)])

    try:
        found = adaptive_distributions(block, digits=digits, most=MOST_BLOCKS)
    except ValueError as error:
        raise StudyError(f"the digits can't be reached: {error}") from error
    plan = Plan(number, Purpose.ADAPTIVE, problem.dimension, blocks, BLOCK, len(memories), "sobol")
    whole = Memory(
        np.concatenate([m.values for m in memories], axis=1),
        np.concatenate([m.statuses for m in memories]),
        np.concatenate([m.come for m in memories]),
    )
    tolerances = dict(zip(problem.quantities, found.tolerances, strict=True))
    return plan, whole, Digits(digits, found.stable, tolerances, found.blocks)
