"""The designs of a path tried on the same points, and what a ladder of firings is judged from.

What is shared is the same for all designs at every point, the rest each design's own. Three things stand beside: what
the first design would show with its scatter at its middle, as the mean of ever more firings does; what the last design
itself would show in a firing where it is read, its scatter fallen anew; and its target a second time with everything
drawn anew that it doesn't share with the first.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.questions.scale.path.stages import stages_of
from explorer.questions.scale.path.surroundings import AROUND
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.study.contrasts import Mask, share_of
from explorer.study.drawn import Drawn, central, chunk, tried
from explorer.study.engine import Evaluator
from explorer.study.joint import Joint, Side, joint_of
from explorer.study.outcomes import FEWEST
from explorer.studyfile import Instrument, Study, StudyError

FloatArray = NDArray[np.float64]

#: Share of a supply's current limit from which on it holds the current down [-].
_HELD_DOWN: Final[float] = 1.0 - 1e-4


@dataclass(frozen=True)
class Sample(Drawn):
    """The designs of a path, the first end first and the second last."""

    #: Where some supply of each design is at its current limit, shape (repeats, rows).
    held_down: tuple[Mask, ...]
    #: By output that an instrument reads, what the first design shows with its scatter at its middle [SI].
    settled: Mapping[str, FloatArray]
    #: By output that an instrument reads or bears, what the last design shows in another firing, where it is fired to
    #: be read [SI].
    fired: Mapping[str, FloatArray]
    fired_warnings: NDArray[np.uint32]  #: What such a firing is warned of
    #: The last design's target with all drawn anew that it doesn't share with the first [SI], shape
    #: (repeats, rows).
    again: FloatArray
    #: By name in the joint space, what is drawn once: shared inputs and the model's common factors [SI].
    factors: Mapping[str, FloatArray]

    @property
    def instruments(self) -> tuple[Instrument, ...]:
        """The first design's."""
        return self.joint.sides[0].study.instruments

    @property
    def target(self) -> str:
        """The last design's."""
        return self.joint.sides[-1].study.target.quantity

    @property
    def shared_factors(self) -> tuple[str, ...]:
        """Names of what both ends have in common: shared inputs, the model's error of the target."""
        first, last = self.joint.sides[0], self.joint.sides[-1]
        model = set(self.joint.model.get((first.name, self.target), ())) & set(
            self.joint.model.get((last.name, self.target), ())
        )
        return tuple(name for name in self.factors if name in model | _names_of(first))

    def warnings_fired(self) -> dict[str, Estimate]:
        """By its code, the share of a warning among firings of the last design where it is fired to be read [-]."""
        marks = {w.code: (self.fired_warnings & np.uint32(w.bit)) != 0 for w in registry.WARNINGS}
        return {code: share_of(mark, np.ones_like(mark)) for code, mark in marks.items() if mark.any()}


