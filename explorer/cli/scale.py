"""`mhdstage scale STUDY --toward STUDY`: the way to a larger design, where its regime changes, what to fire on it."""

import argparse
from pathlib import Path
from typing import Any, Final

from explorer.cli import studies
from explorer.cli.answer import Answer, give
from explorer.cli.arguments import UsageError, replacements
from explorer.cli.terminal import Terminal
from explorer.page.style import images
from explorer.questions.scale.content import ladder_csv, path_csv, scaling_content
from explorer.questions.scale.files import point_studies
from explorer.questions.scale.path.scaling import Scaling, scale
from explorer.questions.scale.pictures import scaling_pictures
from explorer.questions.scale.report import scaling_report
from explorer.questions.scale.words import plain_words
from explorer.store import envelope
from explorer.studyfile import read_study

#: Fewest points from which an interval can be told.
FEWEST: Final = 256


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    if arguments.samples < FEWEST:
        raise UsageError(
            f"--samples {arguments.samples}: too few to tell an interval from; ask for {FEWEST} or more"
        )
    replaced = replacements(arguments.replacements)
    first, second = (read_study(path, replaced) for path in (arguments.study, arguments.toward))

    def make() -> Answer:
        studies.say_first_run(terminal)
        terminal.note("Gas tables and operating points ...")
        found = scale(
            first,
            second,
            points=arguments.points,
            cost_exponent=arguments.cost_exponent,
            rng=arguments.random_number,
            samples=arguments.samples,
            jobs=arguments.jobs,
            progress=terminal.progress("gas tables and operating points"),
        )
        return _answer(arguments, found)

    return give(arguments, terminal, first, make, name=_folder(arguments.study, arguments.toward))


def _folder(first: Path, second: Path) -> str:
    """What the results are called: both studies' names."""
    return f"{first.stem}-{second.stem}"


def _answer(arguments: argparse.Namespace, found: Scaling) -> Answer:
    head = _envelope(arguments, found)
    files: dict[str, str | bytes] = {
        "path.csv": path_csv(found),
        "ladder.csv": ladder_csv(found),
        **point_studies(found, head),
    }
    pictures = {}
    for name, figure in scaling_pictures(found).items():
        pictures[name], drawn = images(figure, arguments.formats)
        files |= {f"{name}.{form}": content for form, content in drawn.items()}
    sections = scaling_report(found, head, pictures, asked=arguments.samples)
    return Answer({**head, **scaling_content(found, plain_words(found))}, sections, files)


def _envelope(arguments: argparse.Namespace, found: Scaling) -> dict[str, Any]:
    """What the JSON begins with: of both studies their names and hashes as lists."""
    head = envelope(
        command=arguments.command,
        study="",
        study_hash="",
        random_number=found.random_number,
        warnings=tuple(f"step {number} is left out: {why}" for number, why in found.path.left_out.items()),
    )
    return {
        **head,
        "study": [arguments.study.name, arguments.toward.name],
        "study_hash": [found.path.first.study_hash, found.path.second.study_hash],
    }
