"""A flight as tables: with against without, where the difference comes from, what the stage weighs, what drives it."""

from typing import Final

import pandas as pd

from explorer import registry
from explorer.page.bars import LEVEL
from explorer.page.document import Table
from explorer.page.text import bar
from explorer.page.words import figure_with_sampling, percent
from explorer.questions.flight.flight import Flight
from explorer.questions.flight.names import (
    MODE_WORDS,
    STEP_WORDS,
    Figures,
    amount,
    ends,
    figures_of,
    fitting,
    is_told,
    label,
    plan_of,
    quantity_of,
    taken,
)
from explorer.studyfile import Phase, Study

#: Share below which a row is not printed on its own [-], and characters of a whole bar.
SMALLEST_SHOWN: Final = 0.01

_BAR: Final = 10


def compared_table(found: Flight) -> Table:
    """Return every quantity without and with the stage."""
    rows = [
        (name, *(amount(name, figures_of(found.compared, name, case)) for case in ("without", "with")))
        for name in map(str, found.compared.index)
    ]
    return Table(tuple(rows), ("", "without the stage", "with the stage"))


def differences_table(found: Flight) -> Table:
    """Return how much more of every quantity there is with the stage, with its interval and sampling error."""
    rows = []
    for name in map(str, found.differences.index):
        less = figures_of(found.differences, name, "with")
        rows.append((name, _mean(name, less), _ends(name, less)))
    return Table(tuple(rows), ("", "with less without, mean", "19 times in 20"))


def steps_table(found: Flight) -> Table:
    """Return what each step from without to with the stage adds."""
    quantities = found.steps.columns.unique(level="design")
    rows = [
        (
            STEP_WORDS[step],
            *(amount(name, figures_of(found.steps, step, name)) for name in quantities),
        )
        for step in found.steps.index
        if taken(found, step)
    ]
    return Table(tuple(rows), ("", *quantities))


def stage_table(found: Flight) -> Table:
    """Return powers, energies and masses of the stage, each with its interval."""
    rows = []
    for name in found.stage.index:
        row = figures_of(found.stage, name)
        if not is_told(row) or name.startswith(("break_even", "payable")) or not (row["high"] or row["low"]):
            continue
        rows.append((name, _mean(name, row), _ends(name, row)))
    return Table(tuple(rows), ("", "mean", "19 times in 20"))


def names_table(found: Flight) -> Table:
    """Return what the names of results mean, for a reviewer."""
    names = (*found.compared.index, *found.stage.index)
    return Table(tuple((str(name), quantity_of(str(name)).sentence) for name in names))


def break_even_table(found: Flight) -> Table | None:
    """Return at what acceleration just pays, against what is stated; None without acceleration."""
    names = ("payable_mass", "break_even_specific_power", "break_even_specific_energy", "break_even_gain")
    if not is_told(figures_of(found.stage, "payable_mass")):
        return None
    rows = []
    for name in names:
        row = figures_of(found.stage, name)
        none = percent(float(row["missing"]), 3) if row["missing"] > 0 else "0 %"
        told = is_told(row)
        rows.append((name, _mean(name, row) if told else "none", _ends(name, row) if told else "", none))
    return Table(tuple(rows), ("", "mean", "19 times in 20", "none in"), frozenset({3}))


def drivers_table(table: pd.DataFrame) -> tuple[Table, int]:
    """Return ranked rows with bars from zero, and how many small ones are left out."""
    shown = table[table["first"] >= SMALLEST_SHOWN]
    longest = max(float(shown["first"].max()), SMALLEST_SHOWN) if len(shown) else 1.0
    rows = tuple(
        (
            label(row),
            str(row["part"]),
            f"{100 * row['first']:.1f} (±{100 * (row['first_high'] - row['first']):.1f})",
            bar(row["first"] / longest, length=_BAR, of_it=row["first"] / longest),
        )
        for row in shown.to_dict("records")
    )
    return Table(rows, ("", "", "share %", ""), frozenset({2})), len(table) - len(shown)


def picture_rows(table: pd.DataFrame) -> pd.DataFrame:
    """Return the drivers as a picture of ranked bars wants them."""
    rows = table.reset_index(drop=True).copy()
    rows["label"] = [f"{f'{LEVEL} ' if row['level'] else ''}{label(row)}" for row in rows.to_dict("records")]
    rows["kind"] = rows["part"]
    for column in ("total", "total_low", "total_high"):
        rows[column] = float("nan")
    return rows


def phases_table(study: Study) -> Table:
    """Return the phases of the burn."""
    rows = tuple(
        (phase.name, f"{phase.start:g} to {phase.end:g} s", MODE_WORDS[phase.mode], *_set(phase))
        for phase in plan_of(study).phases
    )
    return Table(rows, ("phase", "when", "circuit", "throttle", "settings"))


def _set(phase: Phase) -> tuple[str, str]:
    settings = "; ".join(f"{address} = {written}" for address, written in phase.settings.items())
    return percent(phase.throttle, 3), settings


def vehicle_table(study: Study) -> Table:
    """Return the vehicle's values and how each was read."""
    plan, rows = plan_of(study), []
    for address, value in plan.values.items():
        quantity = registry.quantity(address)
        exact = isinstance(value, float)
        centre = value if isinstance(value, float) else value.centre
        words = "exact" if isinstance(value, float) else value.words(quantity.scale)
        whose = plan.origin.get(address, "yours")
        rows.append(
            (address, quantity.shown(centre), whose, words if not exact or whose == "yours" else whose)
        )
    return Table(tuple(rows), ("", "central value", "whose", "read as"))


def _mean(name: str, row: Figures) -> str:
    if not is_told(row):
        return "can't be told"
    quantity, spread = fitting(name, row), row["standard_uncertainty"]
    return figure_with_sampling(quantity, row["mean"], row["mean_standard_error"], spread)


def _ends(name: str, row: Figures) -> str:
    return ends(name, row, last=" … ") if is_told(row) else ""
