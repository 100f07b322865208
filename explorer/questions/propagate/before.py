"""A prediction beside the one that it was before values were set from outside."""

from collections.abc import Mapping
from typing import Any

from explorer import registry
from explorer.page.document import Section, Table, section
from explorer.page.figures import with_standard_errors
from explorer.page.words import between, opened, percent_with_sampling, with_uncertainty
from explorer.questions.propagate.figures import Figures
from explorer.questions.propagate.propagation import Propagation

_TOGETHER = (
    "Each by itself in one future firing. What the change alone does, with all else the same, `compare STUDY --change`"
    " tells."
)


def before_and_after(before: Propagation, after: Propagation) -> Section:
    """Return the figures before and after."""
    heads = {"mean ± standard uncertainty": _amount, "19 times in 20": _ends}
    rows: list[tuple[str, ...]] = [
        (
            f"{opened(registry.words_of(name))}, {head}" if place == 0 else f"  {head}",
            told(name, before),
            told(name, after),
        )
        for name in after.figures
        for place, (head, told) in enumerate(heads.items())
    ]
    if before.chance_met is not None and after.chance_met is not None:
        chances = (percent_with_sampling(found.chance_met) for found in (before, after) if found.chance_met)
        rows.append(("chance of what is required", *chances))
    return section("Before and after", [Table(tuple(rows), ("", "before", "after")), _TOGETHER])


def before_data(before: Propagation) -> Mapping[str, Any]:
    """Return the figures before, for a JSON."""
    return {
        name: {
            "unit": own.mean.unit,
            **with_standard_errors(
                {
                    "mean": own.mean,
                    "standard_uncertainty": own.standard_uncertainty,
                    "interval_95": (own.low, own.high),
                }
            ),
        }
        for name, own in before.figures.items()
    }


def _amount(name: str, found: Propagation) -> str:
    own, quantity = found.figures[name], registry.quantity(name)
    return with_uncertainty(quantity, own.mean, own.spread) if own.moves else quantity.spoken(float(own.mean))


def _ends(name: str, found: Propagation) -> str:
    own: Figures = found.figures[name]
    return between(registry.quantity(name), own.low, own.high, own.spread, last=" … ") if own.moves else ""
