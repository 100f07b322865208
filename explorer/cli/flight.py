"""`mhdstage flight STUDY`: whether the stage pays in flight, with and without it over the same scenarios."""

import argparse

from explorer.cli import studies
from explorer.cli.answer import Answer, give
from explorer.cli.terminal import Terminal
from explorer.page.style import images
from explorer.questions.flight.content import ascent_csv, drivers_csv, flight_content, flight_csv
from explorer.questions.flight.flight import Flight, fly
from explorer.questions.flight.pictures import flight_pictures
from explorer.questions.flight.report import flight_report
from explorer.questions.flight.warnings import warnings_of
from explorer.questions.flight.words import plain_words
from explorer.studyfile import Study


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    study = studies.study_of(arguments)

    def make() -> Answer:
        studies.say_first_run(terminal)
        terminal.note("Gas table, stage and ascents ...")
        found = fly(
            study,
            rng=arguments.random_number,
            samples=arguments.samples,
            jobs=arguments.jobs,
            progress=terminal.progress("gas table and phases"),
        )
        return _answer(arguments, found, study)

    return give(arguments, terminal, study, make)


def _answer(arguments: argparse.Namespace, found: Flight, study: Study) -> Answer:
    envelope = studies.envelope_of(arguments, study, found.random_number, warnings_of(found))
    files: dict[str, str | bytes] = {"flight.csv": flight_csv(found), "ascent.csv": ascent_csv(found)}
    if found.drivers:
        files["drivers.csv"] = drivers_csv(found)
    elements = {}
    for name, figure in flight_pictures(found).items():
        elements[name], drawn = images(figure, arguments.formats)
        files |= {f"{name}.{form}": content for form, content in drawn.items()}
    sections = flight_report(found, envelope, elements, left_of_template=studies.left_of_template(study))
    return Answer({**envelope, **flight_content(found, plain_words(found))}, sections, files)
