"""`mhdstage optimize STUDY`: the design that makes a result largest or smallest within the limits."""

import pandas as pd

from explorer.page.answer import Answer, Envelope, Options, Question, Work, study_of
from explorer.page.words import counted
from explorer.questions.optimize.brief import short_answer
from explorer.questions.optimize.data import (
    designs_rows,
    judged_rows,
    optimisation_content,
    studies_of,
    trade_off_rows,
)
from explorer.questions.optimize.pictures import optimisation_pictures
from explorer.questions.optimize.report import optimisation_report
from explorer.questions.optimize.search.optimisation import optimize
from explorer.questions.optimize.search.proposal import Proposal
from explorer.questions.optimize.words import failure_words, plain_words, warnings_of
from explorer.store import SearchFile, search_file
from explorer.store.provenance import commit, version
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Study


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    study = study_of(options)

    def answer(work: Work) -> Answer:
        file = _tried(options, work, study)
        try:
            found = optimize(
                study,
                rng=options.random_number,
                budget=options.budget,
                central=options.central,
                jobs=options.jobs,
                search_file=file,
                progress=work.progress,
            )
        except NoNumbers:  # and going on would find none
            file.path.unlink(missing_ok=True)
            raise
        finally:
            if not file.count:  # nothing to go on with
                file.path.unlink(missing_ok=True)
        return told(found, study, work.envelope)

    return Question((study,), answer)


def told(found: Proposal, study: Study, envelope: Envelope) -> Answer:
    """What is said of a search for a design."""
    head = envelope(found.search.random_number, warnings_of(found))
    files: dict[str, pd.DataFrame | str] = {
        **studies_of(found, head),
        "designs.csv": designs_rows(found),
        "judged.csv": judged_rows(found),
    }
    if found.trade_off:
        files["trade_off.csv"] = trade_off_rows(found)
    return Answer(
        head,
        optimisation_report(found, study, head, optimisation_pictures(found)),
        optimisation_content(found, study, plain_words(found, study)),
        files,
        brief=short_answer(found, study),
        failure=failure_words(found),
    )


def _tried(options: Options, work: Work, study: Study) -> SearchFile:
    """Where the designs tried lie while the search goes on; or what a run left that was broken off."""
    number = options.random_number
    header = {
        "study_hash": study.study_hash,
        "random_number": study.run.random_number if number is None else number,
        "the budget": options.budget,
        "the kind of search (--central)": options.central,
        "version of the program": f"{version()} {commit()}",
    }
    file = work.beside(
        "search", lambda path: search_file(path, header, resume=options.resume), resume=options.resume
    )

    def kept() -> str | None:
        if not file.count:
            return "nothing was written"
        verb = "is" if file.count == 1 else "are"
        designs = counted(file.count, "assessed design")
        return f"{designs} {verb} kept in {file.path}: the same command with --resume goes on with it"

    work.kept = kept
    if options.resume:
        work.note(f"Going on with {file.path}, which holds {counted(file.count, 'assessed design')}.")
    return file
