"""The designs of a study: words among the choices make variants of it, numbers are set point by point.

What is uncertain about a varied address moves with it, as it was written; the rest of the scenarios stays the same for
every design.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property, lru_cache
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry, run
from explorer.questions.optimize.search.candidates import Candidates, Scenarios, Setting, entries_of
from explorer.run import Evaluated
from explorer.space import Part, Uncertain
from explorer.study.engine import Evaluator, reach_of, stage_of
from explorer.study.model_error import model_factor, off_found, with_parts
from explorer.studyfile import Study, StudyError, Varied, at_design, uncertain_at

FloatArray = NDArray[np.float64]

#: Most points evaluated at once: 30 columns of them are some 60 MB.
_MOST_POINTS: Final[int] = 1 << 18

#: Most combinations of words for which a study is resolved.
_MOST_VARIANTS: Final[int] = 256


def study_designs(
    study: Study,
    varied: Sequence[Varied],
    quantities: Sequence[str],
    *,
    jobs: int,
    progress: run.Progress | None = None,
) -> Candidates:
    """The designs of a study."""
    words = {item.address: entries_of(item) for item in varied if _makes_variants(item)}
    numbers = [item for item in varied if item.address not in words]
    studies = _with_words(study, words)
    rows = _rows([*studies.values(), study])
    errors = {q: study.model_error.of(q).relative for q in quantities if study.model_error.of(q).relative}

    def stage(variant: Study) -> Evaluator:
        reach = _reach(variant, numbers)
        wanted = with_parts(variant, quantities)
        return stage_of(variant, wanted, samples=reach, jobs=jobs, progress=progress)

    variants = {key: _Variant(own, numbers, rows, stage) for key, own in studies.items()}
    as_stated: dict[str, float | str] = {**study.choices, **study.central()}
    like = variants.get(tuple(as_stated[address] for address in words))
    now = _Variant(study, (), rows, stage if like is None else lambda _: like.stage)

    def evaluated(settings: Sequence[Setting], scenarios: Scenarios) -> Evaluated:
        shape = len(settings), scenarios.points
        found = Evaluated(
            {q: np.empty(shape) for q in quantities}, np.empty(shape, np.int8), np.empty(shape, np.uint32)
        )
        at_once = max(1, _MOST_POINTS // scenarios.points)
        for key, variant in variants.items():
            places = [i for i, s in enumerate(settings) if tuple(s[a] for a in words) == key]
            for start in range(0, len(places), at_once):
                batch = places[start : start + at_once]
                values = variant.values([settings[i] for i in batch], scenarios)
                points = variant.stage.points(values)
                _put(found, batch, _off(variant.study, points, values, factors(scenarios, len(batch))))
        return found

    def present(scenarios: Scenarios) -> Evaluated:
        values = now.values([{}], scenarios)
        points = _off(study, now.stage.points(values), values, factors(scenarios, 1))
        return Evaluated(
            {q: np.broadcast_to(points.quantities[q], (scenarios.points,))[None, :] for q in quantities},
            points.outcomes[None, :],
            points.warnings[None, :],
        )

    def factors(scenarios: Scenarios, designs: int) -> dict[str, FloatArray]:
        if scenarios.cube is None:
            return {}
        columns = {
            quantity: scenarios.cube[:, place] for place, quantity in enumerate(errors, start=len(rows))
        }
        return {q: np.tile(model_factor(column, errors[q]), designs) for q, column in columns.items()}

    return Candidates(study, tuple(varied), len(rows) + len(errors), evaluated, present)


def _off(
    study: Study, points: Evaluated, values: Mapping[str, FloatArray], factors: Mapping[str, FloatArray]
) -> Evaluated:
    """Points with what the model may be off by."""
    own = {q: off_found(study, q, points.quantities, factor, values) for q, factor in factors.items()}
    return points._replace(quantities={**points.quantities, **own})


def _put(found: Evaluated, places: Sequence[int], points: Evaluated) -> None:
    """Put the points of some designs where they belong among those of all."""
    shape = len(places), found.outcomes.shape[1]
    for quantity, values in found.quantities.items():
        flat = np.broadcast_to(points.quantities[quantity], (shape[0] * shape[1],))
        values[places] = flat.reshape(shape)
    found.outcomes[places] = points.outcomes.reshape(shape)
    found.warnings[places] = points.warnings.reshape(shape)


class _Variant:
    """A study with its words chosen: its stage, and its values at designs times scenarios."""

    def __init__(
        self,
        study: Study,
        numbers: Sequence[Varied],
        rows: Sequence[tuple[str, Part]],
        stage: Callable[[Study], Evaluator],
    ) -> None:
        self.study = study
        self.varied = [item.address for item in numbers if item.address in study.central()]
        self._columns = [rows.index((row.address, row.part)) for row in study.space.rows]
        self._stage_of = stage
        self._drawn = lru_cache(maxsize=2)(self._worked_out)

    @cached_property
    def stage(self) -> Evaluator:
        """Made when it is first needed, for a gas table takes its time."""
        return self._stage_of(self.study)

    def values(self, settings: Sequence[Setting], scenarios: Scenarios) -> dict[str, FloatArray]:
        """Values of designs times scenarios, flat."""
        fixed, moving = self._drawn(scenarios)
        values = {address: np.tile(column, len(settings)) for address, column in fixed.items()}
        for address in self.varied:
            values[address] = np.concatenate(
                [self._moved(address, float(s[address]), moving.get(address), scenarios) for s in settings]
            )
        if "channel.length" in values and self.study.origin.get("magnet.blocks.position") == "default":
            values["magnet.blocks.position"] = 0.5 * values["channel.length"]
        return values

    def _worked_out(self, scenarios: Scenarios) -> tuple[dict[str, FloatArray], dict[str, list[FloatArray]]]:
        """Values of what isn't varied, and columns in the cube of what is."""
        space = self.study.space
        if scenarios.cube is None:
            return {item.address: np.array([item.centre]) for item in space.inputs}, {}
        columns = space.dependent(scenarios.cube[:, self._columns])
        fixed, moving = {}, {}
        for item in space.inputs:
            own = space.columns(item.address, columns)
            if item.address in self.varied:
                moving[item.address] = own
            else:
                fixed[item.address] = item.values(*own)
        return fixed, moving

    def _moved(
        self, address: str, to: float, columns: list[FloatArray] | None, scenarios: Scenarios
    ) -> FloatArray:
        """A varied address at a value with what is uncertain about it."""
        if columns is None:
            return np.full(scenarios.points, to)
        moved = uncertain_at(self.study, address, to)
        return moved.values(*columns) if isinstance(moved, Uncertain) else np.full(scenarios.points, moved)


