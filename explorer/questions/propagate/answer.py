"""`mhdstage propagate STUDY`: how sure the prediction is, for one future firing."""

import contextlib
import logging
import shutil
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from explorer import registry
from explorer import run as chunks
from explorer.page.answer import (
    SAMPLE_FORMAT,
    Answer,
    Options,
    Question,
    Work,
    left_of_template,
    refuse_few,
    study_of,
)
from explorer.page.usage import UsageError
from explorer.questions.propagate.content import propagation_content, propagation_rows
from explorer.questions.propagate.pictures import propagation_pictures
from explorer.questions.propagate.propagation import Propagation, propagate
from explorer.questions.propagate.repeats import repeats
from explorer.questions.propagate.report import propagation_report
from explorer.questions.propagate.samples import sample_tables
from explorer.questions.propagate.words import digits_words, failure_words, plain_words
from explorer.sampling import Plan
from explorer.store import (
    ResultsError,
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

_PARQUET: Final = f"samples.{SAMPLE_FORMAT}"


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    _refuse(options)
    study = study_of(options)
    quantities = _quantities(options, study)
    warnings.filterwarnings(
        "ignore", ".*tasks (have been|which were)", UserWarning
    )  # of joblib, when broken off
    return Question((study,), lambda work: _answer(options, work, study, quantities), at=lambda: _at(options))


def _refuse(options: Options) -> None:
    """Refuse what can't be done together, or without an extra, before anything is worked out."""
    parquet = SAMPLE_FORMAT in options.formats
    if options.digits is not None and (options.resume or parquet):
        what = "--resume" if options.resume else SAMPLE_FORMAT
        raise UsageError(f"{what} goes with --samples: a run to a number of digits keeps no sample on disk")
    if options.digits is None:
        refuse_few(options.samples)
    if (options.backend is None) != (options.scheduler is None):
        raise UsageError("--backend dask and --scheduler ADDRESS go together")
    if parquet and not parquet_is_there():
        raise UsageError(f"--formats {SAMPLE_FORMAT} needs an extra: pip install 'mhdstage[parquet]'")


def _quantities(options: Options, study: Study) -> tuple[str, ...]:
    """The outputs asked for; one that has no value with several pairs is refused."""
    wanted: tuple[str, ...] = options.quantities or (study.target.quantity,)
    for address in wanted:
        quantity = registry.quantity(address)  # an unknown address is told with the nearest
        if "." not in address and quantity.per_pair and not quantity.adds and len(study.pairs) > 1:
            raise UsageError(
                f"{address} has no value for several pairs together: ask for electrodes.{study.pairs[0]}.{address}"
            )
    return wanted


@contextlib.contextmanager
def _at(options: Options) -> Iterator[None]:
    """Work on this machine, or on a cluster."""
    if options.backend is None:
        yield
        return
    with contextlib.ExitStack() as held:
        try:
            held.enter_context(chunks.on_cluster(options.scheduler))
        except ImportError:
            raise UsageError("--backend dask needs an extra: pip install 'mhdstage[cluster]'") from None
        except (OSError, ValueError) as error:
            raise UsageError(f"no scheduler answers at {options.scheduler} ({error})") from error
        for name in [name for name in logging.root.manager.loggerDict if name.startswith("distributed")]:
            logging.getLogger(name).setLevel(logging.CRITICAL)  # what fails is said in a sentence
        yield


@dataclass
class _Sample:
    """The sample while it is made, in files beside the results."""

    options: Options
    work: Work
    study: Study
    problem: Problem | None = None
    plan: Plan | None = None
    files: SampleFiles | None = None

    def __call__(self, problem: Problem, plan: Plan) -> SampleFiles:
        """Room for a sample, told before it is filled; or the one that a run left that was broken off."""
        resume = self.options.resume
        if not resume:
            self._refuse_too_large(problem, plan)
        header = {
            "study_hash": self.study.study_hash,
            "random_number": plan.number,
            "version of the program": f"{version()} {commit()}",
        }
        files = self.work.beside(
            "sample",
            lambda path: sample_files(
                path,
                header,
                points=plan.size,
                quantities=problem.quantities,
                chunk_points=plan.chunk_size,
                resume=resume,
            ),
            resume=resume,
        )
        self.problem, self.plan, self.files = problem, plan, files

        def done() -> int:
            return int(100 * files.chunks_done() * plan.chunk_size / plan.size)

        self.work.kept = lambda: (
            f"{done()} % of the sample is kept in {files.folder}: the same command with --resume goes on with it"
        )
        if resume:
            self.work.note(f"Going on with {files.folder}, {done()} % of which is there.")
        return files

    def _refuse_too_large(self, problem: Problem, plan: Plan) -> None:
        needed = sample_bytes(plan.size, len(problem.quantities))
        if SAMPLE_FORMAT in self.options.formats:
            needed += sample_bytes(plan.size, len(problem.quantities) + problem.dimension)
        beside = self.work.folder.final.parent
        self.work.note(f"{plan.size} points: up to {_size(needed)} on disk, in {beside} while it runs.")
        free = shutil.disk_usage(beside).free
        if needed > free:
            raise ResultsError(
                f"the sample needs {_size(needed)} and {_size(free)} are free in {beside}: ask for fewer"
                " samples or quantities, or give --out on another disk"
            )


def _size(count: int) -> str:
    """A number of bytes as words."""
    for unit, of in (("GB", 1e9), ("MB", 1e6)):
        if count >= of:
            return f"{count / of:.3g} {unit}"
    return f"{count / 1e3:.3g} kB"


def _answer(options: Options, work: Work, study: Study, quantities: tuple[str, ...]) -> Answer:
    sample = _Sample(options, work, study)
    try:
        found = propagate(
            study,
            rng=options.random_number,
            samples=options.samples,
            digits=options.digits,
            quantities=quantities,
            jobs=options.jobs if options.backend is None else -1,  # as many as the cluster has
            sink=sample,
            progress=None if options.digits else work.progress("operating points"),
        )
    except NoNumbers:
        for spent in work.folder.spent:  # it is complete, and there is no answer in it
            shutil.rmtree(spent, ignore_errors=True)
        raise
    envelope = work.envelope(found.random_number, _warnings(found))
    pieces = None
    written: tuple[str, ...] = ()
    if sample.problem and sample.plan and sample.files:
        pieces = repeats(sample.problem, sample.plan, sample.files)
        written = _sample_written(work, sample.problem, sample.plan, sample.files, envelope)
    sections = propagation_report(
        found,
        study,
        envelope,
        asked=None if options.digits else options.samples,
        shortest=options.shortest,
        pieces=pieces,
        pictures=propagation_pictures(found, study.target),
        left_of_template=left_of_template(study),
    )
    content = propagation_content(found, study, plain_words(found, study), shortest=options.shortest)
    return Answer(envelope, sections, content, {"quantities.csv": propagation_rows(found)}, written=written)


def _sample_written(
    work: Work, problem: Problem, plan: Plan, files: SampleFiles, envelope: dict[str, object]
) -> tuple[str, ...]:
    """The sample as a file of its own, where it is asked for."""
    if SAMPLE_FORMAT not in work.formats:
        return ()
    facts = {key: str(envelope[key]) for key in ("format", "study", "study_hash", "version")}
    write_parquet(work.folder.partial / _PARQUET, sample_tables(problem, plan, files.chunk), facts)
    return (_PARQUET,)


def _warnings(found: Propagation) -> tuple[str, ...]:
    told = (
        failure_words(found),
        None if found.digits is None or found.digits.reached else digits_words(found),
    )
    return tuple(words for words in told if words is not None)
