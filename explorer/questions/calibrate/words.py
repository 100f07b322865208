"""Sentences of a calibration."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from explorer.page.words import counted, listed, opened, percent, requirement
from explorer.questions.calibrate.posterior import SURPRISING, Posterior
from explorer.questions.calibrate.tables import HARDLY, quantity_of, rarity, with_spread

#: By how much of its standard uncertainty the target's mean must move, or its share that must be left of it, for the
#: model's own error to matter [-].
_MOVED, _NARROWER = 0.5, 0.8

#: Unknowns that a short answer names.
_FEW = 4

#: Scores within so much of the best explain about as well (20 times as likely would be strong evidence: R. E. Kass and
#: A. E. Raftery, J. Am. Stat. Assoc. 90 (1995) 773, from memory), and how many are named [-].
_ALIKE, _TOLD = 3.0, 4


def target_row(found: Posterior, when: str, *, model_error: bool) -> "pd.Series[Any] | None":
    """Return what is known of the target before or after; None where it isn't told."""
    rows = (
        found.prediction.loc[[(when, model_error)]] if (when, model_error) in found.prediction.index else None
    )
    return None if rows is None else rows.iloc[0]


def target(found: Posterior) -> str:
    """Return what the target was and is."""
    was, now = (target_row(found, when, model_error=True) for when in ("before", "after"))
    if was is None or now is None:
        return ""
    quantity = quantity_of(found.target)
    texts = [
        f"{quantity.scale.readable(row['mean']).number(row['mean'], 3)} ±"
        f" {quantity.scale.readable(row['mean']).difference(row['standard_uncertainty'], 2)}"
        for row in (was, now)
    ]
    share = now["standard_uncertainty"] / was["standard_uncertainty"]
    said = f"{opened(quantity.words)} in one future firing was {texts[0]} and is {texts[1]}"
    return (
        f"{said}: {percent(share)} of its uncertainty is left."
        if share < 1.0
        else f"{said}: nothing was gained."
    )


def required(found: Posterior) -> str:
    """Return what becomes of the requirement's chance."""
    was, now = (target_row(found, when, model_error=True) for when in ("before", "after"))
    if was is None or now is None or found.study is None or not found.study.target.has_requirement:
        return ""
    asked = found.study.target
    words = requirement(quantity_of(found.target), at_least=asked.at_least, at_most=asked.at_most)
    chance = asked.chance
    met = "Met" if now["chance_met"] >= chance else "Not met"
    return (
        f"{met}: {quantity_of(found.target).words} {words} in {percent(now['chance_met'])} of firings,"
        f" {percent(chance)} required; it was {percent(was['chance_met'])} before the firings."
    )


def learnt(found: Posterior, most: int | None = None) -> Iterator[str]:
    """Yield what each unknown was and is, a sentence each, most learnt first."""
    rows = found.inputs[found.inputs["left"] < HARDLY].sort_values("left")
    for address, row in rows.head(len(rows) if most is None else most).iterrows():
        quantity = quantity_of(str(address))
        far = " Hardly any of what the study states lies there: check it." if row["far_out"] else ""
        was, now = (with_spread(quantity, row, when) for when in ("before", "after"))
        yield f"{opened(quantity.words)}: {was} → {now}.{far}"


def nothing_learnt(found: Posterior) -> str:
    """Return which unknowns the firings hardly touched."""
    rows = found.inputs[found.inputs["left"] >= HARDLY]
    if not len(rows):
        return ""
    return f"Hardly learnt: {listed([quantity_of(str(address)).words for address in rows.index])}."


def surprises(found: Posterior) -> Iterator[str]:
    """Yield each surprise with what explains it best."""
    for name, row in found.by_firing[found.by_firing["surprise"]].iterrows():
        own = found.surprises[found.surprises["firing"] == name]
        yield (
            f"{name} contradicts the others: readings this far off come in {rarity(row['p_left_out'])} of"
            f" firings. {_explained(own)}{_noted(found, str(name))}"
        )


def _noted(found: Posterior, name: str) -> str:
    note = next(firing.note for firing in found.firings if firing.name == name)
    return f' Its note: "{note}"' if note else ""


