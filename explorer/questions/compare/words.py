"""Designs beside each other in plain words: which differences are real, what is drawn once, what changes regime."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

from explorer import registry
from explorer.page.designs import Figures, figures_of
from explorer.page.words import (
    between,
    counted,
    listed,
    percent,
    share_with_sampling,
)
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.tables import WHOLE, block
from explorer.study.outcomes import MIXTURE

#: Most inputs named one by one in a sentence.
_FEW: Final = 4

#: What is said of differences, by their verdicts.
_REAL: Final = {"larger": "Really more", "smaller": "Really less"}
_OTHERS: Final = {
    "not told apart": "Not told apart (each may be zero)",
    "the same": "The same",
    "not decided": "Not decided (more samples could bring zero in or keep it out)",
}


def plain_words(found: Comparison) -> tuple[str, ...]:
    """Return what a comparison says, one matter an item, the real differences first."""
    return tuple(_words(found))


def _words(found: Comparison) -> Iterator[str]:
    if (contact := contact_words(found)) is not None:
        yield contact
    for other in found.names[1:]:
        yield from difference_words(found, other)
    if (same := same_words(found)) is not None:
        yield same
    yield shared_words(found)
    if (missing := missing_words(found)) is not None:
        yield missing


def contact_words(found: Comparison) -> str | None:
    """Return each design's chance of contact, where one of them is neither nearly sure nor nearly excluded."""
    if not is_mixed(found):
        return None
    chances = [
        f"{name} {share_with_sampling(float(chance.value), float(chance.standard_error))}"
        for name, chance in found.contact.items()
    ]
    return f"It is not sure that current flows through the gas at all. Chance of contact: {listed(chances)}."


def is_mixed(found: Comparison, *names: str) -> bool:
    """Return whether contact is neither nearly sure nor nearly excluded in some design."""
    chances = [float(found.contact[name].value) for name in names or found.names]
    return any(MIXTURE[0] < chance < MIXTURE[1] for chance in chances)


def difference_words(found: Comparison, other: str) -> tuple[str, ...]:
    """Return which differences of a design from the first one are real.

    Where contact is not sure, first those of firings that make contact in both.
    """
    pair, rows = f"{other} against {found.names[0]}", key_rows(found)
    every = figures_of(found.differences, other)
    if not is_mixed(found, found.names[0], other):
        return (_told(f"{pair}, one firing of each", every, rows),)
    given = figures_of(found.differences_given_contact, other)
    first = _told(f"{pair}, one firing of each that makes contact", given, rows)
    if all(given[row]["verdict"] == every[row]["verdict"] for row in rows):
        return (f"{first} All firings together, those without contact too, say the same.",)
    return first, _told(f"{pair}, all firings together, those without contact too", every, rows)


def _told(head: str, figures: dict[str, Figures], rows: Sequence[str]) -> str:
    if not any(figures[row]["verdict"] for row in rows):
        return f"{head}: too few of them to tell a difference from."
    by_verdict: dict[str, list[str]] = {}
    for row in rows:
        by_verdict.setdefault(str(figures[row]["verdict"]), []).append(row)
    parts = []
    for verdict, words in _REAL.items():
        if verdict in by_verdict:
            each = [f"{row} by {_by(figures[row], row)}" for row in by_verdict[verdict]]
            parts.append(f"{words}: {', '.join(each)}.")
    if not parts:
        parts.append("No difference is real.")
    for verdict, words in _OTHERS.items():
        if verdict in by_verdict:
            parts.append(f"{words}: {listed(by_verdict[verdict])}.")
    return f"{head}, 19 times in 20. {' '.join(parts)}"


def _by(own: Figures, row: str) -> str:
    """The interval of a difference, told as a size."""
    quantity = registry.quantity(row)
    ends = sorted((abs(own["low"]), abs(own["high"])))
    if not own["standard_uncertainty"] > 0:
        return quantity.scale.difference(ends[0])
    return between(quantity, ends[0], ends[1], own["standard_uncertainty"], last=" to ")


def key_rows(found: Comparison) -> tuple[str, ...]:
    """Return the quantities that a reader asks for first: outcomes, the stage's mass and what it buys."""
    return (*block(found, "outcome"), *(row for row in block(found, "mass") if row in WHOLE))


