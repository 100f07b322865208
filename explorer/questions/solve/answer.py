"""`mhdstage solve STUDY`: the operating point at central values."""

from explorer import units
from explorer.page.answer import Answer, Options, Question, Work, left_of_template, study_of
from explorer.page.document import Picture, Section
from explorer.page.provenance import provenance
from explorer.page.usage import UsageError
from explorer.questions.solve.pictures import channel_figure
from explorer.questions.solve.point import solve
from explorer.questions.solve.profile import profile_rows
from explorer.questions.solve.report import (
    carries_numbers,
    failure_report,
    failure_words,
    solving_content,
    solving_report,
    warning_sentences,
)
from explorer.studyfile import Study


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    burn = None if options.burn is None else burn_time(options.burn)
    study = study_of(options)
    return Question((study,), lambda work: _answer(work, study, burn))


def burn_time(text: str) -> float:
    """Return the duration of a burn such as "6 s". [s]"""
    try:
        duration = units.si_text(text, "s")
    except units.UnitError as error:
        raise UsageError(f'--burn: {error}; write it as "6 s"') from error
    if not duration > 0.0:
        raise UsageError(f"--burn: a burn takes some time; got {text}")
    return duration


def _answer(work: Work, study: Study, burn: float | None) -> Answer:
    point = solve(study, progress=work.progress("gas table"))
    envelope = work.envelope(study.run.random_number, warning_sentences(point))
    content, origin = solving_content(point), provenance(envelope)
    if not carries_numbers(point) or point.profile is None:
        return Answer(envelope, (*failure_report(point), origin), content, failure=failure_words(point))
    central = study.central()
    zones = {
        pair: (start, start + central[f"electrodes.{pair}.length"])
        for pair in study.pairs
        for start in (central[f"electrodes.{pair}.start"],)
    }
    caption = "Along the channel; the electrodes are shaded. The upright axes do not begin at zero."
    picture = Picture("channel", channel_figure(point.profile, zones), caption)
    sections = solving_report(point, burn=burn, left_of_template=left_of_template(study))
    along = Section("Along the channel", (picture,))
    return Answer(
        envelope,
        (*sections[:2], along, *sections[2:], origin),
        content,
        {"profile.csv": profile_rows(point.profile)},
    )
