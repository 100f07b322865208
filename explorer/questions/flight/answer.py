"""`mhdstage flight STUDY`: whether the stage pays in flight, with and without it over the same scenarios."""

from explorer.page.answer import Answer, Options, Question, Work, left_of_template, study_of
from explorer.questions.flight.content import ascent_rows, drivers_rows, flight_content, flight_rows
from explorer.questions.flight.flight import fly
from explorer.questions.flight.pictures import flight_pictures
from explorer.questions.flight.report import flight_report
from explorer.questions.flight.warnings import warnings_of
from explorer.questions.flight.words import plain_words


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    study = study_of(options)

    def answer(work: Work) -> Answer:
        found = fly(
            study,
            rng=options.random_number,
            samples=options.samples,
            jobs=options.jobs,
            progress=work.progress("gas table and phases"),
        )
        envelope = work.envelope(found.random_number, warnings_of(found))
        files = {"flight.csv": flight_rows(found), "ascent.csv": ascent_rows(found)}
        if found.drivers:
            files["drivers.csv"] = drivers_rows(found)
        template = left_of_template(study)
        return Answer(
            envelope,
            flight_report(found, envelope, flight_pictures(found), left_of_template=template),
            flight_content(found, plain_words(found)),
            files,
        )

    return Question((study,), answer)
