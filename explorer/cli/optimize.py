"""`mhdstage optimize STUDY`: the design that makes a wish largest or smallest within the limits."""

import argparse
from collections.abc import Mapping
from dataclasses import dataclass

from matplotlib.figure import Figure

from explorer.cli import studies
from explorer.cli.answer import Answer, give_in_folder
from explorer.cli.failures import DISK_FULL
from explorer.cli.terminal import Terminal
from explorer.page.style import images
from explorer.page.words import counted
from explorer.questions.optimize.content import optimisation_content
from explorer.questions.optimize.files import designs_csv, studies_of, trade_off_csv
from explorer.questions.optimize.pictures import optimisation_pictures
from explorer.questions.optimize.report import optimisation_report
from explorer.questions.optimize.search.optimisation import optimize
from explorer.questions.optimize.search.proposal import Proposal
from explorer.questions.optimize.words import failure_words, plain_words, warnings_of
from explorer.store import ResultsFolder, SearchFile, search_file
from explorer.store.provenance import commit, version
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Study


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    study = studies.study_of(arguments)
    place = _Place(arguments, terminal, study)
    try:
        return give_in_folder(arguments, terminal, study, lambda folder: _answer(place, folder))
    except KeyboardInterrupt:
        terminal.complain(f"interrupted; {place.kept()}")
        return 130
    except OSError as error:
        if place.file is None or error.errno not in DISK_FULL:
            raise
        terminal.complain(f"the disk is full; {place.kept()}, once there is room")
        return 1


@dataclass
class _Place:
    """Where the designs tried lie while the search goes on, beside the results; kept until they stand."""

    arguments: argparse.Namespace
    terminal: Terminal
    study: Study
    file: SearchFile | None = None

    def within(self, folder: ResultsFolder) -> SearchFile:
        """Room for what is tried, or what a run left that was broken off."""
        beside = folder.final.with_name(f"{folder.final.name}.search")
        resume = self.arguments.resume
        dropped = beside.exists() and not resume
        number = self.arguments.random_number
        header = {
            "study_hash": self.study.study_hash,
            "random_number": self.study.run.random_number if number is None else number,
            "the budget": self.arguments.budget,
            "the kind of search (--central)": self.arguments.central,
            "version of the program": f"{version()} {commit()}",
        }
        self.file = search_file(beside, header, resume=resume)
        folder.spent.append(beside)
        if dropped:
            self.terminal.complain(
                f"the search of an unfinished run in {beside} was dropped: --resume was not given"
            )
        if resume:
            self.terminal.note(f"Going on with {beside}, which holds {self._assessed()}.")
        return self.file

    def _assessed(self) -> str:
        return counted(0 if self.file is None else self.file.count, "assessed design")

    def kept(self) -> str:
        """What is said of the search when the run stops before its end."""
        if self.file is None or not self.file.count:
            return "nothing was written"
        verb = "is" if self.file.count == 1 else "are"
        return f"{self._assessed()} {verb} kept in {self.file.path}: the same command with --resume goes on with it"


def _answer(place: _Place, folder: ResultsFolder) -> Answer:
    arguments, terminal, study = place.arguments, place.terminal, place.study
    file = place.within(folder)
    studies.say_first_run(terminal)
    terminal.note("Gas table and designs ...")
    try:
        found = optimize(
            study,
            rng=arguments.random_number,
            budget=arguments.budget,
            central=arguments.central,
            jobs=arguments.jobs,
            search_file=file,
            progress=terminal.progress,
        )
    except NoNumbers:  # and going on would find none
        file.path.unlink(missing_ok=True)
        raise
    finally:
        if not file.count:  # nothing to go on with
            file.path.unlink(missing_ok=True)
    return _told(arguments, found, study)


def _told(arguments: argparse.Namespace, found: Proposal, study: Study) -> Answer:
    envelope = studies.envelope_of(arguments, study, found.search.random_number, warnings_of(found))
    files: dict[str, str | bytes] = {**studies_of(found, envelope), "designs.csv": designs_csv(found)}
    if found.trade_off:
        files["trade_off.csv"] = trade_off_csv(found)
    elements, drawn = _drawn(arguments, optimisation_pictures(found))
    sections = optimisation_report(
        found, study, envelope, elements, left_of_template=studies.left_of_template(study)
    )
    content = optimisation_content(found, study, plain_words(found, study))
    return Answer({**envelope, **content}, sections, {**files, **drawn}, failure=failure_words(found))


def _drawn(
    arguments: argparse.Namespace, figures: Mapping[str, Figure]
) -> tuple[dict[str, str], dict[str, bytes]]:
    """Pictures as elements of the page by name, and as files."""
    elements: dict[str, str] = {}
    files: dict[str, bytes] = {}
    for name, figure in figures.items():
        elements[name], drawn = images(figure, arguments.formats)
        files |= {f"{name}.{form}": content for form, content in drawn.items()}
    return elements, files
