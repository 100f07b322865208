"""The one command behind every question: asks it, prints and writes the answer, says what went wrong."""

import argparse
import contextlib
import warnings
from collections.abc import Iterator, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from explorer.cli.failures import DISK_FULL
from explorer.cli.terminal import Terminal
from explorer.page.answer import Answer, Question, Work
from explorer.page.brief import WIDTH
from explorer.page.html import page
from explorer.page.pictures.style import images
from explorer.page.text import text_of
from explorer.page.usage import SAMPLE_FORMAT
from explorer.page.words import counted, listed
from explorer.physics.kept_code import CacheWarning, has_code
from explorer.store import ResultsError, ResultsFolder, json_text, results_folder
from explorer.studyfile import Study

if TYPE_CHECKING:  # an answer without tables needn't wait for it
    import pandas as pd

RESULTS: Final = "results"
_LONGEST: Final = 80  #: name of a results folder [characters]


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    """Ask a question, print and write its answer; return the exit code."""
    question: Question = import_module(f"explorer.questions.{arguments.command}.answer").ask(arguments)
    works: list[Work] = []
    try:
        with question.at(), _said(terminal):
            return _answered(arguments, terminal, question, works)
    except KeyboardInterrupt:
        terminal.complain(f"interrupted; {_kept(works) or 'nothing was written'}")
        return 130
    except OSError as error:
        kept = _kept(works)
        if kept is None or error.errno not in DISK_FULL:
            raise
        terminal.complain(f"the disk is full; {kept}, once there is room")
        return 1
    except Exception as error:
        if not type(error).__module__.startswith("distributed"):
            raise
        terminal.complain(
            f"the cluster failed ({type(error).__name__}); {_kept(works) or 'nothing was written'}"
        )
        return 1


@contextlib.contextmanager
def _said(terminal: Terminal) -> Iterator[None]:
    """Let the terminal say what the cache warns of; other warnings are shown as ever."""
    with warnings.catch_warnings():
        shown = warnings.showwarning

        def show(message: Warning | str, category: type[Warning], *rest: Any, **more: Any) -> None:
            if issubclass(category, CacheWarning):
                terminal.complain(str(message))
            else:
                shown(message, category, *rest, **more)

        warnings.simplefilter("always", CacheWarning)
        warnings.showwarning = show
        yield


def _kept(works: Sequence[Work]) -> str | None:
    return works[0].kept() if works else None


def _answered(
    arguments: argparse.Namespace, terminal: Terminal, question: Question, works: list[Work]
) -> int:
    wanted = _place(arguments, question.studies)
    with contextlib.ExitStack() as held:
        try:
            folder = held.enter_context(results_folder(wanted, keep=arguments.keep))
        except OSError as error:
            raise ResultsError(
                f"results can't be written to {wanted} ({error.strerror}): give --out a folder that can be written"
            ) from error
        for note in folder.notes:
            terminal.complain(note)
        if not has_code():
            terminal.note("First run after installation: the model is compiled, about half a minute, once.")
        terminal.note("Gas tables and operating points ...")
        work = Work(
            arguments.command,
            question.studies,
            folder,
            arguments.formats,
            note=terminal.note,
            complain=terminal.complain,
            progress=terminal.progress,
        )
        works.append(work)
        answer = question.answer(work)
        content = {**answer.envelope, **answer.data}
        everything = tuple(section for section in answer.sections if section.audience == "everyone")
        if arguments.json:
            terminal.out(json_text(content, ascii_only=not terminal.shows_unicode))
        elif arguments.all or not answer.brief:
            terminal.out(text_of(everything))
        else:
            terminal.out(text_of(answer.brief, terminal.width))
        folder.write("summary.json", json_text(content))
        folder.write("answer.txt", text_of(answer.brief or everything, WIDTH))
        written = _write(folder, answer, arguments.formats)
    if not arguments.json:
        names = ["report.html", "answer.txt", "summary.json", *written, *answer.written]
        where = _shown(folder.final)
        words = ", ".join(names) if arguments.all else _files(names)
        terminal.out(f"\nIn {where}: {words}\n")
    if answer.failure is not None:
        terminal.complain(answer.failure)
        return 1
    return 0


def _files(names: Sequence[str]) -> str:
    """The files in short: the page by name, the rest by how many there are."""
    tables = sum(name.endswith((".csv", ".parquet")) for name in names)
    studies = [name for name in names if name.endswith(".toml")]
    drawn = len({name.rpartition(".")[0] for name in names if name.endswith((".svg", ".png", ".pdf"))})
    kinds = (counted(tables, "table") if tables else "", counted(drawn, "picture") if drawn else "")
    return listed(["report.html (all of it)", "answer.txt", "summary.json", *studies, *filter(None, kinds)])


def _write(folder: ResultsFolder, answer: Answer, formats: Sequence[str]) -> list[str]:
    """Write the page, tables and studies, pictures; the names of all but the page."""
    forms = [form for form in formats if form != SAMPLE_FORMAT]
    drawn: dict[str, str] = {}
    pictures: dict[str, bytes] = {}
    for picture in answer.pictures:
        drawn[picture.name], files = images(picture.figure, forms)
        pictures |= {f"{picture.name}.{form}": content for form, content in files.items()}
    folder.write("report.html", page(answer.sections, drawn, answer.envelope["command"], answer.brief))
    for name, content in {**answer.files, **pictures}.items():
        folder.write(name, content if isinstance(content, str | bytes) else csv_text(content))
    return [*answer.files, *pictures]


def csv_text(table: "pd.DataFrame") -> str:
    """Return a table as CSV."""
    return str(table.to_csv(index=False, float_format="%.12g", lineterminator="\n"))


def _place(arguments: argparse.Namespace, studies: Sequence[Study]) -> Path:
    """Where results go: named by all studies, or by the first one where that is too long."""
    if arguments.out is not None:
        return Path(arguments.out)
    stated = len(getattr(arguments, "studies", studies))  # designs made by changes have no files of their own
    stems = [study.path.stem if study.path is not None else "study" for study in studies[:stated]]
    whole = "-".join(stems)
    name = whole if len(whole) <= _LONGEST else f"{stems[0][:_LONGEST]}-and-{len(stems) - 1}-more"
    return Path(RESULTS) / name / str(arguments.command)


def _shown(path: Path) -> str:
    """A path as short as it can be said from here."""
    with contextlib.suppress(ValueError):
        return str(path.relative_to(Path.cwd()))
    return str(path)
