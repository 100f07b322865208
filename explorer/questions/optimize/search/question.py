"""What is asked of designs: wishes and limits, and how far a design is from them over scenarios.

A design must also carry numbers, or it would be judged by its few good points alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.analysis.search.chance_limits import event_margin, quantile_margin
from explorer.analysis.search.design_space import Assessed
from explorer.questions.optimize.search.candidates import CENTRAL, Candidates
from explorer.registry import CHANCE
from explorer.run import Evaluated
from explorer.study.limits import bound_margin, event, holds, outputs_read, stated_level
from explorer.studyfile import Limit, StudyError, Wish
from explorer.studyfile.error import naming
from explorer.studyfile.names import check_pair

FloatArray = NDArray[np.float64]


#: One wish as a caller gives it: ("thrust_gain", "largest"), the same as a mapping, or a `Wish`.
Wanted = Wish | tuple[str, str] | Mapping[str, str]


@dataclass(frozen=True)
class Question:
    """Wishes and limits, ready to be asked of designs."""

    wishes: tuple[Wish, ...]
    limits: tuple[Limit, ...]  #: one-sided where they concern a chance; the implied one last
    scales: tuple[float, ...]  #: what each limit's margin is measured by [SI]: its bound
    target: Limit | None = None  #: what the study requires and the search doesn't ask for

    @property
    def levels(self) -> FloatArray:
        """Chances as stated [-]."""
        return np.array([stated_level(limit) for limit in self.limits])

    @property
    def signs(self) -> FloatArray:
        """Of each wish what a search, which makes all smallest, multiplies it by [-]."""
        return np.array([1.0 if wish.make == "smallest" else -1.0 for wish in self.wishes])

    def assessed(self, points: Evaluated, levels: FloatArray) -> Assessed:
        """Designs as a search sees them, limits held to these chances."""
        margins = [
            event_margin(holds(points, limit), level=float(level))
            if limit.event is not None
            else quantile_margin(bound_margin(points, limit), level=float(level), scale=scale)
            for limit, scale, level in zip(self.limits, self.scales, levels, strict=True)
        ]
        wishes = np.column_stack([expected(points, wish.quantity) for wish in self.wishes])
        return Assessed(self.signs * wishes, np.column_stack(margins))

    def relaxed(self, limit: int, share: float) -> "Question":
        """The question with one limit relaxed by a share of its bound (or of what its margin is measured by)."""
        stated, scale = self.limits[limit], self.scales[limit]
        by = share * (scale if stated.event is None else abs(stated.at_least or stated.at_most or 0.0))
        limits = list(self.limits)
        limits[limit] = replace(
            stated,
            at_least=None if stated.at_least is None else stated.at_least - by,
            at_most=None if stated.at_most is None else stated.at_most + by,
        )
        return replace(self, limits=tuple(limits))


def question_of(
    wishes: Sequence[Wish], limits: Sequence[Limit], candidates: Candidates, target: Limit | None = None
) -> Question:
    """The question; where a bound is zero, the quantity's size in the middle of the ranges scales its margin."""
    bounds = [max(abs(limit.at_least or 0.0), abs(limit.at_most or 0.0)) for limit in limits]
    zero = [x.quantity for x, bound in zip(limits, bounds, strict=True) if x.event is None and not bound]
    sizes = _sizes(zero, candidates) if zero else {}
    scales = [
        1.0 if limit.event is not None else bound or sizes.get(limit.quantity, 0.0) or 1.0
        for limit, bound in zip(limits, bounds, strict=True)
    ]
    return Question(tuple(wishes), tuple(limits), tuple(scales), target)


def _sizes(quantities: Sequence[str], candidates: Candidates) -> dict[str, float]:
    """How large quantities are in the middle of the ranges [SI], where they have a number there."""
    middle = [v.entries // 2 if v.entries else 0.5 * (v.low + v.high) for v in candidates.space.variables]
    points = candidates.evaluate(np.array([middle], dtype=np.float64), CENTRAL)
    sizes = {quantity: abs(float(expected(points, quantity)[0])) for quantity in quantities}
    return {quantity: size for quantity, size in sizes.items() if np.isfinite(size)}


def quantities_asked(
    wishes: Sequence[Wish], limits: Sequence[Limit], pairs: Sequence[str]
) -> tuple[str, ...]:
    """Outputs that wishes and limits are told from."""
    named = [*(wish.quantity for wish in wishes), *(limit.quantity for limit in limits)]
    return tuple(dict.fromkeys(output for name in named for output in outputs_read(name, pairs)))


def values_of(points: Evaluated, quantity: str) -> FloatArray:
    """A quantity [SI], or 1 where an event is found and 0 elsewhere; shape (designs, points)."""
    if quantity.startswith(CHANCE):
        return event(points, quantity).astype(np.float64)
    return points.quantities[quantity]


def expected(points: Evaluated, quantity: str) -> FloatArray:
    """Expectation over the points that carry a number [SI], NaN where none does; shape (designs,)."""
    values = values_of(points, quantity)
    finite = np.isfinite(values)
    counts = finite.sum(axis=1)
    sums = np.where(finite, values, 0.0).sum(axis=1)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)


def refuse_chances(asked: Sequence[Wish | Limit], pairs: Sequence[str], *, of_callable: bool) -> None:
    """Refuse chances of what can't happen, of pairs that a study hasn't, and of warnings, which no callable gives."""
    for name in (own.quantity for own in asked if own.quantity.startswith(CHANCE)):
        event = name.removeprefix(CHANCE)
        with naming(name):
            registry.quantity(name)
        if not of_callable:
            check_pair(name, event, pairs)
        elif event in registry.WARNING_BITS and registry.form_of_contact(event) is None:
            raise StudyError(f"{name}: a callable gives statuses and forms of contact, and no warnings")


def wishes_of(wanted: Wanted | Sequence[Wanted] | None) -> tuple[Wish, ...]:
    """Wishes as a caller gives them: one or several, each a Wish, a mapping or (quantity, make)."""
    if wanted is None:
        return ()
    several = [wanted] if isinstance(wanted, Wish | Mapping) or isinstance(wanted[0], str) else wanted
    return tuple(_wish(item) for item in several)


def _wish(item: Any) -> Wish:
    if isinstance(item, Wish):
        return item
    quantity, make = (item["quantity"], item["make"]) if isinstance(item, Mapping) else item
    if make not in ("largest", "smallest"):
        raise StudyError(f'a wish is for the "largest" or the "smallest"; got "{make}"')
    return Wish(quantity, make)


def limit_of(item: Mapping[str, Any] | Limit) -> Limit:
    """A limit as a caller gives it: bounds in SI."""
    if isinstance(item, Limit):
        return item
    chance = item.get("chance", 0.9)
    if not 0 < chance < 1:
        raise StudyError(f"the chance of a limit must lie between 0 and 1, both excluded; got {chance:g}")
    return Limit(item["quantity"], item.get("at_least"), item.get("at_most"), chance, "yours")
