"""Callables beside each other: what each gives, and which of their differences are real.

The first one's inputs are stated whole, the others' only where they differ: what they don't state anew is the same
thing and drawn once, scatter too, as in one firing. For another rig only what carries a `shared` name is.
"""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import run, sampling
from explorer.sampling import Plan, Purpose
from explorer.space import InputSpace, SharedError, Uncertain
from explorer.study.contrasts import Difference, Figures, by_design, difference_of, figures_of, figures_row
from explorer.study.outcomes import NO_CONTACT, outcomes_of, refuse_missing, refuse_numberless
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import Model
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import StudyError, read_inputs

FloatArray = NDArray[np.float64]
Inputs = Mapping[str, object]
Rig = Literal["same", "another"]


@dataclass(frozen=True, repr=False)
class ModelComparison(Shown):
    """Callables beside each other, the first being the one that the others are held against.

    Attributes
    ----------
    figures : Mapping
        By callable's name and quantity.
    less_first : Mapping
        The same of each other one less the first.
    samples : int
        Points in all.
    scrambles : int
        Independent repeats.
    random_number : int
    """

    figures: Mapping[str, Mapping[str, Figures]]
    less_first: Mapping[str, Mapping[str, Difference]]
    samples: int
    scrambles: int
    random_number: int

    @property
    def names(self) -> tuple[str, ...]:
        """What the callables are called."""
        return tuple(self.figures)

    @property
    def quantities(self) -> pd.DataFrame:
        """Every quantity of every callable."""
        return by_design(self.figures, figures_row, "quantity")

    @property
    def differences(self) -> pd.DataFrame:
        """Indexed by quantity, of each callable less the first one: figures with errors, which is larger."""
        return by_design(self.less_first, figures_row, "quantity")

    def _summary(self) -> Summary:
        first, *_ = self.names
        return Summary(
            f"Comparison of {self.samples} points: mean ± standard uncertainty, and whether it is more or less"
            f" than of {first}",
            ("", *self.names),
            tuple((row, *(self._cell(name, row) for name in self.names)) for row in self.figures[first]),
        )

    def _cell(self, name: str, row: str) -> str:
        own, scale = self.figures[name][row], scale_of(row)
        if not own.is_told:
            return "none"
        text = f"{scale.text(float(own.mean), 3)} ± {scale.difference(float(own.standard_uncertainty), 2)}"
        return f"{text}, {self.less_first[name][row].verdict}" if name in self.less_first else text


def compare_models(
    models: Sequence[Model],
    inputs: Inputs | Sequence[Inputs],
    quantities: Sequence[str],
    number: int,
    samples: int,
    *,
    rig: Rig,
    jobs: int,
    progress: run.Progress | None,
) -> ModelComparison:
    """Hold callables against the first of them."""
    if rig not in ("same", "another"):
        raise StudyError(f'rig must be "same" or "another"; got {rig}')
    names = _names(models)
    fixed, terms, space = _joint(names, _stated(inputs, len(models)), rig)
    central = space.central()
    given = [
        [name for name in model(_values(own, term, central)) if name != "status"]
        for model, own, term in zip(models, fixed, terms, strict=True)
    ]
    rows = tuple(quantities) or tuple(name for name in given[0] if all(name in own for own in given))
    for own in given:
        refuse_missing(rows, own)
    if not rows:
        raise StudyError("these callables give nothing by the same name, so that nothing can be compared")
    plan = sampling.sample_plan(number, space.dimension, samples, purpose=Purpose.COMPARISON)
    width = len(rows)

    def evaluate(cube: FloatArray) -> tuple[FloatArray, NDArray[np.int8]]:
        drawn, points = space.values(cube), cube.shape[:1]
        columns: list[NDArray[Any]] = []
        for model, own, term in zip(models, fixed, terms, strict=True):
            found = model(_values(own, term, drawn))
            numbers = {q: np.broadcast_to(np.asarray(found[q], dtype=np.float64), points) for q in rows}
            columns += [*numbers.values(), outcomes_of(found, numbers, points)]
        return np.column_stack(columns), columns[-1]

    memory = Memory.of(plan, len(models) * (width + 1))
    carry_out(plan, evaluate, memory, jobs=jobs, progress=progress)
    return _told(names, rows, plan, memory, number)


def _told(
    names: Sequence[str], rows: Sequence[str], plan: Plan, memory: Memory, number: int
) -> ModelComparison:
    blocks = iter([plan.arranged(column)[:, 0] for column in memory.values])
    marked = {}
    for name in names:
        values = {row: next(blocks) for row in rows}
        outcomes = next(blocks).astype(np.int8)
        refuse_numberless(outcomes, what=f"{name}: ", advice="narrow its ranges, or leave it out")
        whole = outcomes <= NO_CONTACT
        marked[name] = {row: (own, whole & np.isfinite(own)) for row, own in values.items()}
    first = marked[names[0]]
    return ModelComparison(
        figures={name: {row: figures_of(own[row]) for row in rows} for name, own in marked.items()},
        less_first={
            name: {row: difference_of(own[row], first[row]) for row in rows}
            for name, own in marked.items()
            if name != names[0]
        },
        samples=plan.size,
        scrambles=plan.scrambles,
        random_number=number,
    )


def _names(models: Sequence[Model]) -> tuple[str, ...]:
    """What callables are called: by their own names, or by their places where any agree."""
    names = [getattr(model, "__name__", "") for model in models]
    if len(set(names)) == len(names) and all(name.isidentifier() for name in names):
        return tuple(names)
    return tuple(f"model {place}" for place in range(1, len(models) + 1))


def _stated(inputs: Inputs | Sequence[Inputs], models: int) -> list[Inputs]:
    """What each callable states of its inputs: the first one all, the others what differs."""
    if isinstance(inputs, Mapping):
        return [inputs, *[{}] * (models - 1)]
    stated = list(inputs)
    if len(stated) != models:
        raise StudyError(
            f"{len(stated)} mappings of inputs for {models} callables: give one for all, or one for each (behind the"
            " first only what differs)"
        )
    return stated


def _joint(
    names: Sequence[str], stated: Sequence[Inputs], rig: Rig
) -> tuple[list[dict[str, float]], list[dict[str, str]], InputSpace]:
    """Of each callable what is exact, and under which name what is uncertain stands in one space; the space."""
    fixed, terms, every = [], [], dict[str, Uncertain]()
    for place, (name, own) in enumerate(zip(names, stated, strict=True)):
        exact, space = read_inputs({**stated[0], **own})
        apart = set(space.central()) if rig == "another" else set(own)
        term = {}
        for item in space.inputs:
            address = f"{name}: {item.address}" if place and item.address in apart else item.address
            term[item.address] = address
            every[address] = replace(item, address=address)
        fixed.append(exact)
        terms.append(term)
    if not every:
        raise StudyError('nothing is uncertain: give at least one input as, say, "0.48 ± 0.02 T"')
    try:
        return fixed, terms, InputSpace(tuple(every.values()))
    except SharedError as error:
        raise StudyError(str(error)) from error


def _values(
    exact: Mapping[str, float], term: Mapping[str, str], drawn: Mapping[str, FloatArray | float]
) -> dict[str, FloatArray]:
    fixed = {name: np.asarray(value) for name, value in exact.items()}
    return fixed | {name: np.atleast_1d(drawn[address]) for name, address in term.items()}
