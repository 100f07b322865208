"""The sample itself: in files beside the results while it is made, and every point with its inputs where it is asked
for, in tables of SI that follow each other.
"""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from explorer import registry
from explorer.page.answer import Options, Work
from explorer.page.usage import SAMPLE_FORMAT
from explorer.sampling import Plan
from explorer.store import ResultsError, SampleFiles, sample_bytes, sample_files
from explorer.store.provenance import commit, version
from explorer.study.problem import Problem
from explorer.studyfile import Study

#: Chunks of one table.
TOGETHER: Final[int] = 16


@dataclass(frozen=True)
class Sample:
    """A sample in files."""

    problem: Problem
    plan: Plan
    files: SampleFiles

    @property
    def percent(self) -> int:
        """How much of it is there."""
        return int(100 * self.files.chunks_done() * self.plan.chunk_size / self.plan.size)

    def tables(self) -> Iterator[pd.DataFrame]:
        """Yield it in tables of the same columns."""
        waiting: list[pd.DataFrame] = []
        for number, (scramble, part) in enumerate(self.plan.chunks()):
            waiting.append(self._table(number, scramble, part))
            if len(waiting) == TOGETHER:
                yield pd.concat(waiting, ignore_index=True)
                waiting = []
        if waiting:
            yield pd.concat(waiting, ignore_index=True)

    def _table(self, number: int, scramble: int, part: int) -> pd.DataFrame:
        problem, plan = self.problem, self.plan
        cube = plan.points(scramble, part)
        values, outcomes = self.files.chunk(number)
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
                **{
                    f"{name} [{problem.unit(name)}]": values[:, k]
                    for k, name in enumerate(problem.quantities)
                },
            }
        )


def sample_beside(options: Options, work: Work, study: Study, problem: Problem, plan: Plan) -> Sample:
    """Room for a sample beside the results, told before it is filled; or one of a run that was broken off."""
    if not options.resume:
        _refuse_too_large(options, work, problem, plan)
    header = {
        "study_hash": study.study_hash,
        "random_number": plan.number,
        "version of the program": f"{version()} {commit()}",
    }
    files = work.beside(
        "sample",
        lambda path: sample_files(
            path,
            header,
            points=plan.size,
            quantities=problem.quantities,
            chunk_points=plan.chunk_size,
            resume=options.resume,
        ),
        resume=options.resume,
    )
    sample = Sample(problem, plan, files)
    work.kept = lambda: (
        f"{sample.percent} % of the sample is kept in {files.folder}: the same command with --resume goes on with it"
    )
    if options.resume:
        work.note(f"Going on with {files.folder}, {sample.percent} % of which is there.")
    return sample


def _refuse_too_large(options: Options, work: Work, problem: Problem, plan: Plan) -> None:
    needed = sample_bytes(plan.size, len(problem.quantities))
    if SAMPLE_FORMAT in options.formats:
        needed += sample_bytes(plan.size, len(problem.quantities) + problem.dimension)
    beside = work.folder.final.parent
    work.note(f"{plan.size} points: up to {_size(needed)} on disk, in {beside} while it runs.")
    free = shutil.disk_usage(beside).free
    if needed > free:
        raise ResultsError(
            f"the sample needs {_size(needed)} and {_size(free)} are free in {beside}: ask for fewer"
            " samples or quantities, or give --out on another disk"
        )


def _size(count: int) -> str:
    """A number of bytes as words."""
    for unit, of in (("GB", 1e9), ("MB", 1e6)):
        if count >= of:
            return f"{count / of:.3g} {unit}"
    return f"{count / 1e3:.3g} kB"
