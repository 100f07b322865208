"""What is looked at in the designs of a path: outputs, and how their points end."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from explorer.questions.scale.path.along import Along
from explorer.questions.scale.path.borders import HELD_DOWN, Border, borders_of
from explorer.questions.scale.path.path import Path
from explorer.study.compared import compared_quantities, of_study
from explorer.study.contrasts import by_design, share_of
from explorer.study.limits import event
from explorer.studyfile import CHANCE


def quantities_of_path(path: Path) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Rows of the table, all that has to be computed, and what instruments read."""
    first, second = path.first, path.second
    reads = tuple(dict.fromkeys(instrument.reads for instrument in first.instruments))
    target = second.target.quantity
    rows = of_study(second, compared_quantities((second, first), reads), (*reads, first.target.quantity))
    bordered = [
        address for border in borders_of(first, second) for address in _of_border(border, first.pairs)
    ]
    return rows, tuple(dict.fromkeys((target, *rows, *reads, "thrust", *bordered))), reads


def _of_border(border: Border, pairs: tuple[str, ...]) -> tuple[str, ...]:
    if border.regime.quantity == HELD_DOWN or border.regime.is_chance:
        return ()
    return (border.regime.quantity,) if border.limits is not None else border.regime.addresses(pairs)


def event_table(along: Along, events: Sequence[str]) -> pd.DataFrame:
    """Share of each status or warning that some design has, of all its points."""
    table: dict[str, dict[tuple[str, str], float]] = {}
    for quantity in events:
        marks = [event(found, quantity) for found in along.found]
        if any(mark.any() for mark in marks):
            shares = [share_of(mark, np.ones_like(mark)) for mark in marks]
            table[quantity.removeprefix(CHANCE)] = {
                (name, figure): float(value)
                for name, share in zip(along.names, shares, strict=True)
                for figure, value in (("share", share.value), ("standard_error", share.standard_error))
            }
    return by_design(table, "event")
