"""`mhdstage flight STUDY`: whether the stage pays in flight, with and without it over the same scenarios."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from explorer.page.answer import Answer, Envelope, Options, Question, Work, left_of_template, study_of
from explorer.page.cautions import CAUTIONS
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import counted
from explorer.questions.flight import tables
from explorer.questions.flight.data import ascent_rows, drivers_rows, flight_data, flight_rows
from explorer.questions.flight.flight import Flight, flight
from explorer.questions.flight.names import DRIVEN
from explorer.questions.flight.pictures import flight_pictures
from explorer.questions.flight.warnings import warnings_of
from explorer.questions.flight.words import break_even_words, plain_words

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
    **{
        f"drivers-{name}": f"What carries the uncertainty of {what}, most first."
        for name, what in DRIVEN.items()
    },
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
    files = {"flight.csv": flight_rows(found), "ascent.csv": ascent_rows(found)}
    if found.driven:
        files["drivers.csv"] = drivers_rows(found)
    plain = [
        *map(Paragraph, plain_words(found)),
        *(Paragraph(words, marked=True) for words in warnings),
        *left_of_template,
    ]
    return Answer(head, tuple(_sections(found, head, plain)), flight_data(found), files)


def _sections(found: Flight, head: Mapping[str, Any], plain: Sequence[Paragraph]) -> Iterator[Section]:
    study = found.study
    pictures = {
        name: Picture(name, figure, _CAPTIONS[name]) for name, figure in flight_pictures(found).items()
    }
    phases = counted(len(found.plan.phases), "phase")
    line = f"The vehicle with and without its stage, {phases}, {found.samples} scenarios."
    yield Section(study.title, (Paragraph(line), *notes(study)))
    yield Section("In plain words", tuple(plain))
    yield Section(
        "With and without the stage",
        (
            Paragraph("Each with one standard uncertainty:"),
            pictures["ascent"],
            pictures["difference"],
            tables.compared_table(found),
            Paragraph(_LESS),
            tables.differences_table(found),
        ),
    )
    yield Section("Where the difference comes from", (Paragraph(_STEPS), tables.steps_table(found)))
    yield Section("The stage: power, energy, mass", (tables.stage_table(found),))
    even = tables.break_even_table(found)
    if even is not None:
        yield Section("Break-even", (Paragraph(break_even_words(found)), Paragraph(_BREAK_EVEN), even))
    for name, drivers in found.driven.items():
        rows, left_out = tables.drivers_table(drivers)
        parts: list[Part] = [pictures[f"drivers-{name}"], rows]
        if left_out:
            parts.append(Paragraph(f"{counted(left_out, 'row carries', 'rows carry')} less than 1 % each."))
        yield Section(f"What drives {DRIVEN[name]}", tuple(parts))
    as_read = (tables.phases_table(found), tables.vehicle_table(found), Paragraph(_MODEL))
    yield Section("The flight as read", as_read)
    yield how_read(study, use=_USE)
    yield Section("Caution", (Paragraph(" ".join((*CAUTIONS, _CAUTION))),))
    yield Section("For a reviewer", (Paragraph(_METHOD), tables.names_table(found)), audience="reviewer")
    yield resolved_inputs(study)
    yield provenance(head, {"scenarios": str(found.samples)})
