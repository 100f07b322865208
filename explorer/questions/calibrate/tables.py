"""Tables of a calibration: what each unknown was and is, predictions against measurements, what each firing taught."""

import math
from typing import Any

import pandas as pd

from explorer import registry
from explorer.page.document import Table
from explorer.page.words import between, percent
from explorer.questions.calibrate.posterior import COMMON_ERROR, MODEL_ERROR, Posterior, WithoutModelError
from explorer.registry import Quantity, UnknownAddressError

#: Share of its standard uncertainty that must be left of an unknown for it to count as hardly learnt.
HARDLY = 0.95

#: Share of firings below which nothing more is told: tails of a sample reach no farther [-].
_RAREST = 1e-6


def quantity_of(name: str) -> Quantity:
    """Return the registry's quantity; one without a unit for what only a callable knows."""
    try:
        return registry.quantity(name)
    except UnknownAddressError:
        return Quantity(address=name, words=name)


def unknowns_table(found: Posterior) -> Table:
    """Return what each unknown input was and is, most learnt first."""
    rows = []
    for address, row in found.inputs.sort_values("left").iterrows():
        quantity = quantity_of(str(address))
        was, now = (with_spread(quantity, row, when) for when in ("before", "after"))
        ends = between(quantity, row["low_after"], row["high_after"], row["standard_uncertainty_after"])
        rows.append((quantity.words, was, now, ends, percent(row["left"])))
    return Table(
        tuple(rows),
        ("unknown", "was", "is", "19 in 20 between", "± left"),
        numbers=frozenset({4}),
        standing=1,
    )


def without_table(found: Posterior) -> Table | None:
    """Return the target and what was learnt, with the model's own error and without; None where that isn't told."""
    without = found.without
    if without is None or without.inputs is None:
        return None
    rows = []
    if without.prediction is not None:
        quantity = quantity_of(found.target)
        before, after = (
            _mean_and_spread(quantity, found.prediction.loc[[(when, True)]].iloc[0])
            for when in ("before", "after")
        )
        rows.append((quantity.words, before, after, _mean_and_spread(quantity, without.prediction)))
    learnt = found.inputs[(found.inputs["left"] < HARDLY) | (without.inputs["left"] < HARDLY)]
    for address, row in learnt.sort_values("left").iterrows():
        quantity = quantity_of(str(address))
        was, now = (with_spread(quantity, row, when) for when in ("before", "after"))
        rows.append(
            (
                quantity.words,
                was,
                now,
                with_spread(quantity, without.inputs.loc[[str(address)]].iloc[0], "after"),
            )
        )
    one, other = (f"{own.log_evidence:.1f} ± {own.log_evidence_error:.1f}" for own in (found, without))
    rows.append(("ln evidence (± sampling)", "", one, other))
    head = ("", "was", "with the model's own error", "without it")
    return Table(tuple(rows), head, standing=1)


def _mean_and_spread(quantity: Quantity, row: "pd.Series[Any]") -> str:
    scale = quantity.scale.readable(row["mean"])
    return f"{scale.number(row['mean'], 3)} ± {scale.difference(row['standard_uncertainty'], 2)}"


def with_spread(quantity: Quantity, row: "pd.Series[Any]", when: str) -> str:
    """Return a mean with its standard uncertainty: "40 ± 15 V"."""
    spread = row[f"standard_uncertainty_{when}"]
    scale = quantity.scale.readable(row[f"mean_{when}"])
    return f"{scale.number(row[f'mean_{when}'], 3)} ± {scale.difference(spread, 2)}"


def errors_table(found: Posterior) -> Table | None:
    """Return what instruments and the model itself seem to be off by; None where nothing was learnt of it."""
    rows = []
    for name, row in found.errors.iterrows():
        label = str(name)
        places = 2 if label.startswith(COMMON_ERROR) else 3
        ends = [
            f"{row[f'mean_{when}']:.{places}f} ± {row[f'standard_uncertainty_{when}']:.{places}f}"
            for when in ("before", "after")
        ]
        if label.startswith(COMMON_ERROR):
            rows.append((label.removeprefix(COMMON_ERROR), "its stated common ±", *ends))
        elif label.startswith(MODEL_ERROR):
            what = registry.words_of(label.removeprefix(MODEL_ERROR))
            rows.append((f"the model of {what}", "a factor", *ends))
    return Table(tuple(rows), ("error of", "in", "was", "is"), standing=1) if rows else None