def _makes_variants(item: Varied) -> bool:
    """Whether a list makes variants of the study: words, and numbers that are the same for all points."""
    return bool(item.values) and (item.is_word or not registry.quantity(item.address).may_be_uncertain)


def _with_words(
    study: Study, words: Mapping[str, tuple[float | str, ...]]
) -> dict[tuple[float | str, ...], Study]:
    """The study with each combination of words; itself where no words are varied."""
    combinations = list(product(*words.values()))
    if len(combinations) > _MOST_VARIANTS:
        raise StudyError(
            f"vary: the words make {len(combinations)} combinations, more than {_MOST_VARIANTS}: shorten the lists"
        )
    if not words:
        return {(): study}
    return {chosen: at_design(study, dict(zip(words, chosen, strict=True))) for chosen in combinations}


def _rows(studies: Iterable[Study]) -> list[tuple[str, Part]]:
    """Uncertain parts of all variants, in the registry's order."""
    found = dict.fromkeys((row.address, row.part) for study in studies for row in study.space.rows)
    return sorted(found, key=lambda row: (registry.position(row[0]), row[1] == "scatter"))


def _reach(study: Study, numbers: Sequence[Varied]) -> dict[str, FloatArray]:
    """What a gas table must cover: the ends of what is varied, with their uncertainty there."""
    found = {}
    for item in numbers:
        if item.address not in study.central():
            continue
        listed = [float(value) for value in item.values] or [float(item.low or 0.0), float(item.high or 0.0)]
        values: list[float] = []
        for to in (min(listed), max(listed)):
            moved = uncertain_at(study, item.address, to)
            values += list(reach_of(moved)) if isinstance(moved, Uncertain) else [moved]
        found[item.address] = np.array([min(values), max(values)])
    return found
