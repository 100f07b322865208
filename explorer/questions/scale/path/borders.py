"""The borders that a path may cross, and how many firings of each of its designs lie past them.

Borders are those between regimes, the supply's current limit, whatever else the model warns of, and the limits that the
ends state themselves.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from explorer import registry
from explorer.questions.scale.path.path import SWITCH
from explorer.questions.scale.path.sample import Sample
from explorer.registry import CHANCE
from explorer.study.contrasts import Cells, share_row
from explorer.study.limits import holds, one_sided, outputs_read, stated_level
from explorer.study.regimes import REGIMES, BorderSide, Regime, side_of, side_of_regime
from explorer.studyfile import Limit, Study

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

    @property
    def name(self) -> str:
        """What it is called among the others."""
        return self.regime.name

    def addresses(self, pairs: Sequence[str]) -> tuple[str, ...]:
        """The outputs that it reads of a design."""
        return (
            self.regime.addresses(pairs) if self.limits is None else outputs_read(self.regime.quantity, pairs)
        )

    def limit_at(self, place: float) -> Limit | None:
        """The limit to which a design is held."""
        return None if self.limits is None else self.limits[0 if place < SWITCH else 1]

    def level_at(self, place: float) -> float:
        """Share of firings past it from which on a design counts as past [-]."""
        limit = self.limit_at(place)
        return MOST if limit is None else 1.0 - stated_level(limit)

    def row(self, side: BorderSide, place: float) -> Cells:
        """How many firings of a design lie past it, as a row of a table."""
        return {
            **share_row(side.share),
            "level": self.level_at(place) if side.is_told else math.nan,
            "value": math.nan if self.regime.is_chance else side.value,
        }


def borders_of(first: Study, second: Study) -> tuple[Border, ...]:
    """The borders looked at: regimes, the supply's limit, what else the model warns of, the ends' own limits."""
    found = [Border(regime) for regime in REGIMES]
    if first.mode == "acceleration":
        found.append(Border(_SUPPLY))
    for warning in registry.WARNINGS:
        if warning.code not in _STOOD_FOR:
            regime = Regime(
                warning.title.partition(":")[0],  # what follows from it stands in the sentence
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


def side_at(border: Border, sample: Sample, number: int, place: float) -> BorderSide:
    """On which side of a border a design lies."""
    pairs = sample.joint.sides[number].study.pairs
    numbered, regime = sample.numbered(number), border.regime
    every = np.ones_like(numbered)
    if border.limits is not None:
        limit = border.limit_at(place)
        if limit is None:  # what isn't asked isn't broken
            return side_of(~every, every, None)
        found = sample.found[number]
        # A point without a number meets no limit.
        return side_of(~holds(found, limit), every, found.quantities.get(limit.quantity))
    if regime.quantity == HELD_DOWN:
        return side_of(sample.held_down[number], numbered, None)
    # As `compare` does, without the model's own error.
    return side_of_regime(
        regime, sample.calculated[number], pairs, regime.values(sample.calculated[0], pairs)
    )
