"""A search for a design as data: the content of its JSON, everything in SI."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from explorer import registry
from explorer.questions.optimize.misses import change_text
from explorer.questions.optimize.search.proposal import (
    Change,
    ExactChance,
    JudgedDesign,
    JudgedLimit,
    JudgedWish,
    NearestMiss,
    Proposal,
    Relaxation,
)
from explorer.study.limits import is_implied, stated_level
from explorer.studyfile import Limit, Study, Varied


def optimisation_content(found: Proposal, study: Study, words: Sequence[str]) -> dict[str, Any]:
    """Return what the JSON of a search for a design holds behind its envelope."""
    return {
        "wanted": [
            {"quantity": wish.quantity, "make": wish.make, "unit": unit_of(wish.quantity)}
            for wish in found.wishes
        ],
        "varied": [_varied(item, study) for item in found.varied],
        "limits": [_limit(limit) for limit in found.limits],
        "feasible": found.best is not None,
        "proposal": None if found.best is None else _design(found.best),
        "near_equal": [
            {**_design(design), "differs_in": list(design.differs_in)} for design in found.near_equal
        ],
        "relaxed_by_a_tenth": [_relaxation(relaxation, found) for relaxation in found.relaxations],
        "trade_off": [_design(design) for design in found.trade_off],
        "nearest_miss": None if found.miss is None else _miss(found.miss, found),
        "search": _search(found),
        "words": " ".join(words),
    }


def _search(found: Proposal) -> dict[str, Any]:
    """How it was searched; a search that was broken off and gone on with gives the same."""
    return {key: value for key, value in asdict(found.search).items() if key != "resumed"}


def unit_of(address: str) -> str | None:
    """Return the SI unit of an input or output, "1" for a plain number and a chance; None for a word."""
    if address.startswith("chance."):
        return "1"
    try:
        return registry.quantity(address).unit
    except registry.UnknownAddressError:
        return None


def _varied(item: Varied, study: Study) -> dict[str, Any]:
    present: float | str | None = study.central().get(item.address)
    return {
        "address": item.address,
        "unit": unit_of(item.address),
        "range": None if item.low is None else [item.low, item.high],
        "stock": list(item.values) or None,
        "now": study.choices.get(item.address) if present is None else present,
    }


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        "quantity": limit.quantity,
        "at_least": limit.at_least,
        "at_most": limit.at_most,
        "unit": unit_of(limit.quantity),
        "chance": limit.chance,
        "chance_origin": None if limit.event is not None else limit.chance_origin,
        "implied": is_implied(limit),
    }


def _design(design: JudgedDesign) -> dict[str, Any]:
    return {
        "settings": {
            address: {"value": value, "unit": unit_of(address)} for address, value in design.setting.items()
        },
        "wishes": {judged.wish.quantity: _wish(judged) for judged in design.wishes},
        "limits": [_judged_limit(judged) for judged in design.limits],
        "verdict": design.verdict,
        "all_limits_together": _chance(design.together),
        "statuses": dict(design.status_shares),
    }


def _wish(judged: JudgedWish) -> dict[str, Any]:
    return {
        "unit": unit_of(judged.wish.quantity),
        "expected": judged.expected,
        "standard_error": {"expected": judged.standard_error},
        "interval_95": [judged.low, judged.high],
        "by_search": judged.by_search,
    }


def _chance(chance: ExactChance) -> dict[str, Any]:
    return {
        "chance": chance.share,
        "sampling_interval_95": [chance.low, chance.high],
        "fresh_points": chance.points,
    }


def _judged_limit(judged: JudgedLimit) -> dict[str, Any]:
    limit = judged.limit
    return {
        "quantity": limit.quantity,
        "at_least": limit.at_least,
        "at_most": limit.at_most,
        "unit": unit_of(limit.quantity),
        "stated_level": stated_level(limit),
        "inner_level": judged.inner_level,
        **_chance(judged.chance),
        "keeps_to": judged.quantile,
        "verdict": judged.verdict,
        "holds_the_design_back": judged.active,
    }


def _relaxation(relaxation: Relaxation, found: Proposal) -> dict[str, Any]:
    wish = found.wishes[0]
    return {
        "limit": _limit(relaxation.limit),
        "relaxed": relaxation.relaxed,
        "wish": wish.quantity,
        "unit": unit_of(wish.quantity),
        "gain": relaxation.gain,
        "standard_error": {"gain": relaxation.standard_error},
    }


def _miss(miss: NearestMiss, found: Proposal) -> dict[str, Any]:
    return {
        **_design(miss.design),
        "shortfall": miss.shortfall,
        "conflict": [_limit(limit) for limit in miss.conflict],
        "changes": [_change(change, found) for change in miss.changes],
    }


def _change(change: Change, found: Proposal) -> dict[str, Any]:
    return {
        "what": change.what,
        "address": change.address,
        "to": change.to,
        "unit": unit_of(change.address),
        "shortfall": change.shortfall,
        "words": change_text(found, change),
    }
