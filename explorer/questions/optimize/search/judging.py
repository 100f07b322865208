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
from explorer.analysis.scrambles import figure
from explorer.analysis.search.chance_limits import ExactChance, exact_chance
from explorer.analysis.search.design_space import Record, Tried, best
from explorer.questions.optimize.search.candidates import Scenarios
from explorer.questions.optimize.search.proposal import JudgedDesign, JudgedLimit, JudgedWish
from explorer.questions.optimize.search.question import values_of
from explorer.questions.optimize.search.searching import Searching
from explorer.run import Evaluated
from explorer.study.limits import holds, stated_level
from explorer.studyfile import Limit, Wish

FloatArray = NDArray[np.float64]

#: Significant digits of what is to be built; more only where fewer don't meet the limits.
_DIGITS: Final[tuple[int, ...]] = (4, 5, 6, 8)


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
    question, candidates, design = searching.question, searching.candidates, tried.values
    points = candidates.evaluate(design[None, :], scenarios)
    held = [holds(points, limit)[0] for limit in question.limits if limit.event is None]
    setting = candidates.setting(design)
    return JudgedDesign(
        setting=setting,
        study=candidates.study_at(setting),
        wishes=tuple(
            _judged_wish(points, wish, float(seen))
            for wish, seen in zip(question.wishes, question.signs * tried.wishes, strict=True)
        ),
        limits=tuple(
            _judged_limit(points, limit, float(level), holding)
            for limit, level, holding in zip(
                question.limits, levels, active or [False] * len(levels), strict=True
            )
        ),
        together=exact_chance(np.logical_and.reduce(held) if held else np.ones(scenarios.points, dtype=bool)),
        status_shares={
            status.name: share
            for code, status in enumerate(registry.STATUSES)
            if (share := float(np.mean(points.outcomes == code)))
        },
        differs_in=tuple(differs_in),
    )


def _judged_wish(points: Evaluated, wish: Wish, seen: float) -> JudgedWish:
    values = values_of(points, wish.quantity)
    whole = values[np.isfinite(values)]
    if not whole.size:
        return JudgedWish(wish, figure(np.nan), np.nan, np.nan, seen)
    error = float(whole.std(ddof=1) / np.sqrt(whole.size)) if whole.size > 1 else 0.0
    low, high = np.quantile(whole, [0.025, 0.975])
    return JudgedWish(wish, figure(float(whole.mean()), error), float(low), float(high), seen)


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
