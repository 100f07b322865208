"""Measurements and instruments: what each would leave, in which order to measure, what the instruments would see."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from matplotlib.figure import Figure

from explorer import registry, units
from explorer.analysis.measurement import DecisionValue
from explorer.analysis.measurement_sets import Measured, MeasurementRanking
from explorer.page.document import Paragraph, Part, Picture, Section, Table
from explorer.page.events import at_once
from explorer.page.words import (
    between,
    number_with_sampling,
    percent,
    the,
    with_sampling,
    with_uncertainty,
)
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.words import amount, failing_words, left_words, required_words
from explorer.studyfile import Decision, Study


def measurements_section(ranking: Ranking, study: Study, drawn: Mapping[str, Figure]) -> Iterator[Section]:
    """What the measurements would leave; nothing without any."""
    found = ranking.learning.measurements
    if found is None:
        return
    caption = (
        "What each measurement would take off the standard uncertainty, at least; dotted: within what it will turn"
        " out, 18 times in 20; solid: the sampling error of the bar (95 %)."
    )
    if any(float(own.left) > float(found.now) for own in found.each):
        caption += " A bar that ends left of zero takes nothing off."
    valued = found.each[0].worth is not None
    now = with_sampling(registry.quantity(ranking.target), found.now)
    legend = (
        f"Now {now}. Left: the standard uncertainty after this measurement, at most (and at least, where that differs);"
        " then the range in which it will turn out, for the reading is not known yet. Hours include the set-up. A"
        f" measurement is worth its hours if it takes {percent(found.worth)} or more off"
        f"{'' if study.target.stated_worth else ' (assumed)'}."
    )
    parts: tuple[Part, ...] = (
        Picture("measurements", drawn["measurements"], caption),
        _table(ranking, found, study.decision, valued=valued),
        _order(ranking, found, study.decision),
        Paragraph(legend),
        *map(Paragraph, failing_words(ranking)),
        *([Paragraph(_verdict(found, study))] if valued else []),
    )
    yield Section("Which measurement first", parts)


def _verdict(found: MeasurementRanking, study: Study) -> str:
    """What the verdict is about, what a right one is worth, and what the best set would be worth for it."""
    decision = study.decision
    words = f"The verdict: whether the {registry.words_of(study.target.quantity)} is {required_words(study)}."
    unit = f" {decision.unit}" if decision is not None and decision.unit else ""
    if decision is None:
        words += (
            " Without a measurement the likelier verdict is taken, and is sometimes wrong. Avoided: wrong verdicts"
            " avoided per"
            " hundred."
        )
    else:
        words += (
            " Worth: what a measurement gains on average, if one goes on where it pays"
            f" ({decision.gain_if_met:g}{unit} if it"
            f" is met, {-abs(decision.loss_if_not):g}{unit} if not) and stops where it doesn't (0{unit})."
        )
        words += f" An hour costs {decision.cost_per_hour:g}{unit}." if decision.cost_per_hour else ""
    words += " Changes: chance that the verdict comes out different. In brackets the sampling error (95 %)."
    if any(own.worth is not None and own.worth.value.value < 0.0 for own in found.each):
        words += (
            " A small negative figure counts as zero: the rule for using a reading is learnt on some points and tried"
            " on others."
        )
    if found.best_value is not None and len(found.best) > 1:
        worth = _worth(found.best_value, decision)
        words += f" The best set together: {worth}{' avoided per hundred' if decision is None else unit}."
    return words


def _worth(found: DecisionValue, decision: Decision | None) -> str:
    """What readings are worth: verdicts of a hundred, or pay-offs."""
    times = 100 if decision is None else 1
    return number_with_sampling(times * float(found.value), times * found.value.half_width)


def _table(ranking: Ranking, found: MeasurementRanking, decision: Decision | None, *, valued: bool) -> Table:
    quantity = registry.quantity(ranking.target)
    rows = []
    for own in found.each:
        cells = (
            own.name,
            f"{units.number_text(own.hours, 3)} h",
            _left_cell(ranking, own),
            between(quantity, *own.left_range, float(own.left) / 10, last=" … "),
        )
        rows.append((*cells, *_worth_cells(own, decision)))
    head: tuple[str, ...] = ("", "hours", "left at most", "18 times in 20")
    if valued:
        unit = f" [{decision.unit}]" if decision is not None and decision.unit else ""
        costs = decision is not None and decision.cost_per_hour > 0.0
        worth = "avoided per 100" if decision is None else f"worth{unit}"
        head = (*head, "changes", worth, *([f"less its hours{unit}"] if costs else []))
    return Table(tuple(rows), head, frozenset({1, 2, *range(4, len(head))}))


def _left_cell(ranking: Ranking, own: Measured) -> str:
    most, least = amount(ranking, own.left), amount(ranking, own.at_least)
    return most if own.told else f"{most} (at least {least})"


def _worth_cells(own: Measured, decision: Decision | None) -> tuple[str, ...]:
    """Chance that the verdict changes, what the measurement is worth, and less its hours where these cost."""
    if own.worth is None:
        return ()
    value, change = own.worth.value, float(own.worth.change)
    cells = (percent(change) if change >= 0.001 else "0 %", _worth(own.worth, decision))
    if decision is None or not decision.cost_per_hour:
        return cells
    return (*cells, number_with_sampling(float(value) - decision.cost_per_hour * own.hours, value.half_width))


def _order(ranking: Ranking, found: MeasurementRanking, decision: Decision | None) -> Paragraph:
    """The best set, step by step; each step that gains next to nothing is said to."""
    given = None if decision is None else decision.hours
    within = "" if given is None else f" within the {units.number_text(given, 3)} h given"
    if not found.best:
        return Paragraph(
            f"No set of measurements{within} is worth its hours: none takes {percent(found.worth)} off the standard"
            " uncertainty by more than the sampling error."
        )
    steps = []
    for number, step in enumerate(found.best, start=1):
        hours = units.number_text(step.hours, 3)
        steps.append(f"{number}. {step.names[-1]}: {hours} h spent, {left_words(ranking, step)} left")
    return Paragraph(f"Best set{within}, in the order in which to measure: {'; '.join(steps)}.")


def instruments_section(ranking: Ranking) -> Iterator[Section]:
    """Whether the instruments would see the effect of switching the power on; nothing without any."""
    sentences = tuple(Paragraph(words) for words in _instrument_words(ranking))
    if sentences:
        yield Section("Would the instruments see it", sentences)


def _instrument_words(ranking: Ranking) -> Iterator[str]:
    """A sentence for each instrument, then what to fire for."""
    table = ranking.instruments
    for name, row in table.iterrows():
        yield _sees(str(name), row)
    told = table[table["ratio"].notna()] if len(table) else table
    if len(told) > 1:
        best = told.iloc[int(told["ratio"].to_numpy().argmax())]
        if best["ratio"] > 1 and told["ratio"].min() < best["ratio"] / 2:
            beware = at_once(ranking.events)
            best_seen = the(registry.words_of(best["reads"]))
            yield f"Fire to read {best_seen}: the effect stands out most there.{f' {beware}' if beware else ''}"


def _sees(name: str, row: Any) -> str:
    reads = registry.words_of(row["reads"])
    if math.isnan(row["ratio"]):
        return f"{name} reads {reads}; the model does not tell how power changes that."
    quantity = registry.quantity(row["reads"])
    scale, effect = quantity.scale, with_uncertainty(quantity, abs(row["effect"]), row["effect_uncertainty"])
    noise = scale.difference(math.hypot(row["random"], row["common"]), 2)
    if row["pairs"] == 1:
        times = units.number_text(row["ratio"], 2)
        return f"{name} sees {effect} of {reads} at once: {times} times its {noise} in one on/off pair."
    if math.isinf(row["pairs"]):
        return (
            f"{name} cannot see {effect} of {reads} in any number of on/off pairs: its common error hides it."
        )
    return (
        f"{name}, with {noise} in one on/off pair, cannot see {effect} of {reads} in fewer than"
        f" {units.number_text(row['pairs'], 3)} pairs."
    )
