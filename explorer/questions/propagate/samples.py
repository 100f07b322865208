"""A sample as tables that follow each other: every point with its inputs, its status and its outputs, all in SI."""

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry
from explorer.sampling import Plan
from explorer.study.problem import Problem

#: Chunk of a sample: values (points, quantities), outcomes (points,).
Chunk = Callable[[int], tuple[NDArray[np.float64], NDArray[np.int8]]]

#: Chunks of one table.
TOGETHER: Final[int] = 16


def sample_tables(problem: Problem, plan: Plan, chunk: Chunk) -> Iterator[pd.DataFrame]:
    """Yield the sample in tables of the same columns."""
    waiting: list[pd.DataFrame] = []
    for number, (scramble, part) in enumerate(plan.chunks()):
        waiting.append(_table(problem, plan, chunk, number, scramble, part))
        if len(waiting) == TOGETHER:
            yield pd.concat(waiting, ignore_index=True)
            waiting = []
    if waiting:
        yield pd.concat(waiting, ignore_index=True)


def _table(problem: Problem, plan: Plan, chunk: Chunk, number: int, scramble: int, part: int) -> pd.DataFrame:
    cube = plan.points(scramble, part)
    values, outcomes = chunk(number)
    rows = part * plan.chunk_rows + np.arange(plan.chunk_rows, dtype=np.int64)
    names = pd.Index([status.name for status in registry.STATUSES])
    drawn = problem.space.values(cube)
    heads = {
        item.address: f"model error of {item.address} [1]"
        if item.called
        else f"{item.address} [{registry.quantity(item.address).unit}]"
        for item in problem.space.inputs
    }
    return pd.DataFrame(
        {
            "repeat": np.full(plan.chunk_size, scramble + 1, dtype=np.int16),
            "row": np.tile(rows, len(plan.blocks)),
            "twin": np.repeat(np.arange(len(plan.blocks), dtype=np.int8), plan.chunk_rows),
            "status": pd.Categorical.from_codes(outcomes.astype(np.int64), names),
            **{heads[address]: column for address, column in drawn.items()},
            **{f"{name} [{problem.unit(name)}]": values[:, k] for k, name in enumerate(problem.quantities)},
        }
    )
