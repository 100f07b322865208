"""Where firings are computed: the study with the settings of each, or a callable, in one space of what is not known.

Words among a firing's settings (another mode, another load) make another study of the same hardware; numbers are put in
point by point, so that firings that differ in numbers alone are one batch. A setting with ± is a latent of its firing,
or of all firings where it carries a `shared` name.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from explorer import registry, run
from explorer.firings import Firing
from explorer.space import InputSpace, Uncertain
from explorer.study.engine import Evaluator, quantities_of, refuse_bad_samples, stage_of
from explorer.study.joint import Joint, Side, joint_of
from explorer.study.outcomes import NO_CONTACT, outcomes_of
from explorer.study.problem import Model
from explorer.studyfile import Study, StudyError, changed, read_inputs
from explorer.studyfile.values import value

Floats = NDArray[np.float64]

#: How many standard uncertainties of a setting a gas table has to reach.
_REACH: Final[float] = 6.0


class Computed(Protocol):
    """One study among those that firings need, or a callable."""

    @property
    def central(self) -> Mapping[str, float]:
        """Its numeric inputs at central values [SI]."""

    def values(self, drawn: Mapping[str, Floats]) -> dict[str, Floats]:
        """Its uncertain inputs [SI] by its own addresses from values in the joint space."""

    def points(self, values: Mapping[str, Floats]) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Quantities [SI] and where the point carries numbers."""


@dataclass(frozen=True)
class StudySide:
    """A study's stage."""

    side: Side
    stage: Evaluator

    @property
    def central(self) -> Mapping[str, float]:
        """Its numeric inputs at central values [SI]."""
        return self.side.study.central()

    def values(self, drawn: Mapping[str, Floats]) -> dict[str, Floats]:
        """Its uncertain inputs [SI] by its own addresses."""
        return self.side.values(drawn)

    def points(self, values: Mapping[str, Floats]) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Quantities [SI] and where the point carries numbers."""
        found = self.stage.points(values)
        return found.quantities, np.asarray(found.outcomes <= NO_CONTACT)


@dataclass(frozen=True)
class CallableSide:
    """A plain callable."""

    model: Model
    exact: Mapping[str, float]
    space: InputSpace
    quantities: tuple[str, ...]

    @property
    def central(self) -> Mapping[str, float]:
        """Its inputs at central values."""
        return {**self.exact, **self.space.central()}

    def values(self, drawn: Mapping[str, Floats]) -> dict[str, Floats]:
        """Its uncertain inputs."""
        return dict(drawn)

    def points(self, values: Mapping[str, Floats]) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Quantities and where the point carries numbers."""
        size = max((np.size(own) for own in values.values()), default=1)
        fixed = {name: np.full(size, own) for name, own in self.exact.items()}
        found = self.model({**fixed, **values})
        for quantity in self.quantities:
            if quantity not in found:
                guess = registry.nearest(quantity, [*found])
                hint = f': did you mean "{guess}"?' if guess else ""
                raise StudyError(f'"{quantity}" is not among what the callable gives{hint}')
        numbers = {q: np.broadcast_to(np.asarray(found[q], np.float64), size) for q in self.quantities}
        return numbers, np.asarray(outcomes_of(found, numbers, (size,)) <= NO_CONTACT)


@dataclass(frozen=True)
class UncertainSetting:
    """A setting that is not exactly known: from which latents its value comes."""

    item: Uncertain
    columns: tuple[int, ...]  #: of the firing's own latents, or of the common ones
    common: bool = False


@dataclass(frozen=True)
class Moment:
    """A step of a firing as it is computed."""

    firing: int
    name: str
    side: int
    exact: Mapping[str, float]  #: settings [SI]
    uncertain: Mapping[str, UncertainSetting]
    words: Mapping[str, str]  #: settings that are words
    quantities: tuple[str, ...]  #: what is asked of it

    @property
    def settings(self) -> dict[str, float]:
        """Its settings at central values [SI]."""
        return {**self.exact, **{address: own.item.centre for address, own in self.uncertain.items()}}


