"""`mhdstage propagate STUDY`: how sure the prediction is, for one future firing."""

import contextlib
import logging
import shutil
import warnings
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer import run as chunks
from explorer.page.answer import (
    Answer,
    Envelope,
    Options,
    Question,
    Work,
    before_setting,
    left_of_template,
    refuse_few,
    study_of,
)
from explorer.page.document import Paragraph
from explorer.page.events import events_data
from explorer.page.figures import with_standard_errors
from explorer.page.usage import SAMPLE_FORMAT, UsageError
from explorer.questions.propagate.before import before_and_after, before_data
from explorer.questions.propagate.brief import short_answer
from explorer.questions.propagate.figures import Figures, growing_pieces
from explorer.questions.propagate.propagation import Propagation, propagate
from explorer.questions.propagate.report import Pieces, report
from explorer.questions.propagate.samples import Sample, sample_beside
from explorer.questions.propagate.words import digits_words, failure_words, plain_words
from explorer.sampling import Plan
from explorer.store import SampleFiles, parquet_is_there, write_parquet
from explorer.study.outcomes import NoNumbers
from explorer.study.problem import Problem
from explorer.studyfile import Study, StudyError

_PARQUET: Final = f"samples.{SAMPLE_FORMAT}"


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    _refuse(options)
    study = study_of(options)
    quantities = _quantities(options, study)
    warnings.filterwarnings(
        "ignore", ".*tasks (have been|which were)", UserWarning
    )  # of joblib, when broken off
    as_written = before_setting(options)

    def answer(work: Work) -> Answer:
        found, told_of_it = _answer(options, work, study, quantities)
        return told_of_it if as_written is None else _beside(options, as_written, found, told_of_it)

    return Question((study,), answer, at=lambda: _at(options))


def _beside(options: Options, as_written: Study, found: Propagation, answer: Answer) -> Answer:
    """The answer with what the study predicted before values were set; without, where that can't be told."""
    try:
        before = propagate(
            as_written,
            rng=found.random_number,
            samples=found.samples,
            quantities=tuple(found.figures),
            jobs=options.jobs if options.backend is None else -1,
        )
    except (StudyError, NoNumbers):
        return answer
    first, words, *rest = answer.sections
    beside = before_and_after(before, found)
    verdict, *others = answer.brief
    in_short = (verdict, beside, *others)
    sections = (first, words, beside, *rest)
    return replace(
        answer, sections=sections, brief=in_short, data={**answer.data, "before": before_data(before)}
    )


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


def _answer(
    options: Options, work: Work, study: Study, quantities: tuple[str, ...]
) -> tuple[Propagation, Answer]:
    made: list[Sample] = []

    def sink(problem: Problem, plan: Plan) -> SampleFiles:
        made.append(sample_beside(options, work, study, problem, plan))
        return made[-1].files

    try:
        found = propagate(
            study,
            rng=options.random_number,
            samples=options.samples,
            digits=options.digits,
            quantities=quantities,
            jobs=options.jobs if options.backend is None else -1,  # as many as the cluster has
            sink=sink,
            progress=None if options.digits else work.progress("operating points"),
        )
    except NoNumbers:
        for spent in work.folder.spent:  # it is complete, and there is no answer in it
            shutil.rmtree(spent, ignore_errors=True)
        raise
    answer = told(
        found,
        study,
        work.envelope,
        asked=None if options.digits else options.samples,
        shortest=options.shortest,
        pieces=growing_pieces(made[0].problem, made[0].plan, made[0].files) if made else {},
        left_of_template=left_of_template(study),
    )
    if not made or SAMPLE_FORMAT not in work.formats:
        return found, answer
    facts = {key: str(answer.envelope[key]) for key in ("format", "study", "study_hash", "version")}
    write_parquet(work.folder.partial / _PARQUET, made[0].tables(), facts)
    return found, replace(answer, written=(_PARQUET,))


def told(
    found: Propagation,
    study: Study,
    envelope: Envelope,
    *,
    asked: int | None = None,
    shortest: bool = False,
    pieces: Pieces | None = None,
    left_of_template: Sequence[Paragraph] = (),
) -> Answer:
    """What is said of a propagation.

    `asked` is the number of points that was asked for, `pieces` are those of its sample where it was kept.
    """
    failures = failure_words(found)
    unreached = None if found.digits is None or found.digits.reached else digits_words(found)
    head = envelope(found.random_number, [said for said in (failures, unreached) if said is not None])
    sections = report(
        found,
        study,
        head,
        asked=asked,
        shortest=shortest,
        pieces=pieces or {},
        left_of_template=left_of_template,
    )
    return Answer(
        head,
        tuple(sections),
        _data(found, study, shortest),
        {"quantities.csv": _rows(found)},
        brief=short_answer(found, study),
    )


def _data(found: Propagation, study: Study, shortest: bool) -> dict[str, Any]:
    """What the JSON holds behind its envelope."""
    chance, target, digits, mixture = found.chance_met, study.target, found.digits, found.mixture
    stated = {name: study.model_error.of(name) for name in found.figures}
    return {
        "quantities": _figures(found.figures, shortest),
        "points": dict(found.points),
        "target": {
            "quantity": target.quantity,
            "at_least": target.at_least,
            "at_most": target.at_most,
            "chance_wanted": target.chance if target.has_requirement else None,
            "chance_met": None if chance is None else float(chance),
            "standard_error": None if chance is None else chance.error,
        },
        "first_order": {
            name: {
                "value": law.value,
                "standard_uncertainty": law.standard_uncertainty,
                "interval_95": [law.low, law.high],
                "verdict": law.verdict,
                "tolerance": law.tolerance,
                "contributions": dict(law.contributions),
            }
            for name, law in found.first_order.laws.items()
        },
        **events_data(found.events),
        "statuses": {name: status.row() for name, status in found.statuses.items()},
        "mixture": None
        if mixture is None
        else {
            "contact": float(mixture.contact),
            "standard_error": mixture.contact.error,
            "given_contact": _figures(mixture.figures, shortest),
        },
        "model_error": {
            name: {"relative": own.relative, "origin": own.origin} for name, own in stated.items()
        },
        "digits": None if digits is None else {**vars(digits), "tolerances": dict(digits.tolerances)},
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(plain_words(found, study)),
    }


def _figures(found: Mapping[str, Figures], shortest: bool) -> dict[str, dict[str, Any]]:
    return {
        name: {
            "unit": figures.mean.unit,
            **with_standard_errors(
                {
                    "mean": figures.mean,
                    "median": figures.median,
                    "standard_uncertainty": figures.standard_uncertainty,
                    "unknown": figures.unknown,
                    "scatter": figures.scatter,
                    "interval_95": (figures.low, figures.high),
                    **(
                        {"shortest_interval_95": (figures.shortest_low, figures.shortest_high)}
                        if shortest
                        else {}
                    ),
                    "mean_over_firings_interval_95": (figures.mean_low, figures.mean_high),
                }
            ),
        }
        for name, figures in found.items()
    }


def _rows(found: Propagation) -> pd.DataFrame:
    """All figures as CSV, a row a quantity, SI with the unit beside.

    Where contact is not sure a second set of rows holds the firings that make contact.
    """
    every = {"all": found.figures, "with contact": found.mixture.figures if found.mixture else {}}
    return pd.DataFrame(
        {"quantity": name, "firings": firings, **figures.row()}
        for firings, table in every.items()
        for name, figures in table.items()
    )
