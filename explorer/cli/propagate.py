"""`mhdstage propagate STUDY`: how sure the prediction is, for one future firing."""

import argparse
import contextlib
import logging
import shutil
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from explorer import registry
from explorer import run as chunks
from explorer.cli import studies
from explorer.cli.answer import Answer, give_in_folder
from explorer.cli.arguments import SAMPLES_FORMAT, UsageError
from explorer.cli.failures import DISK_FULL
from explorer.cli.terminal import Terminal
from explorer.page.style import images
from explorer.questions.propagate.content import propagation_content, propagation_csv
from explorer.questions.propagate.pictures import propagation_figure
from explorer.questions.propagate.propagation import Propagation, propagate
from explorer.questions.propagate.repeats import repeats
from explorer.questions.propagate.report import propagation_report
from explorer.questions.propagate.samples import sample_tables
from explorer.questions.propagate.words import digits_words, failure_words, plain_words, rows_of
from explorer.sampling import Plan
from explorer.store import (
    ResultsError,
    ResultsFolder,
    SampleFiles,
    parquet_is_there,
    sample_bytes,
    sample_files,
    write_parquet,
)
from explorer.store.provenance import commit, version
from explorer.study.outcomes import NoNumbers
from explorer.study.problem import Problem
from explorer.studyfile import Study

#: Fewest points from which an interval can be told.
FEWEST: Final = 256

_PARQUET: Final = f"samples.{SAMPLES_FORMAT}"


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    _refuse(arguments)
    study = studies.study_of(arguments)
    quantities = _quantities(arguments, study)
    place = _Place(arguments, terminal, study)
    warnings.filterwarnings(
        "ignore", ".*tasks (have been|which were)", UserWarning
    )  # of joblib, when broken off
    try:
        with _where(arguments):
            return give_in_folder(
                arguments, terminal, study, lambda folder: _answer(place, folder, quantities)
            )
    except KeyboardInterrupt:
        terminal.complain(f"interrupted; {place.kept()}")
        return 130
    except OSError as error:
        if place.files is None or error.errno not in DISK_FULL:
            raise
        terminal.complain(f"the disk is full; {place.kept()}, once there is room")
        return 1
    except Exception as error:
        if not type(error).__module__.startswith("distributed"):
            raise
        terminal.complain(f"the cluster failed ({type(error).__name__}); {place.kept()}")
        return 1


@dataclass
class _Place:
    """Where the sample lies while it is made, beside the results; kept until they stand."""

    arguments: argparse.Namespace
    terminal: Terminal
    study: Study
    folder: ResultsFolder | None = None
    problem: Problem | None = None
    plan: Plan | None = None
    files: SampleFiles | None = None

    def __call__(self, problem: Problem, plan: Plan) -> SampleFiles:
        """Room for a sample, told before it is filled; or the one that a run left that was broken off."""
        if self.folder is None:
            raise ValueError("the results folder comes first")
        beside = self.folder.final.with_name(f"{self.folder.final.name}.sample")
        resume = self.arguments.resume
        dropped = beside.exists() and not resume
        if not resume:
            self._refuse_too_large(beside, problem, plan)
        header = {
            "study_hash": self.study.study_hash,
            "random_number": plan.number,
            "version of the program": f"{version()} {commit()}",
        }
        files = sample_files(
            beside,
            header,
            points=plan.size,
            quantities=problem.quantities,
            chunk_points=plan.chunk_size,
            resume=resume,
        )
        self.problem, self.plan, self.files = problem, plan, files
        self.folder.spent.append(beside)
        if dropped:
            self.terminal.complain(
                f"the sample of an unfinished run in {beside} was dropped: --resume was not given"
            )
        if resume:
            self.terminal.note(f"Going on with {beside}, {self._done()} % of which is there.")
        return files

    def _refuse_too_large(self, beside: Path, problem: Problem, plan: Plan) -> None:
        needed = sample_bytes(plan.size, len(problem.quantities))
        if SAMPLES_FORMAT in self.arguments.formats:
            needed += sample_bytes(plan.size, len(problem.quantities) + problem.dimension)
        self.terminal.note(f"{plan.size} points: up to {_size(needed)} on disk, in {beside} while it runs.")
        free = shutil.disk_usage(beside.parent).free
        if needed > free:
            raise ResultsError(
                f"the sample needs {_size(needed)} and {_size(free)} are free in {beside.parent}: ask for fewer"
                " samples or quantities, or give --out on another disk"
            )

    def _done(self) -> int:
        if self.files is None or self.plan is None:
            return 0
        return int(100 * self.files.chunks_done() * self.plan.chunk_size / self.plan.size)

    def kept(self) -> str:
        """What is said of the sample when the run stops before its end."""
        if self.files is None:
            return "nothing was written"
        return (
            f"{self._done()} % of the sample is kept in {self.files.folder}: the same command with --resume goes on"
            " with it"
        )