@dataclass(frozen=True)
class Stand:
    """Everything that computes firings."""

    study: Study | None
    space: InputSpace  #: joint: what is not known of the studies
    unknown: tuple[int, ...]  #: columns of the space that all firings share
    scatter: tuple[int, ...]  #: columns of the space that each firing has of its own
    shared: tuple[Uncertain, ...]  #: shared settings, whose latents follow the unknown columns
    own: int  #: latents of a firing
    sides: tuple[Computed, ...]  #: the study as it stands first
    moments: tuple[Moment, ...]
    joint: Joint | None = field(default=None, repr=False)

    @property
    def common(self) -> int:
        """Common latents that are inputs."""
        return len(self.unknown) + len(self.shared)

    def of_firing(self, firing: int) -> tuple[Moment, ...]:
        """The steps of a firing."""
        return tuple(moment for moment in self.moments if moment.firing == firing)

    def drawn(self, common: Floats, own: Floats) -> dict[str, Floats]:
        """Values in the joint space [SI] from common latents and one firing's own."""
        cube = np.full((len(common), self.space.dimension), 0.5)
        cube[:, list(self.unknown)] = probabilities(common[:, : len(self.unknown)])
        cube[:, list(self.scatter)] = probabilities(own[:, : len(self.scatter)])
        return self.space.values(cube) if self.space.inputs else {}

    def inputs(
        self, moment: Moment, common: Floats, own: Floats, drawn: Mapping[str, Floats]
    ) -> dict[str, Floats]:
        """Inputs of a step that differ from point to point or from the study [SI], by address."""
        found = self.sides[moment.side].values(drawn)
        found |= {address: np.full(len(common), setting) for address, setting in moment.exact.items()}
        for address, setting in moment.uncertain.items():
            latents = common if setting.common else own
            found[address] = setting.item.values(*(probabilities(latents[:, i]) for i in setting.columns))
        return found

    def computed(
        self, moments: Sequence[Moment], inputs: Sequence[dict[str, Floats]]
    ) -> list[dict[str, Floats]]:
        """Quantities of steps [SI], not a number where a point has none; steps of one study are one batch."""
        results: list[dict[str, Floats]] = [{} for _ in moments]
        for number, side in enumerate(self.sides):
            places = [i for i, moment in enumerate(moments) if moment.side == number]
            if not places:
                continue
            addresses = dict.fromkeys(address for i in places for address in inputs[i])
            sizes = [_size(inputs[i]) for i in places]
            central = side.central
            columns = {
                address: np.concatenate(
                    [
                        np.broadcast_to(inputs[i].get(address, central.get(address, np.nan)), size)
                        for i, size in zip(places, sizes, strict=True)
                    ]
                )
                for address in addresses
            }
            found, numbered = side.points(columns)
            edges = np.cumsum(sizes)[:-1]
            wanted = dict.fromkeys(q for i in places for q in moments[i].quantities)
            for quantity in wanted:
                whole = np.where(numbered, found[quantity], np.nan)
                for i, part in zip(places, np.split(whole, edges), strict=True):
                    results[i][quantity] = part
        return results


def _size(inputs: Mapping[str, Floats]) -> int:
    return max((np.size(own) for own in inputs.values()), default=1)


def probabilities(latents: Floats) -> Floats:
    """Standard normals as probabilities inside (0, 1)."""
    from scipy.special import ndtr

    return np.clip(ndtr(latents), 2.0**-53, 1.0 - 2.0**-53)


def stand_of(
    model: Study | Model,
    inputs: Mapping[str, object] | None,
    firings: Sequence[Firing],
    target: str,
    *,
    jobs: int,
    progress: run.Progress | None,
) -> Stand:
    """Where these firings are computed; the target is computed of the study as it stands."""
    if isinstance(model, Study):
        if inputs is not None:
            raise StudyError("a study has its own inputs: leave `inputs` out")
        return _of_study(model, firings, target, jobs=jobs, progress=progress)
    if inputs is None:
        raise StudyError("a callable needs `inputs`: a mapping of names to values")
    exact, space = read_inputs(inputs)
    resolver = _Resolver(space, _unknown(space), lambda address, written: _of_callable(address, written))
    moments = [
        moment for f, firing in enumerate(firings) for moment in resolver.moments(f, firing, lambda _: 0)
    ]
    asked = dict.fromkeys(q for moment in moments for q in moment.quantities)
    wanted = tuple(dict.fromkeys((*asked, *([target] if target else []))))
    given = {*exact, *(item.address for item in space.inputs)}
    unset = [name for moment in moments for name in moment.settings if name not in given]
    if target and unset:
        raise StudyError(
            f'the target needs a value of "{unset[0]}", which firings set: give one among the inputs'
        )
    side = CallableSide(model, exact, space, wanted)
    return _stand(None, space, resolver, (side,), moments)


