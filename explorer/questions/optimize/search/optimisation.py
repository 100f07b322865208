"""Look for the best design inside limits that hold with a stated chance; judge it on fresh points.

Search on one set of scenarios, refinement on eight with the inner levels raised until fresh points show that each
limit holds with its chance; then the designs that are nearly as good, and what each active limit costs.
"""

from __future__ import (
    annotations,  # so that help() shows short names  # so that help() shows them as they are written
)

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from explorer import sampling
from explorer.questions.optimize.search.best_design import best_design
from explorer.questions.optimize.search.callable_designs import callable_designs, varied_of
from explorer.questions.optimize.search.candidates import Candidates
from explorer.questions.optimize.search.proposal import Proposal
from explorer.questions.optimize.search.question import (
    Wanted,
    limit_of,
    quantities_asked,
    question_of,
    refuse_chances,
    wishes_of,
)
from explorer.questions.optimize.search.searching import Searching, Stages
from explorer.questions.optimize.search.study_designs import study_designs
from explorer.questions.optimize.search.trade_off import trade_off
from explorer.store import SearchFile
from explorer.study.limits import WITH_NUMBER, one_sided, required
from explorer.study.problem import Model
from explorer.studyfile import Limit, Study, StudyError, Wish, varied_inputs

#: Fewest designs of a budget.
_SMALLEST_BUDGET = 50

#: What is wanted where nothing else is.
_WISHED = Wish("thrust_gain", "largest")


def optimize(
    model: Study | Model,
    vary: Mapping[str, object] | None = None,
    *,
    wanted: Wanted | Sequence[Wanted] | None = None,
    limits: Sequence[Mapping[str, Any] | Limit] | None = None,
    inputs: Mapping[str, object] | None = None,
    rng: int | np.random.Generator | None = None,
    budget: int = 500,
    central: bool = False,
    jobs: int = 1,
    search_file: SearchFile | None = None,
    progress: Stages | None = None,
) -> Proposal:
    """Look for the design that makes a result as large or small as possible inside limits, each with its chance.

    What is found is judged on points that had no part in choosing it.

    Parameters
    ----------
    model : Study or callable
        A study has its own inputs; a callable takes arrays by name and gives arrays by name, NaN where there is
        no number.
    vary : mapping, optional
        By address a range ("8 .. 20 mm") or a list of what is in stock; a study's own [vary] if left out.
    wanted : tuple, mapping or sequence of these, optional
        ("electrical_power", "smallest"): one result, or two for a trade-off curve. A study's own [wanted] if left
        out, or the largest thrust gain.
    limits : sequence of mapping or Limit, optional
        {"quantity": "current", "at_most": 50.0, "chance": 0.9} and so on, bounds in SI; a study's own if left out.
    inputs : mapping, optional
        For a callable alone: values as a study writes them, by name.
    rng : int or Generator, optional
        Random number; a study's own if left out.
    budget : int
        Designs tried in the search, 50 or more [-].
    central : bool
        Whether central values are looked at alone, how unsure they are left aside.
    jobs : int
        Threads [-].
    search_file : SearchFile, optional
        Where assessed designs are kept, so that a search that was broken off can go on.
    progress : callable, optional
        A stage's name in, a progress teller out.

    Returns
    -------
    Proposal
        Its `best` is the design proposed; where no design meets all limits that is None, and `miss` says what is in
        the way.

    Raises
    ------
    StudyError
        If there is nothing to vary, or something is unknown or can't be.
    NoNumbers
        If something wanted or limited has no number whatever the design.

    Examples
    --------
    >>> found = optimize(study, wanted=("electrical_power", "smallest"), jobs=2)
    >>> found.best.setting
    {'magnet.field': 0.62, 'channel.gap_in': 0.0124}
    """
    if budget < _SMALLEST_BUDGET:
        raise StudyError(
            f"a budget of {budget} designs is too small to search: allow {_SMALLEST_BUDGET} or more"
        )
    study = model if isinstance(model, Study) else None
    wishes = wishes_of(wanted) or (study.wishes if study else ()) or (_WISHED,)
    own = study.limits if study else ()
    stated = own if limits is None else [limit_of(item) for item in limits]
    asked = (*one_sided(stated), WITH_NUMBER)
    target = required(study) if study else None
    target = None if target in asked else target
    pairs = study.pairs if study else ()
    refuse_chances([*wishes, *stated], pairs, of_callable=study is None)
    told = quantities_asked(wishes, asked if target is None else (*asked, target), pairs)
    if study and study.calculation is None:
        told = tuple(dict.fromkeys((*told, *(f"electrodes.{pair}.contact" for pair in pairs))))
    candidates = _candidates(model, vary, inputs, told, jobs=jobs, stages=progress)
    searching = Searching(
        candidates,
        question_of(wishes, asked, candidates, target),
        robust=not central and candidates.dimension > 0,
        number=sampling.random_number((study.run.random_number if study else 1) if rng is None else rng),
        budget=budget,
        kept=search_file,
        stages=progress,
    )
    return best_design(searching) if len(wishes) == 1 else trade_off(searching)


def _candidates(
    model: Study | Model,
    vary: Mapping[str, object] | None,
    inputs: Mapping[str, object] | None,
    quantities: Sequence[str],
    *,
    jobs: int,
    stages: Stages | None,
) -> Candidates:
    """What is to be searched."""
    if not isinstance(model, Study):
        if vary is None:
            raise StudyError("a callable needs `vary`: a mapping of names to ranges or lists")
        return callable_designs(model, inputs or {}, varied_of(vary), quantities)
    if inputs is not None:
        raise StudyError("a study has its own inputs: leave `inputs` out")
    varied = model.vary if vary is None else varied_inputs(vary, model.pairs)
    if not varied:
        raise StudyError(
            'there is nothing to vary: give a table [vary], such as "channel.gap_in" = "8 .. 20 mm"'
        )
    table = stages("gas table") if stages else None
    return study_designs(model, varied, quantities, jobs=jobs, progress=table)
