"""A plan through a problem: chunk by chunk, in threads, into memory or a file on disk that a later run goes on with."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from explorer import run
from explorer.sampling import Plan

FloatArray = NDArray[np.float64]

#: Gives the quantities and outcomes at points of the unit cube.
Evaluate = Callable[[FloatArray], tuple[FloatArray, NDArray[np.int8]]]


class Sink(Protocol):
    """Where a plan's results go as they come."""

    def done(self, chunk: int) -> bool:
        """Whether a chunk stands there already."""

    def write(self, chunk: int, values: FloatArray, outcomes: NDArray[np.int8]) -> None:
        """Take a chunk: values (points, quantities), outcomes (points,)."""

    def column(self, quantity: int) -> FloatArray:
        """All values of one quantity, in the order of the chunks."""

    def outcomes(self) -> NDArray[np.int8]:
        """All outcomes, in the order of the chunks."""


@dataclass(frozen=True)
class Memory:
    """A sink in memory: values (quantities, points), outcomes, which chunks have come."""

    values: FloatArray
    statuses: NDArray[np.int8]
    come: NDArray[np.bool_]

    @classmethod
    def of(cls, plan: Plan, quantities: int) -> "Memory":
        """Room for a plan's results."""
        chunks = plan.size // plan.chunk_size
        return cls(
            np.empty((quantities, plan.size)), np.empty(plan.size, np.int8), np.zeros(chunks, dtype=np.bool_)
        )

    def done(self, chunk: int) -> bool:
        """Whether a chunk has come."""
        return bool(self.come[chunk])

    def write(self, chunk: int, values: FloatArray, outcomes: NDArray[np.int8]) -> None:
        """Take a chunk."""
        here = slice(chunk * outcomes.size, (chunk + 1) * outcomes.size)
        self.values[:, here] = values.T
        self.statuses[here] = outcomes
        self.come[chunk] = True

    def column(self, quantity: int) -> FloatArray:
        """All values of one quantity."""
        return np.asarray(self.values[quantity])

    def outcomes(self) -> NDArray[np.int8]:
        """All outcomes."""
        return self.statuses


def carry_out(
    plan: Plan, evaluate: Evaluate, sink: Sink, *, jobs: int, progress: run.Progress | None = None
) -> None:
    """Evaluate every chunk of a plan that its sink doesn't hold yet."""
    chunks = list(plan.chunks())
    missing = [(i, scramble, chunk) for i, (scramble, chunk) in enumerate(chunks) if not sink.done(i)]
    already = len(chunks) - len(missing)

    def one(number: int, scramble: int, chunk: int) -> tuple[int, FloatArray, NDArray[np.int8]]:
        return number, *evaluate(plan.points(scramble, chunk))

    def told(done: int, _: int) -> None:
        if progress:
            progress(already + done, len(chunks))

    for number, values, outcomes in run.in_threads(
        one, missing, jobs=jobs, total=len(missing), progress=told
    ):
        sink.write(number, values, outcomes)
