"""A search for a design in plain words: what was wanted, what is proposed, whether the limits hold, what it gains."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from explorer import registry, units
from explorer.page.events import AT_ONCE, contact_lines
from explorer.page.words import between, listed
from explorer.questions.optimize.names import (
    bends,
    expectation_text,
    limit_words,
    quantities_of,
    setting_words,
    wanted_words,
    wish_words,
)
from explorer.questions.optimize.obstacles import STANDS_OUT, change_words, conflict_words, shortfall_words
from explorer.questions.optimize.present import kept_words, limits_held, present_words
from explorer.questions.optimize.search.proposal import (
    JudgedDesign,
    JudgedWish,
    NearestMiss,
    Proposal,
)
from explorer.study.limits import NOT_DECIDED, NOT_MET
from explorer.study.visibility import change_quantity, visibility
from explorer.studyfile import Study

#: Share of a wish that counts as next to nothing [-].
_LITTLE: Final = 0.02

#: Fewest designs that met the limits from which it is told that the choice hardly matters.
_FEWEST: Final = 20


def plain_words(found: Proposal, study: Study) -> tuple[str, ...]:
    """Return what was found, one matter an item."""
    wanted = f"Wanted: {listed([wish_words(wish) for wish in found.wishes])}."
    beside = tuple(present_words(found))
    first = (*kept_words(found), wanted)
    if found.best is not None:
        return (*first, *_proposed(found, found.best), *beside, *_worth(found, found.best, study))
    return (*first, *(_missed(found, found.miss) if found.miss is not None else ()), *beside)


def _proposed(found: Proposal, best: JudgedDesign) -> Iterator[str]:
    robust = found.search.robust
    of_curve = (
        ", the knee of the trade-off curve" if bends(found) else " for want of a knee, on the trade-off curve"
    )
    knee = of_curve if found.trade_off else ""
    yield f"Proposed{knee}: {setting_words(best.setting)}."
    yield " ".join(_expected(wish, robust=robust) for wish in best.wishes)
    if robust:
        yield from contact_lines(best.contacts, AT_ONCE)
    yield from limits_held(best, robust=robust)
    if robust:
        yield _judged_on(best)


def _expected(judged: JudgedWish, *, robust: bool) -> str:
    """What is expected of a wish on average, and what one firing may show."""
    there = f"There the {wanted_words(judged.wish.quantity)} is {expectation_text(judged)}"
    if not robust:
        return f"{there} at central values."
    if judged.is_chance:
        return f"{there}."
    ends = between(registry.quantity(judged.wish.quantity), judged.low, judged.high, judged.spread)
    return f"{there} on average over firings; one firing shows, 19 times in 20, between {ends}."


def _judged_on(best: JudgedDesign) -> str:
    """On which points it was judged, and what the search itself had seen."""
    seen = [
        f"{registry.quantity(judged.wish.quantity).spoken(judged.by_search)}"
        f" {'as' if judged.is_chance else 'of'} {wanted_words(judged.wish.quantity)}"
        for judged in best.wishes
    ]
    better = any(_too_good(judged) for judged in best.wishes)
    luck = ": the best of many always looks better than it is" if better else ""
    return (
        f"These figures come from {best.together.points} fresh points that had no part in choosing the design. The"
        f" search itself saw {listed(seen)}{luck}."
    )


def _too_good(judged: JudgedWish) -> bool:
    """Whether the search saw more of a wish than fresh points do, beyond their sampling error."""
    more = judged.by_search - float(judged.expected)
    return (more if judged.wish.make == "largest" else -more) > STANDS_OUT * judged.expected.error


def _worth(found: Proposal, best: JudgedDesign, study: Study) -> Iterator[str]:
    """What must be said where the proposal gains next to nothing."""
    judged = best.wishes[0]
    yield from _unseen(judged, best.study or study)
    if judged.low < 0.0 < judged.high and not judged.is_chance:
        yield (
            f"One firing may show nothing of it: the interval of the {wanted_words(judged.wish.quantity)}"
            " holds zero."
        )
    if (share := _width(found)) is not None:
        yield (
            f"The choice hardly matters: whatever was tried and met the limits comes within"
            f" {units.number_text(100 * share, 2)} % of the best {wanted_words(judged.wish.quantity)}."
        )


def _unseen(judged: JudgedWish, study: Study) -> Iterator[str]:
    """Instruments that read what is wished and can't see it in one on/off pair."""
    name, size = judged.wish.quantity, float(judged.expected)
    if judged.wish.make != "largest" or not size > 0.0:
        return
    quantity = registry.quantity(name)
    for instrument, row in visibility(study, {name: (size, judged.spread)}, {name: size}).iterrows():
        if change_quantity(str(row["reads"]), study.mode) == name and row["pairs"] > 1.0:
            few = (
                "any number of"
                if np.isinf(row["pairs"])
                else f"fewer than {units.number_text(row['pairs'], 3)}"
            )
            yield (
                f"The gain is small: {instrument}, with {quantity.scale.difference(row['random'], 2)} in one on/off"
                f" pair, cannot see {quantity.spoken(size, 2)} of {registry.words_of(row['reads'])} in {few} pairs."
            )


