"""Measurements and instruments: what each would leave, in which order to measure, what the instruments would see."""

import math
from collections.abc import Iterator
from typing import Any

from explorer import registry, units
from explorer.report.document import Paragraph, Part, Picture, Section, Table
from explorer.report.words import with_sampling
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
    parts: list[Part] = [] if picture is None else [Picture(picture, "What each measurement would leave.")]
    parts += [_table(ranking, study), _order(ranking)]
    legend = (
        f"Now {with_sampling(quantity, float(now.value), float(now.standard_error))}. Left: the standard uncertainty"
        " after this measurement, and within what it will turn out, for the reading is not known yet. Hours count the"
        " set-up."
    )
    parts.append(Paragraph(legend))
    if study.target.has_requirement and "value" in table.columns:
        parts.append(Paragraph(_requirement(study)))
    return Section("Which measurement first", tuple(parts))


def _requirement(study: Study) -> str:
    target = study.target
    quantity = registry.quantity(target.quantity)
    bounds = [
        f"at {word} {quantity.shown(value)}"
        for word, value in (("least", target.at_least), ("most", target.at_most))
        if value is not None
    ]
    return f"The verdict: whether {target.quantity} is {' and '.join(bounds)}."


def _table(ranking: Ranking, study: Study) -> Table:
    table = ranking.measurements
    if table is None:
        raise ValueError("a ranking without measurements has no table of them")
    scale = registry.quantity(ranking.target).scale
    valued = "value" in table.columns
    rows = []
    for name, row in table.iterrows():
        cells = [
            str(name),
            f"{units.number_text(row['hours'], 3)} h",
            scale.difference(row["left"]),
            scale.span(row["left_range_low"], row["left_range_high"], 3).replace(" and ", " … "),
        ]
        rows.append((*cells, *(_worth(row, study) if valued else ())))
    head: tuple[str, ...] = ("", "hours", "left", "18 times in 20 within")
    if valued:
        pay = study.decision is not None
        head = (*head, "worth" if pay else "wrong verdicts avoided per 100")
    return Table(tuple(rows), head, frozenset({1, 2}))


def _worth(row: Any, study: Study) -> tuple[str]:
    value, error = row["value"], row["value_standard_error"]
    if study.decision is None:
        avoided = round(100 * value, 1) + 0.0  # no minus before a zero
        return (f"{avoided:.1f} (sampling ± {100 * error:.1f})",)
    unit = study.decision.unit
    return (f"{units.number_text(value, 3)} {unit} (sampling ± {units.number_text(error, 1)})",)


def _order(ranking: Ranking) -> Paragraph:
    best = ranking.best_set
    if best is None or best.empty:
        return Paragraph("No set of measurements within the hours given makes the answer surer.")
    scale = registry.quantity(ranking.target).scale
    steps = [
        f"{number}. {row['name']}: {units.number_text(row['hours'], 3)} h spent, ± {scale.difference(row['left'])} left"
        for number, (_, row) in enumerate(best.iterrows(), start=1)
    ]
    return Paragraph(f"Best set, in the order in which to measure: {'; '.join(steps)}.")


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