def _explained(own: pd.DataFrame) -> str:
    """What explains a firing best, best first; what the readings can't tell from it stands beside it."""
    if not len(own):
        return "No single input explains it."
    alike = own[own["score"] > own["score"].iloc[0] - _ALIKE]
    if len(alike) == 1:
        others = [quantity_of(str(what)).words for what in own["what"].iloc[1:3]]
        return (
            f"Best single explanation: {_needed(own.iloc[0])}.{f' Next: {listed(others)}.' if others else ''}"
        )
    told = [_needed(row) for _, row in alike.head(_TOLD).iterrows()]
    more = [f"{counted(len(alike) - _TOLD, 'other')} in the table"] if len(alike) > _TOLD else []
    return f"Its readings can't tell what was wrong: they fit about as well with {listed(told + more, 'or')}."


def _needed(row: "pd.Series[Any]") -> str:
    what = str(row["what"])
    quantity = quantity_of(what)
    if quantity.symbol or quantity.sentence:
        return (
            f"{quantity.words} at {quantity.spoken(row['needed'])} instead of {quantity.spoken(row['value'])}"
        )
    return f"{what} off by {row['needed']:+.2g} of its own ±"


def taught_most(found: Posterior) -> str:
    """Return which firing taught most."""
    taught = found.by_firing["taught"].dropna()
    if not len(taught) or not taught.max() > 0.01:
        return "No single firing carries much of what was learnt: without any one of them hardly anything comes back."
    name = taught.idxmax()
    return f"{name} taught most: without it {percent(taught.max())} of the target's variance would come back."


def how(found: Posterior) -> str:
    """Return how the posterior came about, for who checks it."""
    path = found.diagnostics
    return (
        f"{counted(len(found.sample), 'draw')}, worth {path.effective_size:.0f} independent ones, in"
        f" {counted(path.temperatures, 'step')} from the study's own distributions with all"
        f" {counted(len(found.firings), 'firing')} at once, so that their order doesn't matter;"
        f" {path.evaluations:,} points of the model. ln evidence {found.log_evidence:.2f} (sampling ±"
        f" {found.log_evidence_error:.2f})."
    )


def surprising() -> str:
    """Return from when on a firing is called a surprise."""
    return (
        "A firing is a surprise where its readings lie this far off, or farther, from what the other firings foresee in"
        f" less than {percent(SURPRISING)} of firings (common practice, no source)."
    )


def without_model_error(found: Posterior) -> str:
    """Return the target without what the model itself may be off by."""
    row, without = target_row(found, "after", model_error=True), found.without
    if without is None:
        return ""
    if without.why:
        return f"Without the model's own error nothing explains the firings: {without.why}"
    if row is None or without.prediction is None:
        return ""
    quantity, other = quantity_of(found.target), without.prediction
    spread = quantity.scale.readable(other["mean"]).difference(other["standard_uncertainty"], 2)
    mean = quantity.scale.readable(other["mean"]).number(other["mean"], 3)
    return f"If the model had no error of its own, it would be {mean} ± {spread}."


def differs(found: Posterior) -> bool:
    """Return whether the target without the model's own error is noticeably another."""
    row, without = target_row(found, "after", model_error=True), found.without
    if without is None:
        return False
    if without.why:
        return True
    if row is None or without.prediction is None:
        return False
    spread = row["standard_uncertainty"]
    moved = abs(without.prediction["mean"] - row["mean"]) > _MOVED * spread
    return bool(moved or without.prediction["standard_uncertainty"] < _NARROWER * spread)


def evidence(found: Posterior) -> str:
    """Return how much likelier the readings are with the model's own error than without, for who checks it."""
    without = found.without
    if without is None or without.diagnostics is None:
        return ""
    error = without.log_evidence_error
    change = found.log_evidence - without.log_evidence
    steps = counted(without.diagnostics.temperatures, "step")
    return (
        f"Without the model's own error ln evidence is {without.log_evidence:.2f} (sampling ± {error:.2f}), so that the"
        f" readings are {'likelier' if change > 0 else 'less likely'} with it by a factor e^{abs(change):.1f}. That"
        f" sample was led there in {steps}; correlation left {without.diagnostics.correlation_left:.2f}, acceptance"
        f" {without.diagnostics.acceptance:.2f}."
    )
