"""The borders that a path may cross, and how many firings of each of its designs lie past them.

Borders are those between regimes, the supply's current limit, whatever else the model warns of, and the limits that the
ends state themselves.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry
from explorer.questions.scale.path.along import Along
from explorer.questions.scale.path.path import SWITCH
from explorer.study.contrasts import FEWEST, Mask, by_design, fewest, share_of
from explorer.study.limits import holds, one_sided, stated_level
from explorer.study.regimes import Regime, regimes_known
from explorer.studyfile import CHANCE, Limit, Study

FloatArray = NDArray[np.float64]

#: Share of firings past a border from which on a design counts as past it [-].
MOST: Final[float] = 0.5

HELD_DOWN: Final = f"{CHANCE}held_down"

_SUPPLY: Final = Regime(
    "supply's current limit",
    HELD_DOWN,
    0.0,
    "a supply holds the current down at its limit",
    "More voltage then brings no more current, and what the gas would carry shows only in the voltage.",
    "the study's own current_limit",
)

#: Warnings that a border of a quantity stands for.
_STOOD_FOR: Final = frozenset({"constricted", "current_density", "overheating", "hall_field", "separation"})


@dataclass(frozen=True)
class Border:
    """A border that a path may cross."""

    regime: Regime  #: Its name, quantity, threshold and words
    #: What either end itself asks of a quantity, where that makes the border; a design is held to the
    #: nearer end's.
    limits: tuple[Limit | None, Limit | None] | None = None

    def limit_at(self, place: float) -> Limit | None:
        """The limit to which a design is held."""
        return None if self.limits is None else self.limits[0 if place < SWITCH else 1]

    def level_at(self, place: float) -> float:
        """Share of firings past it from which on a design counts as past [-]."""
        limit = self.limit_at(place)
        return MOST if limit is None else 1.0 - stated_level(limit)


def borders_of(first: Study, second: Study) -> tuple[Border, ...]:
    """The borders looked at: regimes, the supply's limit, what else the model warns of, the ends' own limits."""
    found = [Border(regime) for regime in regimes_known()]
    if first.mode == "acceleration":
        found.append(Border(_SUPPLY))
    for warning in registry.WARNINGS:
        if warning.code not in _STOOD_FOR:
            regime = Regime(
                warning.title,
                f"{CHANCE}{warning.code}",
                0.0,
                f"firings carry the warning: {warning.title}",
                warning.sentence,
                "a warning of the model",
            )
            found.append(Border(regime))
    return (*found, *_limits(first, second))


def _limits(first: Study, second: Study) -> list[Border]:
    """The limits that the ends state, those on one side of one quantity together."""
    found: dict[tuple[str, bool, bool], list[Limit | None]] = {}
    for end, study in enumerate((first, second)):
        for limit in one_sided(study.limits):
            key = limit.quantity, limit.at_least is not None, limit.at_most is not None
            found.setdefault(key, [None, None])[end] = limit
    return [
        Border(
            Regime(
                f"limit {number}",
                quantity,
                0.0,
                "the study's own limit binds, for it does not hold as surely as asked",
                "Its study would not accept a design past it.",
                "stated in the study",
                under=at_least,
            ),
            (limits[0], limits[1]),
        )
        for number, ((quantity, at_least, _), limits) in enumerate(found.items(), start=1)
    ]


def border_table(borders: Sequence[Border], along: Along, places: FloatArray) -> pd.DataFrame:
    """How many firings of each design lie past each border."""
    rows = {}
    for border in borders:
        row: dict[tuple[str, str], object] = {}
        for number, (name, place) in enumerate(zip(along.names, places, strict=True)):
            side = _side(border, along, number, float(place))
            row |= {(name, figure): value for figure, value in side.items()}
        rows[border.regime.name] = row
    return by_design(rows, "border")


def _side(border: Border, along: Along, number: int, place: float) -> dict[str, float]:
    past, keep, values = _marked(border, along, number, place)
    if fewest(keep) < FEWEST:
        return dict.fromkeys(("share", "standard_error", "level", "value"), np.nan)
    share = share_of(past, keep)
    return {
        "share": float(share.value),
        "standard_error": float(share.standard_error),
        "level": border.level_at(place),
        "value": np.nan if values is None else float(np.nanmean(values[keep])),
    }


def _marked(border: Border, along: Along, number: int, place: float) -> tuple[Mask, Mask, FloatArray | None]:
    """Which points of a design lie past a border, which of them count, and what is held against it."""
    found, pairs, regime = along.found[number], along.joint.sides[number].study.pairs, border.regime
    numbered = along.numbered(number)
    if border.limits is not None:
        limit = border.limit_at(place)
        if limit is None:  # what isn't asked isn't broken
            return np.zeros_like(numbered), np.ones_like(numbered), None
        quantity = found.quantities.get(limit.quantity)
        return (
            ~holds(found, limit),
            np.ones_like(numbered),
            quantity,
        )  # a point without a number meets no limit
    if regime.quantity == HELD_DOWN:
        return along.held_down[number], numbered, None
    values, first = regime.values(found, pairs), regime.values(along.found[0], pairs)
    keep = np.isfinite(values) & numbered
    if regime.relative:
        keep &= np.isfinite(first)
    return regime.is_past(values, first), keep, None if regime.is_chance else values
