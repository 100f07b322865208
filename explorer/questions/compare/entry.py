"""`compare`: studies or callables, each held against the first."""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Sequence
from typing import Final, overload

import numpy as np

from explorer import run, sampling
from explorer.questions.compare.comparison import Comparison, compared_studies
from explorer.questions.compare.models import Inputs, ModelComparison, Rig, compare_models
from explorer.study.problem import Model
from explorer.studyfile import Study, StudyError

#: Points at which designs are compared, where nothing else is asked for.
SAMPLES: Final[int] = 16_384


@overload
def compare(
    studies: Sequence[Study],
    inputs: None = None,
    *,
    quantities: Sequence[str] = (),
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Comparison: ...


@overload
def compare(
    studies: Sequence[Model],
    inputs: Inputs | Sequence[Inputs],
    *,
    rig: Rig = "same",
    quantities: Sequence[str] = (),
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> ModelComparison: ...


def compare(
    studies: Sequence[Study] | Sequence[Model],
    inputs: Inputs | Sequence[Inputs] | None = None,
    *,
    rig: Rig = "same",
    quantities: Sequence[str] = (),
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Comparison | ModelComparison:
    """Hold designs against the first of them.

    Parameters
    ----------
    studies : sequence of Study, or of callables
        Two or more; the first is the one that the others are held against.
    inputs : mapping or sequence of mappings, optional
        For callables: values of the grammar by name, one mapping for all, or one for each, behind the first only with
        what differs. What is not stated anew is the same thing, drawn once.
    rig : str
        For callables: "another" if each is another rig, which have only `shared` names in common.
    quantities : sequence of str
        Outputs wanted besides the targets and the usual ones; of callables those wanted at all.
    rng : int or Generator, optional
        Random number; the first study's own if left out.
    samples : int
        [-] points, rounded up to 8 · 2^k.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (done, total): of gas tables, then of chunks.

    Returns
    -------
    Comparison
        Of callables a ModelComparison, which knows quantities and differences and nothing of limits and borders.

    Raises
    ------
    StudyError
        If there are fewer than two studies, nothing is uncertain in any, a quantity is unknown, or what is shared is
        stated differently.
    NoNumbers
        If hardly any point of a design carries a number.
    """
    if not isinstance(studies, Sequence):
        raise StudyError(
            f"a comparison takes a list of studies, or of callables; got a {type(studies).__name__}"
        )
    if len(studies) < 2:
        raise StudyError(f"a comparison takes two studies or more; got {len(studies)}")
    designs = [study for study in studies if isinstance(study, Study)]
    models = [model for model in studies if not isinstance(model, Study)]
    if not models:
        if inputs is not None or rig != "same":
            raise StudyError("studies have their own inputs and rigs: leave `inputs` and `rig` out")
        return compared_studies(designs, quantities, rng, samples, jobs=jobs, progress=progress)
    if designs or not all(map(callable, models)):
        raise StudyError(
            "studies can't be compared with callables: give a study its callable with study.calculated_by(model)"
        )
    if inputs is None:
        raise StudyError("callables need `inputs`: a mapping of names to values")
    number = sampling.random_number(1 if rng is None else rng)
    return compare_models(models, inputs, quantities, number, samples, rig=rig, jobs=jobs, progress=progress)
