"""An answer: printed as text or JSON, and written to its results folder."""

import argparse
import contextlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from explorer.cli.terminal import Terminal
from explorer.page.document import Section
from explorer.page.html import page
from explorer.page.text import text_of
from explorer.store import ResultsError, ResultsFolder, json_text, results_folder
from explorer.studyfile import Study

RESULTS: Final = "results"


@dataclass(frozen=True)
class Answer:
    """What a command found."""

    content: Mapping[str, Any]  #: Of the JSON, envelope first
    sections: tuple[Section, ...]  #: Of the printed text and the page
    files: Mapping[str, str | bytes] = field(default_factory=dict)  #: Further files by name
    failure: str | None = None  #: Why no answer can be given, and what to change; None where one is given
    #: Names of files that stand in the results folder already, too large to be handed over.
    written: tuple[str, ...] = ()


def give(
    arguments: argparse.Namespace,
    terminal: Terminal,
    study: Study,
    make: Callable[[], Answer],
    *,
    name: str | None = None,
) -> int:
    """Make an answer, print it, write it; return the exit code."""
    return give_in_folder(arguments, terminal, study, lambda _: make(), name=name)


def give_in_folder(
    arguments: argparse.Namespace,
    terminal: Terminal,
    study: Study,
    make: Callable[[ResultsFolder], Answer],
    *,
    name: str | None = None,
) -> int:
    """Make an answer that needs to know its results folder, print it, write it; return the exit code."""
    wanted = _place(arguments, study, name)
    with contextlib.ExitStack() as held:
        try:
            folder = held.enter_context(results_folder(wanted, keep=arguments.keep))
        except OSError as error:
            raise ResultsError(
                f"results can't be written to {wanted} ({error.strerror}): give --out a folder that can be written"
            ) from error
        for note in folder.notes:
            terminal.complain(note)
        answer = make(folder)
        if arguments.json:
            terminal.out(json_text(answer.content, ascii_only=not terminal.shows_unicode))
        else:
            terminal.out(text_of(section for section in answer.sections if section.audience == "everyone"))
        folder.write("summary.json", json_text(answer.content))
        folder.write("report.html", page(answer.sections))
        for name, content in answer.files.items():
            folder.write(name, content)
    if not arguments.json:
        names = ", ".join(["report.html", "summary.json", *answer.files, *answer.written])
        terminal.out(f"\nIn {_shown(folder.final)}: {names}\n")
    if answer.failure is not None:
        terminal.complain(answer.failure)
        return 1
    return 0


def _place(arguments: argparse.Namespace, study: Study, name: str | None) -> Path:
    if arguments.out is not None:
        return Path(arguments.out)
    stem = study.path.stem if study.path is not None else "study"
    return Path(RESULTS) / (name or stem) / str(arguments.command)


def _shown(path: Path) -> str:
    """A path as short as it can be said from here."""
    with contextlib.suppress(ValueError):
        return str(path.relative_to(Path.cwd()))
    return str(path)
