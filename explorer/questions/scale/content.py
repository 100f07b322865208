"""A path as data: the content of its JSON and its CSV files, everything in SI."""

from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.designs import figures_of
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.rows import interval, stages


def scaling_content(found: Scaling, words: Sequence[str]) -> dict[str, Any]:
    """Return what the JSON of a path holds behind its envelope."""
    quantity = registry.quantity(found.target)
    return {
        "target": {"quantity": found.target, "unit": quantity.unit, "of": found.names[-1]},
        "trust": _trust(found),
        "ladder": _ladder(found),
        "changes": [_change(change) for change in found.changes],
        "switches": [
            {"input": s.address, "before": s.before, "after": s.after, "with_it": list(s.with_it)}
            for s in found.path.switches
        ],
        "ways": dict(found.path.ways),
        "designs": [_design(found, place) for place in range(len(found.names))],
        "left_out": {str(number): why for number, why in found.path.left_out.items()},
        "shared": {
            name: [{"design": design, "input": address} for design, address in who]
            for name, who in found.shared.items()
        },
        "alike_but_drawn_apart": list(found.apart),
        "model_error_in_common": found.model_share,
        "cost_exponent": found.cost_exponent,
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(words),
    }


def _estimate(estimate: Estimate) -> dict[str, float]:
    return {"value": float(estimate.value), "standard_error": float(estimate.standard_error)}


def _trust(found: Scaling) -> dict[str, Any]:
    now, met = found.trust.now, found.trust.chance_met
    return {
        "now": {
            "mean": _estimate(now.mean),
            "standard_uncertainty": _estimate(now.standard_uncertainty),
            "interval_95": [float(now.low.value), float(now.high.value)],
            "standard_error": {
                "interval_95": [float(now.low.standard_error), float(now.high.standard_error)]
            },
        },
        "chance_met": None if met is None else _estimate(met),
        "first_design_only": None if found.ladder is None else _estimate(found.ladder.after_first),
        "all_shared_known": _estimate(found.trust.never),
        "model_error": {"common": found.trust.model_common, "alone": found.trust.model_alone},
    }


def _ladder(found: Scaling) -> dict[str, Any] | None:
    ladder = found.ladder
    if ladder is None:
        return None
    return {
        "points": [
            {
                "design": found.names[rung.design],
                "place": float(found.places[rung.design]),
                "size": float(found.sizes[rung.design]),
                "cost": float(found.costs[rung.design]),
                "left": _estimate(rung.left),
                "variance_removed": _estimate(rung.removed),
                "changes": [change.border.regime.name for change in rung.changes],
                "variance_removed_by": dict(rung.through),
                "beyond_range": dict(rung.beyond),
            }
            for rung in ladder.rungs
        ],
        "candidates": {str(name): _plain(ladder.candidates.loc[name]) for name in ladder.candidates.index},
        "sets": [
            {
                "designs": [found.names[design] for design in row["designs"]],
                "cost": row["cost"],
                "variance_removed": row["removed"],
            }
            for row in ladder.sets.to_dict("records")
        ],
        "unreached": [found.names[design] for design in ladder.unreached],
        "pinned": {str(name): _plain(ladder.pinned.loc[name]) for name in ladder.pinned.index},
        "luck": ladder.luck,
        "lost": ladder.lost,
    }


def _plain(row: pd.Series) -> dict[str, float]:
    return {str(key): float(value) for key, value in row.items()}


def _change(change: Change) -> dict[str, Any]:
    regime = change.border.regime
    return {
        "border": regime.name,
        "quantity": regime.quantity,
        "threshold": None if regime.is_chance else regime.threshold,
        "of_first_design": regime.relative,
        "place": change.place,
        "between": list(change.between),
        "past": change.past,
        "counts": change.counts,
        "shares": list(change.shares),
        "values": list(change.values),
    }


def _design(found: Scaling, place: int) -> dict[str, Any]:
    name = found.names[place]
    quantities = {
        row: {
            "unit": registry.quantity(row).unit,
            "mean": own["mean"],
            "standard_uncertainty": own["standard_uncertainty"],
            "interval_95": [own["low"], own["high"]],
            "standard_error": {
                "mean": own["mean_standard_error"],
                "interval_95": [own["low_standard_error"], own["high_standard_error"]],
            },
            "missing": own["missing"],
        }
        for row, own in figures_of(found.quantities, name).items()
    }
    return {
        "name": name,
        "place": float(found.places[place]),
        "size": float(found.sizes[place]),
        "cost": float(found.costs[place]),
        "quantities": quantities,
        "statuses": figures_of(found.statuses, name),
        "warnings": figures_of(found.warnings, name),
        "borders": figures_of(found.border_shares, name),
    }


def path_rows(found: Scaling) -> pd.DataFrame:
    """Return every figure of every design as CSV, a row a design and quantity, SI with the unit beside.

    Chances of statuses and warnings, and shares past borders, are rows with the unit 1.
    """
    return pd.DataFrame(list(_path_rows(found)))


def _path_rows(found: Scaling) -> Iterator[dict[str, Any]]:
    tables = (("chance", found.statuses), ("chance", found.warnings), ("past", found.border_shares))
    for place, name in enumerate(found.names):
        head = {
            "design": name,
            "place": float(found.places[place]),
            "size": float(found.sizes[place]),
            "cost": float(found.costs[place]),
        }
        for row, own in figures_of(found.quantities, name).items():
            yield {**head, "quantity": row, "unit": registry.quantity(row).unit, **own}
        for kind, table in tables:
            for row, own in figures_of(table, name).items():
                share = {"mean": own["share"], "mean_standard_error": own["standard_error"]}
                yield {**head, "quantity": f"{kind}.{row}", "unit": "1", **share}


def ladder_rows(found: Scaling) -> pd.DataFrame:
    """Return what is left of the target's standard uncertainty as CSV, a row a stage, then a row a step by itself
    [SI].
    """
    return pd.DataFrame(list(_ladder_rows(found)))


def _ladder_rows(found: Scaling) -> Iterator[dict[str, Any]]:
    unit = registry.quantity(found.target).unit
    designs: list[int | None] = [None] * len(stages(found))
    if found.ladder is not None:
        designs[1 : 2 + len(found.ladder.rungs)] = [0, *(rung.design for rung in found.ladder.rungs)]
    for (words, left, error), design in zip(stages(found), designs, strict=True):
        low, high = interval(found, left)
        yield {
            "known": words,
            **_placed(found, design),
            "quantity": found.target,
            "unit": unit,
            "left": left,
            "left_standard_error": error,
            "low": low,
            "high": high,
        }
    if found.ladder is not None:
        for name in found.ladder.candidates.index:
            own = _plain(found.ladder.candidates.loc[name])
            yield {
                "known": "one firing of this step alone",
                **_placed(found, found.names.index(str(name))),
                "quantity": found.target,
                "unit": unit,
                "left": own["left"],
                "left_standard_error": own["left_standard_error"],
                "removed": own["removed"],
                "removed_standard_error": own["removed_standard_error"],
                "changes": own["changes"],
            }


def _placed(found: Scaling, design: int | None) -> dict[str, Any]:
    if design is None:
        return {"design": "", "place": None, "size": None, "cost": None}
    return {
        "design": found.names[design],
        "place": float(found.places[design]),
        "size": float(found.sizes[design]),
        "cost": float(found.costs[design]),
    }
