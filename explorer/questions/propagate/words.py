"""How sure a prediction is, in plain words: one firing, what stays though everything were known, the requirement.

A quantity is told for one future firing. Shares of points that carry no number are said, and what drives them.
"""

from collections.abc import Iterator
from typing import Final

from explorer import registry, units
from explorer.analysis.scrambles import Estimate
from explorer.page.events import at_once
from explorer.page.words import (
    STATUS_WORDS,
    between,
    counted,
    listed,
    opened,
    percent,
    percent_with_sampling,
    plus_minus,
    requirement,
    row_words,
    verdict_words,
    with_uncertainty,
)
from explorer.questions.propagate.figures import Figures
from explorer.questions.propagate.propagation import Propagation, RareTail
from explorer.questions.propagate.statuses import Driver
from explorer.registry import Quantity
from explorer.studyfile import Study

#: Share of the squared standard uncertainty from which on scatter is "most of it", and up to which "next to nothing".
_MOST: Final = 0.5
_LITTLE: Final = 0.05

#: How a verdict on the first-order law goes on.
_VERDICTS: Final = {
    "validated": "validated. It may be used in this neighbourhood.",
    "not validated": "not validated. Go by the sample.",
    "not decided": "not decided, for the ends of the sample's interval are not sharp enough. Ask for more samples.",
}


def plain_words(found: Propagation, study: Study) -> Iterator[str]:
    """Yield what one future firing will show, one matter an item."""
    if (contact := contact_words(found)) is not None:
        yield contact
    if beware := at_once(found.events):
        yield beware
    scatters = any(row.part == "scatter" for row in study.space.rows)
    for name, figures in found.figures.items():
        yield f"{one_firing(found, name, figures)}{_parts(name, figures) if scatters else ''}"
    for name, rare in found.tails.items():
        yield tail_words(name, rare)
    if not scatters:
        yield (
            "Nothing in this study scatters from firing to firing: all of the uncertainty is in what tests can pin"
            " down."
        )
    if (words := requirement_words(found, study)) is not None:
        yield words
    if (words := failure_words(found)) is not None:
        yield words


def tail_words(name: str, rare: RareTail) -> str:
    """Return that a quantity's figures rest on rare points, and which point to look at where it is one."""
    if rare.tail.one_alone:
        there = ", ".join(
            f"{registry.words_of(address)} {_shown(address, value)}" for address, value in rare.inputs.items()
        )
        return (
            f"One point in {rare.points} carries {percent(rare.tail.one)} of the squared standard uncertainty of"
            f" {registry.words_of(name)}: mean, ± and their sampling errors depend on it. Look at it before you"
            " conclude"
            f" anything: {there}."
        )
    return (
        f"{opened(registry.words_of(name))} has a heavy tail: the rarest firing in a thousand carries"
        f" {percent(rare.tail.rarest)} of its squared"
        " standard uncertainty, so that the sampling errors of mean and ± are too small. Go by the median and by the"
        " range that holds 19 times in 20."
    )


def _shown(address: str, value: float) -> str:
    try:
        return registry.quantity(address).spoken(value)
    except registry.UnknownAddressError:  # a callable's own
        return units.number_text(value, 3)


def one_firing(found: Propagation, name: str, figures: Figures) -> str:
    """Return what a quantity shows in one future firing; where contact is not sure, given contact first."""
    quantity, words = registry.quantity(name), registry.words_of(name)
    if not figures.moves:
        mean = quantity.spoken(float(figures.mean))
        return f"{opened(words)} is {mean} in every firing: no uncertain input moves it."
    amount, ends = _amount_and_ends(quantity, figures)
    if found.mixture is None:
        return (
            f"{opened(words)} in one future firing: {amount} (one standard uncertainty), 19 times in 20 between"
            f" {ends}."
        )
    together = f"All firings together, those without contact too: {amount}, 19 times in 20 between {ends}."
    if name not in found.mixture.figures:
        return f"Too few firings make contact to tell the {words} given contact. {together}"
    alone, reach = _amount_and_ends(quantity, found.mixture.figures[name])
    return (
        f"{opened(words)} given contact: {alone} (one standard uncertainty), 19 times in 20 between {reach}."
        f" {together}"
    )


def _amount_and_ends(quantity: Quantity, figures: Figures) -> tuple[str, str]:
    amount = with_uncertainty(quantity, figures.mean, figures.spread)
    return amount, between(quantity, figures.low, figures.high, figures.spread)


def _parts(name: str, figures: Figures) -> str:
    """What stays though everything were known, and what tests could take away."""
    if not figures.moves:
        return ""
    if not figures.scatters:
        return " What scatters from firing to firing does not move it."
    quantity = registry.quantity(name)
    share = (float(figures.scatter) / figures.spread) ** 2
    scatter = plus_minus(quantity, figures.scatter)
    stays = f" With everything known, one firing still scatters by {scatter}"
    if share <= _LITTLE:
        return f"{stays}: nearly all of the uncertainty is in what tests can pin down."
    if share >= _MOST:
        return f"{stays}: most of the uncertainty is scatter from firing to firing, which no test removes."
    unknown = plus_minus(quantity, figures.unknown)
    return f"{stays}; what is not known makes {unknown}, which tests can pin down."


