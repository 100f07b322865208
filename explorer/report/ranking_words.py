"""A ranking in plain words: what to pin down first, why, by which measurement, what not to bother with.

Only what is unknown can be pinned down. What scatters from firing to firing no test removes, and against the
model's own error no measurement of an input helps. At most three inputs are named and every number wears its unit.
"""

from collections.abc import Iterator
from typing import Any, Final

from explorer import registry, units
from explorer.report.ranking_rows import label, ranked
from explorer.report.words import listed, percent, with_sampling, with_uncertainty
from explorer.study import Ranking
from explorer.studyfile import Study

#: Fall of the standard uncertainty below which something is not worth a test [-].
NOT_WORTH: Final = 0.01

#: Share of the squared uncertainty from which on it is "most of it" [-].
_MOST: Final = 0.5


def plain_words(ranking: Ranking, study: Study) -> tuple[str, ...]:
    """Return the ranking in plain words, one matter an item, at most 120 words together.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    study : Study
        That was ranked.
    """
    return tuple(_words(ranking, study))


def _words(ranking: Ranking, study: Study) -> Iterator[str]:
    quantity = registry.quantity(ranking.target)
    amount = with_uncertainty(quantity, ranking.mean[0], ranking.standard_uncertainty[0])
    if (contact := contact_share_words(ranking)) is not None:
        yield contact
    yield f"{ranking.target} of one firing: {amount} (one standard uncertainty)."
    rows = ranked(ranking)
    unknown = sorted((row for row in rows if row["part"] == "unknown"), key=lambda row: row["left_if_known"])
    model = next((row for row in rows if row["part"] == "model"), None)
    leading = max(rows, key=lambda row: row["first"])
    if float(ranking.shares.scatter_variance.value) > _MOST * ranking.standard_uncertainty[0] ** 2:
        yield f"Most of it is scatter from firing to firing, {label(leading)} foremost, which no test removes."
    elif model is not None and leading is model:
        own = study.model_error.of(ranking.target)
        yield (
            f"What counts most is the model's own error ({percent(own.relative)}, {own.origin}): measuring inputs helps"
            " little, only a powered firing does."
        )
    if not unknown:
        yield "Nothing is unknown that a test could pin down."
        return
    yield _pin_down(ranking, unknown)
    if (words := _measurement(ranking)) is not None:
        yield words
    if (words := _second_opinion(ranking, {unknown[0]["name"], leading["name"]})) is not None:
        yield words


def _pin_down(ranking: Ranking, unknown: list[dict[str, Any]]) -> str:
    """The sentence that names what to pin down first."""
    found = ranking.learning.left
    first = unknown[0]
    if not bool(found.table.loc[first["name"], "informative"]):
        return "No single input stands out: knowing any one of them exactly would leave the answer about as unsure."
    quantity = registry.quantity(ranking.target)

    def left(row: dict[str, Any]) -> str:
        return with_sampling(quantity, row["left_if_known"], row["left_if_known_standard_error"])

    sentence = (
        f"Pin down {label(first)} first, the largest unknown: if known exactly, {left(first)} would be left"
    )
    if len(unknown) == 1:
        return f"{sentence}."
    second = unknown[1]
    if found.order_of.loc[second["name"], first["name"]] == "level":
        return f"{sentence}; {label(second)} is level with it."
    if second["left_if_known"] > (1 - NOT_WORTH) * float(found.now.value):
        return f"{sentence}; no other input comes near."
    return f"{sentence}; next comes {label(second)}, {left(second)}."


def _measurement(ranking: Ranking) -> str | None:
    """The sentence on which measurement to make first, and which not to bother with."""
    table, best = ranking.measurements, ranking.best_set
    if table is None or best is None or ranking.learning.measurements is None:
        return None
    now = float(ranking.learning.measurements.now.value)
    idle = [str(name) for name, row in table.iterrows() if row["left"] > (1 - NOT_WORTH) * now]
    if len(idle) == len(table) or best.empty:
        return "None of the measurements proposed would make the answer noticeably surer."
    step = best.iloc[0]
    left = with_sampling(registry.quantity(ranking.target), step["left"], step["left_standard_error"])
    hours = units.number_text(step["hours"], 3)
    sentence = (
        f"Of the measurements {step['name']} helps most ({hours} h, set-up included): after it {left} would be"
        " left."
    )
    if not idle:
        return sentence
    changes = "they change" if len(idle) > 1 else "it changes"
    return f"{sentence} Don't bother with {listed(idle[:3], 'or')}: {changes} next to nothing here."


def _second_opinion(ranking: Ranking, leaders: set[str]) -> str | None:
    """A sentence if another method names another leading row than the ones that were named."""
    opinion = ranking.learning.second_opinion.leading
    if opinion is None or opinion in leaders:
        return None
    named = next((label(row) for row in ranked(ranking) if row["name"] == opinion), opinion)
    return f"A method that shares nothing with this one puts {named} first."


def how_shares_were_told(ranking: Ranking) -> str | None:
    """Return what a reader must know where shares don't come from the full design; None where they do.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    if ranking.shares.how == "correlated":
        return (
            "Inputs depend on each other here: a share counts what an input teaches of the others too, the shares do"
            " not add to 100 %, and what inputs do together is not told."
        )
    if ranking.shares.how == "failures":
        return (
            f"{percent(ranking.lost)} of the sample's rows hold a point without a number. Shares are those among the"
            " points that run; what inputs do together is not told, and nothing was filled in."
        )
    if ranking.lost > 0.0:
        return f"{percent(ranking.lost)} of the sample's rows had a point without a number and were left out whole."
    return None


def contact_share_words(ranking: Ranking) -> str | None:
    """Return how often no current flows at all; None where that is rare.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    idle = ranking.points.get("no_contact", 0) / max(sum(ranking.points.values()), 1)
    if idle < 0.01:
        return None
    return (
        f"In {percent(idle)} of firings no current flows at all; the figures hold for all firings together."
    )


def scatter_words(ranking: Ranking) -> str | None:
    """Return what one firing would scatter by even if everything were known; None where it isn't told.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    floor = float(ranking.shares.scatter_variance.value)
    if not floor >= 0.0:
        return None
    quantity = registry.quantity(ranking.target)
    if floor == 0.0:
        return "Nothing in this study scatters from firing to firing."
    return f"Even if everything were known, one firing would scatter by ± {quantity.scale.difference(floor**0.5, 2)}."


def guesses_words(ranking: Ranking) -> str | None:
    """Return whether the first choice survives other ranges; None where that was not tried.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    tried, best = ranking.guesses, ranking.best_set
    if tried is None or tried.table.empty or (tried.kind == "measurement" and (best is None or best.empty)):
        return None
    first = tried.first.removesuffix(" (unknown)")
    changed = tried.table[~tried.table["same"]]
    if changed.empty:
        ranges = len(set(tried.table.index.get_level_values(0)))
        return f"Halving or doubling any of the {ranges} largest ranges leaves {first} the first choice."
    ranges_that_count = listed(list(dict.fromkeys(address for address, _ in changed.index.to_list())))
    others = listed(
        list(dict.fromkeys(str(name).removesuffix(" (unknown)") for name in changed["first_choice"])), "or"
    )
    return (
        f"The first choice, {first}, hangs on the guessed ranges of {ranges_that_count}: with one of them halved or"
        f" doubled it becomes {others}."
    )
