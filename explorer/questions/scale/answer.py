"""`mhdstage scale STUDY --toward STUDY`: the way to a larger design, where its regime changes, what to fire on it."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.answer import Answer, Envelope, Options, Question, Work, refuse_few, study_of
from explorer.page.designs import shared_data
from explorer.page.figures import columns, with_standard_errors
from explorer.questions.scale.brief import short_answer
from explorer.questions.scale.entry import scale
from explorer.questions.scale.firings import step_studies
from explorer.questions.scale.ladder.choice import TriedSet
from explorer.questions.scale.ladder.ladder import Firing, Ladder, Plan, Remedy
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.report import report
from explorer.questions.scale.scaling import Scaling
from explorer.questions.scale.words import plain_words
from explorer.study.contrasts import Figures, figures_row, share_row
from explorer.study.limits import contact_chances


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    refuse_few(options.samples)
    first, second = study_of(options), study_of(options, options.toward)

    def answer(work: Work) -> Answer:
        found = scale(
            first,
            second,
            steps=options.steps,
            cost_exponent=options.cost_exponent,
            worth=options.worth,
            rng=options.random_number,
            samples=options.samples,
            jobs=options.jobs,
            progress=work.progress("gas tables and operating points"),
        )
        return told(found, work.envelope, asked=options.samples)

    return Question((first, second), answer)


def told(found: Scaling, envelope: Envelope, *, asked: int | None = None) -> Answer:
    """What is said of the way to a larger design; `asked` is the number of points that was asked for."""
    left_out = [f"step {number} is left out: {why}" for number, why in found.path.left_out.items()]
    head = envelope(found.random_number, left_out)
    files: dict[str, pd.DataFrame | str] = {
        "path.csv": pd.DataFrame(list(_path_rows(found))),
        "ladder.csv": pd.DataFrame(list(_ladder_rows(found))),
        **step_studies(found, head),
    }
    return Answer(head, report(found, head, asked=asked), _data(found), files, brief=short_answer(found))


def _data(found: Scaling) -> dict[str, Any]:
    """What the JSON holds behind its envelope."""
    unit = registry.quantity(found.target).unit
    return {
        "target": {"quantity": found.target, "unit": unit, "of": found.last.name},
        "trust": _trust(found),
        "ladder": None if found.ladder is None else _ladder(found.ladder),
        "changes": [_change(change) for change in found.changes],
        "switches": [
            {"input": s.address, "before": s.before, "after": s.after, "with_it": list(s.with_it)}
            for s in found.path.switches
        ],
        "ways": dict(found.path.ways),
        "designs": [_design(found, design) for design in found.designs],
        "left_out": {str(number): why for number, why in found.path.left_out.items()},
        "shared": shared_data(found.shared),
        "alike_but_drawn_apart": list(found.apart),
        "model_error_in_common": found.model_share,
        "cost_exponent": found.cost_exponent,
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(plain_words(found)),
    }


def _figure(estimate: Estimate | None) -> dict[str, float] | None:
    return None if estimate is None else {"value": float(estimate), "standard_error": estimate.error}


def _trust(found: Scaling) -> dict[str, Any]:
    now = found.trust.now
    return {
        "now": {
            "mean": _figure(now.mean),
            "standard_uncertainty": _figure(now.standard_uncertainty),
            **with_standard_errors({"interval_95": (now.low, now.high)}),
        },
        "chance_met": _figure(found.trust.chance_met),
        "first_design_only": None if found.ladder is None else _figure(found.ladder.after_first),
        "all_shared_known": _figure(found.trust.never),
        "model_error": {"common": found.trust.model_common, "alone": found.trust.model_alone},
    }


def _ladder(ladder: Ladder) -> dict[str, Any]:
    return {
        "climb": ladder.climb,
        "worth": {"fall": ladder.worth, "assumed": ladder.worth_assumed},
        "steps": [_firing(rung) for rung in ladder.rungs],
        "last_design_fired": None if ladder.fired is None else _firing(ladder.fired),
        "best_set": None if ladder.plan is None else _plan(ladder.plan),
        "as_good": [_set(own) for own in ladder.level],
        "would_help": [_remedy(own) for own in ladder.remedies],
        "candidates": {step.design.name: step.row() for step in ladder.steps},
        "sets": [_set(own) for own in ladder.tried],
        "unreached": [design.name for design in ladder.unreached],
        "pinned": {
            name: dict(zip(ladder.stages, left, strict=True)) for name, left in ladder.shared_left.items()
        },
        "lost": ladder.lost,
    }


def _firing(firing: Firing) -> dict[str, Any]:
    return {
        **_placed(firing.design),
        "left": _figure(firing.left),
        "variance_removed": _figure(firing.removed),
        "changes": [change.border.name for change in firing.changes],
        "variance_removed_by": dict(firing.through),
        "beyond_range": dict(firing.beyond),
        "warnings": {code: share_row(share) for code, share in firing.warnings.items()},
    }


def _set(own: TriedSet | Plan) -> dict[str, Any]:
    return {
        "designs": [design.name for design in own.designs],
        "cost": own.cost,
        "variance_removed": _figure(own.removed),
        "gain": _figure(own.gain),
        "worthwhile": own.worthwhile,
        "too_dear": own.dear,
    }


def _plan(plan: Plan) -> dict[str, Any]:
    return {**_set(plan), "left": _figure(plan.left), "climb": plan.climb}


def _remedy(remedy: Remedy) -> dict[str, Any]:
    best = None if remedy.plan is None else _plan(remedy.plan)
    return {"kind": remedy.kind, "what": list(remedy.what), "climb": remedy.climb, "best_set": best}


def _placed(design: Waypoint | None) -> dict[str, Any]:
    if design is None:
        return {"design": "", "place": None, "size": None, "cost": None}
    return {"design": design.name, "place": design.place, "size": design.size, "cost": design.cost}


def _change(change: Change) -> dict[str, Any]:
    regime = change.border.regime
    rows = [change.border.row(design.sides[regime.name], design.place) for design in change.between]
    return {
        "border": regime.name,
        "quantity": regime.quantity,
        "threshold": None if regime.is_chance else regime.threshold,
        "of_first_design": regime.relative,
        "place": change.place,
        "between": [design.name for design in change.between],
        "past": change.past,
        "counts": change.counts,
        "shares": [row["share"] for row in rows],
        "values": [row["value"] for row in rows],
    }


def _design(found: Scaling, design: Waypoint) -> dict[str, Any]:
    return {
        "name": design.name,
        "place": design.place,
        "size": design.size,
        "cost": design.cost,
        "quantities": {row: _figures(row, own) for row, own in design.figures.items()},
        "statuses": {name: share_row(share) for name, share in design.statuses.items()},
        "warnings": {name: share_row(share) for name, share in design.warnings.items()},
        "contacts": {name: share_row(share) for name, share in contact_chances(design.contacts).items()},
        "borders": found.border_rows(design),
    }


def _figures(row: str, own: Figures) -> dict[str, Any]:
    return {
        "unit": registry.quantity(row).unit,
        "mean": float(own.mean),
        "standard_uncertainty": float(own.standard_uncertainty),
        "interval_95": [float(own.low), float(own.high)],
        "standard_error": {"mean": own.mean.error, "interval_95": [own.low.error, own.high.error]},
        "missing": own.missing,
    }


def _path_rows(found: Scaling) -> Iterator[dict[str, Any]]:
    """Every figure of every design, SI with the unit beside; chances of endings, and shares past borders, too."""
    for design in found.designs:
        head = _placed(design)
        for row, own in design.figures.items():
            yield {**head, "quantity": row, "unit": registry.quantity(row).unit, **figures_row(own)}
        shares = {f"chance.{name}": share for name, share in {**design.statuses, **design.warnings}.items()}
        shares |= contact_chances(design.contacts)
        shares |= {f"past.{name}": side.share for name, side in design.sides.items()}
        for name, share in shares.items():
            yield {**head, "quantity": name, "unit": "1", **columns("mean", share)}


def _ladder_rows(found: Scaling) -> Iterator[dict[str, Any]]:
    """What is left of the target's standard uncertainty at each stage, then after each step by itself [SI]."""
    of = {"quantity": found.target, "unit": registry.quantity(found.target).unit}
    for stage in found.stages:
        low, high = found.narrowed(stage.left)
        left = columns("left", stage.left)
        placed = {**_placed(stage.design), "total_cost": stage.cost}
        yield {"known": stage.words, **placed, **of, **left, "low": low, "high": high}
    for step in () if found.ladder is None else found.ladder.steps:
        own = {**columns("left", step.left), **columns("removed", step.removed), "changes": step.changes}
        yield {"known": "one firing of this step alone", **_placed(step.design), **of, **own}
