"""Files that a search for a design leaves beside its page: studies ready to run, CSV tables in SI."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from explorer.page.cautions import CAUTIONS
from explorer.questions.optimize.content import unit_of
from explorer.questions.optimize.names import limit_words
from explorer.questions.optimize.search.proposal import JudgedDesign, Proposal
from explorer.studyfile import study_text


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
    return study_text(design.study, head=_head(design, what, found, envelope))


def _head(design: JudgedDesign, what: str, found: Proposal, envelope: Mapping[str, Any]) -> list[str]:
    open_limits = [limit_words(j.limit) for j in design.limits if j.verdict != "met"]
    lines = [
        f"{what} of a search by mhdstage {envelope['version']} in {envelope['study']}.",
        f"Study hash {envelope['study_hash']}, random number {envelope['random_number']}.",
        f"Varied: {', '.join(design.setting)}.",
        "",
        "A prediction with limits, not a permission to build or to fire.",
        *CAUTIONS,
    ]
    if not found.search.robust:
        lines.insert(3, "Chosen at central values: how unsure they are was left aside.")
    if open_limits:
        lines.insert(3, f"Not shown to be met on fresh points: {'; '.join(open_limits)}.")
    return lines


def designs_rows(found: Proposal) -> pd.DataFrame:
    """Return every design tried as CSV, in the order of the search, SI with the unit in each head."""
    units = {**{item.address: unit_of(item.address) for item in found.varied}}
    units |= {wish.quantity: unit_of(wish.quantity) for wish in found.wishes}
    heads = {
        column: column
        if column == "met" or units.get(column, "1") is None
        else f"{column} [{units.get(column, '1')}]"
        for column in found.tried.columns
    }
    table = found.tried.rename(columns=heads)
    table.insert(0, "number", range(1, len(table) + 1))
    return table


def trade_off_rows(found: Proposal) -> pd.DataFrame:
    """Return the designs of the trade-off curve as CSV, SI with the unit in each head."""
    return pd.DataFrame(_rows(found.trade_off))


def _rows(designs: Sequence[JudgedDesign]) -> list[dict[str, Any]]:
    rows = []
    for number, design in enumerate(designs, start=1):
        row: dict[str, Any] = {"number": number}
        row |= {_headed(address): value for address, value in design.setting.items()}
        for judged in design.wishes:
            name, unit = judged.wish.quantity, unit_of(judged.wish.quantity)
            row |= {
                f"{name} [{unit}]": judged.expected,
                f"{name}_standard_error [{unit}]": judged.standard_error,
                f"{name}_low [{unit}]": judged.low,
                f"{name}_high [{unit}]": judged.high,
            }
        for held in design.limits:
            name = limit_words(held.limit)
            row |= {f"chance of {name} [1]": held.chance.share, f"{name}": held.verdict}
        rows.append({**row, "together [1]": design.together.share, "verdict": design.verdict})
    return rows


def _headed(address: str) -> str:
    unit = unit_of(address)
    return address if unit is None else f"{address} [{unit}]"
