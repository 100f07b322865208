"""A flight as data: the content of its JSON and its CSV files, everything in SI."""

from collections.abc import Sequence
from typing import Any, Final

import pandas as pd

from explorer.questions.flight.flight import Flight
from explorer.questions.flight.names import Figures, figures_of, plan_of, quantity_of

_FIGURES: Final = ("mean", "median", "standard_uncertainty", "low", "high")


def flight_content(found: Flight, words: Sequence[str]) -> dict[str, Any]:
    """Return what the JSON of a flight holds behind its envelope."""
    plan = plan_of(found.study)
    chance, power = found.chance, found.chance_of_power
    return {
        "verdict": found.verdict,
        "chance_higher": float(chance.value),
        "standard_error": float(chance.standard_error),
        "compared": {
            name: {
                "unit": quantity_of(name).unit,
                "without": _content(figures_of(found.compared, name, "without")),
                "with": _content(figures_of(found.compared, name, "with")),
                "difference": _content(figures_of(found.differences, name, "with")),
            }
            for name in map(str, found.compared.index)
        },
        "steps": {
            str(step): {
                str(name): {
                    "unit": quantity_of(str(name)).unit,
                    **_content(figures_of(found.steps, str(step), str(name))),
                }
                for name in found.steps.columns.unique(level="design")
            }
            for step in found.steps.index
        },
        "stage": {
            name: {"unit": quantity_of(name).unit, **_content(figures_of(found.stage, name))}
            for name in map(str, found.stage.index)
        },
        "bounds": {
            str(name): {"unit": "m", **_content(figures_of(found.bounds, str(name)))}
            for name in found.bounds.index
        },
        "power_wanted": None
        if power is None
        else {"chance": float(power.value), "standard_error": float(power.standard_error)},
        "phases": [
            {
                "name": phase.name,
                "start": phase.start,
                "end": phase.end,
                "mode": phase.mode,
                "throttle": phase.throttle,
                "settings": dict(phase.settings),
            }
            for phase in plan.phases
        ],
        "outcomes": {str(case): shares.to_dict() for case, shares in found.outcomes.items()},
        "drivers": {name: table.reset_index().to_dict("records") for name, table in found.drivers.items()},
        "separation": found.separated.to_dict("index"),
        "stage_warnings": found.warnings.drop(columns=["title", "sentence"]).to_dict("records"),
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(words),
    }


def _content(row: Figures) -> dict[str, Any]:
    """Figures with the interval of the quantity and the sampling errors of the figures kept apart."""
    content = {name: row[name] for name in ("mean", "median", "standard_uncertainty")}
    if "centre" in row:
        content["central_values"] = row["centre"]
    content |= {
        "interval_95": [row["low"], row["high"]],
        "standard_error": {
            **{name: row[f"{name}_standard_error"] for name in ("mean", "median", "standard_uncertainty")},
            "interval_95": [row["low_standard_error"], row["high_standard_error"]],
        },
        "missing": row["missing"],
    }
    return content


def flight_rows(found: Flight) -> pd.DataFrame:
    """Return all figures as CSV, a row a quantity and case, SI with the unit beside."""
    tables: list[tuple[str, str, Figures]] = [
        (case, str(name), figures_of(found.compared, str(name), case))
        for name in found.compared.index
        for case in ("without", "with")
    ]
    tables += [
        ("difference", str(name), figures_of(found.differences, str(name), "with"))
        for name in found.differences.index
    ]
    tables += [
        (f"step {step}", str(name), figures_of(found.steps, str(step), str(name)))
        for step in found.steps.index
        for name in found.steps.columns.unique(level="design")
    ]
    tables += [("stage", str(name), figures_of(found.stage, str(name))) for name in found.stage.index]
    tables += [(str(bound), "apogee", figures_of(found.bounds, str(bound))) for bound in found.bounds.index]
    columns = [key for figure in _FIGURES for key in (figure, f"{figure}_standard_error")]
    rows = [
        {
            "case": case,
            "quantity": name,
            "unit": quantity_of(name).unit,
            **{key: row[key] for key in columns},
            "missing": row["missing"],
        }
        for case, name, row in tables
    ]
    return pd.DataFrame(rows)


def ascent_rows(found: Flight) -> pd.DataFrame:
    """Return altitude and velocity over time of both cases as CSV, SI with the unit in each head."""
    units = {"time": "s", "altitude": "m", "velocity": "m/s"}
    pieces = [table.assign(case=case) for case, table in found.curves.items()]
    together = pd.concat(pieces, ignore_index=True)
    heads = {
        name: f"{name} [{units[str(name).partition('_')[0]]}]" for name in together.columns if name != "case"
    }
    return together.rename(columns=heads)[["case", *heads.values()]]


def drivers_rows(found: Flight) -> pd.DataFrame:
    """Return what drives the difference and what acceleration pays for as CSV, shares of the squared uncertainty."""
    pieces = [table.reset_index().assign(of=name) for name, table in found.drivers.items()]
    if not pieces:
        return pd.DataFrame(
            columns=["of", "input", "address", "part", "first", "first_low", "first_high", "level"]
        )
    together = pd.concat(pieces, ignore_index=True)
    return together[["of", *[column for column in together.columns if column != "of"]]]
