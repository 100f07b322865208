"""The designs of a path tried on the same points, and what a ladder of firings is judged from.

What is shared is the same for all designs at every point, the rest each design's own. Two things stand beside: what
the first design would show with its scatter at its middle, as the mean of ever more firings does, and the last
design's target a second time with everything drawn anew that it doesn't share with the first.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.questions.scale.path.stages import PathStage, stages_of
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.study.contrasts import FEWEST, Mask
from explorer.study.drawn import Designs
from explorer.study.engine import Calculated
from explorer.study.joint import Joint, Side, joint_of
from explorer.study.plans import Memory, carry_out
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]

#: Share of a supply's current limit from which on it holds the current down [-].
_HELD_DOWN: Final[float] = 1.0 - 1e-4


@dataclass(frozen=True)
class Along(Designs):
    """The designs of a path, the first end first and the second last."""

    #: Where some supply of each design is at its current limit, shape (repeats, rows).
    held_down: tuple[Mask, ...]
    #: By output that an instrument reads, what the first design shows with its scatter at its middle [SI].
    settled: Mapping[str, FloatArray]
    #: The last design's target with all drawn anew that it doesn't share with the first [SI], shape
    #: (repeats, rows).
    again: FloatArray
    #: By name in the joint space, what is drawn once: shared inputs and the model's common factors [SI].
    factors: Mapping[str, FloatArray]


def tried_along(
    studies: Sequence[Study],
    quantities: Sequence[str],
    number: int,
    samples: int,
    *,
    reads: Sequence[str] = (),
    cover: Sequence[Study] = (),
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Along:
    """Try the designs of a path on the same points."""
    joint = joint_of(studies, [quantities] * len(studies))
    rows = sampling.rows_rounded_up(samples)
    if not joint.space.rows:
        raise StudyError('nothing is uncertain: give at least one input as, say, "0.48 ± 0.02 T"')
    if rows < FEWEST:
        raise StudyError(
            f"{samples} samples are too few for an interval: ask for {FEWEST * sampling.SCRAMBLES} or more"
        )
    stages = stages_of(studies, quantities, cover=cover, jobs=jobs, progress=progress)
    apart = _columns_apart(joint)
    plan = sampling.sample_plan(number, joint.space.dimension + len(apart), samples, purpose=Purpose.SCALING)
    factors = _factor_names(joint)
    per_design = len(quantities) + 3
    memory = Memory.of(plan, per_design * len(studies) + len(reads) + 1 + len(factors))
    trial = _Trial(joint, stages, quantities, reads, apart, factors)
    carry_out(plan, trial, memory, jobs=jobs, progress=progress)
    columns = iter(range(memory.values.shape[0]))

    def block() -> FloatArray:
        return np.asarray(plan.arranged(memory.column(next(columns)))[:, 0])

    found, held = [], []
    for _ in studies:
        values = {quantity: block() for quantity in quantities}
        found.append(Evaluated(values, block().astype(np.int8), block().astype(np.uint32)))
        held.append(block() > 0)
    settled = {read: block() for read in reads}
    again = block()
    return Along(joint, plan, tuple(found), tuple(held), settled, again, {name: block() for name in factors})


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


@dataclass(frozen=True)
class _Trial:
    """Every design at points of the cube, and what stands beside them, as columns."""

    joint: Joint
    stages: Sequence[PathStage | Calculated]
    quantities: Sequence[str]
    reads: Sequence[str]
    apart: Sequence[int]
    factors: Sequence[str]

    def __call__(self, cube: FloatArray) -> tuple[FloatArray, NDArray[np.int8]]:
        inside = cube[:, : self.joint.space.dimension]
        values = self.joint.space.values(inside)
        columns: list[NDArray[Any]] = []
        worst = np.zeros(cube.shape[0], dtype=np.int8)
        for place, side in enumerate(self.joint.sides):
            found, own = self._found(place, values)
            columns += [self._off(place, found, quantity, values) for quantity in self.quantities]
            columns += [found.outcomes, found.warnings, _held_down(side.study, found, own)]
            worst = np.maximum(worst, found.outcomes)
        columns += [*self._settled(inside), self._again(inside, cube[:, self.joint.space.dimension :])]
        columns += [values[name] for name in self.factors]
        return np.column_stack([np.broadcast_to(x, cube.shape[0]) for x in columns]), worst

    def _found(
        self, place: int, values: Mapping[str, FloatArray]
    ) -> tuple[run.Evaluated, dict[str, FloatArray]]:
        """A design's points and the values behind them; one point where nothing is uncertain."""
        side = self.joint.sides[place]
        own = side.values(values) or {a: np.array([v]) for a, v in side.study.central().items()}
        return self.stages[place].chunk(own), own

    def _off(
        self, place: int, found: run.Evaluated, quantity: str, values: Mapping[str, FloatArray]
    ) -> FloatArray:
        """A quantity with what the model may be off by."""
        return found.quantities[quantity] * self.joint.model_factor(self.joint.sides[place], quantity, values)

    def _settled(self, inside: FloatArray) -> list[FloatArray]:
        """What the first design's instruments would show with its scatter at its middle."""
        own = _names_of(self.joint.sides[0])
        middle = inside.copy()
        rows = enumerate(self.joint.space.rows)
        middle[:, [i for i, row in rows if row.part == "scatter" and row.address in own]] = 0.5
        values = self.joint.space.values(middle)
        found, _ = self._found(0, values)
        return [self._off(0, found, read, values) for read in self.reads]

    def _again(self, inside: FloatArray, drawn: FloatArray) -> FloatArray:
        """The last design's target with new values for what is not shared with the first."""
        anew = inside.copy()
        anew[:, self.apart] = drawn
        values = self.joint.space.values(anew)
        last = len(self.stages) - 1
        found, _ = self._found(last, values)
        return self._off(last, found, self.joint.sides[last].study.target.quantity, values)


def _names_of(side: Side) -> set[str]:
    """Names in the joint space of what makes up a design's inputs."""
    return {name for names in side.terms.values() for name in names}


def _held_down(study: Study, found: run.Evaluated, own: Mapping[str, FloatArray]) -> FloatArray:
    """Where a supply is at its current limit, 1 or 0."""
    held = np.zeros(1)
    for pair in study.pairs:
        address = f"electrodes.{pair}.source.current_limit"
        limit = own.get(address, study.exact.get(address, np.inf))
        with np.errstate(invalid="ignore"):
            at_it = found.quantities[f"electrodes.{pair}.current"] >= _HELD_DOWN * np.asarray(limit)
        held = np.maximum(held, at_it)
    return held
