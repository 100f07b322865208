"""Designs of a plain callable with its inputs: the same search on functions with known answers."""

from collections.abc import Mapping, Sequence

import numpy as np

from explorer.questions.optimize.search.candidates import Candidates, Scenarios, Setting
from explorer.run import Evaluated
from explorer.space import Rectangular
from explorer.study.outcomes import outcomes_of, refuse_missing
from explorer.study.problem import Model
from explorer.studyfile import StudyError, Varied, read_inputs


def varied_of(vary: Mapping[str, object]) -> tuple[Varied, ...]:
    """What is varied of a callable: ranges and lists by name."""
    return tuple(
        _listed(name, written) if isinstance(written, list | tuple) else _range(name, written)
        for name, written in vary.items()
    )


def _range(name: str, written: object) -> Varied:
    _, space = read_inputs({name: written})
    unknown = space.inputs[0].unknown if space.inputs else None
    if not isinstance(unknown, Rectangular):
        raise StudyError(f'{name}: expected a range such as "8 .. 20 mm", or a list, got {written}')
    return Varied(name, unknown.low, unknown.high)


def _listed(name: str, written: Sequence[object]) -> Varied:
    """A list: numbers [SI] where all can be read as such, otherwise words."""
    if not written:
        raise StudyError(f"{name}: the list of what is in stock is empty")
    numbers: list[float] = []
    for entry in written:
        try:
            exact, _ = read_inputs({name: entry})
        except StudyError:
            return Varied(name, stock=tuple(written), values=tuple(map(str, written)))
        if name not in exact:
            raise StudyError(f"{name}: what is in stock is exact, got {entry}")
        numbers.append(exact[name])
    return Varied(name, stock=tuple(written), values=tuple(numbers))


def callable_designs(
    model: Model, inputs: Mapping[str, object], varied: Sequence[Varied], quantities: Sequence[str]
) -> Candidates:
    """The designs of a callable."""
    exact, space = read_inputs(inputs)
    for item in varied:
        if item.address in {**exact, **space.central()}:
            raise StudyError(f"{item.address} is varied: leave it out of `inputs`")

    def evaluated(settings: Sequence[Setting], scenarios: Scenarios) -> Evaluated:
        if scenarios.cube is None:
            values = {address: np.array([centre]) for address, centre in space.central().items()}
        else:
            values = space.values(scenarios.cube)
        flat = {name: np.tile(column, len(settings)) for name, column in values.items()}
        for item in varied:
            flat[item.address] = np.repeat(np.array([s[item.address] for s in settings]), scenarios.points)
        given = model({**{name: np.asarray(value) for name, value in exact.items()}, **flat})
        refuse_missing(quantities, given)
        shape = len(settings), scenarios.points
        points = (shape[0] * shape[1],)
        numbers = {q: np.broadcast_to(np.asarray(given[q], dtype=np.float64), points) for q in quantities}
        return Evaluated(
            {q: column.reshape(shape) for q, column in numbers.items()},
            outcomes_of(given, numbers, points).reshape(shape),
            np.zeros(shape, np.uint32),
        )

    return Candidates(None, tuple(varied), space.dimension, evaluated)
