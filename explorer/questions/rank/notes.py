"""What a reader of a ranking must know of it: cases without numbers, no contact, dependence, scatter, guesses."""

import math
from typing import Final

import pandas as pd

from explorer import registry
from explorer.page.document import Table
from explorer.page.words import (
    STATUS_WORDS,
    between,
    figure_with_sampling,
    listed,
    percent,
    percent_with_sampling,
    requirement,
    verdict_words,
    with_sampling,
)
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.tables import label, ranked, target_words
from explorer.studyfile import Study

#: Fall of the standard uncertainty below which something is not worth a test [-].
NOT_WORTH: Final = 0.01

#: Rows of each repeat from which on figures are as sharp as they are meant to be.
USUAL_ROWS: Final = 1024


def worthwhile_steps(steps: pd.DataFrame, now: float) -> set[str]:
    """Return the measurements of a set that each make the answer noticeably surer when their turn comes."""
    before = [now, *steps["left"].iloc[:-1]]
    steady = zip(steps["name"], steps["left"], before, strict=True)
    return {str(name) for name, left, earlier in steady if left <= (1 - NOT_WORTH) * earlier}


def _share_with_sampling(ranking: Ranking, count: int) -> str:
    """A share of all points; its error is that of independent points, more than a balanced design has."""
    share = count / max(sum(ranking.points.values()), 1)
    return percent_with_sampling(share, math.sqrt(share * (1 - share) / max(2 * ranking.base, 1)))


def distribution_words(ranking: Ranking, study: Study) -> tuple[str, ...]:
    """Return the target's distribution in one firing, and whether what is required of it is met."""
    quantity, found = registry.quantity(ranking.target), ranking.distribution
    spread = float(found.standard_uncertainty.value)
    mean = figure_with_sampling(quantity, ranking.mean[0], ranking.mean[1], spread)
    ends = between(quantity, float(found.low.value), float(found.high.value), spread)
    words = (
        f"{target_words(ranking)} in one firing: mean {mean}, 19 times in 20 between {ends}.",
        _requirement_words(ranking, study),
    )
    return tuple(sentence for sentence in words if sentence)


def _requirement_words(ranking: Ranking, study: Study) -> str:
    chance, target = ranking.chance_met, study.target
    if chance is None:
        return ""
    bounds = requirement(registry.quantity(target.quantity), at_least=target.at_least, at_most=target.at_most)
    among = ", among the cases in which the stage runs," if ranking.shares.how == "failures" else ""
    judged = verdict_words(chance, target.chance, "for a larger --base")
    figure = percent_with_sampling(float(chance.value), float(chance.standard_error))
    return (
        f"Required: {bounds}, with a chance of {percent(target.chance)} or more. The chance now{among} is {figure}:"
        f" {judged}."
    )


def not_running_words(ranking: Ranking) -> str | None:
    """Return how often the stage doesn't run, where the figures are only about the cases in which it does."""
    if ranking.shares.how != "failures":
        return None
    failed = sum(count for status, count in ranking.points.items() if status not in ("ok", "no_contact"))
    share = _share_with_sampling(ranking, failed)
    return f"In {share} of cases the stage does not run; all else is about the others."


def contact_share_words(ranking: Ranking) -> str | None:
    """Return how often no current flows at all; None where that is rare."""
    idle = ranking.points.get("no_contact", 0)
    if idle < 0.01 * max(sum(ranking.points.values()), 1):
        return None
    return f"In {_share_with_sampling(ranking, idle)} of firings no current flows at all, counted here too."


def how_shares_were_told(ranking: Ranking) -> tuple[str, ...]:
    """Return what a reader must know where shares don't come from the full design; empty where they do."""
    found = []
    depends = ranking.study is not None and ranking.study.space.correlated
    if ranking.shares.how == "correlated" or (ranking.shares.how == "failures" and depends):
        found.append(
            "Inputs depend on each other here: a share counts what an input teaches of the others too, the shares do"
            " not add to 100 %, and there are no totals: what inputs do together is not told."
        )
    if ranking.shares.how == "failures":
        failed = [
            f"{count} {STATUS_WORDS[status]}"
            for status, count in ranking.points.items()
            if count and status not in ("ok", "no_contact")
        ]
        found.append(
            f"{percent(ranking.lost)} of the design's rows hold a point without a number (of"
            f" {sum(ranking.points.values())} points {listed(failed)}), too many for it to stand. Shares are those"
            " among the points that run; there are no totals, and nothing was filled in."
        )
    elif ranking.lost > 0.0:
        found.append(
            f"{percent(ranking.lost)} of the design's rows held a point without a number and were left out whole."
        )
    if ranking.shares.how != "design" and len(ranking.inputs) < len(ranking.learning.second_opinion.table):
        found.append("Groups are ranked from the full design alone, so they are not told here.")
    return tuple(found)


