"""Several studies in one space of uncertain inputs: what is `shared` is drawn once for all, everything else apart.

What carries the same `shared` name in several studies is one quantity of nature or one instrument: its unknown part is
drawn once for all of them; what scatters falls anew at each firing and is each study's own. Of the model's own error a
part is common to all, the share that the first study to state one gives; the rest is each study's own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.space import Correlation, CorrelationError, InputSpace, Uncertain
from explorer.study.engine import quantities_of, stage_of, with_settings
from explorer.study.model_error import MODEL_ITSELF, model_error, variance_of
from explorer.study.problem import Evaluate, Problem
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]

#: What the part of the model's own error is called that studies have in common.
SHARED_MODEL: Final[str] = f"{MODEL_ITSELF}, shared"

#: Share of an input beyond its ends from which on they are minded; no sample meets less.
_NEGLIGIBLE: Final[float] = 1e-12


@dataclass(frozen=True)
class Side:
    """One study among several."""

    study: Study
    name: str  #: What it is called beside the others
    #: By each of its uncertain inputs' addresses, the names in the joint space that make it up: what is
    #: fixed first, then what scatters where that stands apart.
    terms: Mapping[str, tuple[str, ...]]

    @property
    def aliases(self) -> dict[str, str]:
        """Under which name what is fixed of each of its inputs stands in the joint space."""
        return {address: names[0] for address, names in self.terms.items()}

    def values(self, joint: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        """Its values [SI] by its own addresses."""
        return {
            item.address: _value(item, [joint[name] for name in self.terms[item.address]])
            for item in self.study.space.inputs
        }


@dataclass(frozen=True)
class Joint:
    """Several studies in one space."""

    sides: tuple[Side, ...]
    #: What is shared, what each study has by itself, then the model's own errors as factors.
    space: InputSpace
    #: By shared name, which input of which study carries it: (study's name, address).
    shared: Mapping[str, tuple[tuple[str, str], ...]]
    #: By study's name and quantity, the names in the space of the factors that the model may be off by.
    model: Mapping[tuple[str, str], tuple[str, ...]]

    @property
    def common_errors(self) -> tuple[str, ...]:
        """Names in the space of what the studies have in common of the model's own error."""
        every = [name for names in self.model.values() for name in names]
        return tuple(name for name in dict.fromkeys(every) if every.count(name) > 1)

    def model_factor(self, side: Side, quantity: str, joint: Mapping[str, FloatArray]) -> FloatArray | float:
        """Factor by which the model itself may be off [-]."""
        names = self.model.get((side.name, quantity), ())
        return np.asarray(np.prod([joint[name] for name in names], axis=0)) if names else 1.0


def joint_of(studies: Sequence[Study], quantities: Sequence[Sequence[str]]) -> Joint:
    """Several studies in one space of uncertain inputs."""
    names = study_names(*studies)
    shared = _shared(studies, names)
    found: dict[str, Uncertain] = {}
    own: list[Uncertain] = []
    sides = []
    for study, name in zip(studies, names, strict=True):
        terms = {}
        for item in study.space.inputs:
            if item.shared in shared and item.unknown is not None:
                joint = Uncertain(f"shared {item.shared}", unknown=item.unknown, low=item.low, high=item.high)
                _refuse_unlike(found.setdefault(joint.address, joint), item, shared)
                parts = [joint.address]
                if item.scatter is not None:
                    own.append(Uncertain(f"{name}: {item.address}", scatter=item.scatter))
                    parts.append(own[-1].address)
            else:
                own.append(
                    Uncertain(f"{name}: {item.address}", item.unknown, item.scatter, item.low, item.high)
                )
                parts = [own[-1].address]
            terms[item.address] = tuple(parts)
        sides.append(Side(study, name, terms))
    errors, model = _model_errors(sides, quantities)
    try:
        space = InputSpace((*found.values(), *own, *errors), _correlations(sides))
    except CorrelationError as error:
        raise StudyError(str(error)) from error
    return Joint(tuple(sides), space, shared, model)


