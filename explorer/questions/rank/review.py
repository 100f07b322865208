"""What a reviewer wants of a ranking: method, every figure, how repeats agree, sets of measurements, second opinion."""

import math
from typing import Any, Final

import numpy as np

from explorer import registry, units
from explorer.analysis.scrambles import estimate
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.page.words import STATUS_WORDS, figure_with_sampling, percent, with_sampling, with_uncertainty
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.tables import has_totals, label, ranked, spread_words

#: Rows whose repeats are shown one by one, and sets of measurements listed.
_MOST_ROWS: Final = 8
_MOST_SETS: Final = 10

_METHOD: Final = {
    "design": "First-order indices after Saltelli et al. (2010), total indices after Jansen (1999), on independent"
    " scrambles of a Sobol' sequence.",
    "correlated": "Inputs depend on each other: given-data first-order indices, dependence included; no total indices.",
    "failures": "Too many points carry no number: given-data first-order indices among the points that run; no total"
    " indices.",
}
_COMMON: Final = (
    "Intervals are Student's t over the scrambles. Nothing is clipped: a small negative figure is a zero with its"
    " sampling error. Left if known: regression on splines of ranks, cross-fitted, errors from the scrambles."
)


def review(ranking: Ranking) -> tuple[Section, ...]:
    """Return the sections for a reviewer."""
    optional = (_sets(ranking),)
    return (
        _figures(ranking),
        _repeats(ranking),
        *(section for section in optional if section is not None),
        _second_opinion(ranking),
    )


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")


def _figures(ranking: Ranking) -> Section:
    quantity = registry.quantity(ranking.target)
    (mean, mean_error), (spread, spread_error) = ranking.mean, ranking.standard_uncertainty
    figures = (
        f"Mean {figure_with_sampling(quantity, mean, mean_error, spread)}, standard uncertainty"
        f" {with_sampling(quantity, spread, spread_error)}, each error one standard error. {ranking.base} base rows"
        f" over {ranking.scrambles} scrambles; {percent(ranking.lost)} lost."
    )
    points = tuple((STATUS_WORDS[name], str(count)) for name, count in ranking.points.items())
    parts: list[Part] = [
        Paragraph(f"{_METHOD[ranking.shares.how]} {_COMMON}"),
        Paragraph(figures),
        Table(points, ("status", "points"), frozenset({1})),
        _every_row(ranking),
    ]
    left = ranking.learning.left
    parts.append(
        Paragraph(
            "Of inputs that tell nothing the luckiest would seem to make the variance fall by"
            f" {percent(left.null_fall)} (95 % point of the largest over all permuted inputs); a fall below that is"
            " none."
        )
    )
    if ranking.shares.runs is not None:
        names = {row["name"]: label(row) for row in ranked(ranking)}
        runs = ranking.shares.runs.table.sort_values("first", ascending=False)
        rows = tuple(
            (names[str(name)], f"{row['first']:.4f}", _interval(row, "first"))
            for name, row in runs.iterrows()
        )
        head = ("input", "first-order", "95 % (sampling)")
        parts += [
            Paragraph('First-order indices of the yes/no "the stage runs":'),
            Table(rows, head, frozenset({1})),
        ]
    return _reviewer("For a reviewer", *parts)


def _interval(row: Any, figure: str) -> str:
    """An interval of the sampling error that no line break parts."""
    return f"{row[f'{figure}_low']:.4f}\u00a0…\u00a0{row[f'{figure}_high']:.4f}"


def _every_row(ranking: Ranking) -> Table:
    quantity = registry.quantity(ranking.target)
    unit = "" if quantity.shown_unit in ("", "1") else f" {quantity.shown_unit}"
    figures = ("first", "total") if has_totals(ranking) else ("first",)
    cells = []
    for row in ranked(ranking):
        shares = [text for figure in figures for text in (f"{row[figure] + 0.0:.4f}", _interval(row, figure))]
        left, error = row["left_if_known"], row["left_if_known_standard_error"]
        known = "" if math.isnan(left) else with_uncertainty(quantity, left, error).removesuffix(unit)
        cells.append((label(row), str(row["part"]), *shares, known, spread_words(ranking, row)))
    names = {"first": "first-order", "total": "total"}
    heads = [text for figure in figures for text in (names[figure], "95 % (sampling)")]
    known_head = f"left if known{f' [{unit.strip()}]' if unit else ''}"
    head = ("input", "part", *heads, known_head, "standard uncertainty")
    return Table(tuple(cells), head, frozenset(range(2, 2 + len(heads), 2)))


