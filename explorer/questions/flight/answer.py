"""`mhdstage flight STUDY`: whether the stage pays in flight, with and without it over the same scenarios."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

import pandas as pd

from explorer.page.answer import Answer, Envelope, Options, Question, Work, left_of_template, study_of
from explorer.page.cautions import caution_sentences
from explorer.page.document import Paragraph, Part, Picture, Section, for_reviewers, section
from explorer.page.figures import with_standard_errors
from explorer.page.inputs import how_read, notes, resolved_inputs, to_try
from explorer.page.provenance import provenance
from explorer.page.words import counted
from explorer.questions.flight import tables
from explorer.questions.flight.brief import short_answer
from explorer.questions.flight.flight import Flight, flight, quantity_of
from explorer.questions.flight.names import DRIVEN
from explorer.questions.flight.pictures import bars_of, picture
from explorer.questions.flight.words import break_even_words, plain_words, warnings_of
from explorer.study.contrasts import Difference, Figures, figures_row, share_row
from explorer.study.limits import contact_chances

_CAUTION: Final = (
    "Flight needs range safety, clearance of the airspace and people licensed for it; a predicted apogee is none of"
    " these."
)

_USE: Final = "`flight` draws each from the whole of it, the same for the vehicle with and without the stage."

_MODEL: Final = (
    "One vertical dimension, a point mass: gravity that falls with height, drag with one drag area for all speeds, the"
    " U.S. Standard Atmosphere 1976 up to 81 km and no air above it; neither wind nor turning Earth, and the nose"
    " always up. What the study says of the air around the stage is not used. The plain engine has the stage's chamber"
    " and throat: what moves these moves both vehicles alike. Ignition, shut-down and the switching of circuits take no"
    " time. Supply and store weigh in proportion to power and energy at the terminals."
)

_EACH: Final = "Each with one standard uncertainty:"

_LESS: Final = "The difference, scenario by scenario, of those that fly both ways:"

_STEPS: Final = (
    "Taken one after the other: the channel without current and without mass, then the mass of the stage, then power"
    " taken out, then power put in. They add up to the whole difference."
)

_BREAK_EVEN: Final = (
    "Acceleration is held against the same engine and channel without current and without the mass, so that neither the"
    " channel's own cost nor the model's error on the whole thrust counts. In each scenario the mass is found at which"
    " both reach the same apogee."
)

_METHOD: Final = (
    "Independent scrambles of a Sobol' sequence, every scenario flown in all cases; differences are formed scenario by"
    " scenario. The stage model is asked in vacuum and at sea level in every phase: its thrust is linear in the ambient"
    " pressure. Ascents by an eighth-order Runge-Kutta method (DOP853, relative tolerance 1e-8), the coast over the"
    " velocity down to zero; roots by secants. Shares are first-order ones from the sample itself (given data, Plischke"
    " 2010), no further runs; what is missing to 100 % inputs do together, or is too little to be told. Sampling errors"
    " are read from the spread over the scrambles."
)

_CAPTIONS: Final = {
    "ascent": "Altitude and velocity up to the apogee; bands end where one scenario in twenty is past its own.",
    "difference": "What the stage adds to the apogee, in all scenarios that fly with and without it.",
}


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    study = study_of(options)

    def answer(work: Work) -> Answer:
        found = flight(
            study,
            rng=options.random_number,
            samples=options.samples,
            jobs=options.jobs,
            progress=work.progress("gas table and phases"),
        )
        return told(found, work.envelope, left_of_template=left_of_template(study))

    return Question((study,), answer)


def told(found: Flight, envelope: Envelope, *, left_of_template: Sequence[Paragraph] = ()) -> Answer:
    """What is said of a flight."""
    warnings = tuple(warnings_of(found))
    head = envelope(found.random_number, warnings)
    files = {"flight.csv": _flight_rows(found), "ascent.csv": _ascent_rows(found)}
    if found.driven:
        files["drivers.csv"] = _drivers_rows(found)
    marked = (Paragraph(words, marked=True) for words in warnings)
    plain = section("In plain words", [*plain_words(found), *marked, *left_of_template])
    return Answer(head, tuple(_sections(found, head, plain)), _data(found), files, brief=short_answer(found))


def _sections(found: Flight, head: Mapping[str, Any], plain: Section) -> Iterator[Section]:
    study, phases = found.study, counted(len(found.plan.phases), "phase")
    about = f"The vehicle with and without its stage, {phases}, {found.samples} scenarios."
    yield section(study.title, [about, *notes(study)])
    yield plain
    compared, less = tables.compared_table(found), tables.differences_table(found)
    pictures = (_picture(found, name, words) for name, words in _CAPTIONS.items())
    parts: list[Part | str] = [_EACH, *pictures, compared, _LESS, less]
    yield section("With and without the stage", parts)
    yield section("Where the difference comes from", [_STEPS, tables.steps_table(found)])
    yield section("The stage: power, energy, mass", [tables.stage_table(found)])
    even = tables.break_even_table(found)
    if even is not None:
        yield section("Break-even", [break_even_words(found), _BREAK_EVEN, even])
    for name in found.driven:
        yield section(f"What drives {DRIVEN[name]}", _driving(found, name))
    vehicle = tables.vehicle_table(found)
    yield section("The flight as read", [tables.phases_table(found), vehicle, _MODEL])
    yield from to_try(study, "flight")
    yield how_read(study, use=_USE)
    yield section("Caution", [" ".join((*caution_sentences(study), _CAUTION))])
    yield for_reviewers("For a reviewer", [_METHOD, tables.names_table(found)])
    yield resolved_inputs(study)
    yield provenance(head, {"scenarios": str(found.samples)})


def _picture(found: Flight, name: str, caption: str) -> Picture:
    return Picture(name, picture(found, name), caption)


def _driving(found: Flight, name: str) -> Iterator[Part | str]:
    yield _picture(found, bars_of(name), f"What carries the uncertainty of {DRIVEN[name]}, most first.")
    rows, left_out = tables.drivers_table(found.driven[name])
    yield rows
    if left_out:
        yield f"{left_out} more carry less than 1 % each."


def _data(found: Flight) -> dict[str, Any]:
    """What the JSON holds behind its envelope; figures in SI."""
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
        "contacts": {
            phase: {name: share_row(share) for name, share in contact_chances(contacts).items()}
            for phase, contacts in found.contacts.items()
        },
        "stage_warnings": [
            {
                "phase": warned.phase,
                "code": warned.warning.code,
                "share": float(warned.share),
                "standard_error": warned.share.error,
            }
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


def _flight_rows(found: Flight) -> pd.DataFrame:
    """All figures as CSV, a row a quantity and case, SI with the unit beside."""
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


def _ascent_rows(found: Flight) -> pd.DataFrame:
    """Altitude and velocity over time of both cases as CSV, SI with the unit in each head."""
    units = {"time": "s", "altitude": "m", "velocity": "m/s"}
    pieces = [table.assign(case=case) for case, table in found.curves.items()]
    together = pd.concat(pieces, ignore_index=True)
    heads = {
        name: f"{name} [{units[str(name).partition('_')[0]]}]" for name in together.columns if name != "case"
    }
    return together.rename(columns=heads)[["case", *heads.values()]]


def _drivers_rows(found: Flight) -> pd.DataFrame:
    """What drives the difference and what acceleration pays for as CSV, shares of the squared uncertainty."""
    return pd.DataFrame(
        {"of": name, "input": driver.row.name, **driver.cells()}
        for name, drivers in found.driven.items()
        for driver in drivers
    )
