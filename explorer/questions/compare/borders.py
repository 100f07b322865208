"""What changes regime between designs, and which similarity numbers they don't hold, in plain words."""

import math
from collections.abc import Sequence
from typing import Final

from explorer import registry, units
from explorer.page.designs import Figures, figures_of, plain_name
from explorer.page.words import listed, percent_with_sampling, with_uncertainty
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.regime_sides import changing
from explorer.questions.compare.tables import block
from explorer.study.regimes import Regime, regimes_known

#: Ratio of two similarity numbers above which, or below its inverse, they differ.
_FACTOR: Final = 2.0

_REAL_GAS: Final = (
    "A real gas cannot hold all similarity numbers at once: what is learnt of one design holds for another only as far"
    " as it hangs on those that agree."
)
_ALIKE: Final = f"lie within a factor {_FACTOR:g} of each other in all of these numbers."

_CALCULATED: Final = "Values and shares at borders are the calculation's, without the model's own error."


def regime_words(found: Comparison) -> tuple[str, ...]:
    """Return what changes regime between the designs, one border an item."""
    crossed = changing(found.regimes)
    rest = listed([regime.name for regime in regimes_known() if regime not in crossed])
    if not crossed:
        return (f"Nothing changes regime between them. Looked at: {rest}.",)
    words = tuple(_regime(found, regime) for regime in crossed)
    return (*words, *((f"No change at the borders of {rest}.",) if rest else ()), _CALCULATED)


def _regime(found: Comparison, regime: Regime) -> str:
    each = [
        f"{name} {_how_often(own)}{_value(regime, own)}"
        for name in found.names
        for own in (figures_of(found.regimes, name)[regime.name],)
    ]
    head = regime.name[0].upper() + regime.name[1:]
    return f"{head}: {regime.past}{_border(regime)}. {'; '.join(each)}. {regime.sentence} (Border: {regime.source}.)"


def _border(regime: Regime) -> str:
    if regime.is_chance or regime.relative:
        return ""
    side = "below" if regime.under else "above"
    return f" ({regime.measure or regime.quantity} {side} {registry.quantity(regime.quantity).shown(regime.threshold)})"


def _how_often(own: Figures) -> str:
    share = own["share"]
    if math.isnan(share):
        return "can't be told"
    if share in (0.0, 1.0):
        return "always" if share else "never"
    return f"in {percent_with_sampling(share, own['standard_error'])} of firings"


def _value(regime: Regime, own: Figures) -> str:
    if regime.is_chance or math.isnan(own["value"]):
        return ""
    return f", with {with_uncertainty(registry.quantity(regime.quantity), own['value'], own['standard_uncertainty'])}"


def similarity_words(found: Comparison) -> tuple[str, ...]:
    """Return for each other design which similarity numbers it does not hold."""
    first = figures_of(found.quantities, found.names[0])
    words = []
    for other in found.names[1:]:
        own = figures_of(found.quantities, other)
        apart, near = [], []
        for row in block(found, "similarity", printed=False):
            one, two = first[row]["mean"], own[row]["mean"]
            if math.isnan(one) or math.isnan(two):
                continue
            ratio = two / one if one else math.nan
            if 1 / _FACTOR <= ratio <= _FACTOR or one == two:
                near.append(plain_name(row))
            else:
                apart.append(f"{plain_name(row)} ({_times(ratio)})")
        words.append(_similar(other, found.names[0], apart, near))
    alike = all(sentence.endswith(_ALIKE) for sentence in words)
    return tuple(words) if alike else (_REAL_GAS, *words)


def _times(ratio: float) -> str:
    return f"{units.number_text(ratio, 2)} times" if ratio > 0 else "of another sign, or zero"


def _similar(other: str, first: str, apart: Sequence[str], near: Sequence[str]) -> str:
    if not apart:
        return f"{other} and {first} {_ALIKE}"
    rest = f" Within it: {listed(near)}." if near else ""
    return f"{other} lies beyond a factor {_FACTOR:g} of {first}, by the means, in {listed(apart)}.{rest}"
