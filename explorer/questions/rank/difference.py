"""The difference of a quantity between two studies, as something to sample.

What is drawn once for both and what apart is for `joint` to say.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from explorer.study.engine import quantities_of, stage_of
from explorer.study.joint import joint_of
from explorer.study.problem import Evaluate, Problem
from explorer.study.settings import with_settings
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]


def difference_problem(first: Study, second: Study, quantity: str, *, jobs: int = 1) -> Problem:
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

    return Problem(None, joint.space, (quantity,), evaluate, elsewhere, joint.sides[0].aliases)
