"""A search for a design as data, everything in SI: its JSON, its CSV tables, and studies ready to run."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from explorer.analysis.search.chance_limits import ExactChance
from explorer.page.cautions import CAUTIONS
from explorer.page.figures import columns, with_standard_errors
from explorer.questions.optimize.names import limit_key, limit_words
from explorer.questions.optimize.obstacles import change_text
from explorer.questions.optimize.search.proposal import (
    Change,
    JudgedDesign,
    JudgedLimit,
    JudgedWish,
    NearestMiss,
    Present,
    Proposal,
    Relaxation,
    Search,
    unit_of,
)
from explorer.study.contrasts import share_row
from explorer.study.limits import MET, NOT_MET, contact_chances, is_implied, stated_level
from explorer.studyfile import Limit, Study, Varied, study_text


def optimisation_content(found: Proposal, study: Study, words: Sequence[str]) -> dict[str, Any]:
    """Return what the JSON of a search for a design holds behind its envelope."""
    return {
        "wanted": [
            {"quantity": wish.quantity, "make": wish.make, "unit": unit_of(wish.quantity)}
            for wish in found.wishes
        ],
        "varied": [_varied(item, study) for item in found.varied],
        "limits": [_limit(limit) for limit in found.limits],
        "feasible": found.best is not None and found.best.verdict != NOT_MET,
        "proposal": None if found.best is None else _design(found.best),
        "near_equal": [
            {**_design(design), "differs_in": list(design.differs_in)} for design in found.near_equal
        ],
        "relaxed_by_a_tenth": [_relaxation(relaxation, found) for relaxation in found.relaxations],
        "trade_off": [_design(design) for design in found.trade_off],
        "nearest_miss": None if found.miss is None else _miss(found.miss),
        "present": None if found.present is None else _present(found, found.present),
        "target": None if found.told.target is None else _target(found.told.target.limit),
        "search": _search(found),
        "words": " ".join(words),
    }


def _search(found: Proposal) -> dict[str, Any]:
    """How it was searched; a search that was broken off and gone on with gives the same."""
    search: Search = found.search
    return {
        "robust": search.robust,
        "designs": len(found.designs),
        "met": int(found.designs.met.sum()),
        "scenarios": search.scenarios,
        "fine_scenarios": search.fine_scenarios,
        "fresh_points": search.fresh_points,
        "rounds": search.rounds,
        "budget": search.budget,
        "searched": search.searched,
        "tried": search.tried,
        "random_number": search.random_number,
    }


def _varied(item: Varied, study: Study) -> dict[str, Any]:
    return {
        "address": item.address,
        "unit": unit_of(item.address),
        "range": None if item.low is None else [item.low, item.high],
        "stock": list(item.values) or None,
        "now": study.as_written().get(item.address, study.choices.get(item.address)),
    }


def _bounds(limit: Limit) -> dict[str, Any]:
    bounds = {"at_least": limit.at_least, "at_most": limit.at_most}
    return {"quantity": limit.quantity, **bounds, "unit": unit_of(limit.quantity)}


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        **_bounds(limit),
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
        "contacts": {name: share_row(share) for name, share in contact_chances(design.contacts).items()},
        "target": None if design.target is None else _judged_limit(design.target),
    }


def _target(limit: Limit) -> dict[str, Any]:
    """What the study requires beside what was searched for."""
    return {**_bounds(limit), "chance": limit.chance}


def _present(found: Proposal, present: Present) -> dict[str, Any]:
    """The study as it stands, and what the design told of gives more."""
    return {
        **_design(present.design),
        "outside": list(present.outside),
        "nothing_needs_to_change": found.keep,
        "told_less_present": {
            judged.wish.quantity: {
                "unit": unit_of(judged.wish.quantity),
                **with_standard_errors({"difference": difference}),
            }
            for judged, difference in zip(present.design.wishes, present.differences, strict=True)
        },
    }


def _wish(judged: JudgedWish) -> dict[str, Any]:
    return {
        "unit": unit_of(judged.wish.quantity),
        **with_standard_errors({"expected": judged.expected}),
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
    return {
        **_bounds(judged.limit),
        "stated_level": stated_level(judged.limit),
        "inner_level": judged.inner_level,
        **_chance(judged.chance),
        "keeps_to": judged.quantile,
        "verdict": judged.verdict,
        "holds_the_design_back": judged.active,
    }


def _relaxation(relaxation: Relaxation, found: Proposal) -> dict[str, Any]:
    wish = found.wishes[0].quantity
    return {
        "limit": _limit(relaxation.limit),
        "relaxed": relaxation.relaxed,
        "wish": wish,
        "unit": unit_of(wish),
        **with_standard_errors({"gain": relaxation.gain}),
    }


def _miss(miss: NearestMiss) -> dict[str, Any]:
    return {
        **_design(miss.design),
        "shortfall": miss.shortfall,
        "conflict": [_limit(limit) for limit in miss.conflict],
        "changes": [_change(change) for change in miss.changes],
    }


def _change(change: Change) -> dict[str, Any]:
    of_range = isinstance(change.of, Varied)
    address = change.of.address if isinstance(change.of, Varied) else change.of.quantity
    return {
        "what": "range" if of_range else "limit",
        "address": address,
        "to": change.to,
        "unit": unit_of(address),
        "shortfall": change.shortfall,
        "words": change_text(change),
    }


def studies_of(found: Proposal, envelope: Mapping[str, Any]) -> dict[str, str]:
    """Return the proposal and each nearly equal design as a study, by file name."""
    if found.best is None:
        return {}
    many = len(found.near_equal)
    texts = {"proposal.toml": _text(found.best, "The proposal", found, envelope)}
    for number, design in enumerate(found.near_equal, start=1):
        what = f"A design nearly as good as the proposal, number {number} of {many}"
        texts[f"near-equal-{number}.toml"] = _text(design, what, found, envelope)
    return texts


def _text(design: JudgedDesign, what: str, found: Proposal, envelope: Mapping[str, Any]) -> str:
    if design.study is None:
        raise ValueError("only a study's design can be written as one")
    missed = [limit_words(judged.limit) for judged in design.limits if judged.verdict != MET]
    head = [
        f"{what} of a search by mhdstage {envelope['version']} in {envelope['study']}.",
        f"Study hash {envelope['study_hash']}, random number {envelope['random_number']}.",
        f"Varied: {', '.join(design.setting)}.",
        *([f"Not shown to be met on fresh points: {'; '.join(missed)}."] if missed else []),
        *([] if found.search.robust else ["Chosen at central values: how unsure they are was left aside."]),
        "",
        "A prediction with limits, not a permission to build or to fire.",
        *CAUTIONS,
    ]
    return study_text(design.study, head=head)


def designs_rows(found: Proposal) -> pd.DataFrame:
    """Return every design tried as CSV, in the order of the search, SI with the unit in each head."""
    table = found.tried
    heads = {name: name if name == "met" else f"{name} [1]" for name in table.columns}
    table = table.rename(columns=heads | {name: _headed(name) for name in found.units})
    table.insert(0, "number", range(1, len(table) + 1))
    return table


def trade_off_rows(found: Proposal) -> pd.DataFrame:
    """Return the designs of the trade-off curve as CSV, SI with the unit in each head."""
    return pd.DataFrame([_row(number, design) for number, design in enumerate(found.trade_off, start=1)])


def judged_rows(found: Proposal) -> pd.DataFrame:
    """Return the design told of, those nearly as good and the study as it stands as CSV, SI with units in heads."""
    rows = [{"design": found.called, **_cells(found.told)}]
    rows += [{"design": f"near-equal {k}", **_cells(one)} for k, one in enumerate(found.near_equal, start=1)]
    if found.present is not None:
        rows.append({"design": "as the study stands", **_cells(found.present.design)})
    return pd.DataFrame(rows)


def _row(number: int, design: JudgedDesign) -> dict[str, Any]:
    return {"number": number, **_cells(design)}


def _cells(design: JudgedDesign) -> dict[str, Any]:
    row: dict[str, Any] = {}
    row |= {_headed(address): value for address, value in design.setting.items()}
    for judged in design.wishes:
        name, unit = judged.wish.quantity, str(unit_of(judged.wish.quantity))
        row |= columns(name, judged.expected, unit)
        row |= {f"{name}_low [{unit}]": judged.low, f"{name}_high [{unit}]": judged.high}
    for held in design.limits:
        name = limit_key(held.limit)
        row |= {f"chance of {name} [1]": held.chance.share, name: held.verdict}
    row |= {"together [1]": design.together.share, "verdict": design.verdict}
    if design.target is not None:
        row |= {"chance of the target [1]": design.target.chance.share, "target": design.target.verdict}
    return row


def _headed(address: str) -> str:
    unit = unit_of(address)
    return address if unit is None else f"{address} [{unit}]"
