"""A flight as data: the content of its JSON and its CSV files, everything in SI."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

import pandas as pd

from explorer.page.figures import with_standard_errors
from explorer.questions.flight.flight import Flight, quantity_of
from explorer.questions.flight.words import plain_words
from explorer.study.contrasts import Difference, Figures, figures_row


def flight_data(found: Flight) -> dict[str, Any]:
    """Return what the JSON of a flight holds behind its envelope."""
    power = found.chance_of_power
    return {
        "verdict": found.verdict,
        "chance_higher": float(found.chance),
        "standard_error": found.chance.error,
        "compared": {
            name: {
                "unit": quantity_of(name).unit,
                "without": _figures(own.without),
                "with": _figures(own.whole),
                "difference": _figures(own.difference),
            }
            for name, own in found.figures.items()
        },
        "steps": {
            step: {name: _with_unit(name, own) for name, own in quantities.items()}
            for step, quantities in found.of_steps.items()
        },
        "stage": {name: _with_unit(name, own) for name, own in found.of_stage.items()},
        "bounds": {name: {"unit": "m", **_figures(own)} for name, own in found.of_bounds.items()},
        "power_wanted": None if power is None else {"chance": float(power), "standard_error": power.error},
        "phases": [asdict(phase) for phase in found.plan.phases],
        "outcomes": {case: dict(shares) for case, shares in found.ends.items()},
        "drivers": {
            name: [{"input": driver.row.name, **driver.cells()} for driver in drivers]
            for name, drivers in found.driven.items()
        },
        "separation": {phase: asdict(where) for phase, where in found.separations.items()},
        "stage_warnings": [
            {"phase": warned.phase, "code": warned.warning.code, "share": warned.share}
            for warned in found.stage_warnings
        ],
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(plain_words(found)),
    }


def _with_unit(name: str, own: Figures) -> dict[str, Any]:
    return {"unit": quantity_of(name).unit, **_figures(own)}


def _figures(own: Figures | Difference) -> dict[str, Any]:
    figures = with_standard_errors(
        {
            "mean": own.mean,
            "median": own.median,
            "standard_uncertainty": own.standard_uncertainty,
            **({} if isinstance(own, Difference) else {"central_values": own.centre}),
            "interval_95": (own.low, own.high),
        }
    )
    return {**figures, "missing": own.missing}


def flight_rows(found: Flight) -> pd.DataFrame:
    """Return all figures as CSV, a row a quantity and case, SI with the unit beside."""
    rows = []
    for case, name, own in _cases(found):
        cells = {key: cell for key, cell in figures_row(own).items() if key not in ("centre", "verdict")}
        rows.append({"case": case, "quantity": name, "unit": quantity_of(name).unit, **cells})
    return pd.DataFrame(rows).drop(columns=["larger", "larger_standard_error"])


def _cases(found: Flight) -> Iterator[tuple[str, str, Figures | Difference]]:
    for name, own in found.figures.items():
        yield "without", name, own.without
        yield "with", name, own.whole
    for name, own in found.figures.items():
        yield "difference", name, own.difference
    for step, quantities in found.of_steps.items():
        for name, figures in quantities.items():
            yield f"step {step}", name, figures
    for name, figures in found.of_stage.items():
        yield "stage", name, figures
    for bound, figures in found.of_bounds.items():
        yield bound, "apogee", figures


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
    return pd.DataFrame(
        {"of": name, "input": driver.row.name, **driver.cells()}
        for name, drivers in found.driven.items()
        for driver in drivers
    )
