"""What a reader of a ranking must know of it: cases without numbers, no contact, dependence, scatter, guesses."""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from explorer import registry
from explorer.analysis.measurement_sets import Measured, MeasurementSet
from explorer.analysis.scrambles import Estimate, root
from explorer.page.words import (
    STATUS_WORDS,
    between,
    figure_with_sampling,
    listed,
    opened,
    percent,
    percent_with_sampling,
    requirement,
    verdict_words,
    with_sampling,
)
from explorer.questions.rank.ranking import Ranking
from explorer.studyfile import Study

#: Rows of each repeat from which on figures are as sharp as they are meant to be.
USUAL_ROWS: Final = 1024


def amount(ranking: Ranking, left: Estimate) -> str:
    """What is left of the target's standard uncertainty, to the digits that it has as it stands."""
    spread = ranking.standard_uncertainty
    return figure_with_sampling(registry.quantity(ranking.target), float(left), None, spread)


def left_words(ranking: Ranking, left: MeasurementSet | Measured) -> str:
    """What a measurement or a set leaves: at most so much, and at least so much where one number doesn't tell both."""
    most, least = amount(ranking, left.left), amount(ranking, left.at_least)
    return f"at most ± {most}" if left.told else f"at most ± {most} and at least ± {least}"


def _share_with_sampling(ranking: Ranking, count: int) -> str:
    """A share of all points; its error is that of independent points, more than a balanced design has."""
    share = count / max(sum(ranking.points.values()), 1)
    return percent_with_sampling(share, float(np.sqrt(share * (1 - share) / max(2 * ranking.base, 1))))


def required_words(study: Study) -> str:
    """What the study requires of its target: "at least 0.04 N"."""
    target = study.target
    return requirement(registry.quantity(target.quantity), at_least=target.at_least, at_most=target.at_most)


def distribution_words(ranking: Ranking, study: Study) -> Iterator[str]:
    """The target's distribution in one firing, whether what is required of it is met, and the scatter in it."""
    quantity, found, chance = registry.quantity(ranking.target), ranking.distribution, ranking.chance_met
    spread = float(found.standard_uncertainty)
    mean = figure_with_sampling(quantity, ranking.mean, None, spread)
    ends = between(quantity, float(found.low), float(found.high), spread)
    yield f"{opened(ranking.name)} in one firing: mean {mean}, 19 times in 20 between {ends}."
    if chance is not None:
        wanted = study.target.chance
        among = ", among the cases in which the stage runs," if ranking.shares.how == "failures" else ""
        yield (
            f"Required: {required_words(study)}, with a chance of {percent(wanted)} or more. The chance now{among} is"
            f" {percent_with_sampling(chance)}: {verdict_words(chance, wanted, 'for a larger --base')}."
        )
    variance = ranking.shares.scatter_variance
    if float(variance) == 0.0:
        yield "Nothing in this study scatters from firing to firing."
    elif float(variance) > 0.0:
        yield f"Even if everything were known, one firing would scatter by {with_sampling(quantity, root(variance))}."


def not_running_words(ranking: Ranking) -> str:
    """How often the stage doesn't run, where the figures are only about the cases in which it does."""
    if ranking.shares.how != "failures":
        return ""
    failed = sum(count for status, count in ranking.points.items() if status not in ("ok", "no_contact"))
    share = _share_with_sampling(ranking, failed)
    return f"The stage does not run in {share} of firings; all else is about the others."


def contact_share_words(ranking: Ranking) -> str:
    """How often no current flows at all; empty where that is rare."""
    idle = ranking.points.get("no_contact", 0)
    if idle < 0.01 * max(sum(ranking.points.values()), 1):
        return ""
    return f"In {_share_with_sampling(ranking, idle)} of firings no current flows at all, counted here too."


