"""Designs judged on points that had no part in choosing them.

The best of many noisy designs looks better than it is, for the search picks luck too. Fresh points are independent
and pseudo-random, so that the exact binomial interval holds for each chance.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.analysis.scrambles import Estimate, figure
from explorer.analysis.search.chance_limits import ExactChance, exact_chance
from explorer.analysis.search.design_space import Record, Tried, best
from explorer.questions.optimize.search.candidates import Scenarios, Setting
from explorer.questions.optimize.search.proposal import JudgedDesign, JudgedLimit, JudgedWish, Present
from explorer.questions.optimize.search.question import Question, values_of
from explorer.questions.optimize.search.searching import Searching
from explorer.run import Evaluated
from explorer.study.limits import Contacts, contact_told, forms_of, holds, stated_level
from explorer.studyfile import Limit, Study, Varied, Wish

FloatArray = NDArray[np.float64]

#: Significant digits of what is to be built; more only where fewer don't meet the limits.
_DIGITS: Final[tuple[int, ...]] = (4, 5, 6, 8)

#: Share within which a value is that of a range's end or of what is in stock [-].
_ROUNDING: Final[float] = 1e-9


def chances(searching: Searching, design: FloatArray, scenarios: Scenarios) -> tuple[ExactChance, ...]:
    """With which chance each limit holds at a design."""
    points = searching.candidates.evaluate(design[None, :], scenarios)
    return tuple(exact_chance(holds(points, limit)[0]) for limit in searching.question.limits)


def built(searching: Searching, record: Record, tried: Tried) -> Tried:
    """A design as a workshop or a dial can be told: of those that round it the best on the record's scenarios.

    With four digits, or with as many as it takes to meet what the design itself meets there.
    """
    candidates = searching.candidates
    for digits in _DIGITS:
        near = [one for one in candidates.roundings(tried.values, digits) if candidates.possible(one)]
        if near:
            found = best(np.stack(near), record(np.stack(near)))
            if found.met or not tried.met:
                return replace(tried, values=found.values)
    return tried


def judged(
    searching: Searching,
    tried: Tried,
    scenarios: Scenarios,
    *,
    levels: FloatArray,
    active: Sequence[bool] = (),
    differs_in: Sequence[str] = (),
) -> JudgedDesign:
    """A design as it would be built, with everything that is said of it."""
    candidates = searching.candidates
    points = candidates.evaluate(tried.values[None, :], scenarios)
    setting = candidates.setting(tried.values)
    found = _judged(
        searching.question,
        points,
        setting,
        searching.question.signs * tried.wishes,
        levels=levels,
        active=active,
    )
    study = candidates.study_at(setting)
    contacts = _contacts(study, points)
    return replace(found, study=study, differs_in=tuple(differs_in), contacts=contacts)


def _contacts(study: Study | None, points: Evaluated) -> Contacts:
    """In which form the pairs of a design conduct on independent points."""
    if study is None:
        return {}
    found = {pair: points.quantities[f"electrodes.{pair}.contact"] for pair in contact_told(study)}
    return forms_of(found, lambda marked: _mean(marked.astype(np.float64)))


def present_beside(searching: Searching, told: JudgedDesign, scenarios: Scenarios) -> Present | None:
    """The study as it stands on the points on which a design was judged; None for a plain callable."""
    candidates, question = searching.candidates, searching.question
    if candidates.present is None:
        return None
    points = candidates.present(scenarios)
    beside = candidates.evaluated([told.setting], scenarios)
    now = candidates.now
    unseen = np.full(len(question.wishes), np.nan)
    return Present(
        design=replace(
            _judged(question, points, now, unseen, levels=question.levels),
            study=candidates.study,
            contacts=_contacts(candidates.study, points),
        ),
        differences=tuple(
            _mean(values_of(beside, wish.quantity) - values_of(points, wish.quantity))
            for wish in question.wishes
        ),
        outside=tuple(item.address for item in candidates.varied if not _allowed(item, now[item.address])),
    )


def _allowed(item: Varied, value: float | str) -> bool:
    """Whether a value lies within a range or is in stock, but for rounding."""
    if isinstance(value, str):
        return value in item.values
    if item.low is not None and item.high is not None:
        room = _ROUNDING * (item.high - item.low)
        return item.low - room <= value <= item.high + room
    return any(np.isclose(value, float(entry), rtol=_ROUNDING, atol=0.0) for entry in item.values)


def _judged(
    question: Question,
    points: Evaluated,
    setting: Setting,
    seen: FloatArray,
    *,
    levels: FloatArray,
    active: Sequence[bool] = (),
) -> JudgedDesign:
    """What points say of the design whose they are, by what the search saw of its wishes."""
    held = [holds(points, limit)[0] for limit in question.limits if limit.event is None]
    target = question.target
    return JudgedDesign(
        setting=setting,
        study=None,
        wishes=tuple(
            _judged_wish(points, wish, float(by_search))
            for wish, by_search in zip(question.wishes, seen, strict=True)
        ),
        limits=tuple(
            _judged_limit(points, limit, float(level), holding)
            for limit, level, holding in zip(
                question.limits, levels, active or [False] * len(levels), strict=True
            )
        ),
        together=exact_chance(
            np.logical_and.reduce(held) if held else np.ones(points.outcomes.size, dtype=bool)
        ),
        status_shares={
            status.name: share
            for code, status in enumerate(registry.STATUSES)
            if (share := float(np.mean(points.outcomes == code)))
        },
        target=None if target is None else _judged_limit(points, target, stated_level(target), False),
    )


def _judged_wish(points: Evaluated, wish: Wish, seen: float) -> JudgedWish:
    values = values_of(points, wish.quantity)
    whole = values[np.isfinite(values)]
    low, high = np.quantile(whole, [0.025, 0.975]) if whole.size else (np.nan, np.nan)
    return JudgedWish(wish, _mean(values), float(low), float(high), seen)


def _mean(values: FloatArray) -> Estimate:
    """Expectation over the points that carry a number [as the values], NaN where none does."""
    whole = values[np.isfinite(values)]
    if not whole.size:
        return figure(np.nan)
    return figure(
        float(whole.mean()), float(whole.std(ddof=1) / np.sqrt(whole.size)) if whole.size > 1 else 0.0
    )


def _judged_limit(points: Evaluated, limit: Limit, level: float, active: bool) -> JudgedLimit:
    kept = (
        np.nan if limit.event is not None else _kept_value(points.quantities[limit.quantity].ravel(), limit)
    )
    return JudgedLimit(limit, level, exact_chance(holds(points, limit)[0]), kept, active)


def _kept_value(values: FloatArray, limit: Limit) -> float:
    """The value that a quantity keeps to with its chance [SI]: its low quantile, its high one under an upper bound."""
    if values.size == 1:
        return float(values[0])
    upper, chance = limit.at_least is None, stated_level(limit)
    filled = np.where(np.isfinite(values), values, np.inf if upper else -np.inf)
    return float(np.quantile(filled, chance if upper else 1.0 - chance, method="closest_observation"))
