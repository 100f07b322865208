"""`mhdstage compare STUDY STUDY …`: designs beside each other, and which of their differences are real."""

from explorer.page.answer import Answer, Options, Question, Work, refuse_few, study_of
from explorer.page.usage import UsageError
from explorer.questions.compare.comparison import compare
from explorer.questions.compare.content import comparison_content, comparison_rows, differences_rows
from explorer.questions.compare.pictures import comparison_picture
from explorer.questions.compare.report import comparison_report
from explorer.questions.compare.words import missing_words, plain_words


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    if len(options.studies) < 2:
        raise UsageError(f"compare takes two studies or more; {options.studies[0]} stands alone")
    refuse_few(options.samples)
    designs = tuple(study_of(options, path) for path in options.studies)

    def answer(work: Work) -> Answer:
        found = compare(
            designs,
            quantities=options.quantities or (),
            rng=options.random_number,
            samples=options.samples,
            jobs=options.jobs,
            progress=work.progress("gas tables and operating points"),
        )
        missing = missing_words(found)
        envelope = work.envelope(found.random_number, () if missing is None else (missing,))
        return Answer(
            envelope,
            comparison_report(found, envelope, picture=comparison_picture(found), asked=options.samples),
            comparison_content(found, plain_words(found)),
            {"comparison.csv": comparison_rows(found), "differences.csv": differences_rows(found)},
        )

    return Question(designs, answer)
