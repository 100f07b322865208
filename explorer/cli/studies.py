"""A study from the command line, and what is said while the model starts."""

import argparse

from explorer.cli.arguments import replacements
from explorer.cli.terminal import Terminal
from explorer.physics.compiled import cache_folder
from explorer.store import envelope
from explorer.studyfile import Study, read_study, template_values_left


def study_of(arguments: argparse.Namespace) -> Study:
    """Return the study that a command works on, values replaced as `--set` says."""
    return read_study(arguments.study, replacements(arguments.replacements))


def left_of_template(study: Study) -> tuple[str, ...]:
    """Return the addresses whose values are still the template's."""
    if study.path is None:
        return ()
    return template_values_left(study.path.read_text(encoding="utf-8-sig"))


def envelope_of(
    arguments: argparse.Namespace, study: Study, random_number: int, warnings: tuple[str, ...] = ()
) -> dict[str, object]:
    """Return what the command's JSON begins with."""
    return envelope(
        command=arguments.command,
        study=arguments.study.name,
        study_hash=study.study_hash,
        random_number=random_number,
        warnings=warnings,
    )


def say_first_run(terminal: Terminal) -> None:
    """Say that the model has to be compiled, where it has."""
    if not any((cache_folder() / "compiled").glob("*/*/*.nbc")):
        terminal.note("First run after installation: the model is compiled, about half a minute, once.")
