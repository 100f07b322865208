"""Designs judged on points that had no part in choosing them.

The best of many noisy designs looks better than it is, for the search picks luck too. Fresh points are independent
and pseudo-random, so that the exact binomial interval holds for each chance.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry, sampling
from explorer.analysis.search.chance_limits import exact_interval
from explorer.questions.optimize.search.candidates import Candidates, Scenarios
from explorer.questions.optimize.search.proposal import (
    ExactChance,
    JudgedDesign,
    JudgedLimit,
    JudgedWish,
)
from explorer.questions.optimize.search.question import Question, expected, values_of
from explorer.run import Evaluated
from explorer.study.limits import holds, stated_level
from explorer.study.verdicts import MET, NOT_MET, verdict
from explorer.studyfile import Limit, Wish

FloatArray = NDArray[np.float64]

#: Fresh points of a judgement [-].
FRESH_POINTS: Final[int] = 32_768

#: First stream of fresh points among those of a search.
_FIRST_FRESH: Final[int] = 1000


def fresh_scenarios(number: int, dimension: int, sample: int, points: int = FRESH_POINTS) -> Scenarios:
    """Independent pseudo-random scenarios that no search has seen."""
    rng = sampling.generator(number, sampling.Purpose.OPTIMISATION, scramble=_FIRST_FRESH + sample)
    cube = sampling.off_zero(rng.random((points, dimension)), cell=2.0**-53)
    return Scenarios(f"fresh {sample}", cube)


@dataclass(frozen=True)
class Judge:
    """Judges designs, all on the same points."""

    candidates: Candidates
    question: Question
    scenarios: Scenarios

    def found(self, design: FloatArray) -> Evaluated:
        """One design on the points."""
        return self.candidates.evaluate(design[None, :], self.scenarios)

    def chances(self, design: FloatArray) -> FloatArray:
        """Lower end, share and upper end of the chances with which the limits hold [-], shape (limits, 3)."""
        found = self.found(design)
        chances = [_chance(holds(found, limit)[0]) for limit in self.question.limits]
        return np.array([(chance.low, chance.share, chance.high) for chance in chances])

    def judged(
        self,
        design: FloatArray,
        *,
        levels: FloatArray,
        by_search: Sequence[float],
        active: Sequence[bool] = (),
        differs_in: Sequence[str] = (),
    ) -> JudgedDesign:
        """A design with everything that is said of it."""
        found = self.found(design)
        setting = self.candidates.setting(design)
        held = [holds(found, limit)[0] for limit in self.question.limits]
        on_quantities = [
            h for h, limit in zip(held, self.question.limits, strict=True) if limit.event is None
        ]
        together = (
            np.logical_and.reduce(on_quantities) if on_quantities else np.ones(self.scenarios.points, bool)
        )
        holding = list(active) or [False] * len(self.question.limits)
        return JudgedDesign(
            setting=setting,
            study=self.candidates.study_at(setting),
            wishes=tuple(
                _judged_wish(found, wish, seen)
                for wish, seen in zip(self.question.wishes, by_search, strict=True)
            ),
            limits=tuple(
                _judged_limit(found, limit, h, float(level), is_active)
                for limit, h, level, is_active in zip(
                    self.question.limits, held, levels, holding, strict=True
                )
            ),
            together=_chance(together),
            status_shares=_status_shares(found),
            differs_in=tuple(differs_in),
        )


def _chance(held: NDArray[np.bool_]) -> ExactChance:
    low, high = exact_interval(int(held.sum()), held.size)
    return ExactChance(float(held.mean()), low, high, held.size)


def _judged_wish(found: Evaluated, wish: Wish, seen: float) -> JudgedWish:
    values = values_of(found, wish.quantity)[0]
    whole = values[np.isfinite(values)]
    low, high = np.quantile(whole, [0.025, 0.975]) if whole.size else (np.nan, np.nan)
    return JudgedWish(
        wish=wish,
        expected=float(expected(found, wish.quantity)[0]),
        standard_error=float(whole.std(ddof=1) / np.sqrt(whole.size)) if whole.size > 1 else 0.0,
        low=float(low),
        high=float(high),
        by_search=seen,
    )


def _judged_limit(
    found: Evaluated, limit: Limit, held: NDArray[np.bool_], level: float, active: bool
) -> JudgedLimit:
    chance = _chance(held)
    stated = stated_level(limit)
    at_central_values = held.size == 1
    judged = (
        (MET if held[0] else NOT_MET) if at_central_values else verdict((chance.low, chance.high), stated)
    )
    shown = chance
    quantile = float("nan")
    if limit.event is None:
        quantile = _kept_value(found.quantities[limit.quantity][0], limit, stated)
    elif limit.at_most is not None:  # the share of the event, not of its absence
        shown = ExactChance(1.0 - chance.share, 1.0 - chance.high, 1.0 - chance.low, chance.points)
    return JudgedLimit(limit, level, shown, quantile, judged, active)


def _kept_value(values: FloatArray, limit: Limit, chance: float) -> float:
    """The value that a quantity keeps to with a chance [SI]: its low quantile, or its high one under an upper bound."""
    if values.size == 1:
        return float(values[0])
    upper = limit.at_least is None
    lost = np.inf if upper else -np.inf
    filled = np.where(np.isfinite(values), values, lost)
    return float(np.quantile(filled, chance if upper else 1.0 - chance, method="closest_observation"))


def _status_shares(found: Evaluated) -> Mapping[str, float]:
    counts = np.bincount(found.outcomes.ravel(), minlength=len(registry.STATUSES))
    return {
        s.name: float(n / found.outcomes.size) for s, n in zip(registry.STATUSES, counts, strict=True) if n
    }
