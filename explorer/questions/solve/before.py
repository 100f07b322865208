"""An operating point beside the one that it was before values were set from outside."""

import math
from collections.abc import Mapping
from typing import Any, Final

from explorer import registry
from explorer.page.document import Section, Table, section
from explorer.page.words import STATUS_WORDS, percent
from explorer.questions.solve.point import Point
from explorer.study.compared import MASS, OUTCOME, compared_quantities, of_study

#: Outputs that are told besides what the study aims at.
_TOLD: Final = {*OUTCOME, MASS[0]}


def before_and_after(before: Point, after: Point) -> Section:
    """Return what was set, and what comes out of it, before and after."""
    return section("Before and after", [Table(_rows(before, after), ("", "before", "after", "change"))])


def before_data(before: Point) -> Mapping[str, Any]:
    """Return the point before, for a JSON."""
    return {
        "status": before.status,
        "quantities": {
            address: {"value": value, "unit": registry.quantity(address).unit}
            for address, value in before.quantities.items()
        },
    }


def _rows(before: Point, after: Point) -> tuple[tuple[str, ...], ...]:
    one, two = _stated(before), _stated(after)
    put_in = [
        (registry.words_of(address), *(_shown(address, own.get(address)) for own in (one, two)), "")
        for address in after.study.replacements
        if one.get(address) != two.get(address)
    ]
    if before.status != after.status:
        put_in.append(("status", STATUS_WORDS[before.status], STATUS_WORDS[after.status], ""))
    both = (before.study, after.study)
    asked = {study.target.quantity for study in both}
    rows = [
        row
        for row in compared_quantities(both)
        if (row in asked or row in _TOLD)
        and row in of_study(after.study, [row])
        and not all(math.isnan(point.quantities.get(row, math.nan)) for point in (before, after))
    ]
    return (*put_in, *(_row(row, before.quantities, after.quantities) for row in rows))


def _stated(point: Point) -> dict[str, float | str]:
    return {**point.study.choices, **point.study.central()}


def _row(row: str, before: Mapping[str, float], after: Mapping[str, float]) -> tuple[str, ...]:
    one, two = before.get(row, math.nan), after.get(row, math.nan)
    both = (registry.quantity(row).spoken(x) for x in (one, two))
    return registry.words_of(row), *both, _change(row, one, two)


def _shown(address: str, value: float | str | None) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "none"
    return value if isinstance(value, str) else registry.quantity(address).shown(value, 4)


def _change(row: str, one: float, two: float) -> str:
    if math.isnan(one) or math.isnan(two):
        return ""
    if one == two:
        return "none"
    size = registry.quantity(row).scale.difference(abs(two - one), 3)
    relative = f" ({percent(abs(two / one - 1.0))})" if one else ""
    return f"{'+' if two > one else '-'}{size}{relative}"
