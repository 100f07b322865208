"""`mhdstage rank STUDY`: what makes the answer unsure, and what the next test should pin down first."""

import argparse

from explorer.cli import studies
from explorer.cli.answer import Answer, give
from explorer.cli.terminal import Terminal
from explorer.figures.measurements import measurements_figure
from explorer.figures.ranking import ranking_figure
from explorer.figures.style import images
from explorer.report.ranking import ranking_report
from explorer.report.ranking_content import ranking_content, ranking_csv
from explorer.report.ranking_rows import picture_rows
from explorer.report.ranking_words import plain_words
from explorer.study import Ranking, rank
from explorer.studyfile import Study


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    study = studies.study_of(arguments)

    def make() -> Answer:
        studies.say_first_run(terminal)
        terminal.note("Gas table and operating points ...")
        ranking = rank(
            study,
            target=arguments.target,
            rng=arguments.random_number,
            base=arguments.base,
            jobs=arguments.jobs,
            progress=terminal.progress("operating points"),
        )
        return _answer(arguments, ranking, study)

    return give(arguments, terminal, study, make)


def _answer(arguments: argparse.Namespace, ranking: Ranking, study: Study) -> Answer:
    envelope = studies.envelope_of(arguments, study, ranking.random_number)
    figures = {"ranking": ranking_figure(picture_rows(ranking), ranking.target)}
    if ranking.measurements is not None and ranking.learning.measurements is not None:
        now = float(ranking.learning.measurements.now.value)
        figures["measurements"] = measurements_figure(ranking.measurements, now, ranking.target)
    files: dict[str, str | bytes] = {"ranking.csv": ranking_csv(ranking)}
    pictures = {}
    for name, figure in figures.items():
        pictures[name], drawn = images(figure, arguments.formats)
        files |= {f"{name}.{form}": content for form, content in drawn.items()}
    content = {**envelope, **ranking_content(ranking, plain_words(ranking, study))}
    return Answer(content, ranking_report(ranking, study, envelope, pictures), files)
