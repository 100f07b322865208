"""The designs of a path as tables: one a row, similarity numbers, how firings end, what is left, what to build."""

import math
from collections.abc import Iterable, Sequence
from typing import Final

from explorer import registry, units
from explorer.analysis.scrambles import Estimate
from explorer.page.designs import (
    NONE,
    columns,
    event_words,
    interval_cell,
    label,
    percent_cell,
    short_names,
    unit_label,
)
from explorer.page.document import Table
from explorer.page.words import (
    between,
    figure_with_sampling,
    listed,
    number_with_sampling,
    percent,
    with_sampling,
)
from explorer.questions.scale.firings import shared_name
from explorer.questions.scale.ladder.choice import TriedSet
from explorer.questions.scale.ladder.ladder import Candidate, Ladder
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.scaling import Scaling, Stage
from explorer.questions.scale.words import border_name
from explorer.study.compared import SIMILARITY
from explorer.study.stated import Stated, stated_beside

#: What is printed of the designs beside the target and the similarity numbers.
_WORK: Final = (
    "thrust",
    "current",
    "electrical_power",
    "power_delivered",
    "terminal_voltage",
    "back_emf",
    "inlet_conductivity",
    "max_current_density",
    "stage_mass",
)

#: Most sets listed.
_MOST_SETS: Final = 12


def trust_table(found: Scaling, *, brief: bool = False) -> Table:
    """Return how the target's interval narrows; in brief without sampling errors."""
    quantity, spread = registry.quantity(found.target), found.trust.now.standard_uncertainty

    def left(stage: Stage) -> str:
        figure = float(stage.left) if brief else stage.left
        return figure_with_sampling(quantity, figure, None, spread, full=not brief)

    rows = [
        (
            stage.words,
            _stage_cost(stage),
            f"± {left(stage)}",
            between(quantity, *found.narrowed(stage.left), spread, last=" … ", bare=True),
        )
        for stage in found.stages
    ]
    head = ("", "cost", "±" if brief else "standard uncertainty", f"19 times in 20{unit_label(quantity)}")
    return Table(tuple(rows), head, frozenset({1}))


def _stage_cost(stage: Stage) -> str:
    if math.isnan(stage.cost):
        return ""
    return "1 each" if stage.cost == 0.0 else units.number_text(stage.cost, 2)


def design_table(found: Scaling) -> Table:
    """Return the designs, one a row: where they lie, what they cost, what firing each alone would leave."""
    quantity, short = registry.quantity(found.target), short_names(found.names)
    taken, steps = set(), {}
    if found.ladder is not None:
        taken = {rung.design.name for rung in found.ladder.rungs}
        steps = {step.design.name: _left_cells(found, found.ladder, step) for step in found.ladder.steps}
    rows = [
        (
            f"{short[own.name]}{', to fire' if own.name in taken else ''}",
            f"{units.number_text(100.0 * own.place, 2)} %",
            units.number_text(own.size, 3),
            units.number_text(own.cost, 2),
            interval_cell(quantity, own.figures[found.target]),
            *steps.get(own.name, ("", "", "")),
        )
        for own in found.designs
    ]
    head = (
        "",
        "way",
        "size",
        "cost",
        f"{quantity.words}{unit_label(quantity)}",
        "leaves",
        "per cost",
        "changes",
    )
    return Table(tuple(rows), head, frozenset({1, 2, 3, 5, 6, 7}))


def _left_cells(found: Scaling, ladder: Ladder, step: Candidate) -> tuple[str, str, str]:
    """What firing a step alone would leave, what share of the variance that removes for its cost, changes before it."""
    quantity = registry.quantity(found.target)
    left = figure_with_sampling(quantity, float(step.left), 0.0, step.left, bare=True)
    per_cost = float(step.per_cost) * _share(ladder)
    return left, units.number_text(per_cost, 2), str(step.changes)


def _share(ladder: Ladder) -> float:
    """What a variance is multiplied by to be a share of the target's, in per cent."""
    return 100.0 / float(ladder.now) ** 2


def similarity_tables(found: Scaling) -> tuple[Table, ...]:
    """Return similarity numbers and where the designs work, a column a design, means only."""
    return (*_means(found, SIMILARITY), *_means(found, _WORK))


def _means(found: Scaling, wanted: Sequence[str]) -> tuple[Table, ...]:
    def cell(row: str, design: Waypoint) -> str:
        mean, quantity = float(design.figures[row].mean), registry.quantity(row)
        return NONE if math.isnan(mean) else quantity.scale.number(mean, 3)

    return columns(found.designs, found.told_rows(wanted), label, cell)


