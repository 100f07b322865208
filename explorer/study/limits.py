"""Limits, requirements and events: where points keep to what is asked, and with which chance they must.

Every limit is a chance that something holds: a quantity's bound with the stated chance, or the absence (or presence)
of a status or a warning with one less (or with) its share.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.registry import CHANCE
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.study.contrasts import NOTHING, Cells, share_of
from explorer.study.engine import stage_of
from explorer.study.model_error import with_parts
from explorer.study.outcomes import NO_CONTACT
from explorer.study.problem import problem_of
from explorer.studyfile import Limit, Study

FloatArray = NDArray[np.float64]

#: By pair whose form of contact is worked out, and by form of contact: its share of firings [-].
Contacts = Mapping[str, Mapping[str, Estimate]]

Verdict = Literal["met", "not met", "not decided"]

MET: Final = "met"
NOT_MET: Final = "not met"
NOT_DECIDED: Final = "not decided"

#: The limit that is asked of every design that is searched: share of points that must carry a number; assumed.
WITH_NUMBER: Final[Limit] = Limit(f"{CHANCE}with_number", at_least=0.95, chance=None)


def one_sided(limits: Sequence[Limit]) -> tuple[Limit, ...]:
    """Limits, a chance between two shares split in two: each is then one chance that something holds."""
    found: list[Limit] = []
    for limit in limits:
        if limit.event and limit.at_least is not None and limit.at_most is not None:
            found += [replace(limit, at_most=None), replace(limit, at_least=None)]
        else:
            found.append(limit)
    return tuple(found)


def is_implied(limit: Limit) -> bool:
    """Whether a limit is the one that is asked of every design: points must carry numbers."""
    return limit.quantity == WITH_NUMBER.quantity


def stated_level(limit: Limit) -> float:
    """Chance with which what a limit asks must hold [-]."""
    if limit.event is None:
        return float(limit.chance or 0.0)
    return float(limit.at_least) if limit.at_least is not None else 1.0 - float(limit.at_most or 0.0)


def bound_margin(points: Evaluated, limit: Limit) -> FloatArray:
    """How far a quantity is inside its bounds [SI], NaN where there is no number."""
    values = points.quantities[limit.quantity]
    sides = []
    if limit.at_least is not None:
        sides.append(values - limit.at_least)
    if limit.at_most is not None:
        sides.append(limit.at_most - values)
    return np.asarray(np.minimum.reduce(sides))


def holds(points: Evaluated, limit: Limit) -> NDArray[np.bool_]:
    """Where what a limit asks holds; nowhere where there is no number."""
    if limit.event is not None:
        there = event(points, limit.quantity)
        return there if limit.at_least is not None else ~there
    with np.errstate(invalid="ignore"):
        return np.asarray(bound_margin(points, limit) >= 0.0)


def outputs_read(quantity: str, pairs: Sequence[str]) -> tuple[str, ...]:
    """The outputs that a result or a chance is told from; of a callable, which has no pairs, as it calls them."""
    if not quantity.startswith(CHANCE):
        return (quantity,)
    own = registry.form_of_contact(quantity.removeprefix(CHANCE))
    if own is None:
        return ()
    each = (own.pair,) if own.pair else pairs
    return tuple(f"electrodes.{pair}.contact" for pair in each) or ("contact",)


def event(points: Evaluated, quantity: str) -> NDArray[np.bool_]:
    """Where a status, a warning or a form of contact is found."""
    name = quantity.removeprefix(CHANCE)
    own = registry.form_of_contact(name)
    if own is not None and (contacts := _contacts(points, own.pair)):
        return np.asarray(np.any([values == own.code for values in contacts], axis=0))
    if quantity == WITH_NUMBER.quantity:
        return np.asarray(points.outcomes <= NO_CONTACT)
    if name in registry.STATUS_CODES:
        return np.asarray(points.outcomes == registry.STATUS_CODES[name])
    return np.asarray((points.warnings & np.uint32(registry.WARNING_BITS[name])) != 0)


def _contacts(points: Evaluated, pair: str) -> list[FloatArray]:
    """Forms of contact of one pair, or of every pair there is."""
    return [
        values
        for address, values in points.quantities.items()
        if address == f"electrodes.{pair}.contact" or (not pair and address.rpartition(".")[2] == "contact")
    ]


def verdict(interval: tuple[float, float], wanted: float) -> Verdict:
    """Whether a chance, known to lie in an interval, reaches what is wanted, beyond what sampling could feign."""
    low, high = interval
    if low >= wanted:
        return MET
    return NOT_MET if high < wanted else NOT_DECIDED


#: Columns of a table of limits.
LIMIT_COLUMNS: Final = (
    "source",
    "quantity",
    "at_least",
    "at_most",
    "wanted",
    "chance",
    "standard_error",
    "verdict",
)

#: Points on which warnings and limits are looked at where another sample has figures of its own.
_POINTS: Final[int] = 4_096

#: Share of firings from which on a warning is said.
SAID_FROM: Final[float] = 0.01


@dataclass(frozen=True)
class Judged:
    """What a study requires, judged on its points; one without a number meets nothing.

    Where no point has a number for it (what a magnet weighs that is stated as a field) there is no chance either.
    """

    source: Literal["target", "limit"]
    limit: Limit
    #: That it holds [-]; of a "chance.…" limit the chance of the status or warning itself.
    chance: Estimate
    verdict: Verdict

    @property
    def has_numbers(self) -> bool:
        """Whether any point has a number for what is limited."""
        return not np.isnan(float(self.chance))

    def row(self) -> Cells:
        """As a row of a table."""
        return {
            "source": self.source,
            "quantity": self.limit.quantity,
            "at_least": self.limit.at_least,
            "at_most": self.limit.at_most,
            "wanted": self.limit.chance,
            "chance": float(self.chance),
            "standard_error": self.chance.error,
            "verdict": self.verdict,
        }


def limits_judged(study: Study, found: Evaluated) -> Iterator[Judged]:
    """What a study requires of its target and its limits; said twice, judged once."""
    asked = required(study)
    if asked is not None:
        yield _judgement("target", asked, found)
    for limit in one_sided(study.limits):
        if limit != asked:
            yield _judgement("limit", limit, found)


def required(study: Study) -> Limit | None:
    """What a study requires of its target, as a limit."""
    target = study.target
    asked = Limit(target.quantity, target.at_least, target.at_most, target.chance)
    return asked if target.has_requirement else None


def _judgement(source: Literal["target", "limit"], limit: Limit, found: Evaluated) -> Judged:
    numbered = found.outcomes <= NO_CONTACT
    if limit.event is None and numbered.any() and np.isnan(bound_margin(found, limit)).all():
        return Judged(source, limit, NOTHING, NOT_DECIDED)
    held = holds(found, limit)
    chance = share_of(held, np.ones_like(held))
    met = verdict(chance.interval, stated_level(limit))
    absent = limit.event is not None and limit.at_least is None  # then it is its absence that holds
    return Judged(source, limit, share_of(~held, np.ones_like(held)) if absent else chance, met)


@dataclass(frozen=True)
class Events:
    """What firings of a study show beside the figures asked for."""

    warnings: Mapping[str, Estimate]  #: By code, share of firings, from `SAID_FROM` on, largest first [-]
    limits: tuple[Judged, ...]  #: The study's own, judged
    contacts: Contacts  #: Share of firings, from `SAID_FROM` on [-]


def contact_told(study: Study) -> tuple[str, ...]:
    """Pairs whose form of contact is worked out and not taken for granted: layers computed, or a pulsed source."""
    if study.calculation is not None:
        return ()
    return tuple(
        pair
        for pair in study.pairs
        if study.choices[f"electrodes.{pair}.layer"] == "computed"
        or study.choices[f"electrodes.{pair}.source.kind"] in registry.PULSED_SOURCES
    )


def contact_outputs(study: Study) -> tuple[str, ...]:
    """The outputs from which the chances of these pairs' forms of contact are told."""
    return tuple(f"electrodes.{pair}.contact" for pair in contact_told(study))


