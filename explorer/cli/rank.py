"""`mhdstage rank STUDY`: what makes the answer unsure, and what the next test should pin down first."""

import argparse
from collections.abc import Mapping, Sequence

from matplotlib.figure import Figure

from explorer.analysis.sensitivity import ConstantOutput
from explorer.cli import studies
from explorer.cli.answer import Answer, give
from explorer.cli.arguments import UsageError, groups
from explorer.cli.terminal import Terminal
from explorer.page.style import images
from explorer.questions.rank.content import ranking_csv, rankings_content
from explorer.questions.rank.elementary import FirstLook, first_look
from explorer.questions.rank.first_look import (
    first_look_content,
    first_look_csv,
    first_look_picture,
    first_look_report,
)
from explorer.questions.rank.notes import how_shares_were_told, rough_words
from explorer.questions.rank.pictures import ranking_pictures
from explorer.questions.rank.ranking import Ranking, rank
from explorer.questions.rank.report import ranking_report
from explorer.questions.rank.words import plain_words
from explorer.studyfile import Study, read_study


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    together = groups(arguments.groups)
    if arguments.elementary and (together or len(arguments.target or ()) > 1):
        raise UsageError("--elementary looks at one target and at every input by itself")
    study = studies.study_of(arguments)
    against = None if arguments.against is None else read_study(arguments.against)

    def make() -> Answer:
        studies.say_first_run(terminal)
        terminal.note("Gas table and operating points ...")
        if arguments.elementary:
            return _first_look(arguments, terminal, study, against)
        rankings = [
            _ranking(arguments, terminal, study, against, together, target)
            for target in arguments.target or (study.target.quantity,)
        ]
        return _answer(arguments, rankings, study)

    return give(arguments, terminal, study, make)


def _ranking(
    arguments: argparse.Namespace,
    terminal: Terminal,
    study: Study,
    against: Study | None,
    together: Mapping[str, Sequence[str]],
    target: str,
) -> Ranking:
    try:
        return rank(
            study,
            target=target,
            rng=arguments.random_number,
            base=arguments.base,
            groups=together,
            against=against,
            test_guesses=not arguments.no_guesses,
            jobs=arguments.jobs,
            progress=terminal.progress(f"{target}: operating points"),
        )
    except ConstantOutput as error:
        raise ConstantOutput(f"{target}: {error}") from error


def _first_look(
    arguments: argparse.Namespace, terminal: Terminal, study: Study, against: Study | None
) -> Answer:
    target = arguments.target[0] if arguments.target else study.target.quantity
    try:
        found: FirstLook = first_look(
            study,
            target=target,
            rng=arguments.random_number,
            against=against,
            jobs=arguments.jobs,
            progress=terminal.progress("gas table"),
        )
    except ConstantOutput as error:
        raise ConstantOutput(f"{target}: {error}") from error
    envelope = studies.envelope_of(arguments, study, found.random_number)
    elements, drawn = _drawn(arguments, {"elementary": first_look_picture(found)})
    return Answer(
        {**envelope, **first_look_content(found)},
        first_look_report(found, study, envelope, elements["elementary"]),
        {"elementary.csv": first_look_csv(found), **drawn},
    )


def _answer(arguments: argparse.Namespace, rankings: Sequence[Ranking], study: Study) -> Answer:
    warnings = {
        words for ranking in rankings for words in (*how_shares_were_told(ranking), *rough_words(ranking))
    }
    envelope = studies.envelope_of(arguments, study, rankings[0].random_number, tuple(sorted(warnings)))
    files: dict[str, str | bytes] = {}
    pictures = []
    for ranking in rankings:
        suffix = "" if len(rankings) == 1 else f"-{ranking.target}"
        files[f"ranking{suffix}.csv"] = ranking_csv(ranking)
        elements, drawn = _drawn(arguments, ranking_pictures(ranking), suffix)
        pictures.append(elements)
        files |= drawn
    words = [plain_words(ranking, study) for ranking in rankings]
    content = {**envelope, **rankings_content(rankings, words)}
    sections = ranking_report(rankings, study, envelope, pictures, asked=arguments.base)
    return Answer(content, sections, files)


def _drawn(
    arguments: argparse.Namespace, figures: Mapping[str, Figure], suffix: str = ""
) -> tuple[dict[str, str], dict[str, bytes]]:
    """Pictures as elements of the page by name, and as files."""
    elements: dict[str, str] = {}
    files: dict[str, bytes] = {}
    for name, figure in figures.items():
        elements[name], drawn = images(figure, arguments.formats)
        files |= {f"{name}{suffix}.{form}": content for form, content in drawn.items()}
    return elements, files