def rarity(chance: float) -> str:
    """Return in which share of firings readings lie so far off; how much rarer than the rarest told nobody knows."""
    return f"under {percent(_RAREST)}" if chance < _RAREST else percent(chance)


def firings_table(found: Posterior) -> Table:
    """Return how each firing fits with the others, and what it taught."""
    rows = []
    for name, row in found.by_firing.iterrows():
        p = row["p_left_out"]
        fits = "not told" if math.isnan(p) else rarity(p)
        taught = "not told" if math.isnan(row["taught"]) else percent(max(row["taught"], 0.0))
        rows.append((str(name), fits, "SURPRISE" if row["surprise"] else "fits", taught))
    head = ("firing", "this far off from the others in", "", "uncertainty that comes back without it")
    return Table(tuple(rows), head, standing=1)


def readings_table(found: Posterior) -> Table:
    """Return each reading beside what the other firings foresee."""
    rows = []
    plain = found.readings.reset_index().rename(columns={found.readings.index.names[2] or "quantity": "read"})
    first, second = plain.columns[0], plain.columns[1]
    for _, row in plain.iterrows():
        firing, step, own = row[first], row[second], quantity_of(str(row["read"]))
        low, high = row["low_left_out"], row["high_left_out"]
        foreseen = "not told" if math.isnan(low) else between(own, low, high, (high - low) / 4)
        inside = "" if math.isnan(low) else ("inside" if low <= row["value"] <= high else "OUTSIDE")
        rows.append(
            (str(firing), str(step) or "burn", own.words, own.spoken(row["value"], 4), foreseen, inside)
        )
    return Table(
        tuple(rows), ("firing", "step", "read", "value", "the others foresee, 19 in 20", ""), standing=2
    )


def surprises_table(found: Posterior) -> Table | None:
    """Return what would explain each surprise, best first; None without any."""
    rows = []
    for _, row in found.surprises.iterrows():
        what = str(row["what"])
        quantity = quantity_of(what)
        if what in found.inputs.index or what in registry.inputs_of(found.study.pairs if found.study else ()):
            taken, ends = quantity.spoken(row["value"]), (row["high"] - row["low"]) / 4
            span = between(quantity, row["low"], row["high"], ends, last=" to ")
            needed = f"{quantity.spoken(row['needed'])} ({span})"
        else:
            taken, needed = f"{row['value']:+.2g}", f"{row['needed']:+.2g} of its own ±"
        rows.append((str(row["firing"]), quantity.words, taken, needed, percent(row["p"])))
    head = ("firing", "what could explain it", "taken as", "would have to be", "this far off then in")
    return Table(tuple(rows), head, standing=2) if rows else None


def data_of(found: Posterior) -> dict[str, Any]:
    """Return a calibration for a JSON."""
    return {
        "firings": [firing.name for firing in found.firings],
        "target": found.target,
        "prediction": _records(found.prediction),
        "inputs": _records(found.inputs),
        "errors": _records(found.errors),
        "by_firing": _records(found.by_firing),
        "surprises": _records(found.surprises),
        "readings": _records(found.readings),
        "log_evidence": found.log_evidence,
        "log_evidence_standard_error": found.log_evidence_error,
        "model_error": found.model_error,
        "without_model_error": None if found.without is None else _without(found.without),
        "draws": len(found.sample),
    }


def _without(found: WithoutModelError) -> dict[str, Any]:
    return {
        "why_not": found.why,
        "prediction": None if found.prediction is None else dict(found.prediction),
        "inputs": [] if found.inputs is None else _records(found.inputs),
        "log_evidence": found.log_evidence,
        "log_evidence_standard_error": found.log_evidence_error,
    }


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(key): item for key, item in row.items()} for row in table.reset_index().to_dict("records")]
