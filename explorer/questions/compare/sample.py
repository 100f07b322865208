"""Designs tried on the same points to be compared: what each will show, and what the calculation alone gives."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.study.contrasts import Marked
from explorer.study.drawn import Drawn, central, tried
from explorer.study.engine import Evaluator, stage_of
from explorer.study.joint import Joint, joint_of
from explorer.study.model_error import with_parts
from explorer.study.outcomes import OK, refuse_numberless
from explorer.study.regimes import bordered
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Sample(Drawn):
    """Designs that are compared."""

    #: As `found`, of the first design in a firing of its own, where it is one rig with another and something scatters.
    again: Evaluated | None
    centres: tuple[Mapping[str, float], ...]  #: Of each design, quantities at central inputs [SI]

    def in_contact(self, place: int, quantity: str) -> Marked | None:
        """A quantity of a design's points that make contact; None where the design has no such quantity."""
        marked = self.values(place, quantity)
        return None if marked is None else (marked[0], marked[1] & (self.found[place].outcomes == OK))

    def first_again(self, quantity: str) -> Marked | None:
        """A quantity of the first design in a firing of its own; None where that is not drawn."""
        values = None if self.again is None else self.again.quantities.get(quantity)
        return None if values is None else (values, np.isfinite(values))


def sample_of(
    studies: Sequence[Study],
    quantities: Sequence[Sequence[str]],
    number: int,
    samples: int,
    *,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Sample:
    """Try designs on the same points."""
    if not any(study.space.rows for study in studies):
        raise StudyError(
            "nothing is uncertain in any of these studies, so no difference has an interval: give inputs as, say,"
            ' "0.48 ± 0.02 T", or solve each of them'
        )
    joint = joint_of(studies, quantities, one_firing=True)
    if samples < joint.space.dimension:
        raise StudyError(
            f"{samples} samples are fewer than the {joint.space.dimension} uncertain rows of these studies together:"
            " ask for more"
        )
    plan = sampling.sample_plan(number, joint.space.dimension, samples, purpose=Purpose.COMPARISON)
    stages = [
        stage_of(study, with_parts(study, (*own, *bordered(study.pairs))), jobs=jobs, progress=progress)
        for study, own in zip(studies, quantities, strict=True)
    ]

    more = [] if joint.again is None else [joint.again]
    found, calculated, _ = tried(
        replace(joint, sides=(*joint.sides, *more)),
        plan,
        [*stages, *stages[: len(more)]],
        [*quantities, *quantities[: len(more)]],
        lambda *_: [],
        0,
        jobs=jobs,
        progress=progress,
    )
    found, again = found[: len(studies)], next(iter(found[len(studies) :]), None)
    for side, own in zip(joint.sides, found, strict=True):
        refuse_numberless(
            own.outcomes,
            what=f"{side.name}: ",
            advice="move this design, narrow its ranges, or leave it out",
        )
    return Sample(joint, plan, found, calculated[: len(studies)], again, _centres(joint, stages))


def _centres(joint: Joint, stages: Sequence[Evaluator]) -> tuple[dict[str, float], ...]:
    return tuple(
        {q: float(values[0]) for q, values in stage.chunk(central(side.study)).quantities.items()}
        for side, stage in zip(joint.sides, stages, strict=True)
    )
