"""The study as it stands in plain words, beside what is proposed: whether anything needs to change, and what its own
target comes to.
"""

from collections.abc import Iterator

import numpy as np

from explorer import registry
from explorer.page.words import figure_with_sampling, listed, opened, percent
from explorer.questions.optimize.names import (
    all_at_once,
    central_text,
    chance_text,
    expectation_text,
    limit_words,
    range_text,
    setting_text,
    stated,
    wanted_words,
    wished,
)
from explorer.questions.optimize.search.proposal import (
    JudgedDesign,
    JudgedLimit,
    JudgedWish,
    Present,
    Proposal,
)
from explorer.study.limits import NOT_MET, stated_level
from explorer.studyfile import Varied


def kept_words(found: Proposal) -> Iterator[str]:
    """Yield that nothing needs to change, where that is so; it stands first."""
    present = found.present
    if present is None or not found.keep:
        return
    head = "Nothing needs to change: as the study stands it meets all limits"
    if found.best is None:
        yield f"{head}, and no design tried within the ranges does."
    elif found.best.verdict == NOT_MET:
        yield f"{head}, which the proposal does not."
    elif present.better:
        yield f"{head} and is better in {wished(found.wishes)} than the proposal."
    else:
        within = "within the sampling error or a thousandth" if found.search.robust else "to a thousandth"
        yield f"{head} and is as good in {wished(found.wishes)} as the proposal, {within}."


def present_words(found: Proposal) -> Iterator[str]:
    """Yield what the study gives as it stands, what the proposal gives more, and what the study's target comes to."""
    present = found.present
    if present is None:
        return
    robust = found.search.robust
    wishes = listed(
        [
            f"{wanted_words(judged.wish.quantity)} {expectation_text(judged)}"
            for judged in present.design.wishes
        ]
    )
    where = "on average over firings, judged on the same fresh points" if robust else "at central values"
    limits = " ".join(limits_held(present.design, robust=robust))
    yield f"As the study stands: {wishes} {where}. {limits}".rstrip()
    yield " ".join(
        _difference(judged, place, found, present) for place, judged in enumerate(present.design.wishes)
    )
    for item in found.varied:
        if item.address in present.outside:
            yield _outside(item, present)
    yield from _target(found, present)


def _difference(judged: JudgedWish, place: int, found: Proposal, present: Present) -> str:
    """What the design that is told of gives more than the study as it stands."""
    difference = present.differences[place]
    quantity, by = registry.quantity(judged.wish.quantity), float(difference)
    head = f"The {found.called}'s {quantity.words}"
    if np.isnan(by):
        return f"{head} can't be compared: no point carries a number for both."
    if by == 0.0 and not difference.error:
        return f"{head} is the same."
    size = figure_with_sampling(quantity, abs(by), difference.error, abs(by))
    points = ", both on the same points" if found.search.robust else ""
    return f"{head} is {'larger' if by > 0.0 else 'smaller'} by {size}{points}."


def _outside(item: Varied, present: Present) -> str:
    shown = setting_text(item.address, present.design.setting[item.address])
    allowed = (
        f"not in stock ({range_text(item)})" if item.values else f"outside its range, {range_text(item)}"
    )
    return f"The study's own {registry.words_of(item.address)}, {shown}, is {allowed}; it is judged all the same."


def _target(found: Proposal, present: Present) -> Iterator[str]:
    """What the study requires of its target, where that was not searched for."""
    told, now = found.told.target, present.design.target
    if told is None or now is None:
        return
    asked = f", asked in {percent(stated_level(told.limit), 4)} of firings," if found.search.robust else ""
    yield (
        f"The study's own target, {limit_words(told.limit)}{asked or ','} was not among the limits of this search:"
        f" at the {found.called} {_reached(told, found)}; as the study stands {_reached(now, found)}."
    )


def _reached(judged: JudgedLimit, found: Proposal) -> str:
    if not found.search.robust:
        return f"{central_text(judged)}, {judged.verdict}"
    return f"it is kept in {chance_text(judged.chance)} of firings, {judged.verdict}"


def limits_held(design: JudgedDesign, *, robust: bool) -> Iterator[str]:
    """Whether each limit holds at a design, and how often all do at once; nothing where nothing is limited."""
    said = stated(design)
    if not said:
        return
    if not robust:
        yield " ".join(opened(central_held(judged)) for judged in said)
        return
    words = [opened(held(judged)) for judged in said]
    if (chance := all_at_once(design)) is not None:
        words.append(f"All limits on results hold at once in {chance} of firings.")
    yield " ".join([*words, "In brackets: exact 95 % interval of the sampling."])


def central_held(judged: JudgedLimit) -> str:
    """Return whether a limit holds at central values: "current at most 50 A: 49.9 A, met."."""
    return f"{limit_words(judged.limit)}: {central_text(judged)}, {judged.verdict}."


def held(judged: JudgedLimit) -> str:
    """Return in how many firings a limit holds, and whether that is what was asked."""
    limit, chance = judged.limit, chance_text(judged.chance)
    if limit.event is not None:
        return f"{limit_words(limit)}: {chance}, {judged.verdict}."
    return f"{limit_words(limit)}: in {chance} of firings, {percent(stated_level(limit), 4)} asked, {judged.verdict}."