def ended_tables(found: Scaling) -> tuple[Table, ...]:
    """Return how the firings of each design end, and how many lie past each regime boundary, a column a design."""
    crossed = {
        border.name: f"past: {border_name(border)} [%]"
        for border in found.borders
        if any(float(own.sides[border.name].share) > 0 for own in found.designs)
    }
    heads = {row: f"{event_words(row)} [%]" for row in found.first.statuses} | crossed

    def cell(row: str, design: Waypoint) -> str:
        share = 100.0 * float(design.sides[row].share if row in crossed else design.statuses[row])
        return "" if math.isnan(share) else f"{share:.3g}" if share >= 0.1 else f"{share:.1g}"

    return columns(found.designs, heads, heads.__getitem__, cell)


def coarsest_share(found: Scaling) -> float:
    """Return the largest standard error of a share in `ended_tables` [-]."""
    shares: list[Estimate] = []
    for own in found.designs:
        shares += [*own.statuses.values(), *(side.share for side in own.sides.values() if side.is_told)]
    return max(share.error for share in shares)


def border_tables(found: Scaling) -> tuple[Table, ...]:
    """Return how many firings of each design lie past each regime boundary, with sampling errors."""
    heads = {
        border.name: f"{border_name(border)}: {border.regime.measure or registry.words_of(border.regime.quantity)}"
        for border in found.borders
    }
    return columns(
        found.designs, heads, heads.__getitem__, lambda row, own: percent_cell(own.sides[row].share)
    )


def event_tables(found: Scaling) -> tuple[Table, ...]:
    """Return the share of each status and warning among all points of each design, with sampling errors."""
    rows = [*found.first.statuses, *found.first.warnings]
    return columns(
        found.designs, rows, event_words, lambda row, own: percent_cell({**own.statuses, **own.warnings}[row])
    )


def build_table(found: Scaling, ladder: Ladder) -> tuple[Table, ...]:
    """Return every input and word in which the ends and the steps to fire differ, a column a design."""
    shown = [found.first, *(rung.design for rung in ladder.rungs), found.last]
    each = stated_beside([own.study for own in shown])
    stated = {own.name: says for own, says in zip(shown, each, strict=True)}
    rows = [row for row in each[0] if len({_as_stated(row, says[row]) for says in each}) > 1]
    words = {row for row in rows if any(isinstance(says[row].value, str) for says in each)}

    def head(row: str) -> str:
        return registry.words_of(row) if row in words else label(row)

    def cell(row: str, design: Waypoint) -> str:
        text = _as_stated(row, stated[design.name][row])
        return text if row in words else text.removesuffix(f" {registry.quantity(row).shown_unit}")

    return columns(shown, rows, head, cell)


def _as_stated(address: str, own: Stated) -> str:
    if own.value is None:
        return NONE
    return own.value if isinstance(own.value, str) else registry.quantity(address).shown(own.value)


def step_table(found: Scaling, ladder: Ladder) -> Table:
    """Return every step by itself, after the first design."""
    quantity, share = registry.quantity(found.target), _share(ladder)

    def removed(variance: Estimate) -> str:
        return number_with_sampling(share * float(variance), share * variance.half_width)

    rows = [
        (
            step.design.name,
            with_sampling(quantity, step.left, full=True),
            removed(step.removed),
            removed(step.per_cost),
            str(step.changes),
        )
        for step in ladder.steps
    ]
    head = ("", "left", "removed [% of variance] (± 95 %)", "per cost [%] (± 95 %)", "changes")
    return Table(tuple(rows), head, frozenset({2, 3, 4}))


def set_table(sets: Iterable[TriedSet], ladder: Ladder) -> Table:
    """Return the first of the sets of steps."""
    share = _share(ladder)
    rows = [
        (
            listed([design.name for design in own.designs]),
            units.number_text(own.cost, 3),
            number_with_sampling(share * float(own.removed), share * own.removed.half_width),
            number_with_sampling(share * float(own.gain), share * own.gain.half_width),
            "too dear" if own.dear else "yes" if own.worthwhile else "too little",
        )
        for own in [*sets][:_MOST_SETS]
    ]
    head = ("set", "cost", "removed [% of variance] (± 95 %)", "gain [%] (± 95 %)", "can be chosen")
    return Table(tuple(rows), head, frozenset({1, 2, 3}))


def pinned_table(ladder: Ladder) -> Table:
    """Return what is left of what both designs share, as firings are added."""
    rows = [
        (shared_name(name), *(percent(share, 3) for share in left))
        for name, left in ladder.shared_left.items()
    ]
    return Table(tuple(rows), ("", *ladder.stages), frozenset(range(1, len(ladder.stages) + 1)))
