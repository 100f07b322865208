"""How sure a prediction is, in plain words: one firing, what stays though everything were known, the requirement.

A quantity is told for one future firing. Shares of points that carry no number are said, and what drives them.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.page.words import (
    STATUS_WORDS,
    between,
    listed,
    percent,
    plus_minus,
    requirement,
    share_with_sampling,
    verdict_words,
    with_uncertainty,
)
from explorer.questions.propagate.propagation import Propagation
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

Figures = Mapping[str, Any]


def rows_of(found: Propagation) -> dict[str, Figures]:
    """Return the figures [SI] of each quantity as plain mappings."""
    return figures_of(found.quantities)


def figures_of(table: pd.DataFrame) -> dict[str, Figures]:
    """Return a table's rows as plain mappings."""
    return {
        str(name): {str(key): value for key, value in row.items()}
        for name, row in table.to_dict("index").items()
    }


def plain_words(found: Propagation, study: Study) -> tuple[str, ...]:
    """Return what one future firing will show, one matter an item."""
    return tuple(_words(found, study))


def _words(found: Propagation, study: Study) -> Iterator[str]:
    if (contact := contact_words(found)) is not None:
        yield contact
    scatters = any(row.part == "scatter" for row in study.space.rows)
    for name, row in rows_of(found).items():
        yield f"{_one_firing(found, name, row)}{_parts(name, row) if scatters else ''}"
    if not scatters:
        yield "Nothing in this study scatters from firing to firing: all of the doubt is about what tests can pin down."
    if (words := requirement_words(found, study)) is not None:
        yield words
    if (words := failure_words(found)) is not None:
        yield words


def _one_firing(found: Propagation, name: str, row: Figures) -> str:
    quantity, spread = registry.quantity(name), row["standard_uncertainty"]
    if not spread > 0:
        return f"{name} is {quantity.shown(row['mean'])} in every firing: no uncertain input moves it."
    ends = between(quantity, row["low"], row["high"], spread)
    amount = with_uncertainty(quantity, row["mean"], spread)
    if found.mixture is None:
        return f"{name} in one future firing: {amount} (one standard uncertainty), 19 times in 20 between {ends}."
    given = figures_of(found.mixture.given_contact)[name]
    alone = with_uncertainty(quantity, given["mean"], given["standard_uncertainty"])
    reach = between(quantity, given["low"], given["high"], given["standard_uncertainty"])
    return (
        f"{name} given contact: {alone} (one standard uncertainty), 19 times in 20 between {reach}. All firings"
        f" together, those without contact too: {amount}, 19 times in 20 between {ends}."
    )


def _parts(name: str, row: Figures) -> str:
    """What stays though everything were known, and what tests could take away."""
    quantity, spread = registry.quantity(name), row["standard_uncertainty"]
    if not spread > 0:
        return ""
    if not row["scatter"] > 0:
        return " What scatters from firing to firing does not move it."
    share = (row["scatter"] / spread) ** 2
    stays = (
        f" Even if everything were known, one firing would scatter by {plus_minus(quantity, row['scatter'])}"
    )
    if share <= _LITTLE:
        return f"{stays}: next to all of the doubt is about what tests can pin down."
    if share >= _MOST:
        return f"{stays}: most of the doubt is scatter from firing to firing, which no test removes."
    unknown = plus_minus(quantity, row["unknown"])
    return f"{stays}; what is not known makes {unknown}, and tests can pin it down."


def contact_words(found: Propagation) -> str | None:
    """Return the chance of contact where it is neither nearly sure nor nearly excluded, else None."""
    if found.mixture is None:
        return None
    contact = found.mixture.contact
    chance = share_with_sampling(float(contact.value), float(contact.standard_error))
    drivers = drivers_words(found, "no_contact")
    hangs = f" It hangs most on {drivers}." if drivers else ""
    return f"It is not sure that current flows through the gas at all. Chance of contact: {chance}.{hangs}"


def drivers_words(found: Propagation, status: str) -> str:
    """Return the inputs that a status hangs on most, each with its share; empty where that isn't told."""
    if status not in found.status_shares.index:
        return ""
    text = str(found.status_shares.loc[status, "drivers"])
    return re.sub(r" \((?:unknown|model)\) \(", " (", text).replace("%)", " %)")


def requirement_words(found: Propagation, study: Study) -> str | None:
    """Return what is required of the target, and the chance that it is met; None where nothing is required."""
    target = study.target
    if not target.has_requirement:
        return None
    quantity = registry.quantity(target.quantity)
    bounds = requirement(quantity, at_least=target.at_least, at_most=target.at_most)
    head = f"Required of {target.quantity}: {bounds}, with a chance of {target.chance:g} or more."
    if found.chance_met is None:
        return f"{head} {target.quantity} was not asked for here."
    value, error = float(found.chance_met.value), float(found.chance_met.standard_error)
    if value in (0.0, 1.0):
        which = "no point" if value == 0.0 else "every point"
        chance = f"{value:g} ({which} of {_with_numbers(found)} meets it)"
    else:
        chance = share_with_sampling(value, error)
    return f"{head} The chance is {chance}: {requirement_verdict(found, study)}."


def requirement_verdict(found: Propagation, study: Study) -> str:
    """Return whether the chance wanted is reached: met, not met, or not decided within the sampling error."""
    if found.chance_met is None:
        raise ValueError("without a requirement there is no verdict")
    return verdict_words(found.chance_met, study.target.chance, "for more samples")


def _with_numbers(found: Propagation) -> int:
    return found.points["ok"] + found.points["no_contact"]


def failure_words(found: Propagation) -> str | None:
    """Return how many points carry no number, and what drives them; None where all do."""
    failed = [name for name in found.status_shares.index if name not in ("ok", "no_contact")]
    if not failed:
        return None
    each = []
    for name in failed:
        share = percent(float(found.status_shares["share"].loc[name]))
        drivers = drivers_words(found, str(name))
        each.append(
            f"{share} {STATUS_WORDS[str(name)]}{f', which hangs most on {drivers}' if drivers else ''}"
        )
    return f"Some points carry no number: {'; '.join(each)}. They are left out and counted, never filled in."


def first_order_words(found: Propagation, name: str) -> str:
    """Return what the first-order law makes of a quantity, and the verdict on it."""
    quantity, law = registry.quantity(name), figures_of(found.first_order.table)[name]
    if not rows_of(found)[name]["standard_uncertainty"] > 0:
        return f"{name}: nothing to compare, for it is the same in every firing."
    if law["verdict"] not in _VERDICTS:
        return (
            f"{name}: the first-order law doesn't apply here. Whether current flows, or the stage runs at all, changes"
            " within one standard uncertainty of an input, and no straight line tells that."
        )
    amount = with_uncertainty(quantity, law["value"], law["standard_uncertainty"])
    ends = between(quantity, law["low"], law["high"], law["standard_uncertainty"])
    return f"{name}: {amount}, 19 times in 20 between {ends}: {_VERDICTS[law['verdict']]}"


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
    wanted = (
        f"{digits.wanted} significant digit{'s' if digits.wanted > 1 else ''} of each standard uncertainty"
    )
    tolerances = listed(
        [f"{name} {registry.quantity(name).scale.difference(t, 2)}" for name, t in digits.tolerances.items()]
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
