"""The difference of a quantity between two studies, as something to sample.

What carries the same `shared` name in both is one quantity of nature or one instrument: its unknown part is drawn once
for both. Everything else is drawn apart. Of the model's own error the share that the first study states is common to
both.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from explorer.space import InputSpace, Lognormal, Uncertain
from explorer.study.engine import Stage, quantities_of
from explorer.study.point import with_settings
from explorer.study.problem import MODEL_ROW, Evaluate, Problem
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]

#: Half-width of a lognormal's 95 % interval in standard deviations, as the value grammar reads a factor.
_HALF_WIDTH = 1.959964


class _Side:
    """One study of the two: its inputs under names of their own, and how its values come out of a joint sample."""

    def __init__(self, study: Study, name: str, common: frozenset[str]) -> None:
        self.study, self.name = study, name
        self.inputs: list[Uncertain] = []
        self.shared: list[Uncertain] = []
        self._terms: dict[str, list[str]] = {}
        self._centres: dict[str, float] = {}
        for item in study.space.inputs:
            if item.shared in common and item.unknown is not None:
                joint = Uncertain(f"shared {item.shared}", unknown=item.unknown, low=item.low, high=item.high)
                self.shared.append(joint)
                self._terms[item.address] = [joint.address]
                if item.scatter is not None:
                    alone = Uncertain(f"{name}: {item.address}", scatter=item.scatter)
                    self.inputs.append(alone)
                    self._terms[item.address].append(alone.address)
                    self._centres[item.address] = item.scatter.mean
                continue
            own = Uncertain(
                f"{name}: {item.address}",
                unknown=item.unknown,
                scatter=item.scatter,
                low=item.low,
                high=item.high,
            )
            self.inputs.append(own)
            self._terms[item.address] = [own.address]

    @property
    def aliases(self) -> dict[str, str]:
        """Under which name what is fixed of each of its inputs stands in the joint sample."""
        return {address: terms[0] for address, terms in self._terms.items()}

    def values(self, joint: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        """Its values [SI] by its own addresses."""
        return {
            address: np.sum([joint[term] for term in terms], axis=0) - self._centres.get(address, 0.0)
            for address, terms in self._terms.items()
        }


def difference_problem(first: Study, second: Study, quantity: str, *, jobs: int = 1) -> Problem:
    """The first study's quantity less the second's.

    Parameters
    ----------
    first, second : Study
        Both with uncertain inputs.
    quantity : str
        An output of both.
    jobs : int
        [-] processes for gas tables.

    Returns
    -------
    Problem
        Its one quantity is named ``<quantity>``; readings are taken on the first study.

    Raises
    ------
    StudyError
        If inputs of either are correlated, what is shared differs, or the quantity isn't an output of both.
    """
    for study in (first, second):
        quantities_of(study, [quantity])
        if study.space.correlated:
            raise StudyError(
                "a difference of studies with correlated inputs is not available: leave them uncorrelated"
            )
    names = study_names(first, second)
    common = frozenset(_shared_names(first) & _shared_names(second))
    sides = [_Side(study, name, common) for study, name in zip((first, second), names, strict=True)]
    for one, two in zip(
        sorted(sides[0].shared, key=lambda i: i.address),
        sorted(sides[1].shared, key=lambda i: i.address),
        strict=True,
    ):
        if one.unknown != two.unknown:
            raise StudyError(
                f"{one.address} is stated differently in the two studies: it is the same quantity"
            )
    errors = _model_errors(first, second, quantity, names)
    space = InputSpace((*sides[0].shared, *sides[0].inputs, *sides[1].inputs, *errors))
    stages = [Stage(study, [quantity], jobs=jobs) for study in (first, second)]

    def evaluate(joint: Mapping[str, FloatArray]) -> tuple[Mapping[str, FloatArray], NDArray[np.int8]]:
        found = [stage.chunk(side.values(joint)) for stage, side in zip(stages, sides, strict=True)]
        factor = [
            np.prod(
                [joint[item.address] for item in errors if item.address in (_JOINT, f"{name}: {MODEL_ROW}")],
                axis=0,
            )
            for name in names
        ]
        apart = [result.quantities[quantity] * f for result, f in zip(found, factor, strict=True)]
        return {quantity: apart[0] - apart[1]}, np.maximum(found[0].outcomes, found[1].outcomes)

    def elsewhere(settings: Mapping[str, float], outputs: Sequence[str]) -> Evaluate:
        stage = Stage(with_settings(first, settings), outputs, jobs=jobs)
        uncertain = stage.study.space.central()

        def read(joint: Mapping[str, FloatArray]) -> tuple[Mapping[str, FloatArray], NDArray[np.int8]]:
            values = {a: v for a, v in sides[0].values(joint).items() if a in uncertain}
            result = stage.chunk(values)
            return result.quantities, result.outcomes

        return read

    return Problem(None, space, (quantity,), {}, evaluate, elsewhere, sides[0].aliases)


_JOINT = f"{MODEL_ROW}, shared"


def study_names(first: Study, second: Study) -> tuple[str, str]:
    """What two studies are called beside each other: their files' names, numbered where they are the same.

    Parameters
    ----------
    first, second : Study
        As resolved.
    """
    stems = [study.path.stem if study.path else study.title for study in (first, second)]
    return (stems[0], stems[1]) if stems[0] != stems[1] else (f"{stems[0]} 1", f"{stems[1]} 2")


def _shared_names(study: Study) -> set[str]:
    return {
        item.shared for item in study.space.inputs if item.shared is not None and item.unknown is not None
    }


def _model_errors(first: Study, second: Study, quantity: str, names: Sequence[str]) -> list[Uncertain]:
    """The model's own error: what both have in common and what each has alone, as factors of median 1.

    The common part is that of the smaller of the two errors; each study's own part makes up the rest.
    """
    spreads = [float(np.log1p(s.model_error.of(quantity).relative ** 2)) for s in (first, second)]
    common = first.model_error.shared * min(spreads)
    found = []
    for name, variance in (
        (_JOINT, common),
        *((f"{n}: {MODEL_ROW}", v - common) for n, v in zip(names, spreads, strict=True)),
    ):
        if variance > 0:
            factor = float(np.exp(_HALF_WIDTH * np.sqrt(variance)))
            found.append(Uncertain(name, unknown=Lognormal(1.0, factor)))
    return found
