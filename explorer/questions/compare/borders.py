"""What changes regime between designs, and which similarity numbers they don't hold, in plain words."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

from explorer import registry, units
from explorer.page.words import AS_CALCULATED, listed, percent_with_sampling, with_uncertainty
from explorer.questions.compare.blocks import block
from explorer.questions.compare.comparison import Compared, Comparison
from explorer.study.regimes import REGIMES, BorderSide, Regime, parting

#: Ratio of two similarity numbers above which, or below its inverse, they differ.
_FACTOR: Final = 2.0

_REAL_GAS: Final = (
    "A real gas cannot hold all similarity numbers at once: what is learnt of one design holds for another only as far"
    " as it depends on those that agree."
)

_CALCULATED: Final = f"Values and shares at regime boundaries are {AS_CALCULATED}."


def regime_words(found: Comparison) -> Iterator[str]:
    """Return what changes regime between the designs, one boundary an item."""
    crossed = parting([own.sides for own in found.designs])
    rest = listed([regime.name for regime in REGIMES if regime not in crossed])
    if not crossed:
        yield f"No regime changes between them. Looked at: {rest}."
        return
    for regime in crossed:
        yield _regime(found, regime)
    if rest:
        yield f"No change of regime in {rest}."
    yield _CALCULATED


def _regime(found: Comparison, regime: Regime) -> str:
    each = [
        f"{own.name} {_how_often(own.sides[regime.name])}{_value(regime, own.sides[regime.name])}"
        for own in found.designs
    ]
    head = regime.name[0].upper() + regime.name[1:]
    return f"{head}: {regime.past}{_border(regime)}. {'; '.join(each)}. {regime.sentence} (Boundary: {regime.source}.)"


def _border(regime: Regime) -> str:
    if regime.is_chance or regime.relative:
        return ""
    side = "below" if regime.under else "above"
    return (
        f" ({regime.measure or registry.words_of(regime.quantity)} {side}"
        f" {registry.quantity(regime.quantity).shown(regime.threshold)})"
    )


def _how_often(side: BorderSide) -> str:
    share = float(side.share)
    if math.isnan(share):
        return "not told"
    if share in (0.0, 1.0):
        return "always" if share else "never"
    return f"in {percent_with_sampling(side.share)} of firings"


def _value(regime: Regime, side: BorderSide) -> str:
    if regime.is_chance or math.isnan(side.value):
        return ""
    return f", with {with_uncertainty(registry.quantity(regime.quantity), side.value, side.standard_uncertainty)}"


def similarity_words(found: Comparison) -> Iterator[str]:
    """Return for each other design which similarity numbers it does not hold."""
    ratios = {other.name: _ratios(found, other) for other in found.others}
    if any(not _is_near(ratio) for own in ratios.values() for ratio in own.values()):
        yield _REAL_GAS
    for other, own in ratios.items():
        apart = [
            f"{registry.words_of(row)} ({_times(ratio)})" for row, ratio in own.items() if not _is_near(ratio)
        ]
        near = [registry.words_of(row) for row, ratio in own.items() if _is_near(ratio)]
        yield _similar(other, found.first.name, apart, near)


def _ratios(found: Comparison, other: Compared) -> dict[str, float]:
    """By what factor the means of a design's similarity numbers exceed the first one's, where both have them."""
    ratios = {}
    for row in block(found, "similarity"):
        one, two = (float(own.figures[row].mean) for own in (found.first, other))
        if one == two:
            ratios[row] = 1.0
        elif not math.isnan(one) and not math.isnan(two):
            ratios[row] = two / one if one else math.nan
    return ratios


def _is_near(ratio: float) -> bool:
    return 1 / _FACTOR <= ratio <= _FACTOR


def _times(ratio: float) -> str:
    return f"{units.number_text(ratio, 2)} times" if ratio > 0 else "of another sign, or zero"


def _similar(other: str, first: str, apart: Sequence[str], near: Sequence[str]) -> str:
    if not apart:
        return (
            f"{other} and {first} lie within a factor of {_FACTOR:g} of each other in all of these numbers."
        )
    rest = f" Within it: {listed(near)}." if near else ""
    return f"{other} lies beyond a factor of {_FACTOR:g} of {first}, by the means, in {listed(apart)}.{rest}"
