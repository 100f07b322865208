"""Look for the design that a wish asks for, inside limits that hold with a stated chance; judge it on fresh points.

Search on one set of scenarios, refinement on eight with the inner levels raised until fresh points show that each
limit holds with its chance; then the designs that are nearly as good, and what each active limit costs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, sampling
from explorer.analysis.search.design_space import Record
from explorer.questions.optimize.search.callable_candidates import candidates_of_callable, varied_of
from explorer.questions.optimize.search.candidates import Candidates, Scenarios
from explorer.questions.optimize.search.judging import FRESH_POINTS
from explorer.questions.optimize.search.proposal import Proposal, Search
from explorer.questions.optimize.search.question import Question, expected, quantities_asked, scales_of
from explorer.questions.optimize.search.searching import SCENARIOS, SETS, Kept, Searching, Stages
from explorer.questions.optimize.search.study_candidates import candidates_of_study
from explorer.questions.optimize.search.trading import traded
from explorer.questions.optimize.search.winning import won
from explorer.study.limits import WITH_NUMBER, one_sided
from explorer.study.problem import Model
from explorer.studyfile import CHANCE, Limit, Study, StudyError, Wish, varied_inputs

FloatArray = NDArray[np.float64]

#: Fewest designs of a budget.
_SMALLEST_BUDGET = 50


def optimize(
    model: Study | Model,
    vary: Mapping[str, object] | None = None,
    *,
    wanted: Any = None,
    limits: Sequence[Mapping[str, Any] | Limit] | None = None,
    inputs: Mapping[str, object] | None = None,
    rng: int | np.random.Generator | None = None,
    budget: int = 500,
    central: bool = False,
    jobs: int = 1,
    search_file: Kept | None = None,
    progress: Stages | None = None,
) -> Proposal:
    """Look for a design.

    Parameters
    ----------
    model : Study or callable
        With a study `inputs` is None: its own.
    vary : mapping, optional
        By address a range ("8 .. 20 mm") or a list of what is in stock; a study's own [vary] if left out.
    wanted : tuple, mapping or sequence of these, optional
        ("electrical_power", "smallest"): one wish, or two for a trade-off curve. A study's own [wanted] if left
        out, or the largest thrust gain.
    limits : sequence of mapping or Limit, optional
        {"quantity", "at_least" | "at_most", "chance"}; a study's own if left out.
    inputs : mapping, optional
        For a callable: values of the grammar by name.
    rng : int or Generator, optional
        Random number; a study's own if left out.
    budget : int
        [-] designs tried in the search.
    central : bool
        [-] at central values instead of over scenarios.
    jobs : int
        [-] threads.
    search_file : Kept, optional
        Where assessed designs are kept, so that a search that was broken off can go on.
    progress : callable, optional
        A stage's name in, a progress teller out.

    Returns
    -------
    Proposal

    Raises
    ------
    StudyError
        If there is nothing to vary, or something is unknown or can't be.
    """
    if budget < _SMALLEST_BUDGET:
        raise StudyError(
            f"a budget of {budget} designs is too small to search: allow {_SMALLEST_BUDGET} or more"
        )
    asked = _asked(model, vary, wanted, limits, inputs, jobs=jobs, stages=progress)
    number = sampling.random_number(_random_number(model) if rng is None else rng)
    robust = not central and asked.candidates.dimension > 0
    question = Question(asked.wishes, asked.limits, _scales(asked))
    searching = Searching(asked.candidates, question, robust, number, search_file, progress)
    outcome = won(searching, budget) if len(asked.wishes) == 1 else traded(searching, budget)
    return Proposal(
        study=model if isinstance(model, Study) else None,
        varied=asked.candidates.varied,
        wishes=asked.wishes,
        limits=asked.limits,
        best=outcome.best,
        near_equal=outcome.near_equal,
        relaxations=outcome.relaxations,
        trade_off=outcome.trade_off,
        tried=_tried(outcome.record, searching),
        miss=outcome.miss,
        search=Search(
            robust=robust,
            designs=outcome.record.tried,
            met=int(outcome.record.assessed.met.sum()),
            scenarios=SCENARIOS if robust else 1,
            fine_scenarios=SCENARIOS * SETS if robust else 1,
            fresh_points=FRESH_POINTS if robust else 1,
            rounds=outcome.rounds,
            budget=budget,
            resumed=searching.resumed,
            random_number=number,
        ),
        units=_units(asked),
    )


@dataclass(frozen=True)
class _Asked:
    """What is varied, wished and limited."""

    candidates: Candidates
    wishes: tuple[Wish, ...]
    limits: tuple[Limit, ...]


def _asked(
    model: Study | Model,
    vary: Mapping[str, object] | None,
    wanted: Any,
    limits: Sequence[Mapping[str, Any] | Limit] | None,
    inputs: Mapping[str, object] | None,
    *,
    jobs: int,
    stages: Stages | None,
) -> _Asked:
    if isinstance(model, Study):
        if inputs is not None:
            raise StudyError("a study has its own inputs: leave `inputs` out")
        return _of_study(model, vary, wanted, limits, jobs=jobs, stages=stages)
    if vary is None:
        raise StudyError("a callable needs `vary`: a mapping of names to ranges or lists")
    wishes = _wishes(wanted) or (Wish("thrust_gain", "largest"),)
    found = (*(_limit(item) for item in limits or ()), WITH_NUMBER)
    candidates = candidates_of_callable(model, inputs or {}, varied_of(vary), quantities_asked(wishes, found))
    return _Asked(candidates, wishes, found)


def _of_study(
    study: Study,
    vary: Mapping[str, object] | None,
    wanted: Any,
    limits: Sequence[Mapping[str, Any] | Limit] | None,
    *,
    jobs: int,
    stages: Stages | None,
) -> _Asked:
    varied = study.vary if vary is None else varied_inputs(vary, study.pairs)
    if not varied:
        raise StudyError(
            'there is nothing to vary: give a table [vary], such as "channel.gap_in" = "8 .. 20 mm"'
        )
    wishes = _wishes(wanted) or study.wishes or (Wish("thrust_gain", "largest"),)
    stated = study.limits if limits is None else tuple(_limit(item) for item in limits)
    found = (*one_sided(stated), WITH_NUMBER)
    table = stages("gas table") if stages else None
    candidates = candidates_of_study(
        study, varied, quantities_asked(wishes, found), jobs=jobs, progress=table
    )
    return _Asked(candidates, wishes, found)


def _wishes(wanted: Any) -> tuple[Wish, ...]:
    """Wishes as a caller gives them."""
    if wanted is None:
        return ()
    several = [wanted] if isinstance(wanted, Wish | Mapping) or isinstance(wanted[0], str) else list(wanted)
    return tuple(_wish(item) for item in several)


def _wish(item: Any) -> Wish:
    if isinstance(item, Wish):
        return item
    quantity, make = (item["quantity"], item["make"]) if isinstance(item, Mapping) else item
    if make not in ("largest", "smallest"):
        raise StudyError(f'a wish is for the "largest" or the "smallest"; got "{make}"')
    return Wish(quantity, make)


def _limit(item: Mapping[str, Any] | Limit) -> Limit:
    """A limit as a caller gives it: bounds in SI."""
    if isinstance(item, Limit):
        return item
    chance = item.get("chance", 0.9)
    if not 0 < chance < 1:
        raise StudyError(f"the chance of a limit must lie between 0 and 1, both excluded; got {chance:g}")
    return Limit(item["quantity"], item.get("at_least"), item.get("at_most"), chance, "yours")


def _random_number(model: Study | Model) -> int:
    return model.run.random_number if isinstance(model, Study) else 1


def _scales(asked: _Asked) -> tuple[float, ...]:
    """What margins are measured by: each limit's bound, or the quantity's size in the middle where that is zero."""
    zero = [
        limit.quantity
        for limit in asked.limits
        if limit.event is None and not (limit.at_least or 0.0) and not (limit.at_most or 0.0)
    ]
    if not zero:
        return scales_of(asked.limits, {})
    space = asked.candidates.space
    middle = np.array(
        [v.entries // 2 if v.entries else 0.5 * (v.low + v.high) for v in space.variables], dtype=np.float64
    )
    found = asked.candidates.evaluate(middle[None, :], Scenarios("central", None))
    sizes = {quantity: abs(float(expected(found, quantity)[0])) for quantity in zero}
    return scales_of(asked.limits, {quantity: size for quantity, size in sizes.items() if np.isfinite(size)})


def _tried(record: Record, searching: Searching) -> pd.DataFrame:
    """Every design of the search: what is varied, the wishes, the margins, whether all limits are met."""
    question, assessed = searching.question, record.assessed
    frame = pd.DataFrame([searching.candidates.setting(design) for design in record.designs])
    for k, wish in enumerate(question.wishes):
        sign = 1.0 if wish.make == "smallest" else -1.0
        frame[wish.quantity] = sign * assessed.wishes[:, k]
    for k, limit in enumerate(question.limits):
        frame[f"margin {k + 1}: {limit.quantity}"] = assessed.margins[:, k]
    frame["met"] = assessed.met
    return frame


def _units(asked: _Asked) -> dict[str, str]:
    """Unit by address of what is varied and wished."""
    units = dict(asked.candidates.units)
    for wish in asked.wishes:
        units[wish.quantity] = "1" if wish.quantity.startswith(CHANCE) else _unit(wish.quantity)
    return units


def _unit(quantity: str) -> str:
    try:
        return registry.quantity(quantity).unit
    except registry.UnknownAddressError:
        return ""
