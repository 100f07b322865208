"""A ranking's rows as printed with their bars, and as the content of its JSON and its CSV, most important first."""

import math
from collections.abc import Sequence
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.analysis.measurement_sets import Measured, MeasurementSet
from explorer.analysis.scrambles import Estimate
from explorer.page.document import Table
from explorer.page.events import events_data
from explorer.page.figures import with_standard_errors
from explorer.page.pictures.bars import LEVEL
from explorer.page.text import bar
from explorer.page.words import figure_with_sampling
from explorer.questions.rank.ranking import RankedRow, Ranking
from explorer.questions.rank.shares import Subject, label
from explorer.study.joint import study_names
from explorer.studyfile import Study

#: Share below which a row is not printed on its own [-].
SMALLEST_SHOWN: Final = 0.005

_BAR: Final = 10  #: characters of a whole bar


def against_name(first: Study | None, second: Study) -> str:
    """What the study is called whose quantity was taken off."""
    return second.title if first is None else study_names(first, second)[1]


def printed_table(ranking: Ranking) -> tuple[Table, int]:
    """The ranked rows as printed with their bars, and how many small ones are left out."""
    shown = [row for row in ranking.rows if float(row.leading) >= SMALLEST_SHOWN]
    quantity, spread = registry.quantity(ranking.target), float(ranking.standard_uncertainty)
    largest = max((float(row.leading) for row in shown), default=1.0)
    whole = 0.05 * max(math.ceil(20 * largest - 1e-9), 1)  # a whole bar ends at the largest rounded up to 5 %
    cells = []
    for place, row in enumerate(shown, start=1):
        left = ""
        if row.left is not None and row.part != "model":
            left = figure_with_sampling(quantity, float(row.left), None, spread)
        shares = [percent_cell(share) for share in (row.first, row.total) if share is not None]
        bars = bar(float(row.leading) / whole, float(row.first) / whole, _BAR)
        cells.append((LEVEL if row.level else str(place), row.words, row.part, *shares, left, bars))
    totals = ["in all %"] if ranking.has_totals else []
    head = ("", "", "", "alone %", *totals, "left", f"0 to {100 * whole:g} %")
    small = len(ranking.rows) - len(shown)
    return Table(tuple(cells), head, frozenset({0, *range(3, len(head) - 1)})), small


def percent_cell(share: Estimate) -> str:
    """A share in per cent with the half-width of its 95 % sampling interval."""
    value, high = 100 * float(share), 100 * float(share.high)
    return f"{value:z.1f} (±{high - value:.1f})"  # z: no minus zero


def running(ranking: Ranking) -> list[tuple[Subject, Estimate]]:
    """Shares of the yes/no "the stage runs", largest first; empty where that is no question, or can't be told."""
    shares = ranking.shares
    if shares.runs is None:
        return []
    told = [(subject, shares.runs[place]) for place, subject in enumerate(shares.subjects)]
    return sorted(told, key=lambda one: -float(one[1]))


def runs_table(ranking: Ranking) -> Table | None:
    """What decides whether the stage runs at all; None where nothing stands out."""
    rows = tuple(
        (subject.words, percent_cell(first)) for subject, first in running(ranking) if first.low > 0.0
    )
    return Table(rows, ("", "alone %"), frozenset({1})) if rows else None


def spread_words(row: RankedRow) -> str:
    """The standard uncertainty of a row's own quantity; empty where it has none."""
    spread = row.standard_uncertainty
    if math.isnan(spread):
        return ""
    if row.part == "model":
        return f"{100 * spread:.3g} %"
    return f"{spread:.3g}" if row.scale is None else str(row.scale.difference(spread))


def rankings_content(rankings: Sequence[Ranking], words: Sequence[Sequence[str]]) -> dict[str, Any]:
    """What the JSON holds behind its envelope: a ranking's own keys, or those of several under "targets"."""
    each = [_content(ranking, said) for ranking, said in zip(rankings, words, strict=True)]
    return each[0] if len(each) == 1 else {"targets": each}