def same_words(found: Comparison) -> str | None:
    """Return that two designs are one and the same, where they are."""
    hashes = [study.study_hash for study in found.studies]
    same = [name for name, own in zip(found.names, hashes, strict=True) if hashes.count(own) > 1]
    if not same:
        return None
    return (
        f"{listed(same)} say the same: what differs between them is only what each draws apart, and shows how far two"
        " builds of one drawing may lie from each other."
    )


def shared_words(found: Comparison) -> str:
    """Return what is drawn once for all designs, and which inputs might have to be."""
    everywhere = "both" if len(found.names) == 2 else "all that name it"
    once = (
        f"Drawn once for {everywhere}: {listed(list(found.shared))}."
        if found.shared
        else "Nothing is shared."
    )
    words = f"{once} Everything else is drawn apart for each design."
    if not found.apart:
        return words
    stated = counted(len(found.apart), "uncertain input is", "uncertain inputs are")
    which = f" ({listed(found.apart)})" if len(found.apart) <= _FEW else ""
    return (
        f"{words} {stated} stated alike and yet drawn apart{which}: where that is one and the same thing, give it the"
        " same `shared` name in each study, and it drops out of the difference."
    )


def missing_words(found: Comparison) -> str | None:
    """Return how many points of which design carry no number; None where all do."""
    failed = [
        f"{percent(share)} of {name}" for name in found.names if (share := _without_number(found, name)) > 0
    ]
    if not failed:
        return None
    return (
        f"Some points carry no number: {listed(failed)}. They are left out of that design's figures and of its"
        " differences, meet no limit, and are counted below, never filled in."
    )


def _without_number(found: Comparison, name: str) -> float:
    shares = figures_of(found.statuses, name)
    return sum(float(own["share"]) for status, own in shares.items() if status not in ("ok", "no_contact"))


def mode_words(found: Comparison) -> str | None:
    """Return that the designs work in different modes; None where they don't."""
    if len({study.mode for study in found.studies}) == 1:
        return None
    each = [f"{name} in {study.mode}" for name, study in zip(found.names, found.studies, strict=True)]
    return (
        f"The designs work in different modes: {listed(each)}. Currents and forces then have opposite signs: positive"
        " is what pushes the gas forward, and power that feeds the stage."
    )


def unweighed_words(found: Comparison) -> str | None:
    """Return which designs can't be weighed as a whole; None where all can."""
    if "stage_mass" not in found.quantities.index:
        return None
    names = [
        name for name in found.names if math.isnan(figures_of(found.quantities, name)["stage_mass"]["mean"])
    ]
    if not names:
        return None
    return (
        f"The magnet's mass is not known for {listed(names)}, so neither is the stage's: state mass.magnet, or the"
        " magnet as blocks."
    )


def sampling_words(found: Comparison, asked: int | None) -> str:
    """Return how many points there were, and how far sampling may move what is printed."""
    rounded = "" if asked in (None, found.samples) else f" (rounded up from {asked})"
    most = percent(_rounded_up(_coarsest(found)), 1)
    return (
        f"From {found.samples} points{rounded}, the same for all designs, in {found.scrambles} independent repeats."
        f" Sampling moves no printed mean or end of an interval by more than {most} of that quantity's"
        " standard uncertainty (one standard error); each figure's own stands in the page's second part and"
        " in the CSV files."
    )


def _rounded_up(share: float) -> float:
    """A share rounded up to one digit."""
    if not share > 0:
        return 0.0
    step = 10.0 ** math.floor(math.log10(share))
    return math.ceil(round(share / step, 9)) * step


def _coarsest(found: Comparison) -> float:
    worst = 0.0
    told = (found.quantities, found.differences, found.given_contact, found.differences_given_contact)
    for table in told:
        for name in [] if table.empty else table.columns.unique("design"):
            own = table[name]
            for figure in ("mean", "low", "high"):
                spread = own["standard_uncertainty"].astype(float)
                error = own[f"{figure}_standard_error"].astype(float) / spread.where(spread > 0)
                worst = max(worst, 0.0 if error.isna().all() else float(error.max()))
    return worst
