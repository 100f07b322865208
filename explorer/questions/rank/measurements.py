"""Measurements and instruments: what each would leave, in which order to measure, what the instruments would see."""

import math
from collections.abc import Iterator
from typing import Any

from matplotlib.figure import Figure

from explorer import registry, units
from explorer.page.document import Paragraph, Part, Picture, Section, Table
from explorer.page.words import (
    between,
    figure_with_sampling,
    number_with_sampling,
    percent,
    requirement,
    with_sampling,
    with_uncertainty,
)
from explorer.questions.rank.notes import NOT_WORTH, worthwhile_steps
from explorer.questions.rank.ranking import Ranking
from explorer.studyfile import Decision, Study


def measurements_section(ranking: Ranking, study: Study, picture: Figure | None = None) -> Section | None:
    """Return what the measurements would leave; None without any."""
    table, best = ranking.measurements, ranking.best_set
    if table is None or best is None or ranking.learning.measurements is None:
        return None
    quantity = registry.quantity(ranking.target)
    now = ranking.learning.measurements.now
    caption = "What each measurement would leave; the lines: within what it will turn out, 18 times in 20. Dashed: now."
    parts: list[Part] = [] if picture is None else [Picture("measurements", picture, caption)]
    parts += [_table(ranking, study), _order(ranking, study)]
    legend = (
        f"Now {with_sampling(quantity, float(now.value), float(now.standard_error))}. Left: the standard uncertainty"
        " after this measurement, and within what it will turn out, for the reading is not known yet. Hours count the"
        " set-up."
    )
    parts.append(Paragraph(legend))
    if "value" in table.columns:
        parts.append(Paragraph(_verdict(ranking, study)))
    return Section("Which measurement first", tuple(parts))


def _verdict(ranking: Ranking, study: Study) -> str:
    """What the verdict is about, what a right one is worth, and what the best set would be worth for it."""
    target, decision, found = study.target, study.decision, ranking.learning.measurements
    bounds = requirement(registry.quantity(target.quantity), at_least=target.at_least, at_most=target.at_most)
    words = f"The verdict: whether {target.quantity} is {bounds}."
    unit = _unit(decision)
    if decision is None:
        words += (
            " Going by the likelier one it is sometimes wrong; avoided: wrong verdicts avoided per hundred."
        )
    else:
        words += (
            f" Worth: what a measurement gains on average, going on where it pays ({decision.gain_if_met:g}{unit} if it"
            f" is met, {-abs(decision.loss_if_not):g}{unit} if not) and leaving it where it doesn't (0{unit})."
        )
        words += f" An hour costs {decision.cost_per_hour:g}{unit}." if decision.cost_per_hour else ""
    words += (
        " Changes: chance that it comes out different. In brackets the sampling error (one standard error)."
    )
    if found is None:
        return words
    if (found.table["value"] < 0.0).any():
        words += (
            " A figure a little below zero is none: what to make of a reading is learnt on some points and tried on"
            " others."
        )
    if found.best_value is not None and len(found.best_set) > 1:
        best, times = found.best_value.value, 100 if decision is None else 1
        worth = number_with_sampling(times * float(best.value), times * float(best.standard_error))
        words += f" The best set together: {worth}{' avoided per hundred' if decision is None else unit}."
    return words


def _unit(decision: Decision | None) -> str:
    return f" {decision.unit}" if decision is not None and decision.unit else ""


def _table(ranking: Ranking, study: Study) -> Table:
    table, decision = ranking.measurements, study.decision
    if table is None:
        raise ValueError("a ranking without measurements has no table of them")
    quantity, spread = registry.quantity(ranking.target), ranking.standard_uncertainty[0]
    valued = "value" in table.columns
    rows = []
    for name, row in table.iterrows():
        low, high = row["left_range_low"], row["left_range_high"]
        cells = [
            str(name),
            f"{units.number_text(row['hours'], 3)} h",
            figure_with_sampling(quantity, row["left"], 0.0, spread),
            between(quantity, low, high, row["left"] / 10, last=" … "),
        ]
        rows.append((*cells, *(_worth(row, decision) if valued else ())))
    head: tuple[str, ...] = ("", "hours", "left", "18 times in 20")
    if valued:
        unit = f" [{decision.unit}]" if decision is not None and decision.unit else ""
        costs = decision is not None and decision.cost_per_hour > 0.0
        worth = "avoided per 100" if decision is None else f"worth{unit}"
        head = (*head, "changes", worth, *([f"less its hours{unit}"] if costs else []))
    return Table(tuple(rows), head, frozenset({1, 2, *range(4, len(head))}))