def _of_callable(address: str, written: Any) -> float | Uncertain | str:
    exact, space = read_inputs({address: written})
    return space.inputs[0] if space.inputs else exact[address]


def _unknown(space: InputSpace) -> tuple[int, ...]:
    return tuple(i for i, row in enumerate(space.rows) if row.part != "scatter")


def _stand(
    study: Study | None,
    space: InputSpace,
    resolver: "_Resolver",
    sides: tuple[Computed, ...],
    moments: Sequence[Moment],
    joint: Joint | None = None,
) -> Stand:
    used = (
        {name for side in joint.sides for names in side.terms.values() for name in names} if joint else None
    )
    scatter = tuple(
        i
        for i, row in enumerate(space.rows)
        if row.part == "scatter" and (used is None or row.address in used)
    )
    shift = len(scatter)
    moved = [
        replace(
            moment,
            uncertain={
                address: own
                if own.common
                else replace(own, columns=tuple(shift + column for column in own.columns))
                for address, own in moment.uncertain.items()
            },
        )
        for moment in moments
    ]
    own = shift + max(resolver.own.values(), default=0)
    return Stand(
        study,
        space,
        _unknown(space),
        scatter,
        tuple(resolver.shared.values()),
        own,
        sides,
        tuple(moved),
        joint,
    )


class _Resolver:
    """Reads settings, and gives those that aren't exactly known their latents."""

    def __init__(self, space: InputSpace, unknown: tuple[int, ...], read: Any) -> None:
        self._space, self._unknown, self._read = space, unknown, read
        self.shared: dict[str, Uncertain] = {}
        self.own: dict[int, int] = {}

    def moments(self, number: int, firing: Firing, side: Any) -> list[Moment]:
        """The steps of a firing."""
        whole = {a: self._latent(number, self._read(a, written)) for a, written in firing.settings.items()}
        found = []
        steps = firing.steps or firing.moments
        compared = {
            name: tuple(d.quantity for d in firing.differences if name in (d.step, d.less))
            for name in (step.name for step in steps)
        }
        for step in steps:
            beside = step.settings if firing.steps else {}
            settings = whole | {a: self._latent(number, self._read(a, w)) for a, w in beside.items()}
            found.append(
                Moment(
                    number,
                    step.name,
                    side({**firing.settings, **beside}),
                    {a: own for a, own in settings.items() if isinstance(own, float)},
                    {a: own for a, own in settings.items() if isinstance(own, UncertainSetting)},
                    {a: own for a, own in settings.items() if isinstance(own, str)},
                    tuple(dict.fromkeys((*step.readings, *compared[step.name]))),
                )
            )
        return found

    def _latent(self, number: int, read: float | str | Uncertain) -> float | str | UncertainSetting:
        if not isinstance(read, Uncertain):
            return read
        if read.shared is not None:
            self.shared.setdefault(read.shared, read)
            if self.shared[read.shared].unknown != read.unknown:
                raise StudyError(
                    f'"{read.shared}" is stated differently in two firings: what is shared is one quantity, so state'
                    " it alike"
                )
            place = len(self._unknown) + [*self.shared].index(read.shared)
            fixed = replace(read, scatter=None)
            return UncertainSetting(fixed, (place,), common=True)
        first = self.own.get(number, 0)
        self.own[number] = first + len(read.parts)
        return UncertainSetting(read, tuple(range(first, first + len(read.parts))))


