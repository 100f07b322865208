"""`mhdstage compare STUDY STUDY …`: designs beside each other, and which of their differences are real."""

import argparse
from collections.abc import Sequence
from typing import Any, Final

from explorer.cli import studies
from explorer.cli.answer import Answer, give
from explorer.cli.arguments import UsageError, replacements
from explorer.cli.terminal import Terminal
from explorer.page.style import images
from explorer.questions.compare.comparison import Comparison, compare
from explorer.questions.compare.content import comparison_content, comparison_csv, differences_csv
from explorer.questions.compare.pictures import comparison_picture
from explorer.questions.compare.report import comparison_report
from explorer.questions.compare.words import missing_words, plain_words
from explorer.store import envelope
from explorer.studyfile import Study, read_study

#: Fewest points from which an interval can be told, and the longest name of a results folder.
FEWEST: Final = 256
_LONGEST: Final = 80


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    if len(arguments.studies) < 2:
        raise UsageError(f"compare takes two studies or more; {arguments.studies[0]} stands alone")
    if arguments.samples < FEWEST:
        raise UsageError(
            f"--samples {arguments.samples}: too few to tell an interval from; ask for {FEWEST} or more"
        )
    replaced = replacements(arguments.replacements)
    designs = [read_study(path, replaced) for path in arguments.studies]

    def make() -> Answer:
        studies.say_first_run(terminal)
        terminal.note("Gas tables and operating points ...")
        found = compare(
            designs,
            quantities=arguments.quantities or (),
            rng=arguments.random_number,
            samples=arguments.samples,
            jobs=arguments.jobs,
            progress=terminal.progress("gas tables and operating points"),
        )
        return _answer(arguments, found)

    return give(arguments, terminal, designs[0], make, name=_folder(designs))


def _folder(designs: Sequence[Study]) -> str:
    """What the results are called: all studies' names, or the first one's where that is too long."""
    stems = [design.path.stem if design.path is not None else "study" for design in designs]
    whole = "-".join(stems)
    return whole if len(whole) <= _LONGEST else f"{stems[0][:_LONGEST]}-and-{len(stems) - 1}-more"


def _answer(arguments: argparse.Namespace, found: Comparison) -> Answer:
    missing = missing_words(found)
    head = _envelope(arguments, found, () if missing is None else (missing,))
    files: dict[str, str | bytes] = {
        "comparison.csv": comparison_csv(found),
        "differences.csv": differences_csv(found),
    }
    picture = None
    figure = comparison_picture(found)
    if figure is not None:
        picture, drawn = images(figure, arguments.formats)
        files |= {f"comparison.{form}": content for form, content in drawn.items()}
    sections = comparison_report(found, head, picture=picture, asked=arguments.samples)
    return Answer({**head, **comparison_content(found, plain_words(found))}, sections, files)


def _envelope(arguments: argparse.Namespace, found: Comparison, warnings: Sequence[str]) -> dict[str, Any]:
    """What the JSON begins with: of several studies their names and hashes as lists."""
    head = envelope(
        command=arguments.command,
        study="",
        study_hash="",
        random_number=found.random_number,
        warnings=warnings,
    )
    return {
        **head,
        "study": [path.name for path in arguments.studies],
        "study_hash": [study.study_hash for study in found.studies],
    }