def study_names(*studies: Study) -> tuple[str, ...]:
    """What studies are called beside each other: their files' names, numbered where any two are the same."""
    stems = [study.path.stem if study.path else study.title for study in studies]
    if len(set(stems)) == len(stems):
        return tuple(stems)
    return tuple(f"{stem} {place}" for place, stem in enumerate(stems, start=1))


def common_share(studies: Sequence[Study]) -> float:
    """Share of the variance of the model's own error that studies have in common [-]."""
    stated = [study.model_error for study in studies if study.model_error.shared_origin != "assumed"]
    return (stated or [studies[0].model_error])[0].shared


def _value(item: Uncertain, parts: Sequence[FloatArray]) -> FloatArray:
    """Values of an input, its scatter put on what is fixed and kept inside its ends."""
    if len(parts) == 1 or item.unknown is None or item.scatter is None:
        return parts[0]
    fixed, scatter = parts
    if item.share_outside > _NEGLIGIBLE:
        return item.values(item.unknown.cumulative(fixed), item.scatter.cumulative(scatter))
    return fixed + (scatter - item.scatter.mean)


def _shared(studies: Sequence[Study], names: Sequence[str]) -> dict[str, tuple[tuple[str, str], ...]]:
    """What several of the studies share, in the order in which it is met."""
    carried: dict[str, list[tuple[str, str]]] = {}
    for study, name in zip(studies, names, strict=True):
        for item in study.space.inputs:
            if item.shared is not None and item.unknown is not None:
                carried.setdefault(item.shared, []).append((name, item.address))
    return {shared: tuple(who) for shared, who in carried.items() if len({name for name, _ in who}) > 1}


def _refuse_unlike(
    joint: Uncertain, item: Uncertain, shared: Mapping[str, Sequence[tuple[str, str]]]
) -> None:
    if joint.unknown != item.unknown:
        who = ", ".join(f"{address} of {name}" for name, address in shared[str(item.shared)])
        raise StudyError(
            f'"{item.shared}" is stated differently ({who}): what is shared is one quantity, so state it alike'
        )


def _correlations(sides: Sequence[Side]) -> tuple[Correlation, ...]:
    """The studies' correlations under the names of the joint space; of what is shared each once."""
    found: dict[tuple[frozenset[str], str], Correlation] = {}
    for side in sides:
        for stated in side.study.space.correlations:
            place = 0 if stated.part == "unknown" else -1
            one, two = (side.terms[address][place] for address in stated.between)
            joint = Correlation((one, two), stated.rank, stated.part)
            before = found.setdefault((frozenset((one, two)), stated.part), joint)
            if before.rank != stated.rank:
                raise StudyError(f"the correlation of {one} and {two} is stated differently in two studies")
    return tuple(found.values())


def _model_errors(
    sides: Sequence[Side], quantities: Sequence[Sequence[str]]
) -> tuple[list[Uncertain], dict[tuple[str, str], tuple[str, ...]]]:
    """The model's own errors as factors of median 1: what the studies have in common, and what each has alone.

    The common part is a share of the smallest of the errors; each study's own part makes up the rest.
    """
    every = list(dict.fromkeys(quantity for own in quantities for quantity in own))
    share = common_share([side.study for side in sides])
    found: list[Uncertain] = []
    model: dict[tuple[str, str], tuple[str, ...]] = {}
    for quantity in every:
        which = f": {quantity}" if len(every) > 1 else ""
        variances = {
            side.name: variance_of(side.study.model_error.of(quantity).relative)
            for side, own in zip(sides, quantities, strict=True)
            if quantity in own
        }
        common = share * min(variances.values()) if len(variances) > 1 else 0.0
        joint = model_error(f"{SHARED_MODEL}{which}", common)
        found += joint
        for name, variance in variances.items():
            alone = model_error(f"{name}: {MODEL_ITSELF}{which}", variance - common)
            found += alone
            model[name, quantity] = tuple(item.address for item in (*joint, *alone))
    return found, model


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
