"""Designs on the way between two callables, tried on the same points.

What the second end doesn't state anew is the same thing for all designs: its unknown part is drawn once, its scatter
anew at each firing. What it states anew goes by equal ratios (by equal steps where it is not above zero at both ends),
the ± as the nearer end has it, and is each design's own.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.questions.scale.path.path import SWITCH, between
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.space import Uncertain
from explorer.study.outcomes import outcomes_of, refuse_missing, refuse_numberless
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import Model
from explorer.studyfile import Instrument, StudyError, read_inputs
from explorer.studyfile.reading import moved_input

FloatArray = NDArray[np.float64]
Inputs = Mapping[str, object]


@dataclass(frozen=True)
class ModelDesign:
    """A design on the way between two callables."""

    name: str
    number: int  #: [-] among the designs, 0 for the first end
    place: float  #: [-] 0 at the first end, 1 at the second
    cost: float  #: [-] firings of the first end that one firing of it costs
    model: Model
    exact: Mapping[str, float]  #: Inputs that are exact
    items: tuple[Uncertain, ...]  #: Inputs that are not
    #: By input, the names under which its parts are drawn: what is fixed, then what scatters.
    rows: Mapping[str, tuple[str, ...]]

    def given(self, drawn: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        """Its inputs, from probabilities by the names of rows."""
        uncertain = {
            item.address: item.values(*[drawn[row] for row in self.rows[item.address]]) for item in self.items
        }
        return {**{name: np.asarray(value) for name, value in self.exact.items()}, **uncertain}

    def scatters(self) -> set[str]:
        """The names of rows that fall anew at each firing."""
        return {self.rows[item.address][-1] for item in self.items if item.scatter is not None}


@dataclass(frozen=True)
class ModelSample:
    """Such designs tried on the same points; see `path.sample.Sample`."""

    plan: sampling.Plan
    names: tuple[str, ...]
    found: tuple[Evaluated, ...]
    settled: Mapping[str, FloatArray]
    fired: Mapping[str, FloatArray]
    again: FloatArray  #: The last one's target with all drawn anew that it doesn't share with the first
    factors: Mapping[str, FloatArray]
    instruments: tuple[Instrument, ...]
    target: str

    @property
    def shared_factors(self) -> tuple[str, ...]:
        """All that is drawn once."""
        return tuple(self.factors)


def model_designs(
    models: tuple[Model, Model], inputs: Inputs | Sequence[Inputs], steps: int, cost: float
) -> tuple[ModelDesign, ...]:
    """Both ends and the steps between them."""
    if isinstance(inputs, Mapping) or len(inputs) != 2:
        raise StudyError("give two mappings of inputs: the first end's, and what differs of the second's")
    if steps < 1:
        raise StudyError(f"a path has one step or more between its ends; got {steps}")
    if not (math.isfinite(cost) and cost > 0.0):
        raise StudyError(f"the cost of a firing of the last design must be above zero; got {cost:g}")
    first, anew = inputs
    if not anew:
        raise StudyError("the second end states nothing anew: the path between them has no length")
    ends = [_centres(end) for end in (first, {**first, **anew})]
    found = []
    for number in range(steps + 2):
        place = number / (steps + 1)
        near = dict(first) if place < SWITCH else {**first, **anew}
        written = near if number in (0, steps + 1) else {**near, **_moved(near, ends, anew, place)}
        name = "first" if number == 0 else "last" if number == steps + 1 else f"step {number}"
        model = models[0] if place < SWITCH else models[1]
        found.append(_design(name, number, place, cost**place, model, written, set(anew)))
    return tuple(found)


def _centres(written: Inputs) -> dict[str, float]:
    exact, space = read_inputs(written)
    return {**exact, **space.central()}


def _moved(
    near: Inputs, ends: Sequence[Mapping[str, float]], anew: Inputs, place: float
) -> dict[str, object]:
    """What is stated anew, at a place on the way; what is moved is not the same thing any more."""
    moved = {}
    for name in anew:
        one, two = ends[0].get(name, ends[1][name]), ends[1][name]
        to = between(one, two, place=place, way="by ratios" if min(one, two) > 0.0 else "by steps")
        own = near.get(name, anew[name]) if one == two else moved_input(name, near.get(name, anew[name]), to)
        moved[name] = (
            {k: v for k, v in own.items() if k != "shared" or one == two} if isinstance(own, Mapping) else own
        )
    return moved


def _design(
    name: str, number: int, place: float, cost: float, model: Model, written: Inputs, anew: set[str]
) -> ModelDesign:
    exact, space = read_inputs(written)
    rows = {}
    for item in space.inputs:
        once = f"shared {item.shared}" if item.shared else item.address
        fixed = once if item.shared or item.address not in anew else f"{name}: {item.address}"
        parts = () if item.unknown is None else (fixed,)
        rows[item.address] = parts if item.scatter is None else (*parts, f"{name}: {item.address} (scatter)")
    return ModelDesign(name, number, place, cost, model, exact, space.inputs, rows)


def model_sample(
    designs: Sequence[ModelDesign],
    target: str,
    instruments: tuple[Instrument, ...],
    number: int,
    samples: int,
    purpose: Purpose,
    *,
    jobs: int,
    progress: run.Progress | None,
) -> ModelSample:
    """Designs on the same points: every row of theirs a coordinate, then what the last one draws anew."""
    rows = list(dict.fromkeys(row for own in designs for names in own.rows.values() for row in names))
    first, last = designs[0], designs[-1]
    once = {row for names in first.rows.values() for row in names}
    apart = [row for names in last.rows.values() for row in names if row not in once]
    if not rows:
        raise StudyError('nothing is uncertain: give at least one input as, say, "0.48 ± 0.02 T"')
    plan = sampling.sample_plan(number, len(rows) + len(apart), samples, purpose=purpose)
    reads = tuple(dict.fromkeys(own.reads for own in instruments))
    quantities = tuple(dict.fromkeys((target, *reads)))
    items = {
        own.rows[item.address][0]: item
        for own in (first, last)
        for item in own.items
        if item.unknown is not None
    }
    shared = [row for row in items if row in once and any(row in names for names in last.rows.values())]

    def numbers(own: ModelDesign, drawn: Mapping[str, FloatArray], size: int) -> list[NDArray[Any]]:
        found = own.model(own.given(drawn))
        refuse_missing(quantities, found)
        each = {q: np.broadcast_to(np.asarray(found[q], np.float64), size) for q in quantities}
        return [*each.values(), outcomes_of(found, each, (size,))]

    def evaluate(cube: FloatArray) -> tuple[FloatArray, NDArray[np.int8]]:
        size, drawn = cube.shape[0], dict(zip(rows, cube.T, strict=False))
        anew = dict(zip(apart, cube.T[len(rows) :], strict=True))
        middle = {row: np.full(size, 0.5) for row in first.scatters()}
        again = {row: values for row, values in anew.items() if row in last.scatters()}
        kept = [column for own in designs for column in numbers(own, drawn, size)]
        kept += numbers(first, {**drawn, **middle}, size)[:-1]
        kept += numbers(last, {**drawn, **again}, size)[:-1]
        kept += numbers(last, {**drawn, **anew}, size)[:1]
        kept += [_fixed(items[row], drawn[row]) for row in shared]
        return np.column_stack(kept), np.zeros(size, np.int8)

    width = len(quantities)
    memory = Memory.of(plan, len(designs) * (width + 1) + 2 * width + 1 + len(shared))
    carry_out(plan, evaluate, memory, jobs=jobs, progress=progress)
    blocks = iter([plan.arranged(column)[:, 0] for column in memory.values])
    found = []
    for own in designs:
        values = {q: next(blocks) for q in quantities}
        outcomes = next(blocks).astype(np.int8)
        refuse_numberless(outcomes, what=f"{own.name}: ", advice="narrow its ranges, or leave it out")
        found.append(Evaluated(values, outcomes, np.zeros(outcomes.shape, np.uint32)))
    settled, fired = ({q: next(blocks) for q in quantities} for _ in range(2))
    again = next(blocks)
    factors = {row: next(blocks) for row in shared}
    names = tuple(own.name for own in designs)
    return ModelSample(plan, names, tuple(found), settled, fired, again, factors, instruments, target)


def _fixed(item: Uncertain, probability: FloatArray) -> FloatArray:
    """What is fixed of an input [SI], from its probability."""
    return (
        item.values(probability)
        if item.scatter is None
        else np.asarray(item.distribution("unknown").quantile(probability))
    )
