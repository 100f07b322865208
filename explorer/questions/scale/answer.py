"""`mhdstage scale STUDY --toward STUDY`: the way to a larger design, where its regime changes, what to fire on it."""

from explorer.page.answer import Answer, Options, Question, Work, refuse_few, study_of
from explorer.questions.scale.content import ladder_rows, path_rows, scaling_content
from explorer.questions.scale.files import point_studies
from explorer.questions.scale.path.scaling import scale
from explorer.questions.scale.pictures import scaling_pictures
from explorer.questions.scale.report import scaling_report
from explorer.questions.scale.words import plain_words


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    refuse_few(options.samples)
    first, second = study_of(options), study_of(options, options.toward)

    def answer(work: Work) -> Answer:
        found = scale(
            first,
            second,
            points=options.points,
            cost_exponent=options.cost_exponent,
            rng=options.random_number,
            samples=options.samples,
            jobs=options.jobs,
            progress=work.progress("gas tables and operating points"),
        )
        left_out = [f"step {number} is left out: {why}" for number, why in found.path.left_out.items()]
        envelope = work.envelope(found.random_number, left_out)
        return Answer(
            envelope,
            scaling_report(found, envelope, scaling_pictures(found), asked=options.samples),
            scaling_content(found, plain_words(found)),
            {
                "path.csv": path_rows(found),
                "ladder.csv": ladder_rows(found),
                **point_studies(found, envelope),
            },
        )

    return Question((first, second), answer)
