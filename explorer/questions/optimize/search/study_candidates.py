"""The designs of a study: words among the choices make variants of it, numbers are set point by point.

What is uncertain about a varied address moves with it, as it was written; the rest of the scenarios stays the same for
every design.
"""

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry, run
from explorer.analysis.search.design_space import DesignSpace
from explorer.questions.optimize.search.candidates import (
    Candidates,
    Scenarios,
    Setting,
    entries_of,
    setting_of,
    variables_of,
)
from explorer.run import Evaluated
from explorer.space import Part, Uncertain
from explorer.study.engine import Evaluator, reach_of, stage_of
from explorer.study.model_error import model_factor
from explorer.studyfile import Study, StudyError, Varied, at_design, uncertain_at

FloatArray = NDArray[np.float64]

#: Most points evaluated at once: 30 columns of them are some 60 MB.
_MOST_POINTS: Final[int] = 1 << 18

#: Most combinations of words for which a study is resolved.
_MOST_VARIANTS: Final[int] = 256


class _Variant:
    """A study with its words chosen: its stage, and its values at designs times scenarios."""

    def __init__(
        self,
        study: Study,
        varied: Sequence[str],
        rows: Sequence[tuple[str, Part]],
        stage: Callable[[Study], Evaluator],
    ) -> None:
        self.study = study
        self.varied = [address for address in varied if address in study.central()]
        self._columns = [rows.index((row.address, row.part)) for row in study.space.rows]
        self._stage_of = stage
        self._stage: Evaluator | None = None
        self._known: dict[str, tuple[dict[str, FloatArray], dict[str, list[FloatArray]]]] = {}

    @property
    def stage(self) -> Evaluator:
        if self._stage is None:
            self._stage = self._stage_of(self.study)
        return self._stage

    def _scenario_values(
        self, scenarios: Scenarios
    ) -> tuple[dict[str, FloatArray], dict[str, list[FloatArray]]]:
        """Values of what isn't varied, and columns in the cube of what is; the last sets are kept."""
        if scenarios.label not in self._known:
            while len(self._known) > 1:
                self._known.pop(next(iter(self._known)))
            self._known[scenarios.label] = self._work_out(scenarios)
        return self._known[scenarios.label]

    def _work_out(self, scenarios: Scenarios) -> tuple[dict[str, FloatArray], dict[str, list[FloatArray]]]:
        space = self.study.space
        if scenarios.cube is None:
            return {item.address: np.array([item.centre]) for item in space.inputs}, {}
        columns = space.dependent(scenarios.cube[:, self._columns])
        fixed, moving, start = {}, {}, 0
        for item in space.inputs:
            own = columns[start : start + len(item.parts)]
            start += len(item.parts)
            if item.address in self.varied:
                moving[item.address] = own
            else:
                fixed[item.address] = item.values(*own)
        return fixed, moving

    def values(self, settings: Sequence[Setting], scenarios: Scenarios) -> dict[str, FloatArray]:
        """Values [SI] by address at designs times scenarios, flat."""
        fixed, moving = self._scenario_values(scenarios)
        values = {address: np.tile(column, len(settings)) for address, column in fixed.items()}
        for address in self.varied:
            values[address] = np.concatenate(
                [self._varied(address, float(s[address]), moving.get(address), scenarios) for s in settings]
            )
        if "channel.length" in values and self.study.origin.get("magnet.blocks.position") == "default":
            values["magnet.blocks.position"] = 0.5 * values["channel.length"]
        return values

    def _varied(
        self, address: str, to: float, columns: list[FloatArray] | None, scenarios: Scenarios
    ) -> FloatArray:
        if columns is None:
            return np.full(scenarios.points, to)
        moved = uncertain_at(self.study, address, to)
        if not isinstance(moved, Uncertain):
            return np.full(scenarios.points, moved)
        return moved.values(*columns)


