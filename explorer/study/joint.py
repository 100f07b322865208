"""Several studies in one space of uncertain inputs: what is one thing is drawn once for all, everything else apart.

One thing is what carries the same `shared` name (a quantity of nature, an instrument), and what studies of one rig
have not stated anew since they were one. Its unknown part is drawn once; what scatters falls anew at each firing and
is each study's own, unless they are looked at in one and the same firing. The model's own error is common in full to
studies of one rig; to all a part is common, the share that the first study to state one gives.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.space import CorrelationError, InputSpace, Uncertain
from explorer.study.dependence import correlations_in_common
from explorer.study.engine import quantities_of, stage_of, with_settings
from explorer.study.firing.learnt import with_what_was_learnt
from explorer.study.model_error import FIXED_BY_A_SUPPLY, model_errors_in_common, off_found, with_parts
from explorer.study.problem import Evaluate, Problem
from explorer.studyfile import Study, StudyError
from explorer.studyfile.values import as_toml

FloatArray = NDArray[np.float64]

#: Behind the name of what scatters alike in several studies.
_IN_ONE_FIRING: Final = ", in one firing"

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
    #: What is drawn once, what each study has by itself, then the model's own errors as factors.
    space: InputSpace
    #: By shared name, which input of which study carries it: (study's name, address).
    shared: Mapping[str, tuple[tuple[str, str], ...]]
    rigs: tuple[tuple[str, ...], ...]  #: Names of studies that are one rig, where there are several
    again: Side | None  #: Where all are looked at in one firing: the first study in a firing of its own
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

    def off(
        self,
        side: Side,
        quantity: str,
        found: Mapping[str, FloatArray],
        joint: Mapping[str, FloatArray],
    ) -> FloatArray:
        """A quantity among what was found of a study, with what the model itself may be off by [SI]."""
        factor = self.model_factor(side, quantity, joint)
        if quantity.rpartition(".")[2] not in FIXED_BY_A_SUPPLY:  # spares the values
            return np.asarray(found[quantity] * factor)
        return off_found(side.study, quantity, found, factor, side.values(joint))


def joint_of(
    studies: Sequence[Study], quantities: Sequence[Sequence[str]], *, one_firing: bool = False
) -> Joint:
    """Several studies in one space of uncertain inputs.

    In `one_firing` what one rig's studies inherit scatters alike too, as if the change were made in that very firing.
    """
    names = study_names(*studies)
    studies = with_what_was_learnt(studies, names)
    rigs, once = _rigs(studies, names), _Once(studies, names, one_firing=one_firing)
    found: dict[str, Uncertain] = {}
    own: list[Uncertain] = []
    sides = []
    for study, name in zip(studies, names, strict=True):
        terms = {}
        for item in study.space.inputs:
            parts = once.parts(study, name, item)
            own += [part for part in parts if part.address == f"{name}: {item.address}"]
            for part in parts:
                if part not in own:
                    _refuse_unlike(found.setdefault(part.address, part), part, item.shared, once.carried)
            terms[item.address] = tuple(part.address for part in parts)
        sides.append(Side(study, name, terms))
    again, anew = _again(sides[0])
    errors, model = model_errors_in_common(
        dict(zip(names, studies, strict=True)), rigs, quantities, common_share(studies)
    )
    try:
        space = InputSpace((*found.values(), *own, *anew, *errors), correlations_in_common(sides))
    except CorrelationError as error:
        raise StudyError(str(error)) from error
    one_rig = tuple(rig for rig in rigs if len(rig) > 1)
    return Joint(tuple(sides), space, _shared(once.carried), one_rig, again, model)


def study_names(*studies: Study) -> tuple[str, ...]:
    """What studies are called beside each other: their files' names, or what is replaced; numbered where any agree."""
    stems = [study.path.stem if study.path else study.title for study in studies]
    names = []
    for stem, study in zip(stems, studies, strict=True):
        alike = [
            other
            for name, other in zip(stems, studies, strict=True)
            if name == stem and other.rig.drawing == study.rig.drawing
        ]
        own = [
            f"{address} = {_as_text(written)}"
            for address, written in study.replacements.items()
            if any(other.replacements.get(address) != written for other in alike)
        ]
        names.append("; ".join(own) or stem)
    if len(set(names)) == len(names):
        return tuple(names)
    return tuple(f"{name} {place}" for place, name in enumerate(names, start=1))


def _as_text(written: object) -> str:
    return written if isinstance(written, str) else as_toml(written)


