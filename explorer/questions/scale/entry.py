"""`scale`: from one study to a larger one, or from one callable's values to another's."""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Mapping, Sequence
from typing import Any, overload

import numpy as np

from explorer import run, sampling
from explorer.questions.scale.model_path import Inputs
from explorer.questions.scale.models import ModelScaling, scale_models
from explorer.questions.scale.scaling import COST_EXPONENT, SAMPLES, STEPS, Scaling, scale_studies
from explorer.study.problem import Model
from explorer.studyfile import Instrument, Study, StudyError, amount
from explorer.studyfile.reading import quantity_of


@overload
def scale(
    first: Study,
    second: Study,
    inputs: None = None,
    *,
    steps: int = STEPS,
    cost_exponent: float = COST_EXPONENT,
    worth: str | None = None,
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Scaling: ...


@overload
def scale(
    first: Model,
    second: Model,
    inputs: Sequence[Inputs],
    *,
    target: str,
    instruments: Sequence[Instrument | Mapping[str, Any]],
    cost: float = 1.0,
    steps: int = STEPS,
    worth: str | None = None,
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> ModelScaling: ...


def scale(
    first: Study | Model,
    second: Study | Model,
    inputs: Sequence[Inputs] | None = None,
    *,
    target: str = "",
    instruments: Sequence[Instrument | Mapping[str, Any]] = (),
    cost: float = 1.0,
    steps: int = STEPS,
    cost_exponent: float = COST_EXPONENT,
    worth: str | None = None,
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Scaling | ModelScaling:
    """Look at the way from one design to another.

    Parameters
    ----------
    first, second : Study or callable
        The design that is fired now and the one that it shall lead to. Studies have their own inputs, instruments
        (the first) and target (the second).
    inputs : two mappings, optional
        For callables: values of the grammar by name, the first end's, and of the second's only what differs. What it
        doesn't state anew is the same thing, drawn once; what it does goes by equal ratios on the way.
    target : str
        For callables: the quantity of the second one that is to be learnt.
    instruments : sequence of Instrument or mapping
        For callables: what reads each firing, {"name": "load_cell", "reads": "thrust", "random": "0.2 N"}.
    cost : float
        For callables: [-] firings of the first end that one firing of the second costs, between by equal ratios.
    steps : int
        [-] designs between them.
    cost_exponent : float
        For studies: [-] power of the size with which a firing's cost grows.
    worth : str, optional
        By how much a step must narrow the target's standard uncertainty to be fired, such as "0.05 N" or "3 %" of it;
        2 % if left out.
    rng : int or Generator, optional
        Random number; the first study's own, or 1, if left out.
    samples : int
        [-] points at which all designs are tried, rounded up to 8 · 2^k.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (done, total): of gas tables, then of chunks.

    Returns
    -------
    Scaling
        Of callables a ModelScaling, which knows what firings leave and nothing of borders, remedies and words.

    Raises
    ------
    StudyError
        If the designs can't be joined, nothing is uncertain, or what is shared is stated differently.
    NoNumbers
        If hardly any point of an end carries a number.
    """
    if isinstance(first, Study) and isinstance(second, Study):
        if inputs is not None or target or instruments or cost != 1.0:
            raise StudyError("studies have their own inputs, targets, instruments and sizes: leave these out")
        return scale_studies(
            first,
            second,
            steps=steps,
            cost_exponent=cost_exponent,
            worth=worth,
            rng=rng,
            samples=samples,
            jobs=jobs,
            progress=progress,
        )
    if isinstance(first, Study) or isinstance(second, Study) or not (callable(first) and callable(second)):
        raise StudyError(
            "a way leads from one study to another, or between callables: give a study its callable with"
            " study.calculated_by(model)"
        )
    if inputs is None or not target:
        raise StudyError("callables need `inputs`, two mappings of names to values, and a `target`")
    return scale_models(
        (first, second),
        inputs,
        target,
        instruments,
        sampling.random_number(1 if rng is None else rng),
        samples,
        steps=steps,
        cost=cost,
        worth=None if worth is None else amount("worth", worth, quantity_of(target, worth)),
        jobs=jobs,
        progress=progress,
    )