def runs_table(ranking: Ranking) -> Table | None:
    """Return what decides whether the stage runs at all; None where that is no question, or can't be told."""
    if ranking.shares.runs is None:
        return None
    names = {row["name"]: label(row) for row in ranked(ranking)}
    table = ranking.shares.runs.table.sort_values("first", ascending=False)
    rows = tuple(
        (names[str(name)], f"{100 * row['first']:.1f} (±{100 * (row['first_high'] - row['first']):.1f})")
        for name, row in table.iterrows()
        if row["first_low"] > 0.0
    )
    return Table(rows, ("", "alone %"), frozenset({1})) if rows else None


def together_words(ranking: Ranking) -> str | None:
    """Return which two inputs to pin down together, and what they would leave; None with fewer than two."""
    pair = ranking.learning.pair
    if pair is None:
        return None
    quantity = registry.quantity(ranking.target)
    names = listed([name.removesuffix(" (unknown)") for name in pair.names])
    left = with_sampling(quantity, float(pair.left.value), float(pair.left.standard_error))
    return (
        f"The best two to pin down together: {names}. If both were known exactly, {left} would be left (picked on one"
        " half of the sample, judged on the other)."
    )


def scatter_words(ranking: Ranking) -> str | None:
    """Return what one firing would scatter by even if everything were known; None where it isn't told."""
    floor = ranking.shares.scatter_variance
    if not float(floor.value) >= 0.0:
        return None
    if float(floor.value) == 0.0:
        return "Nothing in this study scatters from firing to firing."
    size = math.sqrt(float(floor.value))
    words = with_sampling(registry.quantity(ranking.target), size, float(floor.standard_error) / (2 * size))
    return f"Even if everything were known, one firing would scatter by {words}."


def guesses_words(ranking: Ranking) -> str | None:
    """Return whether the first choice survives other ranges; None where that was not tried."""
    tried, best = ranking.guesses, ranking.best_set
    if tried is None or tried.table.empty or (tried.kind == "measurement" and (best is None or best.empty)):
        return None
    first = tried.first.removesuffix(" (unknown)")
    what = (
        "the measurement that teaches most for its hours"
        if tried.kind == "measurement"
        else "the first choice"
    )
    changed = tried.table[~tried.table["same"]]
    if changed.empty:
        ranges = len(set(tried.table.index.get_level_values(0)))
        return f"Halving or doubling any of the {ranges} largest ranges leaves {first} {what}."
    ranges_that_count = listed(list(dict.fromkeys(address for address, _ in changed.index.to_list())))
    others = listed(
        list(dict.fromkeys(str(name).removesuffix(" (unknown)") for name in changed["first_choice"])), "or"
    )
    return (
        f"That {first} is {what} hangs on the guessed ranges of {ranges_that_count}: with one of them halved or doubled"
        f" it becomes {others}."
    )


def size_words(ranking: Ranking, asked: int | None = None) -> str:
    """Return from how many points all this comes."""
    points = sum(ranking.points.values())
    rounded = "" if asked is None or asked == ranking.base else f" (rounded up from {asked})"
    words = f"From {points} operating points: {ranking.base} rows{rounded} in {ranking.scrambles} independent repeats."
    return " ".join([words, *rough_words(ranking)])


def rough_words(ranking: Ranking) -> tuple[str, ...]:
    """Return that figures are rough, where they come from few rows; else nothing."""
    rows = ranking.base // max(ranking.scrambles, 1)
    if rows >= USUAL_ROWS:
        return ()
    return (f"A rough look: {rows} rows a repeat, where {USUAL_ROWS} are usual.",)
