"""The report of a flight, as sections: whether the stage pays first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from matplotlib.figure import Figure

from explorer.page.cautions import CAUTIONS
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import counted
from explorer.questions.flight.changes import break_even_words
from explorer.questions.flight.flight import Flight
from explorer.questions.flight.names import plan_of
from explorer.questions.flight.pictures import DRIVEN
from explorer.questions.flight.tables import (
    break_even_table,
    compared_table,
    differences_table,
    drivers_table,
    names_table,
    phases_table,
    stage_table,
    steps_table,
    vehicle_table,
)
from explorer.questions.flight.warnings import warnings_of
from explorer.questions.flight.words import plain_words
from explorer.studyfile import Study

FLIGHT_CAUTION: Final = (
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


def flight_report(
    found: Flight,
    envelope: Mapping[str, Any],
    pictures: Mapping[str, Figure] | None = None,
    *,
    left_of_template: tuple[Paragraph, ...] = (),
) -> tuple[Section, ...]:
    """Return the report of a flight."""
    study, drawn = found.study, pictures or {}
    return (
        _heading(found),
        _plain(found, left_of_template),
        _ascent(found, drawn),
        Section("Where the difference comes from", (Paragraph(_STEPS), steps_table(found))),
        Section("The stage: power, energy, mass", (stage_table(found),)),
        *_break_even(found),
        *_drivers(found, drawn),
        _flight(study),
        how_read(study, use=_USE),
        Section("Caution", (Paragraph(" ".join((*CAUTIONS, FLIGHT_CAUTION))),)),
        Section("For a reviewer", (Paragraph(_METHOD), names_table(found)), audience="reviewer"),
        resolved_inputs(study),
        provenance(envelope, {"scenarios": str(found.samples)}),
    )


def _heading(found: Flight) -> Section:
    phases = counted(len(plan_of(found.study).phases), "phase")
    line = f"The vehicle with and without its stage, {phases}, {found.samples} scenarios."
    return Section(found.study.title, (Paragraph(line), *notes(found.study)))


def _plain(found: Flight, left_of_template: tuple[Paragraph, ...]) -> Section:
    parts: list[Part] = [Paragraph(words) for words in plain_words(found)]
    parts += [Paragraph(words, marked=True) for words in warnings_of(found)]
    parts += left_of_template
    return Section("In plain words", tuple(parts))


def _ascent(found: Flight, drawn: Mapping[str, Figure]) -> Section:
    parts: list[Part] = [Paragraph("Each with one standard uncertainty:")]
    captions = {
        "ascent": "Altitude and velocity up to the apogee; bands end where one scenario in twenty is past its own.",
        "difference": "What the stage adds to the apogee, in all scenarios that fly with and without it.",
    }
    parts += [Picture(name, drawn[name], words) for name, words in captions.items() if name in drawn]
    parts += [compared_table(found), Paragraph(_LESS), differences_table(found)]
    return Section("With and without the stage", tuple(parts))


def _break_even(found: Flight) -> Iterator[Section]:
    table = break_even_table(found)
    if table is not None:
        yield Section("Break-even", (Paragraph(break_even_words(found)), Paragraph(_BREAK_EVEN), table))


def _drivers(found: Flight, drawn: Mapping[str, Figure]) -> Iterator[Section]:
    for name, table in found.drivers.items():
        rows, left_out = drivers_table(table)
        parts: list[Part] = []
        picture = drawn.get(f"drivers-{name}")
        if picture is not None:
            parts.append(
                Picture(
                    f"drivers-{name}", picture, f"What carries the uncertainty of {DRIVEN[name]}, most first."
                )
            )
        parts.append(rows)
        if left_out:
            parts.append(Paragraph(f"{counted(left_out, 'row carries', 'rows carry')} less than 1 % each."))
        yield Section(f"What drives {DRIVEN[name]}", tuple(parts))


def _flight(study: Study) -> Section:
    return Section("The flight as read", (phases_table(study), vehicle_table(study), Paragraph(_MODEL)))