def _width(found: Proposal) -> float | None:
    """How far apart the designs that met the limits are, over the best of them [-]; None where that is not little."""
    wishes = found.designs.wishes[found.designs.met, 0]
    if len(wishes) < _FEWEST or len(found.wishes) > 1:
        return None
    best = wishes.min() if found.wishes[0].make == "smallest" else wishes.max()
    share = float(np.ptp(wishes) / max(abs(best), np.finfo(float).tiny))
    return share if share < _LITTLE else None


def _missed(found: Proposal, miss: NearestMiss) -> Iterator[str]:
    search = found.search
    yield f"No design meets all limits; {search.searched} were tried in the search, {search.tried} were tried in all."
    yield conflict_words(miss)
    yield f"The design that misses least: {setting_words(miss.design.setting)}. {shortfall_words(miss)}"
    yield from limits_held(miss.design, robust=found.search.robust)
    if miss.changes:
        yield f"What would help most: {change_words(miss.changes[0])}."


def failure_words(found: Proposal) -> str | None:
    """Return in one sentence why there is no proposal and what to change; None where there is one."""
    if found.best is not None or found.miss is None:
        return None
    changes = found.miss.changes
    change = f"; what would help most: {change_words(changes[0])}" if changes else ""
    return f"no design meets all limits{change}"


def warnings_of(found: Proposal) -> tuple[str, ...]:
    """Return what goes with the proposal as a warning: limits that fresh points did not confirm, central values."""
    return () if found.best is None else tuple(_warnings(found, found.best))


def _warnings(found: Proposal, best: JudgedDesign) -> Iterator[str]:
    fresh = " on fresh points" if found.search.robust else ""
    for verdict, what in (
        (NOT_MET, f"Not met{fresh}, so that nothing should be built to this design"),
        (NOT_DECIDED, "Not decided, for fresh points hold it about as often as asked"),
    ):
        names = [limit_words(judged.limit) for judged in best.limits if judged.verdict == verdict]
        if names:
            yield f"{what}: {listed(names)}."
    if best.target is not None and best.target.verdict == NOT_MET:
        yield (
            f"The study's own target is not met{fresh}: {limit_words(best.target.limit)}. Write it as a [[limit]] to"
            " search for it."
        )
    if found.search.robust:
        return
    if _is_uncertain(found):
        yield (
            "Central values only, without their uncertainty. A limit that is just met at them is missed in"
            " about every second firing. Leave --central out before anything is built."
        )
    else:
        yield (
            "Every value of this study is taken as exact, and none is: a limit that is just met here may be missed in"
            " every second firing. State how uncertain the values are before anything is built."
        )


def _is_uncertain(found: Proposal) -> bool:
    """Whether there is anything uncertain, the model's own error included."""
    study = found.study
    if study is None or study.space.inputs:
        return True
    return any(study.model_error.of(quantity).relative for quantity in quantities_of(found))
