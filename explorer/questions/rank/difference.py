"""The difference of a quantity between two studies, as something to sample.

What is drawn once for both and what apart is for `joint` to say.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.study.engine import quantities_of, stage_of, with_settings
from explorer.study.joint import joint_of, study_names
from explorer.study.problem import Evaluate, Problem
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]


class Difference(NamedTuple):
    """A quantity of one study less that of another."""

    problem: Problem
    origins: Mapping[str, str]  #: by address in the problem's space the input's address in its own study


def difference(first: Study, second: Study, quantity: str, *, jobs: int = 1) -> Difference:
    """The first study's quantity less the second's."""
    for study in (first, second):
        quantities_of(study, [quantity])
        if study.space.correlated:
            raise StudyError(
                "a difference of studies with correlated inputs is not available: leave them uncorrelated"
            )
    joint = joint_of((first, second), ([quantity], [quantity]))
    stages = [stage_of(study, [quantity], jobs=jobs) for study in (first, second)]

    def evaluate(values: Mapping[str, FloatArray]) -> tuple[Mapping[str, FloatArray], NDArray[np.int8]]:
        found = [stage.chunk(side.values(values)) for stage, side in zip(stages, joint.sides, strict=True)]
        apart = [
            result.quantities[quantity] * joint.model_factor(side, quantity, values)
            for result, side in zip(found, joint.sides, strict=True)
        ]
        return {quantity: apart[0] - apart[1]}, np.maximum(found[0].outcomes, found[1].outcomes)

    def elsewhere(settings: Mapping[str, float], outputs: Sequence[str]) -> Evaluate:
        stage = stage_of(with_settings(first, settings), outputs, jobs=jobs)
        uncertain = stage.study.space.central()

        def read(values: Mapping[str, FloatArray]) -> tuple[Mapping[str, FloatArray], NDArray[np.int8]]:
            own = {a: v for a, v in joint.sides[0].values(values).items() if a in uncertain}
            result = stage.chunk(own)
            return result.quantities, result.outcomes

        return read

    problem = Problem(None, joint.space, (quantity,), evaluate, elsewhere, joint.sides[0].aliases)
    origins = {name: own for side in joint.sides for own, names in side.terms.items() for name in names}
    return Difference(problem, origins)


def difference_name(target: str, first: Study | None, second: Study | None) -> str:
    """What is ranked: an output, or the difference of one between two studies."""
    if first is None or second is None:
        return target
    names = study_names(first, second)
    return f"{target} of {names[0]} less that of {names[1]}"
