"""What a question is asked of, what its entry works with, and what it gives."""

import contextlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from explorer import run
from explorer.page.document import Paragraph, Picture, Section
from explorer.page.usage import UsageError, assigned
from explorer.store import ResultsFolder, envelope
from explorer.studyfile import Study, StudyError, read_study, template_values_left

if TYPE_CHECKING:  # an answer without tables needn't wait for it
    import pandas as pd

#: Fewest points from which an interval can be told.
FEWEST: Final = 256

#: Values named that are still the template's, where little room is.
_FEW_NAMED: Final = 3

Made = TypeVar("Made")

#: What was asked for on the command line, by the options' names.
Options = Any

#: What a JSON begins with, of a random number and warnings.
Envelope = Callable[[int, Sequence[str]], dict[str, Any]]


@dataclass(frozen=True)
class Answer:
    """What a question gives."""

    envelope: Mapping[str, Any]  #: what its JSON begins with
    sections: tuple[Section, ...]  #: of the printed text and the page, pictures among their parts
    data: Mapping[str, Any]  #: of its JSON, behind the envelope
    files: "Mapping[str, pd.DataFrame | str]" = field(
        default_factory=dict
    )  #: tables and studies by file name
    brief: tuple[Section, ...] = ()  #: what a terminal shows of it; all sections where it is left out
    failure: str | None = None  #: why no answer can be given, and what to change
    written: tuple[
        str, ...
    ] = ()  #: files that stand in the results folder already, too large to be handed over

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """The pictures among the sections, in their order."""
        return tuple(part for section in self.sections for part in section.parts if isinstance(part, Picture))


@dataclass
class Work:
    """What a question's entry works with: where results go, and whoever watches."""

    command: str
    studies: tuple[Study, ...]
    folder: ResultsFolder  #: held while the work goes on
    formats: tuple[str, ...]  #: of files asked for
    note: Callable[[str], None]  #: says what goes on, to somebody who watches
    complain: Callable[[str], None]
    progress: Callable[[str], run.Progress | None]  #: of what is being done
    kept: Callable[[], str | None] = lambda: None  #: what is left for --resume, where there is something

    def envelope(self, random_number: int, warnings: Sequence[str] = ()) -> dict[str, Any]:
        """What the answer's JSON begins with; of several studies names and hashes are lists."""
        names = ["" if study.path is None else study.path.name for study in self.studies]
        hashes = [study.study_hash for study in self.studies]
        several = len(self.studies) > 1
        return envelope(
            command=self.command,
            study=names if several else names[0],
            study_hash=hashes if several else hashes[0],
            random_number=random_number,
            warnings=warnings,
        )

    def beside(self, what: str, made: Callable[[Path], Made], *, resume: bool) -> Made:
        """What lies beside the results while the work goes on, and is dropped once they stand."""
        path = self.folder.final.with_name(f"{self.folder.final.name}.{what}")
        dropped = path.exists() and not resume
        found = made(path)
        self.folder.spent.append(path)
        if dropped:
            self.complain(f"the {what} of an unfinished run in {path} was dropped: --resume was not given")
        return found


@dataclass(frozen=True)
class Question:
    """Something that can be asked: what can't be done was refused before this was made."""

    studies: tuple[Study, ...]  #: that it is about; their names are the results'
    answer: Callable[[Work], Answer]
    at: Callable[[], contextlib.AbstractContextManager[None]] = (
        contextlib.nullcontext
    )  #: where the work is done


def study_of(options: Options, path: Path | None = None) -> Study:
    """The study that a question is about, values replaced as `--set` says."""
    return read_study(options.study if path is None else path, _replacements(options.replacements))


def before_setting(options: Options) -> Study | None:
    """The study without what `--set` replaces of its inputs; None where nothing is, or it can't stand without."""
    given = _replacements(options.replacements)
    kept = {address: written for address, written in given.items() if address.startswith(("run.", "target."))}
    if len(kept) == len(given):
        return None
    with contextlib.suppress(StudyError):
        return read_study(options.study, kept)
    return None


def _replacements(given: Sequence[str]) -> dict[str, str]:
    """What `--set` replaces, "address=value" each."""
    return assigned("--set", given, example='magnet.field="0.6 T"')


def addresses_set(options: Options) -> tuple[str, ...]:
    """Return which addresses `--set` replaces."""
    return tuple(_replacements(options.replacements))


def refuse_few(samples: int) -> None:
    """Refuse a sample from which no interval can be told."""
    if samples < FEWEST:
        raise UsageError(f"--samples {samples}: too few to tell an interval from; ask for {FEWEST} or more")


def left_of_template(study: Study, *, brief: bool = False) -> tuple[Paragraph, ...]:
    """A warning where values are still the template's; in brief their number and the first few."""
    names = () if study.path is None else template_values_left(study.path.read_text(encoding="utf-8-sig"))
    if not names:
        return ()
    few = names[:_FEW_NAMED] if brief else names
    many = (
        f"{len(names)} values, {', '.join(few)} …; --all lists them"
        if len(few) < len(names)
        else ", ".join(names)
    )
    words = f"Still the template's invented values, not yours: {many}."
    return (Paragraph(words, marked=True),)
