"""Designs beside each other in plain words: which differences are real, what is drawn once, what has no number."""

import math
from collections.abc import Iterator, Mapping
from typing import Final

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.designs import sampled_words
from explorer.page.words import between, counted, listed, percent, percent_with_sampling
from explorer.questions.compare.blocks import key_rows
from explorer.questions.compare.comparison import Compared, Comparison
from explorer.questions.compare.contacts import contact_words
from explorer.study.contrasts import Difference, Figures
from explorer.study.outcomes import MIXTURE

#: Most inputs named one by one in a sentence.
_FEW: Final = 4

#: What is said of differences, by their verdicts.
_REAL: Final = {"larger": "Larger", "smaller": "Smaller"}
_OTHERS: Final = {
    "not told apart": "Not told apart (each may be zero)",
    "the same": "The same",
    "not decided": "Not decided (more samples could bring zero in or keep it out)",
}


def plain_words(found: Comparison) -> tuple[str, ...]:
    """Return what a comparison says, one matter an item, the real differences first."""
    return tuple(_words(found))


def _words(found: Comparison) -> Iterator[str]:
    if is_mixed(*found.designs):
        yield _contact(found)
    for other in found.others:
        yield from _differences(found, other)
    yield from contact_words(found)
    yield from _same(found)
    yield _shared(found)
    yield from missing_words(found)


def is_mixed(*designs: Compared) -> bool:
    """Return whether contact is neither nearly sure nor nearly excluded in some design."""
    return any(MIXTURE[0] < float(own.contact) < MIXTURE[1] for own in designs)


def _contact(found: Comparison) -> str:
    chances = [f"{own.name} {percent_with_sampling(own.contact)}" for own in found.designs]
    return f"Current may not flow through the gas at all. Chance of contact: {listed(chances)}."


def _differences(found: Comparison, other: Compared) -> Iterator[str]:
    """Which differences of a design from the first one are real; where contact is not sure, first given contact."""
    pair, rows = f"{other.name} against {found.first.name}", key_rows(found)
    firing = "the same hardware with a change, in one firing" if other.one_rig else "one firing of each"
    every = {row: other.differences[row] for row in rows}
    if not is_mixed(found.first, other):
        yield _told(f"{pair}, {firing}", every)
        yield from _between_firings(found, other)
        return
    given = {row: other.differences_given_contact[row] for row in rows}
    first = _told(f"{pair}, {firing} that makes contact", given)
    if all(given[row].verdict == every[row].verdict for row in rows):
        yield f"{first} All firings together, those without contact too, say the same."
    else:
        yield first
        yield _told(f"{pair}, all firings together, those without contact too", every)
    yield from _between_firings(found, other)


def _between_firings(found: Comparison, other: Compared) -> Iterator[str]:
    """In which quantities the scatter between one firing of each hides what a change of one rig does."""
    every = {row: (other.differences[row], own) for row, own in other.between_firings.items()}
    hidden = [
        row
        for row in key_rows(found)
        if row in every and every[row][0].verdict in _REAL and every[row][1].verdict not in _REAL
    ]
    if hidden:
        which = "it" if len(hidden) == 1 else "them"
        yield (
            f"One firing of each may not show it in {listed([registry.words_of(row) for row in hidden])}: scatter"
            " from firing"
            f" to firing hides {which}."
        )


def _told(head: str, differences: Mapping[str, Difference]) -> str:
    by_verdict: dict[str, list[str]] = {}
    for row, own in differences.items():
        by_verdict.setdefault(own.verdict, []).append(row)
    if set(by_verdict) <= {""}:
        return f"{head}: too few of them to tell a difference from."
    parts = [
        f"{words}:"
        f" {', '.join(f'{registry.words_of(row)} by {_by(differences[row], row)}' for row in by_verdict[verdict])}."
        for verdict, words in _REAL.items()
        if verdict in by_verdict
    ] or ["No difference is real."]
    parts += [
        f"{words}: {listed([registry.words_of(row) for row in by_verdict[verdict]])}."
        for verdict, words in _OTHERS.items()
        if verdict in by_verdict
    ]
    return f"{head}, 19 times in 20. {' '.join(parts)}"


def _by(own: Difference, row: str) -> str:
    """The interval of a difference, told as a size."""
    quantity = registry.quantity(row)
    near, far = sorted((abs(float(own.low)), abs(float(own.high))))
    if not float(own.standard_uncertainty) > 0:
        return quantity.scale.difference(near)
    return between(quantity, near, far, own.standard_uncertainty, last=" to ")


