"""Measurements and instruments: what each would leave, in which order to measure, what the instruments would see."""

import math
from collections.abc import Iterator
from typing import Any

from explorer import registry, units
from explorer.report.document import Paragraph, Part, Picture, Section, Table
from explorer.report.words import between, percent, requirement, with_sampling
from explorer.study import Ranking
from explorer.studyfile import Study


def measurements_section(ranking: Ranking, study: Study, picture: str | None = None) -> Section | None:
    """Return what the measurements would leave; None without any.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    study : Study
        That was ranked.
    picture : str, optional
        What each measurement would leave, as an SVG element.
    """
    table, best = ranking.measurements, ranking.best_set
    if table is None or best is None or ranking.learning.measurements is None:
        return None
    quantity = registry.quantity(ranking.target)
    now = ranking.learning.measurements.now
    caption = (
        "What each measurement would leave; the lines: within what it will turn out, 18 times in 20. Dashed: now."
    )
    parts: list[Part] = [] if picture is None else [Picture(picture, caption)]
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
    target, decision = study.target, study.decision
    bounds = requirement(
        registry.quantity(target.quantity), at_least=target.at_least, at_most=target.at_most
    )
    words = f"The verdict: whether {target.quantity} is {bounds}."
    if decision is not None:
        unit = f" {decision.unit}" if decision.unit else ""
        words += (
            f" Worth: what a measurement gains on average, going on where it pays ({decision.gain_if_met:g}{unit} if it"
            f" is met, {-abs(decision.loss_if_not):g}{unit} if not) and leaving it where it doesn't (0)."
        )
        if decision.cost_per_hour:
            words += f" An hour costs {decision.cost_per_hour:g}{unit}."
    else:
        words += " Going by the likelier one, it is wrong in some cases; avoided: how many fewer in a hundred."
    words += " Changes: chance that it comes out different."
    found = ranking.learning.measurements
    if found is not None and found.best_value is not None and len(found.best_set) > 1:
        best = found.best_value.value
        worth = _worth_words(float(best.value), float(best.standard_error), study)
        words += f" The best set together: {worth}{'' if decision else ' avoided per hundred'}."
    return words


def _table(ranking: Ranking, study: Study) -> Table:
    table = ranking.measurements
    if table is None:
        raise ValueError("a ranking without measurements has no table of them")
    quantity = registry.quantity(ranking.target)
    valued = "value" in table.columns
    rows = []
    for name, row in table.iterrows():
        low, high = row["left_range_low"], row["left_range_high"]
        cells = [
            str(name),
            f"{units.number_text(row['hours'], 3)} h",
            quantity.scale.difference(row["left"]),
            between(quantity, low, high, row["left"] / 10, last=" … "),
        ]
        rows.append((*cells, *(_worth(row, study) if valued else ())))
    head: tuple[str, ...] = ("", "hours", "left", "18 times in 20")
    if valued:
        pays = study.decision is not None
        net = pays and study.decision is not None and study.decision.cost_per_hour > 0.0
        worth = "worth" if pays else "wrong verdicts avoided per 100"
        head = (*head, "changes", *(["less its hours"] if net else []), worth)
    return Table(tuple(rows), head, frozenset({1, 2, *range(4, len(head) - 1)}))


def _worth(row: Any, study: Study) -> tuple[str, ...]:
    value, error = row["value"], row["value_standard_error"]
    worth = _worth_words(value, error, study)
    changes = percent(row["change"]) if row["change"] >= 0.001 else "0 %"
    decision = study.decision
    if decision is None or not decision.cost_per_hour:
        return (changes, worth)
    net = value - decision.cost_per_hour * row["hours"]
    return (changes, f"{units.number_text(net, 3)} {decision.unit}".rstrip(), worth)


def _worth_words(value: float, error: float, study: Study) -> str:
    """A worth with its sampling error: verdicts in a hundred, or pay-offs in their unit."""
    if study.decision is None:
        avoided = round(100 * value, 1) + 0.0  # no minus before a zero
        return f"{avoided:.1f} (sampling ± {100 * error:.1f})"
    unit = f" {study.decision.unit}" if study.decision.unit else ""
    return f"{units.number_text(value, 3)}{unit} (sampling ± {units.number_text(error, 1)}{unit})"


def _order(ranking: Ranking, study: Study) -> Paragraph:
    best = ranking.best_set
    if best is None or best.empty:
        return Paragraph("No set of measurements within the hours given makes the answer surer.")
    given = study.decision.hours if study.decision is not None else None
    within = "" if given is None else f" within the {units.number_text(given, 3)} h given"
    scale = registry.quantity(ranking.target).scale
    steps = [
        f"{number}. {row['name']}: {units.number_text(row['hours'], 3)} h spent, ± {scale.difference(row['left'])} left"
        for number, (_, row) in enumerate(best.iterrows(), start=1)
    ]
    return Paragraph(f"Best set{within}, in the order in which to measure: {'; '.join(steps)}.")


def instruments_section(ranking: Ranking) -> Section | None:
    """Return whether the instruments would see the effect of switching the power on; None without any.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    sentences = list(instrument_words(ranking))
    if not sentences:
        return None
    return Section("Would the instruments see it", tuple(Paragraph(words) for words in sentences))


def instrument_words(ranking: Ranking) -> Iterator[str]:
    """Yield a sentence for each instrument, then what to fire for.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
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
    scale = registry.quantity(row["reads"]).scale
    effect = f"{scale.difference(abs(row['effect']), 2)} (± {scale.difference(row['effect_uncertainty'], 1)})"
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