def _content(ranking: Ranking, words: Sequence[str]) -> dict[str, Any]:
    found, against, measured = ranking.distribution, ranking.against, ranking.learning.measurements
    opinion, pair = ranking.learning.second_opinion.leading, ranking.learning.pair
    figures: dict[str, Estimate | tuple[Estimate, Estimate] | None] = {
        "mean": ranking.mean,
        "standard_uncertainty": ranking.standard_uncertainty,
        "interval_95": (found.low, found.high),
        "chance_met": ranking.chance_met,
    }
    together = None
    if pair is not None:
        addresses = [row.address for row in pair.rows]
        together = {"addresses": addresses, **with_standard_errors({"left_if_known": pair.left})}
    best = [] if measured is None else measured.best
    return {
        "target": ranking.target,
        "unit": ranking.unit,
        "against": against_content(ranking.study, against),
        **with_standard_errors(figures),
        "inputs": [_input(row) for row in ranking.rows],
        "shares_from": ranking.shares.how,
        "runs": [{**_row(subject), **_share("first", first)} for subject, first in running(ranking)],
        "together": together,
        "measurements": [] if measured is None else [_measurement(ranking, own) for own in measured.each],
        "best_set": [_step(step) for step in best],
        "instruments": ranking.instruments.rename_axis("name").reset_index().to_dict("records"),
        "first_choice_stands": None if ranking.guesses is None else not ranking.guesses.changed,
        "second_opinion": None if opinion is None else label(opinion),
        **events_data(ranking.events),
        "points": dict(ranking.points),
        "rows_lost": ranking.lost,
        "base": ranking.base,
        "scrambles": ranking.scrambles,
        "words": " ".join(words),
    }


def against_content(study: Study | None, against: Study | None) -> dict[str, str] | None:
    """The study whose quantity was taken off; None where there is none."""
    if against is None:
        return None
    return {"study": against_name(study, against), "study_hash": against.study_hash}


def _row(subject: Subject) -> dict[str, Any]:
    return {"address": subject.label, "part": subject.part}


def _share(name: str, share: Estimate | None) -> dict[str, Any]:
    interval = None if share is None else list(share.interval)
    return {name: None if share is None else float(share), f"{name}_interval": interval}


def _input(row: RankedRow) -> dict[str, Any]:
    return {
        **_row(row),
        **_share("first", row.first),
        **_share("total", row.total),
        "level_with_the_one_above": row.level,
        **with_standard_errors({"left_if_known": row.left}),
    }


def _measurement(ranking: Ranking, own: Measured) -> dict[str, Any]:
    decision, worth = ranking.decision, own.worth
    item: dict[str, Any] = {
        "name": own.name,
        "hours": own.hours,
        "left": float(own.left),
        "left_at_least": float(own.at_least),
        "left_range": list(own.left_range),
        "fall_per_hour": own.fall_per_hour,
        "verdicts_avoided": None,
        "value": None,
        "verdict_changes": None if worth is None else float(worth.change),
    }
    errors = {"left": own.left.error, "left_at_least": own.at_least.error}
    if worth is not None and decision is None:
        item["verdicts_avoided"] = 100 * float(worth.value)
        errors["verdicts_avoided"] = 100 * worth.value.error
    elif worth is not None and decision is not None:  # with pay-offs the value is in their unit
        item["value"] = float(worth.value)
        item["value_less_hours"] = float(worth.value) - decision.cost_per_hour * own.hours
        item["value_unit"] = decision.unit
        errors["value"] = worth.value.error
    return {**item, "standard_error": errors}


def _step(step: MeasurementSet) -> dict[str, Any]:
    left = {"left": float(step.left), "left_at_least": float(step.at_least)}
    return {"name": step.names[-1], **left, "hours": step.hours}


def ranking_rows(ranking: Ranking) -> pd.DataFrame:
    """All rows as a table, the unit in each head or beside the value."""
    shares = [f"{name}{end}" for name in ("first", "total") for end in ("", "_low", "_high")]
    left = ["left_if_known", "left_if_known_standard_error"]
    heads = {name: f"{name} [1]" for name in shares} | {name: f"{name} [{ranking.unit}]" for name in left}
    table = ranking.inputs[[*heads, "standard_uncertainty"]].rename(columns=heads).reset_index(drop=True)
    table.insert(0, "address", [row.label for row in ranking.rows])
    table.insert(1, "part", [row.part for row in ranking.rows])
    return table.assign(**{"unit of standard_uncertainty": [_unit(row) for row in ranking.rows]})


def _unit(row: RankedRow) -> str:
    """The unit in which a row's spread is given: the model's own error is a share of the target."""
    if row.part == "model":
        return "1"
    return "" if row.scale is None else row.scale.unit
