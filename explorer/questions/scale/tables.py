"""The designs of a path as tables: a row a design, similarity numbers, how firings end, what is left, the points."""

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from explorer import registry, units
from explorer.page.designs import bare, columns, event_words, figures_of, label, short_names
from explorer.page.document import Table
from explorer.page.words import between, figure_with_sampling
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.path.steps import PRESSURE
from explorer.questions.scale.rows import border_name, interval, point_name, point_of, stages
from explorer.stage.design import ambient_pressure
from explorer.study.compared import SIMILARITY

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


#: What makes up a point: sizes, gas, field, circuit, surroundings.
_MAIN: Final = frozenset(
    {
        "gas.seed_fraction",
        "gas.chamber_pressure",
        "nozzle.throat_diameter",
        "channel.length",
        "channel.gap_in",
        "channel.gap_out",
        "channel.width_in",
        "channel.width_out",
        "magnet.field",
        "exit.area_ratio",
        PRESSURE,
    }
)
_MAIN_OF_PAIR: Final = (".start", ".length", ".source.voltage", ".source.resistance", ".source.current_limit")


def trust_table(found: Scaling) -> Table:
    """Return how the target's interval narrows."""
    quantity = registry.quantity(found.target)
    spread = float(found.trust.now.standard_uncertainty.value)
    rows = []
    for words, left, error in stages(found):
        ends = bare(quantity, between(quantity, *interval(found, left), spread, last=" … "))
        rows.append((words, f"± {figure_with_sampling(quantity, left, error, spread)}", ends))
    unit = "" if quantity.shown_unit in ("", "1") else f" [{quantity.shown_unit}]"
    return Table(tuple(rows), ("", "standard uncertainty", f"19 times in 20{unit}"))


def design_table(found: Scaling) -> Table:
    """Return the designs, a row each: where they lie, what they cost, what firing each alone would leave."""
    quantity = registry.quantity(found.target)
    rows, short = [], short_names(found.names)
    for design, name in enumerate(found.names):
        own = figures_of(found.quantities, name)[found.target]
        spread = own["standard_uncertainty"]
        mean = bare(quantity, figure_with_sampling(quantity, own["mean"], 0.0, spread, 2))
        ends = bare(quantity, between(quantity, own["low"], own["high"], spread, last=" … "))
        rows.append(
            (
                point_of(found, design, short[name]),
                f"{units.number_text(100.0 * float(found.places[design]), 2)} %",
                units.number_text(float(found.sizes[design]), 3),
                units.number_text(float(found.costs[design]), 2),
                mean if math.isnan(own["mean"]) or not spread > 0 else f"{mean} ({ends})",
                *_left_cells(found, name),
            )
        )
    unit = "" if quantity.shown_unit in ("", "1") else f" [{quantity.shown_unit}]"
    head = ("", "way", "size", "cost", f"{found.target}{unit}", "leaves", "per cost", "changes")
    return Table(tuple(rows), head, frozenset({1, 2, 3, 5, 6, 7}))


def _left_cells(found: Scaling, name: str) -> tuple[str, str, str]:
    """What firing a step alone would leave, what share of the variance that removes for its cost, changes before it."""
    ladder = found.ladder
    if ladder is None or name not in ladder.candidates.index:
        return "", "", ""
    row: Any = ladder.candidates.loc[name]
    quantity = registry.quantity(found.target)
    left = bare(quantity, figure_with_sampling(quantity, row["left"], 0.0, row["left"]))
    share = 100.0 / float(ladder.now.value) ** 2
    return left, units.number_text(share * row["per_cost"], 2), str(int(row["changes"]))


def similarity_tables(found: Scaling) -> tuple[Table, ...]:
    """Return similarity numbers and where the designs work, a column a design, means only."""
    return (*_means(found, SIMILARITY), *_means(found, _WORK))


def _means(found: Scaling, wanted: Sequence[str]) -> tuple[Table, ...]:
    figures = {name: figures_of(found.quantities, name) for name in found.names}
    rows = [
        str(row)
        for row in found.quantities.index
        if str(row).rpartition(".")[2] in wanted
        and any(not math.isnan(figures[name][str(row)]["mean"]) for name in found.names)
    ]

    def cell(row: str, name: str) -> str:
        mean, quantity = figures[name][row]["mean"], registry.quantity(row)
        return "none" if math.isnan(mean) else bare(quantity, quantity.shown(mean, 3))

    return columns(found.names, rows, label, cell)


def ended_tables(found: Scaling) -> tuple[Table, ...]:
    """Return how the firings of each design end, and how many lie past each border, a column a design."""
    shares = {name: figures_of(found.statuses, name) for name in found.names}
    borders = {name: figures_of(found.border_shares, name) for name in found.names}
    crossed = [
        str(row)
        for row in found.border_shares.index
        if found.border_shares.loc[row].xs("share", level="figure").astype(float).max() > 0
    ]
    statuses = [str(row) for row in found.statuses.index]

    def head(row: str) -> str:
        words = event_words(row) if row in statuses else f"past: {border_name(found, row)}"
        return f"{words} [%]"

    def cell(row: str, name: str) -> str:
        share = (shares[name][row] if row in statuses else borders[name][row])["share"]
        return (
            "" if math.isnan(share) else f"{100.0 * share:.3g}" if share >= 1e-3 else f"{100.0 * share:.1g}"
        )

    return columns(found.names, [*statuses, *crossed], head, cell)


def coarsest_share(found: Scaling) -> float:
    """Return the largest standard error of a share in `ended_tables` [-]."""
    errors = [
        table.xs("standard_error", axis=1, level="figure").to_numpy(dtype=float)
        for table in (found.statuses, found.border_shares)
    ]
    return float(np.nanmax(np.concatenate([own.ravel() for own in errors])))


def points_table(found: Scaling) -> tuple[Table, ...]:
    """Return the main inputs of both ends and the points between, a column a design."""
    studies = [found.path.first, *(step.study for step in found.path.steps), found.path.second]
    rungs = found.ladder.rungs if found.ladder else ()
    designs = {
        found.names[0]: 0,
        **{point_name(number): rung.design for number, rung in enumerate(rungs, start=1)},
        found.names[-1]: len(found.names) - 1,
    }
    values = {}
    for name, design in designs.items():
        central = studies[design].central()
        values[name] = {**central, PRESSURE: float(ambient_pressure(central))}
    rows = [
        address for address in dict.fromkeys(a for own in values.values() for a in own) if _is_main(address)
    ]

    def cell(row: str, name: str) -> str:
        quantity = registry.quantity(row)
        return bare(quantity, quantity.shown(values[name][row])) if row in values[name] else "none"

    def head(row: str) -> str:
        unit = registry.quantity(row).shown_unit
        return row if unit in ("", "1") else f"{row} [{unit}]"

    return columns(list(designs), rows, head, cell)


def _is_main(address: str) -> bool:
    return address in _MAIN or (address.startswith("electrodes.") and address.endswith(_MAIN_OF_PAIR))
