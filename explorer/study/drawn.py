"""Designs tried on the same points: what is shared is the same for all at every point, the rest each design's own."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer import run
from explorer.analysis.scrambles import Estimate
from explorer.registry import CHANCE
from explorer.run import Evaluated
from explorer.sampling import Plan
from explorer.study.contrasts import Marked, Mask, share_of
from explorer.study.engine import Evaluator
from explorer.study.joint import Joint, Side
from explorer.study.limits import event
from explorer.study.outcomes import NO_CONTACT
from explorer.study.plans import Memory, carry_out
from explorer.study.regimes import bordered
from explorer.studyfile import Study

FloatArray = NDArray[np.float64]

#: Points of the cube, values [SI] by name in the joint space and what came of each design in; what stands beside the
#: designs out, a column each.
Beside = Callable[[FloatArray, Mapping[str, FloatArray], Sequence[Evaluated]], Sequence[NDArray[Any]]]


@dataclass(frozen=True)
class Drawn:
    """Designs tried on the same points."""

    joint: Joint  #: The designs and what they share
    plan: Plan
    #: Of each design quantities by address [SI], outcomes and warnings, each of shape (repeats, rows).
    found: tuple[Evaluated, ...]
    #: The same of what borders between regimes read, as the calculation gives it without the model's own error.
    calculated: tuple[Evaluated, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """What the designs are called."""
        return tuple(side.name for side in self.joint.sides)

    def numbered(self, place: int) -> Mask:
        """Which points of a design carry numbers."""
        return np.asarray(self.found[place].outcomes <= NO_CONTACT)

    def values(self, place: int, quantity: str) -> Marked | None:
        """A quantity of a design and where it has a number; None where the design has no such quantity."""
        values = self.found[place].quantities.get(quantity)
        return None if values is None else (values, np.isfinite(values))

    def shares(self, events: Sequence[str]) -> tuple[dict[str, Estimate], ...]:
        """Of each design, the share of its points with each status or warning that some design has [-]."""
        each: tuple[dict[str, Estimate], ...] = tuple({} for _ in self.found)
        for name in events:
            marks = [event(found, f"{CHANCE}{name}") for found in self.found]
            if any(mark.any() for mark in marks):
                for own, mark in zip(each, marks, strict=True):
                    own[name] = share_of(mark, np.ones_like(mark))
        return each


def tried(
    joint: Joint,
    plan: Plan,
    stages: Sequence[Evaluator],
    quantities: Sequence[Sequence[str]],
    beside: Beside,
    columns: int,
    *,
    jobs: int,
    progress: run.Progress | None,
) -> tuple[tuple[Evaluated, ...], tuple[Evaluated, ...], list[FloatArray]]:
    """What came of designs with what the model may be off by, at borders without, and what stands beside in columns."""
    plain = [
        [name for name in bordered(side.study.pairs) if name in stage.quantities]
        for side, stage in zip(joint.sides, stages, strict=True)
    ]

    def evaluate(cube: FloatArray) -> tuple[FloatArray, NDArray[np.int8]]:
        values = joint.space.values(cube[:, : joint.space.dimension])
        every = [chunk(side, stage, values) for side, stage in zip(joint.sides, stages, strict=True)]
        kept: list[NDArray[Any]] = []
        for side, own, names in zip(joint.sides, every, quantities, strict=True):
            kept += [joint.off(side, name, own.quantities, values) for name in names]
            kept += [own.outcomes, own.warnings]
        kept += [own.quantities[name] for own, names in zip(every, plain, strict=True) for name in names]
        kept += beside(cube, values, every)
        points = cube.shape[0]
        outcomes = np.max([np.broadcast_to(own.outcomes, points) for own in every], axis=0)
        return np.column_stack([np.broadcast_to(column, points) for column in kept]), outcomes

    width = sum(len(names) + 2 for names in quantities) + sum(map(len, plain)) + columns
    memory = Memory.of(plan, width)
    carry_out(plan, evaluate, memory, jobs=jobs, progress=progress)
    blocks = (plan.arranged(column)[:, 0] for column in memory.values)
    found = []
    for names in quantities:
        own = {name: next(blocks) for name in names}
        found.append(Evaluated(own, next(blocks).astype(np.int8), next(blocks).astype(np.uint32)))
    calculated = [
        own._replace(quantities={name: next(blocks) for name in names})
        for own, names in zip(found, plain, strict=True)
    ]
    return tuple(found), tuple(calculated), list(blocks)


def chunk(side: Side, stage: Evaluator, values: Mapping[str, FloatArray]) -> Evaluated:
    """A design at values of the joint space; one point at central values where nothing of it is uncertain."""
    return stage.chunk(side.values(values) or central(side.study))


def central(study: Study) -> dict[str, FloatArray]:
    """One point at central values [SI]."""
    return {address: np.array([value]) for address, value in study.central().items()}