def sample_along(
    studies: Sequence[Study],
    quantities: Sequence[str],
    number: int,
    samples: int,
    *,
    fired: Study,
    purpose: Purpose = Purpose.SCALING,
    reads: Sequence[str] = (),
    carried: Sequence[str] = (),
    cover: Sequence[Study] = (),
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Sample:
    """Try the designs of a path on the same points; `fired` is the last one where it is fired to be read."""
    joint = joint_of(studies, [quantities] * len(studies))
    if not joint.space.rows:
        raise StudyError('nothing is uncertain: give at least one input as, say, "0.48 ± 0.02 T"')
    if sampling.rows_rounded_up(samples) < FEWEST:
        raise StudyError(
            f"{samples} samples are too few for an interval: ask for {FEWEST * sampling.SCRAMBLES} or more"
        )
    *stages, there = stages_of([*studies, fired], quantities, cover=cover, jobs=jobs, progress=progress)
    apart, factors = _columns_apart(joint), _factor_names(joint)
    plan = sampling.sample_plan(number, joint.space.dimension + len(apart), samples, purpose=purpose)
    shown = tuple(dict.fromkeys((*reads, *carried)))
    beside = _Beside(joint, stages, there, reads, shown, apart, factors)
    width = len(studies) + len(reads) + len(shown) + 2 + len(factors)
    each = [quantities] * len(studies)
    found, calculated, columns = tried(joint, plan, stages, each, beside, width, jobs=jobs, progress=progress)
    blocks = iter(columns)
    return Sample(
        joint,
        plan,
        found,
        calculated,
        held_down=tuple(next(blocks) > 0 for _ in studies),
        settled={read: next(blocks) for read in reads},
        fired={quantity: next(blocks) for quantity in shown},
        fired_warnings=next(blocks).astype(np.uint32),
        again=next(blocks),
        factors={name: next(blocks) for name in factors},
    )


def _columns_apart(joint: Joint) -> list[int]:
    """Columns of the cube on which the last design's target hangs and the first design doesn't."""
    first, last = joint.sides[0], joint.sides[-1]
    target = last.study.target.quantity
    once = _names_of(first) | set(joint.model.get((first.name, target), ()))
    hangs = _names_of(last) | set(joint.model.get((last.name, target), ()))
    return [i for i, row in enumerate(joint.space.rows) if row.address in hangs - once]


def _factor_names(joint: Joint) -> list[str]:
    """What is drawn once for both ends: shared inputs, then what the model may be off by in both."""
    once = _names_of(joint.sides[0]) & _names_of(joint.sides[-1])
    common = set(joint.common_errors)
    return [item.address for item in joint.space.inputs if item.address in once or item.address in common]


def _names_of(side: Side) -> set[str]:
    """Names in the joint space of what makes up a design's inputs."""
    return {name for names in side.terms.values() for name in names}


@dataclass(frozen=True)
class _Beside:
    """What stands beside the designs at points of the cube, as columns."""

    joint: Joint
    stages: Sequence[Evaluator]
    there: Evaluator  #: The last design where it is fired to be read
    reads: Sequence[str]
    shown: Sequence[str]
    apart: Sequence[int]
    factors: Sequence[str]

    def __call__(
        self, cube: FloatArray, values: Mapping[str, FloatArray], found: Sequence[Evaluated]
    ) -> list[NDArray[Any]]:
        inside, drawn = np.hsplit(cube, [self.joint.space.dimension])
        held = [
            _held_down(side.study, own, side.values(values))
            for side, own in zip(self.joint.sides, found, strict=True)
        ]
        shared = [values[name] for name in self.factors]
        fired = self._fired(inside, drawn)
        return [*held, *self._settled(inside), *fired, self._again(inside, drawn), *shared]

    def _settled(self, inside: FloatArray) -> list[FloatArray]:
        """What the first design's instruments would show with its scatter at its middle."""
        own = _names_of(self.joint.sides[0])
        middle = inside.copy()
        rows = enumerate(self.joint.space.rows)
        middle[:, [i for i, row in rows if row.part == "scatter" and row.address in own]] = 0.5
        return self._off(0, self.joint.space.values(middle), self.reads)

    def _fired(self, inside: FloatArray, drawn: FloatArray) -> list[NDArray[Any]]:
        """What the last design's instruments would show in another firing where it is read, and warnings."""
        anew = inside.copy()
        for column, values in zip(self.apart, drawn.T, strict=True):
            if self.joint.space.rows[column].part == "scatter":
                anew[:, column] = values
        joint = self.joint.space.values(anew)
        first, last = (self.joint.sides[place].values(joint) for place in (0, -1))
        own = {**last, **{address: value for address, value in first.items() if address in AROUND}}
        uncertain = self.there.study.space.central()
        inputs = {address: value for address, value in own.items() if address in uncertain}
        found = self.there.chunk(inputs or central(self.there.study))
        return [*self._with_model_error(-1, found, self.shown, joint), found.warnings]

    def _again(self, inside: FloatArray, drawn: FloatArray) -> FloatArray:
        """The last design's target with new values for what is not shared with the first."""
        anew = inside.copy()
        anew[:, self.apart] = drawn
        target = self.joint.sides[-1].study.target.quantity
        return self._off(-1, self.joint.space.values(anew), [target])[0]

    def _off(
        self, place: int, joint: Mapping[str, FloatArray], quantities: Sequence[str]
    ) -> list[FloatArray]:
        """Quantities of a design elsewhere in the cube."""
        found = chunk(self.joint.sides[place], self.stages[place], joint)
        return self._with_model_error(place, found, quantities, joint)

    def _with_model_error(
        self, place: int, found: Evaluated, quantities: Sequence[str], joint: Mapping[str, FloatArray]
    ) -> list[FloatArray]:
        """Quantities of a design with what the model may be off by."""
        side = self.joint.sides[place]
        return [self.joint.off(side, name, found.quantities, joint) for name in quantities]


def _held_down(study: Study, found: Evaluated, own: Mapping[str, FloatArray]) -> FloatArray:
    """Where a supply is at its current limit, 1 or 0."""
    held = np.zeros(1)
    for pair in study.pairs:
        address = f"electrodes.{pair}.source.current_limit"
        limit = own.get(address, study.exact.get(address, np.inf))
        with np.errstate(invalid="ignore"):
            at_it = found.quantities[f"electrodes.{pair}.current"] >= _HELD_DOWN * np.asarray(limit)
        held = np.maximum(held, at_it)
    return held