def _refuse(arguments: argparse.Namespace) -> None:
    """Refuse what can't be done together, or without an extra, before anything is worked out."""
    parquet = SAMPLES_FORMAT in arguments.formats
    if arguments.digits is not None and (arguments.resume or parquet):
        what = "--resume" if arguments.resume else SAMPLES_FORMAT
        raise UsageError(f"{what} goes with --samples: a run to a number of digits keeps no sample on disk")
    if arguments.digits is None and arguments.samples < FEWEST:
        raise UsageError(
            f"--samples {arguments.samples}: too few to tell an interval from; ask for {FEWEST} or more"
        )
    if (arguments.backend is None) != (arguments.scheduler is None):
        raise UsageError("--backend dask and --scheduler ADDRESS go together")
    if parquet and not parquet_is_there():
        raise UsageError(f"--formats {SAMPLES_FORMAT} needs an extra: pip install 'mhdstage[parquet]'")


def _quantities(arguments: argparse.Namespace, study: Study) -> tuple[str, ...]:
    """The outputs asked for; one that has no value with several pairs is refused."""
    wanted: tuple[str, ...] = arguments.quantities or (study.target.quantity,)
    for address in wanted:
        quantity = registry.quantity(address)  # an unknown address is told with the nearest
        if "." not in address and quantity.per_pair and not quantity.adds and len(study.pairs) > 1:
            raise UsageError(
                f"{address} has no value for several pairs together: ask for electrodes.{study.pairs[0]}.{address}"
            )
    return wanted


@contextlib.contextmanager
def _where(arguments: argparse.Namespace) -> Iterator[None]:
    """Work on this machine, or on a cluster."""
    if arguments.backend is None:
        yield
        return
    with contextlib.ExitStack() as held:
        try:
            held.enter_context(chunks.on_cluster(arguments.scheduler))
        except ImportError:
            raise UsageError("--backend dask needs an extra: pip install 'mhdstage[cluster]'") from None
        except (OSError, ValueError) as error:
            raise UsageError(f"no scheduler answers at {arguments.scheduler} ({error})") from error
        for name in [name for name in logging.root.manager.loggerDict if name.startswith("distributed")]:
            logging.getLogger(name).setLevel(logging.CRITICAL)  # what fails is said in a sentence here
        yield


def _answer(place: _Place, folder: ResultsFolder, quantities: tuple[str, ...]) -> Answer:
    arguments, terminal, study = place.arguments, place.terminal, place.study
    place.folder = folder
    studies.say_first_run(terminal)
    digits: int | None = arguments.digits
    terminal.note("Gas table and operating points ...")
    try:
        found = propagate(
            study,
            rng=arguments.random_number,
            samples=arguments.samples,
            digits=digits,
            quantities=quantities,
            jobs=arguments.jobs if arguments.backend is None else -1,  # as many as the cluster has
            sink=place,
            progress=None if digits else terminal.progress("operating points"),
        )
    except NoNumbers:
        for spent in folder.spent:  # it is complete, and there is no answer in it
            shutil.rmtree(spent, ignore_errors=True)
        raise
    return _told(place, found, folder)


def _told(place: _Place, found: Propagation, folder: ResultsFolder) -> Answer:
    arguments, study = place.arguments, place.study
    pieces = None
    written: tuple[str, ...] = ()
    envelope = studies.envelope_of(arguments, study, found.random_number, _warnings(found))
    if place.problem and place.plan and place.files:
        pieces = repeats(place.problem, place.plan, place.files)
        if SAMPLES_FORMAT in arguments.formats:
            facts = {key: str(envelope[key]) for key in ("format", "study", "study_hash", "version")}
            tables = sample_tables(place.problem, place.plan, place.files.chunk)
            write_parquet(folder.partial / _PARQUET, tables, facts)
            written = (_PARQUET,)
    files: dict[str, str | bytes] = {"quantities.csv": propagation_csv(found)}
    pictures = {}
    forms = [form for form in arguments.formats if form != SAMPLES_FORMAT]
    for name, row in rows_of(found).items():
        if not row["standard_uncertainty"] > 0:  # the same in every firing: nothing to draw
            continue
        target = study.target
        required = target if name == target.quantity else None
        figure = propagation_figure(
            found.histogram_values[name],
            (row["low"], row["high"]),
            (row["standard_uncertainty"], row["unknown"], row["scatter"]),
            name,
            at_least=required.at_least if required else None,
            at_most=required.at_most if required else None,
        )
        pictures[name], drawn = images(figure, forms)
        files |= {f"{name}.{form}": content for form, content in drawn.items()}
    sections = propagation_report(
        found,
        study,
        envelope,
        asked=None if arguments.digits else arguments.samples,
        shortest=arguments.shortest,
        pieces=pieces,
        pictures=pictures,
        left_of_template=studies.left_of_template(study),
    )
    content = propagation_content(found, study, plain_words(found, study), shortest=arguments.shortest)
    return Answer({**envelope, **content}, sections, files, written=written)


def _warnings(found: Propagation) -> tuple[str, ...]:
    told = (
        failure_words(found),
        None if found.digits is None or found.digits.reached else digits_words(found),
    )
    return tuple(words for words in told if words is not None)


def _size(count: int) -> str:
    """A number of bytes as words."""
    for unit, of in (("GB", 1e9), ("MB", 1e6)):
        if count >= of:
            return f"{count / of:.3g} {unit}"
    return f"{count / 1e3:.3g} kB"
