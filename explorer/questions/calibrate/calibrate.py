"""Learns from firings: the posterior of what is not known, always from the prior with all firings at once."""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final, Literal

import numpy as np
from threadpoolctl import threadpool_limits

from explorer import run, sampling
from explorer.firings import Firing, FiringError, firing_of
from explorer.questions.calibrate.learning.beginning import begun
from explorer.questions.calibrate.learning.learning import Learning
from explorer.questions.calibrate.learning.stand import Stand, stand_of
from explorer.questions.calibrate.learning.streams import SAMPLE, stream
from explorer.questions.calibrate.posterior import Posterior
from explorer.study.problem import Model
from explorer.studyfile import Study, StudyError

#: Fewest points of a sample [-].
_FEWEST: Final[int] = 200


def calibrate(
    model: Study | Model,
    inputs: Mapping[str, object] | None = None,
    firings: Sequence[Firing | Mapping[str, Any]] = (),
    *,
    rng: int | np.random.Generator | None = None,
    particles: int = 4000,
    model_error: Literal["study"] | Mapping[str, float] | None = "study",
    target: str | None = None,
    explain: bool = True,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Posterior:
    """Learn from firings what a study's (or a callable's) unknown inputs are.

    Parameters
    ----------
    model : Study or callable
        With a study `inputs` is None: its own.
    inputs : mapping, optional
        For a callable: values of the grammar by name.
    firings : sequence of Firing or mapping
        What was set and what was read: ``{"settings": {address: value}, "readings": {quantity: (value, random)}}`` in
        SI, or with steps. Their order doesn't matter.
    rng : int or Generator, optional
        Random number; a study's own if left out.
    particles : int
        [-] points of the sample.
    model_error : "study", mapping or None
        Whether the model itself may be off on what is observed: as the study's [model_error] says, as relative standard
        uncertainties by quantity [-], or not at all.
    target : str, optional
        What is predicted; a study's own target if left out. A callable has one only if it is named.
    explain : bool
        [-] whether each firing is left out in turn, surprises are looked into, and the same is told without the model's
        own error.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (chunks done, chunks) of a gas table.

    Returns
    -------
    Posterior

    Raises
    ------
    StudyError
        If a firing can't be one of this study.
    NoPosterior
        If no point explains the firings, or the sample can't be trusted; it says what to change.
    """
    taken = _in_order(firings)
    if particles < _FEWEST:
        raise StudyError(f"{particles} points are too few for a posterior: ask for {_FEWEST} or more")
    study = model if isinstance(model, Study) else None
    aimed = target or (study.target.quantity if study else "")
    number = sampling.random_number((study.run.random_number if study else 1) if rng is None else rng)
    stand = stand_of(model, inputs, taken, aimed, jobs=jobs, progress=progress)
    relative = _relative(study, stand, model_error)
    # Results must not hang on how many threads linear algebra takes.
    with threadpool_limits(limits=1, user_api="blas"):
        start = begun(stand, taken, relative, particles, stream(number, SAMPLE))
        return Learning(start, taken, number, aimed, explain=explain, jobs=jobs).posterior(bool(relative))


def _in_order(firings: Sequence[Firing | Mapping[str, Any]]) -> tuple[Firing, ...]:
    """Firings with names, in an order of their own: that of the call must not matter."""
    try:
        given = [firing_of(firing) for firing in firings]
    except FiringError as error:
        raise StudyError(str(error)) from error
    if not given:
        raise StudyError("there are no firings to learn from")
    named = [
        firing if firing.name else replace(firing, name=f"firing {place}")
        for place, firing in enumerate(given, 1)
    ]
    names = [firing.name for firing in named]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise StudyError(f'two firings are called "{twice}": give each a name of its own')
    order = sorted(range(len(given)), key=lambda i: (given[i].name, repr(given[i])))
    return tuple(named[i] for i in order)


def _relative(
    study: Study | None, stand: Stand, model_error: Literal["study"] | Mapping[str, float] | None
) -> dict[str, float]:
    """Relative standard uncertainty of the model itself, of each observed quantity [-]."""
    observed = dict.fromkeys(q for moment in stand.moments for q in moment.quantities)
    if model_error is None or (model_error == "study" and study is None):
        return {}
    if model_error == "study":
        assert study is not None
        return {q: study.model_error.of(q).relative for q in observed}
    if not isinstance(model_error, Mapping):
        raise StudyError(f'model_error is "study", a mapping or None; got {model_error!r}')
    return {q: float(model_error.get(q, 0.0)) for q in observed}