def candidates_of_study(
    study: Study,
    varied: Sequence[Varied],
    quantities: Sequence[str],
    *,
    jobs: int,
    progress: run.Progress | None = None,
) -> Candidates:
    """The designs of a study."""
    entries = tuple(entries_of(item) for item in varied)
    words = {
        item.address: listed
        for item, listed in zip(varied, entries, strict=True)
        if listed and _is_word(item.address, listed)
    }
    numbers = [item.address for item in varied if item.address not in words]
    combinations = list(itertools.product(*words.values()))
    if len(combinations) > _MOST_VARIANTS:
        raise StudyError(
            f"vary: the words make {len(combinations)} combinations, more than {_MOST_VARIANTS}: shorten the lists"
        )
    studies = {combination: _with_words(study, words, combination) for combination in combinations}
    rows = _rows(studies.values())
    ends = _ends(varied, entries, words)
    errors = {q: study.model_error.of(q).relative for q in quantities}
    errors = {q: relative for q, relative in errors.items() if relative}

    def stage(variant: Study) -> Evaluator:
        reach = _reach(variant, {a: e for a, e in ends.items() if a in variant.central()})
        return stage_of(variant, quantities, samples=reach, jobs=jobs, progress=progress)

    variants = {key: _Variant(own, numbers, rows, stage) for key, own in studies.items()}

    def evaluate(designs: FloatArray, scenarios: Scenarios) -> Evaluated:
        settings = [setting_of(varied, entries, design) for design in designs]
        found = _room(quantities, len(settings), scenarios.points)
        for key, variant in variants.items():
            places = [i for i, s in enumerate(settings) if tuple(s[a] for a in words) == key]
            at_once = max(1, _MOST_POINTS // scenarios.points)
            for start in range(0, len(places), at_once):
                _fill(
                    found, places[start : start + at_once], variant, settings, scenarios, (errors, len(rows))
                )
        return found

    return Candidates(
        varied=tuple(varied),
        space=DesignSpace(variables_of(varied, entries)),
        entries=entries,
        dimension=len(rows) + len(errors),
        units={item.address: _unit(item.address) for item in varied},
        evaluate=evaluate,
        study_at=lambda setting: at_design(study, setting),
    )


def _room(quantities: Sequence[str], designs: int, points: int) -> Evaluated:
    shape = (designs, points)
    return Evaluated(
        {q: np.empty(shape) for q in quantities}, np.empty(shape, np.int8), np.empty(shape, np.uint32)
    )


def _fill(
    found: Evaluated,
    places: Sequence[int],
    variant: _Variant,
    settings: Sequence[Setting],
    scenarios: Scenarios,
    errors: tuple[Mapping[str, float], int],
) -> None:
    """Evaluate some designs of one variant, and put the model's own error in."""
    values = variant.values([settings[i] for i in places], scenarios)
    result = variant.stage.points(values)
    shape = (len(places), scenarios.points)
    relative, first = errors
    for quantity, array in found.quantities.items():
        own = np.broadcast_to(result.quantities[quantity], (shape[0] * shape[1],)).reshape(shape)
        if scenarios.cube is not None and quantity in relative:
            column = first + list(relative).index(quantity)
            own = own * model_factor(scenarios.cube[:, column], relative[quantity])
        array[places] = own
    found.outcomes[places] = result.outcomes.reshape(shape)
    found.warnings[places] = result.warnings.reshape(shape)


def _unit(address: str) -> str:
    try:
        return registry.quantity(address).unit
    except registry.UnknownAddressError:
        return ""


def _is_word(address: str, entries: tuple[float | str, ...]) -> bool:
    """Whether a list makes variants of the study: words, and numbers that are the same for all points."""
    return isinstance(entries[0], str) or not registry.quantity(address).may_be_uncertain


def _with_words(study: Study, words: Mapping[str, object], combination: tuple[float | str, ...]) -> Study:
    if not words:
        return study
    return at_design(study, dict(zip(words, combination, strict=True)))


def _rows(studies: Iterable[Study]) -> list[tuple[str, Part]]:
    """Uncertain parts of all variants, in the registry's order."""
    found: dict[tuple[str, Part], None] = {}
    for study in studies:
        found |= {(row.address, row.part): None for row in study.space.rows}
    return sorted(found, key=lambda row: (registry.position(row[0]), row[1] == "scatter"))


def _ends(
    varied: Sequence[Varied], entries: Sequence[tuple[float | str, ...]], words: Mapping[str, object]
) -> dict[str, tuple[float, float]]:
    """Lowest and highest value of every varied number [SI]."""
    found = {}
    for item, listed in zip(varied, entries, strict=True):
        if item.address in words:
            continue
        numbers = (
            [float(entry) for entry in listed] if listed else [float(item.low or 0), float(item.high or 0)]
        )
        found[item.address] = (min(numbers), max(numbers))
    return found


def _reach(study: Study, ends: Mapping[str, tuple[float, float]]) -> dict[str, FloatArray]:
    """What a gas table must cover: the ends of what is varied, with their uncertainty there."""
    found = {}
    for address, (low, high) in ends.items():
        values: list[float] = []
        for to in (low, high):
            moved = uncertain_at(study, address, to)
            values += list(reach_of(moved)) if isinstance(moved, Uncertain) else [moved]
        found[address] = np.array([min(values), max(values)])
    return found