def _of_study(
    study: Study, firings: Sequence[Firing], target: str, *, jobs: int, progress: run.Progress | None
) -> Stand:
    variants = _Variants(study)
    for firing in firings:
        for moment in firing.moments:
            variants.place(moment.settings)
    joint = joint_of(variants.studies, [[]] * len(variants.studies), one_firing=True)
    resolver = _Resolver(joint.space, _unknown(joint.space), variants.read)
    moments = [m for f, firing in enumerate(firings) for m in resolver.moments(f, firing, variants.place)]
    sides = []
    for number, (side, variant) in enumerate(zip(joint.sides, variants.studies, strict=True)):
        mine = [moment for moment in moments if moment.side == number]
        asked = dict.fromkeys(q for moment in mine for q in moment.quantities)
        if number == 0:
            observed = dict.fromkeys(q for moment in moments for q in moment.quantities)
            known = registry.outputs_of(variant.pairs)
            asked |= {q: None for q in (target, *observed) if q in known}
        wanted = quantities_of(variant, [*asked])
        reach = _reach(mine)
        refuse_bad_samples(
            variant, {a: np.array(list(dict.fromkeys(own))) for a, own in _stated(mine).items()}
        )
        stage = stage_of(variant, wanted, samples=reach, jobs=jobs, progress=progress)
        sides.append(StudySide(side, stage))
    return _stand(study, joint.space, resolver, tuple(sides), moments, joint)


def _stated(moments: Sequence[Moment]) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for moment in moments:
        for address, setting in moment.settings.items():
            found.setdefault(address, []).append(setting)
    return found


def _reach(moments: Sequence[Moment]) -> dict[str, Floats]:
    """How far settings reach, those with ± several standard uncertainties [SI]."""
    found = _stated(moments)
    for moment in moments:
        for address, own in moment.uncertain.items():
            ends = own.item.centre + np.array([-1.0, 1.0]) * _REACH * own.item.standard_uncertainty
            found[address] += [float(end) for end in np.clip(ends, own.item.low, own.item.high)]
    return {address: np.array(own) for address, own in found.items()}


class _Variants:
    """The studies that firings need: the one that is learnt about first, then one for each set of words."""

    def __init__(self, study: Study) -> None:
        self.studies = [study]
        self._places: dict[tuple[object, ...], int] = {}

    def read(self, address: str, written: Any) -> float | str | Uncertain:
        """A setting's value [SI]."""
        if self._is_word(address):
            return str(written)
        try:
            quantity = registry.quantity(address)
        except registry.UnknownAddressError as error:
            raise StudyError(str(error), address) from error
        if quantity.kind == "output":
            raise StudyError(f'"{address}" is an output; only inputs can be set', address)
        plain = isinstance(written, int | float) and not isinstance(written, bool)
        text = f"{float(written)!r} {quantity.unit}" if plain and quantity.unit != "1" else written
        return value(address, text, quantity)

    def place(self, settings: Mapping[str, Any]) -> int:
        """Number of the study that these settings need."""
        base = self.studies[0]
        central = base.central()
        words = {a: str(own) for a, own in settings.items() if self._is_word(a)}
        words = {
            a: own for a, own in words.items() if own != (base.mode if a == "mode" else base.choices.get(a))
        }
        numbers = {a: self.read(a, own) for a, own in settings.items() if not self._is_word(a)}
        fixed = {a for a in numbers if a not in central or not registry.quantity(a).may_be_uncertain}
        if not words and not fixed:
            return 0
        if "mode" in words and words["mode"] in registry.SOURCE_OF_MODE:
            kind = registry.SOURCE_OF_MODE[words["mode"]]
            words |= {
                f"electrodes.{pair}.source.kind": words.get(f"electrodes.{pair}.source.kind", kind)
                for pair in base.pairs
            }
        key = (
            *sorted(words.items()),
            *sorted((a, settings[a]) for a in fixed if not registry.quantity(a).may_be_uncertain),
            *sorted(numbers),
        )
        if key not in self._places:
            exact = {
                a: _as_written(a, own.centre if isinstance(own, Uncertain) else float(own))
                for a, own in numbers.items()
            }
            self.studies.append(changed(base, {**words, **exact}))
            self._places[key] = len(self.studies) - 1
        return self._places[key]

    def _is_word(self, address: str) -> bool:
        if address in self.studies[0].choices or address == "mode":
            return True
        bare = address.split(".")
        general = (
            ".".join(("electrodes", "*", *bare[2:])) if bare[0] == "electrodes" and len(bare) > 2 else address
        )
        return any(choice.address in (address, general) for choice in registry.CHOICES)


def _as_written(address: str, number: float) -> object:
    unit = registry.quantity(address).unit
    return f"{number!r} {unit}" if unit != "1" else number
