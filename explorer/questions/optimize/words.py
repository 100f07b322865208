"""A search for a design in plain words: what was wished, what is proposed, whether the limits hold, what it gains."""

from collections.abc import Iterator

from explorer import registry
from explorer.page.words import between, listed, percent
from explorer.questions.optimize.misses import STANDS_OUT, change_words, conflict_words, shortfall_words
from explorer.questions.optimize.names import (
    chance_text,
    expectation_text,
    limit_words,
    setting_words,
    spread_of,
    stated,
    wish_words,
)
from explorer.questions.optimize.search.proposal import (
    JudgedDesign,
    JudgedLimit,
    JudgedWish,
    NearestMiss,
    Proposal,
)
from explorer.questions.optimize.worth import worth_words
from explorer.study.limits import stated_level
from explorer.studyfile import Study


def plain_words(found: Proposal, study: Study) -> tuple[str, ...]:
    """Return what was found, one matter an item."""
    wanted = f"Wanted: {listed([wish_words(wish) for wish in found.wishes])}."
    if found.best is not None:
        return (wanted, *_proposed(found, found.best), *worth_words(found, found.best, study))
    if found.miss is None:
        raise ValueError("a search without a proposal has a nearest miss")
    return (wanted, *_missed(found, found.miss))


def _proposed(found: Proposal, best: JudgedDesign) -> Iterator[str]:
    knee = ", the knee of the trade-off curve" if len(found.wishes) > 1 else ""
    yield f"Proposed{knee}: {setting_words(best.setting)}."
    yield " ".join(_expected(wish, robust=found.search.robust) for wish in best.wishes)
    if (words := limits_words(best, robust=found.search.robust)) is not None:
        yield words
    if found.search.robust:
        yield _judged_on(best)


def _expected(judged: JudgedWish, *, robust: bool) -> str:
    """What is expected of a wish on average, and what one firing may show."""
    if not robust:
        return f"There {judged.wish.quantity} is {expectation_text(judged)} at central values."
    ends = between(registry.quantity(judged.wish.quantity), judged.low, judged.high, spread_of(judged))
    return (
        f"There {judged.wish.quantity} is {expectation_text(judged)} on average over firings; one firing shows, 19"
        f" times in 20, between {ends}."
    )


def limits_words(design: JudgedDesign, *, robust: bool) -> str | None:
    """Return whether each limit holds at a design, and how often all do at once; None where nothing is limited."""
    said = stated(design)
    if not said:
        return None
    if not robust:
        return " ".join(_central(judged) for judged in said)
    words = " ".join(_held(judged) for judged in said)
    if sum(judged.limit.event is None for judged in said) > 1:
        words += f" All limits on results hold at once in {chance_text(design.together)} of firings."
    return f"{words} In brackets: exact 95 % interval of the sampling."


def _held(judged: JudgedLimit) -> str:
    limit, chance = judged.limit, chance_text(judged.chance)
    if limit.event is not None:
        return f"{limit_words(limit)}: {chance}, {judged.verdict}."
    return f"{limit_words(limit)}: in {chance} of firings, {percent(stated_level(limit), 4)} asked, {judged.verdict}."


def _central(judged: JudgedLimit) -> str:
    limit = judged.limit
    if limit.event is not None:
        return (
            f"{limit_words(limit)}: {'there' if judged.chance.share > 0 else 'not there'}, {judged.verdict}."
        )
    value = registry.quantity(limit.quantity).shown(judged.quantile)
    return f"{limit_words(limit)}: {value}, {judged.verdict}."


def _judged_on(best: JudgedDesign) -> str:
    """On which points it was judged, and what the search itself had seen."""
    seen = listed(
        [
            f"{registry.quantity(judged.wish.quantity).shown(judged.by_search)} of {judged.wish.quantity}"
            for judged in best.wishes
        ]
    )
    better = any(_too_good(judged) for judged in best.wishes)
    luck = ": the best of many looks better than it is where it was chosen" if better else ""
    return (
        f"These figures come from {best.together.points} fresh points that had no part in choosing the design. The"
        f" search itself saw {seen}{luck}."
    )


def _too_good(judged: JudgedWish) -> bool:
    """Whether the search saw more of a wish than fresh points do, beyond their sampling error."""
    more = judged.by_search - judged.expected
    return (more if judged.wish.make == "largest" else -more) > STANDS_OUT * judged.standard_error


def _missed(found: Proposal, miss: NearestMiss) -> Iterator[str]:
    yield f"No design meets all limits; {found.search.designs} were tried."
    yield conflict_words(miss)
    yield f"The design that misses least: {setting_words(miss.design.setting)}. {shortfall_words(miss)}"
    if (words := limits_words(miss.design, robust=found.search.robust)) is not None:
        yield words
    if miss.changes:
        yield f"What would help most: {change_words(found, miss.changes[0])}."


def failure_words(found: Proposal) -> str | None:
    """Return in one sentence why there is no proposal and what to change; None where there is one."""
    if found.best is not None or found.miss is None:
        return None
    changes = found.miss.changes
    change = f"; what would help most: {change_words(found, changes[0])}" if changes else ""
    return f"no design meets all limits{change}"


def warnings_of(found: Proposal) -> tuple[str, ...]:
    """Return what goes with the proposal as a warning: limits that fresh points did not confirm, central values."""
    return tuple(_warnings(found))


def _warnings(found: Proposal) -> Iterator[str]:
    if found.best is None:
        return
    fresh = " on fresh points" if found.search.robust else ""
    for verdict, what in (
        ("not met", f"Not met{fresh}, so that nothing should be built to this design"),
        ("not decided", "Not decided, for fresh points hold it about as often as asked"),
    ):
        names = [limit_words(judged.limit) for judged in found.best.limits if judged.verdict == verdict]
        if names:
            yield f"{what}: {listed(names)}."
    if not found.search.robust and _is_uncertain(found):
        yield (
            "Central values only: how unsure they are was left aside. A limit that is just met at them is missed in"
            " about every second firing. Leave --central out before anything is built."
        )
    elif not found.search.robust:
        yield (
            "Every value of this study is taken as exact, which none is: a limit that is just met here may be missed in"
            " every second firing. State how unsure the values are before anything is built."
        )


def _is_uncertain(found: Proposal) -> bool:
    """Whether there is anything uncertain, the model's own error included."""
    study = found.study
    if study is None or study.space.inputs:
        return True
    named = (
        *(wish.quantity for wish in found.wishes),
        *(x.quantity for x in found.limits if x.event is None),
    )
    return any(study.model_error.of(quantity).relative for quantity in named)
