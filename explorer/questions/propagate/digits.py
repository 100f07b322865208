"""Sampling until a wanted number of digits stands: JCGM 101 clause 7.9 with independent scrambles as its blocks."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run
from explorer.analysis.adaptive import adaptive_distributions
from explorer.sampling import Plan, Purpose
from explorer.study.plans import Memory
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
    redrawn = problem.scatter_columns if problem.unknown_columns else ()
    blocks: tuple[tuple[int, ...], ...] = ((), redrawn) if redrawn else ((),)
    memories: list[Memory] = []

    def plan(scrambles: int) -> Plan:
        # Its streams depend on a scramble's number alone: a block more leaves those before it as they are.
        return Plan(number, Purpose.ADAPTIVE, problem.dimension, blocks, BLOCK, scrambles, "sobol")

    def block(index: int) -> FloatArray:
        so_far, part = plan(index + 1), Memory.of(plan(1), len(problem.quantities))

        def chunk_of_block(chunk: int) -> tuple[FloatArray, NDArray[np.int8]]:
            return problem(so_far.points(index, chunk))

        calls = [(chunk,) for chunk in range(part.come.size)]
        found = run.in_threads(chunk_of_block, calls, jobs=jobs, total=len(calls))
        for chunk, (values, outcomes) in enumerate(found):
            part.write(chunk, values, outcomes)
        memories.append(part)
        if progress:
            progress(index + 1, index + 1)
        figures = np.column_stack([plan(1).arranged(column)[0, 0] for column in part.values])
        return np.asarray(figures[np.isfinite(figures).all(axis=1)])

    try:
        found = adaptive_distributions(block, digits=digits, most=MOST_BLOCKS)
    except ValueError as error:
        raise StudyError(f"the digits can't be reached: {error}") from error
    tolerances = dict(zip(problem.quantities, found.tolerances, strict=True))
    whole = Memory(
        np.concatenate([m.values for m in memories], axis=1),
        np.concatenate([m.statuses for m in memories]),
        np.concatenate([m.come for m in memories]),
    )
    return plan(len(memories)), whole, Digits(digits, found.stable, tolerances, found.blocks)
