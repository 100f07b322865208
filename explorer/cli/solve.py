"""`mhdstage solve STUDY`: the operating point at central values."""

import argparse

from explorer import units
from explorer.cli import studies
from explorer.cli.answer import Answer, give
from explorer.cli.arguments import UsageError
from explorer.cli.terminal import Terminal
from explorer.page.document import Picture, Section
from explorer.page.provenance import provenance
from explorer.page.style import images
from explorer.questions.solve.pictures import channel_figure
from explorer.questions.solve.point import Point, solve
from explorer.questions.solve.profile import profile_csv
from explorer.questions.solve.report import (
    carries_numbers,
    failure_report,
    failure_words,
    solving_content,
    solving_report,
    warning_sentences,
)


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    burn = None if arguments.burn is None else burn_time(arguments.burn)
    study = studies.study_of(arguments)
    left = studies.left_of_template(study)

    def make() -> Answer:
        studies.say_first_run(terminal)
        point = solve(study, progress=terminal.progress("gas table"))
        return _answer(arguments, point, burn, left)

    return give(arguments, terminal, study, make)


def burn_time(text: str) -> float:
    """Return the duration of a burn. [s]"""
    try:
        duration = units.si_text(text, "s")
    except units.UnitError as error:
        raise UsageError(f'--burn: {error}; write it as "6 s"') from error
    if not duration > 0.0:
        raise UsageError(f"--burn: a burn takes some time; got {text}")
    return duration


def _answer(arguments: argparse.Namespace, point: Point, burn: float | None, left: tuple[str, ...]) -> Answer:
    study = point.study
    warnings = warning_sentences(point)
    envelope = studies.envelope_of(arguments, study, study.run.random_number, warnings)
    content = {**envelope, **solving_content(point)}
    origin = provenance(envelope)
    if not carries_numbers(point) or point.profile is None:
        return Answer(content, (*failure_report(point), origin), failure=failure_words(point))
    central = study.central()
    zones = {
        pair: (start, start + central[f"electrodes.{pair}.length"])
        for pair in study.pairs
        for start in (central[f"electrodes.{pair}.start"],)
    }
    element, drawn = images(channel_figure(point.profile, zones), arguments.formats)
    files: dict[str, str | bytes] = {"profile.csv": profile_csv(point.profile)}
    files |= {f"channel.{form}": content for form, content in drawn.items()}
    caption = "Along the channel; the electrodes are shaded. The upright axes do not begin at zero."
    sections = solving_report(point, burn=burn, left_of_template=left)
    picture = Section("Along the channel", (Picture(element, caption),))
    return Answer(content, (*sections[:2], picture, *sections[2:], origin), files)