def how_shares_were_told(ranking: Ranking) -> Iterator[str]:
    """What a reader must know where shares don't come from the full design, or rest on rare points."""
    if ranking.tail.heavy:
        one = ranking.tail.one_alone
        yield (
            f"Shares and ± rest on a few rare points here: {'one point' if one else 'the rarest in a thousand'} carries"
            f" {percent(ranking.tail.one if one else ranking.tail.rarest)} of the squared standard uncertainty, and"
            " sampling errors are too small. Look at `propagate` before acting on this order."
        )
    how, lost = ranking.shares.how, percent(ranking.lost)
    depends = ranking.study is not None and ranking.study.space.correlated
    if how == "correlated" or (how == "failures" and depends):
        yield (
            "Inputs are correlated here: a share also counts what an input tells of the others, shares do not add to"
            " 100 %, and there are no totals, so that what inputs do together is not told."
        )
    if how == "failures":
        failed = [
            f"{count} {STATUS_WORDS[status]}"
            for status, count in ranking.points.items()
            if count and status not in ("ok", "no_contact")
        ]
        yield (
            f"{lost} of the sample carries no number (of {sum(ranking.points.values())} points {listed(failed)}), too"
            " much"
            " for the full design. Shares are told among the points that run; there are no totals, and nothing is"
            " filled"
            " in."
        )
    elif ranking.lost > 0.0:
        yield f"{lost} of the sample is left out, for it holds points without a number."
    if how != "design" and len(ranking.rows) < len(ranking.learning.second_opinion.moved):
        yield "Groups are ranked from the full design only, so they are not told here."


def together_words(ranking: Ranking) -> str:
    """Which two inputs to pin down together, and what they would leave; empty with fewer than two."""
    pair = ranking.learning.pair
    if pair is None:
        return ""
    left = with_sampling(registry.quantity(ranking.target), pair.left)
    among = " of the inputs that count most" if ranking.learning.by_design else ""
    return (
        f"The best two{among} to pin down together: {listed([registry.words_of(row.address) for row in pair.rows])}."
        " If both were known"
        f" exactly, {left} would be left (picked on one half of the sample, judged on the other)."
    )


def failing_words(ranking: Ranking) -> Iterator[str]:
    """Which measurements' firings often give no number, and what was made of that."""
    for name, share in ranking.learning.failing.items():
        yield (
            f"{name}: {percent(share)} of its firings would give no number. That is a reading too, and what it"
            " teaches is"
            " counted."
        )


def guesses_words(ranking: Ranking) -> str:
    """Whether the first choice survives other ranges; empty where that was not tried."""
    tried = ranking.guesses
    if tried is None or not tried.tried:
        return ""
    what = "the measurement to make first" if tried.kind == "measurement" else "the input to pin down first"
    said = str if tried.kind == "measurement" else registry.words_of
    if not tried.changed:
        ranges = len(_once([guess.address for guess in tried.tried]))
        return f"Halve or double any of the {ranges} largest ranges: {said(tried.first)} stays {what}."
    ranges_that_count = listed(
        [registry.words_of(address) for address in _once([g.address for g in tried.changed])]
    )
    others = listed(_once([said(guess.choice or "none worth its hours") for guess in tried.changed]), "or")
    return (
        f"That {said(tried.first)} is {what} depends on the guessed ranges of {ranges_that_count}: with one of them"
        " halved"
        f" or doubled it becomes {others}."
    )


def _once(names: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(names))


def size_words(ranking: Ranking, asked: int | None = None) -> str:
    """From how many points all this comes."""
    points = sum(ranking.points.values())
    rounded = "" if asked is None or asked == ranking.base else f" (rounded up from {asked})"
    words = f"From {points} operating points: base {ranking.base}{rounded} in {ranking.scrambles} independent repeats."
    return f"{words} {rough_words(ranking)}".rstrip()


def rough_words(ranking: Ranking) -> str:
    """That figures are rough, where they come from few rows; else empty."""
    rows = ranking.base // max(ranking.scrambles, 1)
    return (
        ""
        if rows >= USUAL_ROWS
        else f"A rough look: base {ranking.base}, where {USUAL_ROWS * ranking.scrambles} is usual."
    )
