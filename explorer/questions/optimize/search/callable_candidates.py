"""Designs of a plain callable with its inputs: the same search on functions with known answers."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.design_space import DesignSpace
from explorer.questions.optimize.search.candidates import (
    Candidates,
    Scenarios,
    entries_of,
    setting_of,
    variables_of,
)
from explorer.run import Evaluated
from explorer.space import Rectangular
from explorer.study.problem import Model, outcomes_of, refuse_missing
from explorer.studyfile import StudyError, Varied, read_inputs

FloatArray = NDArray[np.float64]


def varied_of(vary: Mapping[str, object]) -> tuple[Varied, ...]:
    """What is varied of a callable: ranges and lists by name."""
    found = []
    for name, written in vary.items():
        if isinstance(written, list | tuple):
            if not written:
                raise StudyError(f"{name}: the list of what is in stock is empty")
            found.append(Varied(name, stock=tuple(written), values=_stock(name, written)))
            continue
        _, space = read_inputs({name: written})
        unknown = space.inputs[0].unknown if space.inputs else None
        if not isinstance(unknown, Rectangular):
            raise StudyError(f'{name}: expected a range such as "8 .. 20 mm", or a list, got {written}')
        found.append(Varied(name, unknown.low, unknown.high))
    return tuple(found)


def candidates_of_callable(
    model: Model, inputs: Mapping[str, object], varied: Sequence[Varied], quantities: Sequence[str]
) -> Candidates:
    """The designs of a callable."""
    exact, space = read_inputs(inputs)
    both = [item.address for item in varied if item.address in {**exact, **space.central()}]
    if both:
        raise StudyError(f"{both[0]} is varied: leave it out of `inputs`")
    entries = tuple(entries_of(item) for item in varied)

    def evaluate(designs: FloatArray, scenarios: Scenarios) -> Evaluated:
        values = (
            {address: np.array([centre]) for address, centre in space.central().items()}
            if scenarios.cube is None
            else space.values(scenarios.cube)
        )
        shape = (len(designs), scenarios.points)
        flat = {name: np.tile(column, shape[0]) for name, column in values.items()}
        settings = [setting_of(varied, entries, design) for design in designs]
        for item in varied:
            flat[item.address] = np.repeat(np.array([s[item.address] for s in settings]), shape[1])
        given = model({**{name: np.asarray(value) for name, value in exact.items()}, **flat})
        refuse_missing(quantities, given)
        points = (shape[0] * shape[1],)
        numbers = {q: np.broadcast_to(np.asarray(given[q], dtype=np.float64), points) for q in quantities}
        outcomes = outcomes_of(given, numbers, points).reshape(shape)
        reshaped = {q: values.reshape(shape) for q, values in numbers.items()}
        return Evaluated(reshaped, outcomes, np.zeros(shape, np.uint32))

    return Candidates(
        varied=tuple(varied),
        space=DesignSpace(variables_of(varied, entries)),
        entries=entries,
        dimension=space.dimension,
        units={item.address: "" for item in varied},
        evaluate=evaluate,
        study_at=lambda setting: None,
    )


def _stock(name: str, written: Sequence[object]) -> tuple[float | str, ...]:
    """A list's entries: numbers [SI] where all can be read as such, otherwise words."""
    numbers: list[float] = []
    for entry in written:
        try:
            exact, _ = read_inputs({name: entry})
        except StudyError:
            return tuple(str(word) for word in written)
        if name not in exact:
            raise StudyError(f"{name}: what is in stock is exact, got {entry}")
        numbers.append(exact[name])
    return tuple(numbers)