def _repeats(ranking: Ranking) -> Section:
    """The leading rows' figures repeat by repeat, and what half of the repeats would have said."""
    indices = ranking.shares.indices
    name, found = ("First-order", indices.first) if indices.total is None else ("Total", indices.total)
    rows = {row["name"]: label(row) for row in ranked(ranking)}
    apart = found.by_scramble
    half = estimate(apart[: max(apart.shape[0] // 2, 1)])
    cells = []
    for own in list(rows)[:_MOST_ROWS]:
        place = indices.table.index.get_loc(own)
        each = [f"{value:.3f}" for value in apart[:, place]]
        halves = f"{half.value[place]:.3f}{_plus_minus(float(half.high[place] - half.value[place]))}"
        whole = f"{found.value[place]:.3f}{_plus_minus(float(found.high[place] - found.value[place]))}"
        cells.append((rows[own], *each, halves, whole))
    count = apart.shape[0]
    head = ("input", *(str(n) for n in range(1, count + 1)), f"first {count // 2}", f"all {count}")
    kind = "its jackknife pseudo-values" if ranking.shares.how != "design" else "each scramble's own"
    words = (
        f"{name} indices scramble by scramble ({kind}), then from half of them and from all with the interval of the"
        " sampling error (95 %): an interval that doesn't shrink, or a half that lies off, would speak against them."
    )
    return _reviewer(
        "How the repeats agree", Paragraph(words), Table(tuple(cells), head, frozenset(range(1, count + 3)))
    )


def _plus_minus(half_width: float) -> str:
    return f" ± {half_width:.3f}" if np.isfinite(half_width) else ""


def _sets(ranking: Ranking) -> Section | None:
    """The best sets of measurements that were computed; None without measurements."""
    found = ranking.learning.measurements
    if found is None:
        return None
    quantity = registry.quantity(ranking.target)
    listed = found.sets[found.sets["names"].map(len) > 0]
    rows = tuple(
        (
            ", ".join(row["names"]),
            f"{units.number_text(row['hours'], 3)} h",
            with_sampling(quantity, row["left"], row["left_standard_error"]),
        )
        for _, row in listed.head(_MOST_SETS).iterrows()
    )
    words = (
        f"{len(listed)} sets of up to three measurements were computed ({found.method}), hours of a set-up counted"
        f" once. {percent(ranking.learning.lost)} of the sample's rows were left out whole, for the target or a reading"
        " had no number. Those that leave least:"
    )
    return _reviewer(
        "Sets of measurements",
        Paragraph(words),
        Table(rows, ("set", "hours", "left"), frozenset({1})),
    )


def _second_opinion(ranking: Ranking) -> Section:
    """Both opinions side by side: shares, and how far the distribution moves."""
    opinion = ranking.learning.second_opinion
    rows = {row["name"]: row for row in ranked(ranking)}
    by_share = sorted(rows, key=lambda name: -rows[name]["first"])
    cells = []
    for place, (name, row) in enumerate(opinion.table.iterrows(), start=1):
        own = rows.get(str(name))
        share = ("", "") if own is None else (f"{own['first']:.4f}", str(by_share.index(str(name)) + 1))
        called = str(name).removesuffix(" (unknown)") if own is None else _called(own)
        cells.append((called, f"{row['distance']:.3f}", f"{row['largest']:.3f}", str(place), *share))
    words = (
        "How far, on average and at most, the target's distribution moves (Kolmogorov-Smirnov distance) when a row is"
        f" held in a slice of its range; computed by SALib. A dummy that tells nothing has {opinion.dummy:.3f}."
    )
    head = ("input", "moves it by", "at most", "place", "first-order", "place by that")
    return _reviewer(
        "Second opinion",
        Paragraph(words),
        Paragraph(_agreement(ranking, by_share[0])),
        Table(tuple(cells), head, frozenset(range(1, 6))),
    )


def _called(row: dict[str, object]) -> str:
    return f"{label(row)} (scatter)" if row["part"] == "scatter" else label(row)


def _agreement(ranking: Ranking, by_share: str) -> str:
    opinion = ranking.learning.second_opinion.leading
    names = {row["name"]: _called(row) for row in ranked(ranking)}
    if opinion is None:
        return "No row stands out of the dummy, so this method has no opinion."
    other = names.get(opinion, opinion.removesuffix(" (unknown)"))
    if opinion == by_share:
        return f"Both put {other} first."
    return f"The two disagree: by its share of the variance {names[by_share]} comes first, by this method {other}."