def _same(found: Comparison) -> Iterator[str]:
    """That two designs are one and the same, where they are."""
    hashes = [study.study_hash for study in found.studies]
    same = [name for name, own in zip(found.names, hashes, strict=True) if hashes.count(own) > 1]
    if same and any(set(same) <= set(rig) for rig in found.rigs):
        yield (
            f"{listed(same)} say the same and are one rig, so that only scatter from firing to firing can differ."
            ' For two builds of one drawing write a study with like and rig = "another".'
        )
    elif same:
        yield (
            f"{listed(same)} say the same: they differ only in what each draws apart, which shows how far two builds"
            " of one drawing may lie from each other."
        )


def _shared(found: Comparison) -> str:
    """What is drawn once for all designs, and which inputs might have to be."""
    rigs = [
        f"{listed(rig)} are one rig: what is not changed is the same thing and is drawn once"
        for rig in found.rigs
    ]
    if found.rigs and len(found.rigs[0]) == len(found.designs):
        return f"{rigs[0]}, the model's own error included; what is changed is drawn for each."
    everywhere = "both" if len(found.designs) == 2 else "all that name it"
    once = (
        f"Drawn once for {everywhere}: {listed(list(found.shared))}."
        if found.shared
        else "Nothing is shared."
    )
    words = " ".join(
        [*(f"{rig}." for rig in rigs), f"{once} Everything else is drawn apart for each design."]
    )
    if not found.apart:
        return words
    stated = counted(len(found.apart), "uncertain input is", "uncertain inputs are")
    which = (
        f" ({listed([registry.words_of(own) for own in found.apart])})" if len(found.apart) <= _FEW else ""
    )
    return (
        f"{words} {stated} stated alike and yet drawn apart{which}: if that is one and the same thing, give it the same"
        " `shared` name in each study, and it drops out of the difference."
    )


def missing_words(found: Comparison) -> tuple[str, ...]:
    """Return how many points of which design carry no number, where some don't."""
    failed = [
        f"{percent(share)} of {own.name}" for own in found.designs if (share := _without_number(own)) > 0
    ]
    if not failed:
        return ()
    return (
        f"Some points carry no number: {listed(failed)}. They are left out of that design's figures and of its"
        " differences, meet no limit, and are counted below, never filled in.",
    )


def _without_number(own: Compared) -> float:
    return sum(float(share) for status, share in own.statuses.items() if status not in ("ok", "no_contact"))


def mode_words(found: Comparison) -> tuple[str, ...]:
    """Return that the designs work in different modes, where they do."""
    if len({study.mode for study in found.studies}) == 1:
        return ()
    each = [f"{own.name} in {own.study.mode}" for own in found.designs]
    return (
        f"The designs work in different modes: {listed(each)}. Currents and forces then have opposite signs: positive"
        " is what pushes the gas forward, and power that feeds the stage.",
    )


def unweighed_words(found: Comparison) -> tuple[str, ...]:
    """Return which designs can't be weighed as a whole, where one can't."""
    names = [
        own.name
        for own in found.designs
        if "stage_mass" in own.figures and not own.figures["stage_mass"].is_told
    ]
    if not names:
        return ()
    return (
        f"The magnet's mass is not known for {listed(names)}, so neither is the stage's: state the magnet's mass,"
        " or the magnet as blocks.",
    )


def sampling_words(found: Comparison, asked: int | None) -> str:
    """Return how many points there were, and how far sampling may move what is printed."""
    most = percent(_rounded_up(_coarsest(found)), 1)
    return (
        f"{sampled_words(found, asked)} Sampling moves no printed mean or end of an interval by more than {most} of"
        " that quantity's standard uncertainty (one standard error); each figure's own stands in the page's second part"
        " and in the CSV files. In brackets in tables: the sampling error (95 %)."
    )


def _rounded_up(share: float) -> float:
    """A share rounded up to one digit."""
    if not share > 0:
        return 0.0
    step = 10.0 ** math.floor(math.log10(share))
    return math.ceil(round(share / step, 9)) * step


def _coarsest(found: Comparison) -> float:
    """The largest standard error of a figure, over the standard uncertainty of its quantity."""
    figures: list[Figures] = []
    for own in found.designs:
        figures += [*own.figures.values(), *own.figures_given_contact.values()]
        figures += [*own.differences.values(), *own.differences_given_contact.values()]
    return max((error for own in figures for error in _errors(own)), default=0.0)


def _errors(own: Figures) -> Iterator[float]:
    figures: tuple[Estimate, ...] = (own.mean, own.low, own.high)
    spread = float(own.standard_uncertainty)
    yield from (figure.error / spread for figure in figures if spread > 0)