def common_share(studies: Sequence[Study]) -> float:
    """Share of the variance of the model's own error that studies have in common [-]; all of it in one rig."""
    if len({study.rig.drawing for study in studies}) == 1:
        return 1.0
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


def _again(side: Side) -> tuple[Side | None, list[Uncertain]]:
    """A study in a firing of its own, and what scatters in it, where it is otherwise looked at in another's."""
    terms, anew = dict(side.terms), []
    for item in side.study.space.inputs:
        *fixed, last = side.terms[item.address]
        if last.endswith(_IN_ONE_FIRING) and item.scatter is not None:
            anew.append(Uncertain(f"{side.name} again: {item.address}", scatter=item.scatter))
            terms[item.address] = (*fixed, anew[-1].address)
    return (Side(side.study, side.name, terms) if anew else None), anew


def _shared(
    carried: Mapping[Hashable, tuple[tuple[str, str], ...]],
) -> dict[str, tuple[tuple[str, str], ...]]:
    """Of what is carried by several inputs, what several studies share by name."""
    names = {thing: who for thing, who in carried.items() if isinstance(thing, str)}
    return {name: who for name, who in names.items() if len({holder for holder, _ in who}) > 1}


def _rigs(studies: Sequence[Study], names: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The names of each rig's studies, in the order in which rigs are met."""
    found: dict[Hashable, list[str]] = {}
    for study, name in zip(studies, names, strict=True):
        found.setdefault(study.rig.drawing, []).append(name)
    return tuple(map(tuple, found.values()))


class _Once:
    """Which inputs of several studies are one and the same thing, and what that is called in the joint space."""

    def __init__(self, studies: Sequence[Study], names: Sequence[str], *, one_firing: bool) -> None:
        self._one_firing = one_firing
        self._of = {
            name: "both" if len(rig) == len(studies) == 2 else f"all like {rig[0]}"
            for rig in _rigs(studies, names)
            for name in rig
        }
        carried: dict[Hashable, list[tuple[str, str]]] = {}
        for study, name in zip(studies, names, strict=True):
            for item in study.space.inputs:
                for thing in self._things(study, item):
                    carried.setdefault(thing, []).append((name, item.address))
        #: By what is one thing of several inputs, who carries it: (study's name, address).
        self.carried = {thing: tuple(who) for thing, who in carried.items() if len(who) > 1}

    def _things(self, study: Study, item: Uncertain) -> tuple[Hashable, Hashable]:
        """What stands for an input's two parts, None for none: its shared name, or the rig's thing as it is stated."""
        stated = study.rig.thing(item.address)
        fixed = None if item.unknown is None else item.shared or ("unknown", stated, item.unknown)
        scatters = None if item.scatter is None or not self._one_firing else ("scatter", stated, item.scatter)
        return fixed, scatters

    def parts(self, study: Study, name: str, item: Uncertain) -> tuple[Uncertain, ...]:
        """What makes up an input in the joint space: what is fixed, then what scatters where that stands apart."""
        mine, once = f"{name}: {item.address}", f"{item.address} of {self._of[name]}"
        fixed, scatters = (self.carried.get(thing) if thing else None for thing in self._things(study, item))
        scattering = f"{once}{_IN_ONE_FIRING}" if scatters else mine
        if not fixed:
            whole = scattering if item.unknown is None else mine
            return (Uncertain(whole, item.unknown, item.scatter, item.low, item.high),)
        named = f"shared {item.shared}" if item.shared else once
        first = Uncertain(named, unknown=item.unknown, low=item.low, high=item.high)
        return (first,) if item.scatter is None else (first, Uncertain(scattering, scatter=item.scatter))


def _refuse_unlike(
    joint: Uncertain,
    part: Uncertain,
    shared: str | None,
    carried: Mapping[Hashable, Sequence[tuple[str, str]]],
) -> None:
    if joint.unknown != part.unknown:
        where = ", ".join(f"{address} of {name}" for name, address in carried[shared])
        raise StudyError(
            f'"{shared}" is stated differently ({where}): what is shared is one quantity, so state it alike'
        )


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
    stages = [stage_of(study, with_parts(study, [quantity]), jobs=jobs) for study in (first, second)]

    def evaluate(values: Mapping[str, FloatArray]) -> tuple[Mapping[str, FloatArray], NDArray[np.int8]]:
        found = [stage.chunk(side.values(values)) for stage, side in zip(stages, joint.sides, strict=True)]
        apart = [
            joint.off(side, quantity, result.quantities, values)
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
        return registry.words_of(target)
    names = study_names(first, second)
    return f"{registry.words_of(target)} of {registry.words_of(names[0])} less that of {registry.words_of(names[1])}"
