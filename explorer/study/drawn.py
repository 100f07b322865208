"""Designs tried on the same points: what is shared is the same for all at every point, the rest each design's own."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.run import Evaluated
from explorer.sampling import Plan, Purpose
from explorer.study.contrasts import Marked, Mask
from explorer.study.engine import Evaluator, stage_of
from explorer.study.joint import Joint, joint_of
from explorer.study.outcomes import refuse_numberless
from explorer.study.plans import Evaluate, Memory, carry_out
from explorer.study.problem import NO_CONTACT, OK
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Designs:
    """Designs tried on the same points."""

    joint: Joint  #: The designs and what they share
    plan: Plan
    #: Of each design quantities by address [SI], outcomes and warnings, each of shape (repeats, rows).
    found: tuple[Evaluated, ...]

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


@dataclass(frozen=True)
class Drawn(Designs):
    """Designs that are compared."""

    #: As `found`, of quantities as the calculation gives them, without the model's own error.
    calculated: tuple[Evaluated, ...]
    centres: Mapping[tuple[str, str], float]  #: [SI] quantities at central inputs, by design and address

    def in_contact(self, place: int, quantity: str) -> Marked | None:
        """The same of the points that make contact."""
        marked = self.values(place, quantity)
        return None if marked is None else (marked[0], marked[1] & (self.found[place].outcomes == OK))


def drawn(
    studies: Sequence[Study],
    quantities: Sequence[Sequence[str]],
    number: int,
    samples: int,
    *,
    calculated: Sequence[Sequence[str]],
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Drawn:
    """Try designs on the same points."""
    if not any(study.space.rows for study in studies):
        raise StudyError(
            "nothing is uncertain in any of these studies, so no difference has an interval: give inputs as, say,"
            ' "0.48 ± 0.02 T", or solve each of them'
        )
    joint = joint_of(studies, quantities)
    if samples < joint.space.dimension:
        raise StudyError(
            f"{samples} samples are fewer than the {joint.space.dimension} uncertain rows of these studies together:"
            " ask for more"
        )
    plan = sampling.sample_plan(number, joint.space.dimension, samples, purpose=Purpose.COMPARISON)
    stages = [
        stage_of(study, tuple(dict.fromkeys((*own, *plain))), jobs=jobs, progress=progress)
        for study, own, plain in zip(studies, quantities, calculated, strict=True)
    ]
    wanted = [_Columns(tuple(own), tuple(plain)) for own, plain in zip(quantities, calculated, strict=True)]
    memory = Memory.of(plan, sum(columns.width for columns in wanted))
    carry_out(plan, _evaluate(joint, stages, wanted), memory, jobs=jobs, progress=progress)
    found, plainly = _apart(plan, memory, wanted)
    for side, own in zip(joint.sides, found, strict=True):
        refuse_numberless(
            own.outcomes,
            what=f"{side.name}: ",
            advice="move this design, narrow its ranges, or leave it out",
        )
    return Drawn(joint, plan, found, plainly, _centres(joint, stages))


def _central(study: Study) -> dict[str, FloatArray]:
    """One point at central values [SI]."""
    return {address: np.array([value]) for address, value in study.central().items()}


def _centres(joint: Joint, stages: Sequence[Evaluator]) -> dict[tuple[str, str], float]:
    return {
        (side.name, quantity): float(values[0])
        for side, stage in zip(joint.sides, stages, strict=True)
        for quantity, values in stage.chunk(_central(side.study)).quantities.items()
    }


class _Columns(NamedTuple):
    """What is kept of a design: outputs with the model's own error, then outputs without it, outcome and warnings."""

    quantities: tuple[str, ...]
    calculated: tuple[str, ...]

    @property
    def width(self) -> int:
        return len(self.quantities) + len(self.calculated) + 2


def _evaluate(joint: Joint, stages: Sequence[Evaluator], wanted: Sequence[_Columns]) -> Evaluate:
    """Every design at points of the cube, its columns after those of the one before."""

    def evaluate(cube: FloatArray) -> tuple[FloatArray, NDArray[np.int8]]:
        values = joint.space.values(cube)
        points = cube.shape[0]
        columns: list[NDArray[Any]] = []
        worst = np.zeros(points, dtype=np.int8)
        for side, stage, own in zip(joint.sides, stages, wanted, strict=True):
            # Without anything uncertain a design is one point, the model's own error apart.
            found = stage.chunk(side.values(values) or _central(side.study))
            columns += [found.quantities[q] * joint.model_factor(side, q, values) for q in own.quantities]
            columns += [found.quantities[q] for q in own.calculated]
            columns += [found.outcomes, found.warnings]
            worst = np.maximum(worst, found.outcomes)
        return np.column_stack([np.broadcast_to(column, points) for column in columns]), worst

    return evaluate


def _apart(
    plan: Plan, memory: Memory, wanted: Sequence[_Columns]
) -> tuple[tuple[Evaluated, ...], tuple[Evaluated, ...]]:
    """The designs of a sample that has been carried out, with and without the model's own error."""
    found, plainly, start = [], [], 0
    for own in wanted:
        blocks = [plan.arranged(memory.column(start + k))[:, 0] for k in range(own.width)]
        outcomes, warnings = blocks[-2].astype(np.int8), blocks[-1].astype(np.uint32)
        with_error = dict(zip(own.quantities, blocks, strict=False))
        without = dict(zip(own.calculated, blocks[len(own.quantities) :], strict=False))
        found.append(Evaluated(with_error, outcomes, warnings))
        plainly.append(Evaluated(without, outcomes, warnings))
        start += own.width
    return tuple(found), tuple(plainly)
