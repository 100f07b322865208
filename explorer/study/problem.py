"""What is sampled: rows of a unit cube in, quantities out; a study's stage or any callable with its inputs.

The rows are the uncertain parts of the inputs, then for each quantity the model's own error, if one is stated.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from explorer import registry, run
from explorer.space import Correlation, InputSpace, Row, Uncertain
from explorer.study.engine import Evaluator, quantities_of, stage_of, with_settings
from explorer.study.model_error import MODEL_ITSELF, model_error, off_found, variance_of, with_parts
from explorer.study.outcomes import outcomes_of, refuse_missing
from explorer.studyfile import Study, StudyError, read_inputs

FloatArray = NDArray[np.float64]

#: The contract's model: arrays by name in, arrays by name out, NaN where there is no number.
Model = Callable[[Mapping[str, FloatArray]], Mapping[str, FloatArray]]

#: Values [SI] by address in; quantities and outcomes out.
Evaluate = Callable[[Mapping[str, FloatArray]], tuple[Mapping[str, FloatArray], NDArray[np.int8]]]


@dataclass(frozen=True)
class Problem:
    """Something to sample."""

    study: Study | None  #: None for a plain callable
    space: InputSpace  #: The uncertain inputs, and the model's own error of each quantity that has one
    quantities: tuple[str, ...]  #: What is computed
    evaluate: Evaluate  #: Values [SI] by address in; quantities and outcomes out
    #: Settings [SI] by address and quantities in; the problem at those settings out. An uncertain input
    #: that is set loses its uncertainty; the rows of the cube stay the same, so that a reading there can
    #: be simulated from the same sample.
    elsewhere: Callable[[Mapping[str, float], Sequence[str]], Evaluate]
    aliases: Mapping[str, str] = field(
        default_factory=dict
    )  #: names in the space of a measured study's own inputs

    @property
    def rows(self) -> tuple[Row, ...]:
        """Its rows, in the order of the cube's columns."""
        return self.space.rows

    @property
    def dimension(self) -> int:
        """How many rows there are."""
        return self.space.dimension

    @property
    def scatter_columns(self) -> tuple[int, ...]:
        """Columns of the rows that fall anew at each firing."""
        return tuple(i for i, row in enumerate(self.rows) if row.part == "scatter")

    @property
    def unknown_columns(self) -> tuple[int, ...]:
        """Columns of the rows that are fixed but not known, the model's own error among them."""
        return tuple(i for i, row in enumerate(self.rows) if row.part != "scatter")

    def dependent(self, cube: FloatArray) -> FloatArray:
        """The cube with the inputs' dependence put in: what knowing a row means (ranks are all that matters)."""
        return np.column_stack(self.space.dependent(cube)) if self.space.correlated else cube

    def off(
        self, quantity: str, found: Mapping[str, FloatArray], drawn: Mapping[str, FloatArray]
    ) -> FloatArray:
        """A quantity among what was found, with what the model itself may be off by [SI]."""
        if self.study is None or quantity not in drawn:
            return found[quantity]
        return off_found(self.study, quantity, found, drawn[quantity], drawn)

    def unit(self, quantity: str) -> str:
        """SI unit of a quantity; empty for a callable's own."""
        try:
            return registry.quantity(quantity).unit
        except registry.UnknownAddressError:
            return ""

    def __call__(self, cube: FloatArray) -> tuple[FloatArray, NDArray[np.int8]]:
        """Quantities and outcomes at points of the unit cube. [SI]"""
        drawn = self.space.values(cube)
        found, outcomes = self.evaluate(drawn)
        values = np.empty((cube.shape[0], len(self.quantities)))
        for k, quantity in enumerate(self.quantities):
            values[:, k] = self.off(quantity, found, drawn)
        return values, outcomes


