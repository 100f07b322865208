"""Where firings are computed: the study with the settings of each, or a callable, in one space of what is not known.

Words among a firing's settings (another mode, another load) make another study of the same hardware; numbers are put in
point by point, so that firings that differ in numbers alone are one batch. A setting with ± is a latent of its firing,
or of all firings where it carries a `shared` name.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from explorer import registry, run
from explorer.firings import Firing
from explorer.questions.calibrate.learning.settings import (
    Moment,
    Resolver,
    Variants,
    unknown_columns,
)
from explorer.questions.calibrate.learning.sides import CallableSide, Computed, StudySide
from explorer.space import InputSpace, Uncertain
from explorer.study.engine import quantities_of, refuse_bad_samples, stage_of
from explorer.study.joint import Joint, joint_of
from explorer.study.problem import Model
from explorer.studyfile import Study, StudyError, read_inputs

Floats = NDArray[np.float64]

#: How many standard uncertainties of a setting a gas table has to reach.
_REACH: Final[float] = 6.0

#: How far latents are tabulated [standard uncertainties].
_FARTHEST: Final[float] = 6.0


def probabilities(latents: Floats) -> Floats:
    """Standard normals as probabilities inside (0, 1)."""
    return np.clip(ndtr(latents), 2.0**-53, 1.0 - 2.0**-53)


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

    def coordinates(self) -> Callable[[Floats], Floats]:
        """Values of what all firings have in common, from common latents, by a table and without their dependence."""
        latents = np.linspace(-_FARTHEST, _FARTHEST, 1201)
        own = [
            next(i for i in self.space.inputs if i.address == self.space.rows[n].address)
            for n in self.unknown
        ]
        every = [*own, *self.shared]
        tables = [item.distribution("unknown").quantile(probabilities(latents)) for item in every]

        def found(common: Floats) -> Floats:
            columns = [np.interp(common[:, i], latents, table) for i, table in enumerate(tables)]
            return np.column_stack(columns) if columns else np.zeros((len(common), 0))

        return found

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
    resolver = Resolver(
        space, unknown_columns(space), lambda address, written: _of_callable(address, written)
    )
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


def _stand(
    study: Study | None,
    space: InputSpace,
    resolver: Resolver,
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
        unknown_columns(space),
        scatter,
        tuple(resolver.shared.values()),
        own,
        sides,
        tuple(moved),
        joint,
    )


def _of_study(
    study: Study, firings: Sequence[Firing], target: str, *, jobs: int, progress: run.Progress | None
) -> Stand:
    variants = Variants(study)
    for firing in firings:
        for moment in firing.moments:
            variants.place(moment.settings)
    joint = joint_of(variants.studies, [[]] * len(variants.studies), one_firing=True)
    resolver = Resolver(joint.space, unknown_columns(joint.space), variants.read)
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
