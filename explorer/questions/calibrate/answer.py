"""`mhdstage calibrate STUDY`: what firings teach of a study's unknowns, and the study as it is then."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from explorer.firings import read_rows
from explorer.page.answer import Answer, Envelope, Options, Question, Work, study_of
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Picture, for_reviewers, section
from explorer.page.inputs import how_read, notes
from explorer.page.provenance import provenance
from explorer.page.usage import UsageError
from explorer.questions.calibrate import tables, words
from explorer.questions.calibrate.brief import short_answer
from explorer.questions.calibrate.calibrate import calibrate
from explorer.questions.calibrate.pictures import picture
from explorer.questions.calibrate.posterior import NoPosterior, Posterior
from explorer.questions.calibrate.updated_study import write_updated
from explorer.study.firing.recorded import Recorded, firings_file, recorded
from explorer.studyfile import Study, StudyError

_USE: Final = "What the firings are held against: the study's own distributions, whatever was learnt before."

_BARS: Final = (
    "Hatched: what the study states, 19 times in 20; filled: after the firings, with the mean as a line."
)


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    study = study_of(options)
    number = study.run.random_number if options.random_number is None else options.random_number
    given = recorded_of(study, options.firings)
    to = updated_path(study, options.update)

    def answer(work: Work) -> Answer:
        try:
            found = calibrate(
                study,
                None,
                given.firings,
                rng=number,
                particles=options.draws,
                model_error=None if options.without_model_error else "study",
                jobs=options.jobs,
                progress=work.progress("firings"),
            )
        except NoPosterior as error:
            return refused(study, str(error), given, work.envelope(number, given.refused))
        write_updated(found, to)
        return told(found, given, work.envelope, to)

    return Question((study,), answer)


def recorded_of(study: Study, files: Sequence[Path]) -> Recorded:
    """Return the firings of all files, those that can't be used told."""
    paths = files or [firings_file(study)]
    found = recorded([row for path in paths for row in read_rows(path)], study)
    if not found.firings:
        raise UsageError(f"no firing can be used. {' '.join(found.refused)}")
    return found


def updated_path(study: Study, name: str | None) -> Path:
    """Return where the updated study is written: beside the original, which nothing overwrites."""
    if study.path is None:
        raise StudyError("a study without a file has none to be updated: read it from a file")
    path = study.path.with_name(f"{name or study.path.stem + '-calibrated'}.toml")
    if path.exists() and "[calibrated]" not in path.read_text(encoding="utf-8", errors="replace"):
        raise UsageError(
            f"{path} is there already and is no calibrated study: give another name with --update"
        )
    return path


def told(found: Posterior, given: Recorded, envelope: Envelope, to: Path) -> Answer:
    """What is said of a calibration."""
    head = envelope(found.random_number, (*given.refused, *words.surprises(found)))
    written = f"Written: {to.name} beside the study, its draws in {to.stem}.npz; every command takes it."
    errors = [table for table in (tables.errors_table(found),) if table is not None]
    without = [table for table in (tables.without_table(found),) if table is not None]
    surprises = [table for table in (tables.surprises_table(found),) if table is not None]
    study = found.study
    if study is None:
        raise StudyError("a callable's posterior is a result, not an answer")
    names = ", ".join(firing.name for firing in found.firings)
    sections = (
        section(study.title, [f"What the firings {names} teach of it.", *notes(study)], as_written=True),
        section(
            "In short",
            [
                *filter(None, (words.required(found), words.target(found), words.without_model_error(found))),
                *(Paragraph(text, marked=True) for text in (*given.refused, *words.surprises(found))),
                words.taught_most(found),
                written,
            ],
        ),
        section(
            "What was learnt",
            [
                *words.learnt(found),
                *filter(None, (words.nothing_learnt(found),)),
                Picture("learnt", picture(found), _BARS),
                tables.unknowns_table(found),
                *errors,
            ],
        ),
        *([section("With and without the model's own error", [*without])] if without else []),
        section(
            "Firing by firing",
            [
                tables.firings_table(found),
                *surprises,
                words.surprising(),
            ],
        ),
        section("Predictions against measurements", [tables.readings_table(found)]),
        cautions(study),
        how_read(study, use=_USE),
        for_reviewers(
            "How it was found",
            [
                words.how(found),
                *filter(None, (words.evidence(found),)),
                *(f"{text}." for text in given.assumed),
            ],
        ),
        provenance(head),
    )
    files = {"unknowns.csv": found.inputs.reset_index(), "readings.csv": found.readings.reset_index()}
    return Answer(
        head, sections, tables.data_of(found), files, brief=short_answer(found, given.refused, written)
    )


def refused(study: Study, why: str, given: Recorded, head: dict[str, object]) -> Answer:
    """What is said where no posterior can be given."""
    sections = (
        section("No posterior", [why, *(Paragraph(text, marked=True) for text in given.refused)]),
        cautions(study),
        provenance(head),
    )
    return Answer(head, sections, {"firings": [firing.name for firing in given.firings]}, failure=why)