def problem_of(
    model: Study | Model,
    inputs: Mapping[str, object] | None,
    quantities: Sequence[str] | None,
    *,
    correlations: Sequence[Correlation | Mapping[str, object]] = (),
    cover: Mapping[str, FloatArray] | None = None,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Problem:
    """A study or a callable as something to sample."""
    if isinstance(model, Study):
        if inputs is not None:
            raise StudyError("a study has its own inputs: leave `inputs` out")
        return _of_study(model, quantities, cover or {}, jobs=jobs, progress=progress)
    if inputs is None:
        raise StudyError("a callable needs `inputs`: a mapping of names to values")
    exact, space = read_inputs(inputs, correlations)
    fixed = {name: np.asarray(value) for name, value in exact.items()}
    _refuse_certain(space)
    given = _given_by(model, {**fixed, **{name: np.array([v]) for name, v in space.central().items()}})
    wanted = tuple(given) if quantities is None else tuple(quantities)

    def elsewhere(settings: Mapping[str, float], outputs: Sequence[str]) -> Evaluate:
        refuse_missing(outputs, given)
        changed = {name: np.asarray(value) for name, value in settings.items()}

        def evaluate(values: Mapping[str, FloatArray]) -> tuple[Mapping[str, FloatArray], NDArray[np.int8]]:
            points = np.shape(next(iter(values.values())))
            found = model({**fixed, **values, **changed})
            numbers = {q: np.broadcast_to(np.asarray(found[q], dtype=np.float64), points) for q in outputs}
            return numbers, outcomes_of(found, numbers, points)

        return evaluate

    return Problem(None, space, wanted, elsewhere({}, wanted), elsewhere)


def _given_by(model: Model, trial: Mapping[str, FloatArray]) -> tuple[str, ...]:
    """What a callable gives, from one point at central values."""
    return tuple(name for name in model(trial) if name != "status")


def _of_study(
    study: Study,
    quantities: Sequence[str] | None,
    cover: Mapping[str, FloatArray],
    *,
    jobs: int,
    progress: run.Progress | None,
) -> Problem:
    wanted = quantities_of(study, quantities or [study.target.quantity])
    _refuse_certain(study.space)

    # Measurements are evaluated again and again at their settings.
    stages: dict[tuple[object, ...], Evaluator] = {}

    def elsewhere(settings: Mapping[str, float], outputs: Sequence[str]) -> Evaluate:
        key = (*sorted(settings.items()), *outputs)
        if key not in stages:
            at = with_settings(study, settings)
            reach = {address: values for address, values in cover.items() if address not in settings}
            wanted = with_parts(study, outputs)
            stages[key] = stage_of(at, wanted, samples=reach, jobs=jobs, progress=progress)
        stage = stages[key]
        uncertain = stage.study.space.central()

        def evaluate(values: Mapping[str, FloatArray]) -> tuple[Mapping[str, FloatArray], NDArray[np.int8]]:
            found = stage.chunk({address: value for address, value in values.items() if address in uncertain})
            return found.quantities, found.outcomes

        return evaluate

    errors = _model_errors(study, wanted)
    space = InputSpace((*study.space.inputs, *errors), (*study.space.correlations, *_ties(study, errors)))
    return Problem(study, space, wanted, elsewhere({}, wanted), elsewhere)


def _model_errors(study: Study, quantities: Sequence[str]) -> list[Uncertain]:
    """Rows for the model's own errors, the quantity named where several have one."""
    stated = {quantity: study.model_error.of(quantity).relative for quantity in quantities}
    learnt = {} if study.calibrated is None else study.calibrated.model_errors
    several = sum(bool(relative) or quantity in learnt for quantity, relative in stated.items()) > 1
    found: list[Uncertain] = []
    for quantity, relative in stated.items():
        name = f"{MODEL_ITSELF}: {quantity}" if several else MODEL_ITSELF
        if quantity in learnt:
            found.append(Uncertain(quantity, unknown=learnt[quantity], called=name))
        else:
            found += model_error(name, variance_of(relative), quantity)
    return found


def _ties(study: Study, errors: Sequence[Uncertain]) -> list[Correlation]:
    """How what firings taught of the model's own errors hangs together with the inputs, and with each other."""
    if study.calibrated is None:
        return []
    there = {item.address for item in (*study.space.inputs, *errors)}
    return [own for own in study.calibrated.model_correlations if set(own.between) <= there]


def _refuse_certain(space: InputSpace) -> None:
    if not space.rows:
        raise StudyError('nothing is uncertain: give at least one input as, say, "0.48 ± 0.02 T"')