def _worth(row: Any, decision: Decision | None) -> tuple[str, ...]:
    """Chance that the verdict changes, and what the measurement is worth: verdicts of a hundred, or pay-offs."""
    value, error = row["value"], row["value_standard_error"]
    changes = percent(row["change"]) if row["change"] >= 0.001 else "0 %"
    if decision is None:
        return (changes, number_with_sampling(100 * value, 100 * error))
    worth = number_with_sampling(value, error)
    if not decision.cost_per_hour:
        return (changes, worth)
    return (changes, worth, number_with_sampling(value - decision.cost_per_hour * row["hours"], error))


def _order(ranking: Ranking, study: Study) -> Paragraph:
    """The best set, step by step; each step that gains next to nothing is said to."""
    best, measured = ranking.best_set, ranking.learning.measurements
    given = study.decision.hours if study.decision is not None else None
    within = "" if given is None else f" within the {units.number_text(given, 3)} h given"
    if best is None or best.empty or measured is None:
        return Paragraph(f"No set of measurements{within} makes the answer surer.")
    quantity, spread = registry.quantity(ranking.target), ranking.standard_uncertainty[0]
    now = float(measured.now.value)
    if best["left"].iloc[-1] > (1 - NOT_WORTH) * now:
        return Paragraph(f"No set of measurements{within} makes the answer noticeably surer.")
    steps = []
    for number, (_, row) in enumerate(best.iterrows(), start=1):
        hours = units.number_text(row["hours"], 3)
        little = "" if row["name"] in worthwhile_steps(best, now) else " (next to nothing gained)"
        left = figure_with_sampling(quantity, row["left"], 0.0, spread)
        steps.append(f"{number}. {row['name']}: {hours} h spent, ± {left} left{little}")
    return Paragraph(f"Best set{within}, in the order in which to measure: {'; '.join(steps)}.")


def instruments_section(ranking: Ranking) -> Section | None:
    """Return whether the instruments would see the effect of switching the power on; None without any."""
    sentences = list(instrument_words(ranking))
    if not sentences:
        return None
    return Section("Would the instruments see it", tuple(Paragraph(words) for words in sentences))


def instrument_words(ranking: Ranking) -> Iterator[str]:
    """Yield a sentence for each instrument, then what to fire for."""
    table = ranking.instruments
    for name, row in table.iterrows():
        yield _sees(str(name), row)
    told = table[table["ratio"].notna()] if len(table) else table
    if len(told) > 1:
        best = told.iloc[int(told["ratio"].to_numpy().argmax())]
        if best["ratio"] > 1 and told["ratio"].min() < best["ratio"] / 2:
            yield f"Fire for {best['reads']}: there the effect stands out most."


def _sees(name: str, row: Any) -> str:
    if math.isnan(row["ratio"]):
        return f"{name} reads {row['reads']}, of which the model tells no change by the power."
    quantity = registry.quantity(row["reads"])
    scale, effect = quantity.scale, with_uncertainty(quantity, abs(row["effect"]), row["effect_uncertainty"])
    noise = scale.difference(math.hypot(row["random"], row["common"]), 2)
    if row["pairs"] == 1:
        times = units.number_text(row["ratio"], 2)
        return (
            f"{name} sees {effect} of {row['reads']} at once: {times} times its {noise} in one on/off pair."
        )
    if math.isinf(row["pairs"]):
        return f"{name} cannot see {effect} of {row['reads']} in any number of on/off pairs: its common error hides it."
    return (
        f"{name}, with {noise} in one on/off pair, cannot see {effect} of {row['reads']} in fewer than"
        f" {row['pairs']:.0f} pairs."
    )