def contact_words(found: Propagation) -> str | None:
    """Return the chance of contact where it is neither nearly sure nor nearly excluded, else None."""
    if found.mixture is None:
        return None
    chance = percent_with_sampling(found.mixture.contact)
    drivers = drivers_words(found, "no_contact")
    drive = f" It depends most on {drivers}." if drivers else ""
    return f"Current may not flow through the gas at all. Chance of contact: {chance}.{drive}"


def drivers_words(found: Propagation, status: str) -> str:
    """Return the inputs that decide a status most, each with its share; empty where that isn't told."""
    drivers = found.statuses[status].drivers if status in found.statuses else ()
    return ", ".join(f"{_called(driver)} ({100 * driver.share:.0f} %)" for driver in drivers)


def _called(driver: Driver) -> str:
    """A row's words; what is unknown about an input goes by its own alone."""
    return (
        registry.words_of(driver.row.address) if driver.row.part == "unknown" else row_words(driver.row.name)
    )


def requirement_words(found: Propagation, study: Study) -> str | None:
    """Return what is required of the target, and the chance that it is met; None where nothing is required."""
    target = study.target
    if not target.has_requirement:
        return None
    quantity, words = registry.quantity(target.quantity), registry.words_of(target.quantity)
    bounds = requirement(quantity, at_least=target.at_least, at_most=target.at_most)
    head = f"Required: {words} {bounds}, with a chance of {percent(target.chance)} or more."
    if found.chance_met is None:
        return f"{head} The {words} was not asked for here."
    verdict = verdict_words(found.chance_met, target.chance, "for more samples")
    return f"{head} The chance is {_chance(found, found.chance_met)}: {verdict}."


def _chance(found: Propagation, met: Estimate) -> str:
    if float(met) not in (0.0, 1.0):
        return percent_with_sampling(met)
    which = "no point" if float(met) == 0.0 else "every point"
    return f"{percent(float(met))} ({which} of {found.points['ok'] + found.points['no_contact']} meets it)"


def failure_words(found: Propagation) -> str | None:
    """Return how many points carry no number, and what drives them; None where all do."""
    each = []
    for name, status in found.statuses.items():
        if name not in ("ok", "no_contact"):
            drivers = drivers_words(found, name)
            depends = f", which depends most on {drivers}" if drivers else ""
            each.append(f"{percent(float(status.share))} {STATUS_WORDS[name]}{depends}")
    if not each:
        return None
    return f"Some points carry no number: {'; '.join(each)}. They are left out and counted, never filled in."


def first_order_words(found: Propagation, name: str) -> str:
    """Return what the first-order law makes of a quantity, and the verdict on it."""
    law, words = found.first_order.laws[name], opened(registry.words_of(name))
    if not found.figures[name].moves:
        return f"{words}: nothing to compare, for it is the same in every firing."
    if law.verdict not in _VERDICTS:
        return (
            f"{words}: the first-order law doesn't apply here. Whether current flows, or the stage runs at all, changes"
            " within one standard uncertainty of an input, and no straight line tells that."
        )
    quantity, spread = registry.quantity(name), law.standard_uncertainty
    amount = with_uncertainty(quantity, law.value, spread)
    ends = between(quantity, law.low, law.high, spread)
    return f"{words}: {amount}, 19 times in 20 between {ends}: {_VERDICTS[law.verdict]}"


def sampling_words(found: Propagation, asked: int | None) -> str:
    """Return how many points there were, how that came, and whether the digits asked for stand."""
    size = f"{found.samples} operating points in {found.scrambles} independent repeats"
    how = ' "Sampling" is one standard error, read from how the repeats differ.'
    if found.digits is not None:
        return digits_words(found) + how
    if asked is not None and asked != found.samples:
        return (
            f"From {size}; {asked} were asked for, and sizes are rounded up to 8 times a power of two.{how}"
        )
    return f"From {size}.{how}"


def digits_words(found: Propagation) -> str:
    """Return whether the digits asked for stand, with which tolerances, after how many blocks."""
    digits = found.digits
    if digits is None:
        raise ValueError("no number of digits was asked for")
    wanted = f"{counted(digits.wanted, 'significant digit')} of each standard uncertainty"
    tolerances = listed(
        [
            f"{registry.quantity(name).scale.difference(t, 2)} of {registry.words_of(name)}"
            for name, t in digits.tolerances.items()
        ]
    )
    taken = f"{digits.blocks} independent blocks, {found.samples} operating points"
    if digits.reached:
        return (
            f"Asked for: {wanted}. They stand after {taken}: mean, standard uncertainty and interval ends are stable"
            f" to within {tolerances} (JCGM 101, clause 7.9)."
        )
    return (
        f"Asked for: {wanted}. They do not stand after {taken}, the most tried: mean, standard uncertainty or an"
        f" interval end is not yet stable to within {tolerances}. Ask for fewer digits."
    )