def contacts_of(study: Study, found: Evaluated) -> Contacts:
    """Share of each form of contact of these pairs among points with numbers, the commonest first."""
    numbered = found.outcomes <= NO_CONTACT
    own = {pair: found.quantities[f"electrodes.{pair}.contact"] for pair in contact_told(study)}
    return forms_of(own, lambda marked: share_of(marked, numbered))


def forms_of(contacts: Mapping[str, FloatArray], share: Callable[[NDArray[np.bool_]], Estimate]) -> Contacts:
    """Share of each form of contact by pair, the commonest first."""
    found = {}
    for pair, values in contacts.items():
        shares = {form: share(values == code) for code, form in enumerate(registry.CONTACT_FORMS)}
        found[pair] = {form: shares[form] for form in sorted(shares, key=lambda own: -float(shares[own]))}
    return found


def contact_chances(contacts: Contacts) -> dict[str, Estimate]:
    """The same by the addresses of these chances, pairs and forms in the registry's order."""
    return {
        f"{CHANCE}electrodes.{pair}.{form}": contacts[pair][form]
        for pair in contacts
        for form in registry.CONTACT_FORMS
        if form in contacts[pair]
    }


def events(study: Study, number: int, *, jobs: int = 1) -> Events:
    """Warnings and limits of a study on a plain sample of its own."""
    wanted = [output for limit in study.limits for output in outputs_read(limit.quantity, study.pairs)]
    wanted += contact_outputs(study)
    problem = problem_of(study, None, wanted or None, jobs=jobs)
    stage = stage_of(study, with_parts(study, problem.quantities), jobs=jobs)
    uncertain = study.space.central()
    plan = sampling.sample_plan(number, problem.dimension, _POINTS, purpose=Purpose.EVENTS)

    def chunk(scramble: int, place: int) -> Evaluated:
        drawn = problem.space.values(plan.points(scramble, place))
        found = stage.chunk({address: value for address, value in drawn.items() if address in uncertain})
        numbers = {q: problem.off(q, found.quantities, drawn) for q in problem.quantities}
        return Evaluated(numbers, found.outcomes, found.warnings)

    places = list(plan.chunks())
    parts = list(run.in_threads(chunk, places, jobs=jobs, total=len(places)))
    whole = Evaluated(
        {
            q: plan.arranged(np.concatenate([part.quantities[q] for part in parts]))[:, 0]
            for q in problem.quantities
        },
        plan.arranged(np.concatenate([part.outcomes for part in parts]))[:, 0],
        plan.arranged(np.concatenate([part.warnings for part in parts]))[:, 0],
    )
    every = np.ones_like(whole.outcomes, dtype=np.bool_)
    shares = {w.code: share_of(event(whole, f"{CHANCE}{w.code}"), every) for w in registry.WARNINGS}
    said = sorted(
        (code for code in shares if float(shares[code]) >= SAID_FROM), key=lambda c: -float(shares[c])
    )
    asked = required(study)  # whoever samples tells that from a sample of his own
    limits = tuple(_judgement("limit", limit, whole) for limit in one_sided(study.limits) if limit != asked)
    contacts = {
        pair: {form: share for form, share in shares.items() if float(share) >= SAID_FROM}
        for pair, shares in contacts_of(study, whole).items()
    }
    return Events({code: shares[code] for code in said}, limits, contacts)
