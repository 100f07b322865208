"""`mhdstage rank STUDY`: what makes the answer unsure, and what the next test should pin down first."""

from collections.abc import Sequence

from explorer.analysis.sensitivity import ConstantOutput
from explorer.page.answer import Answer, Options, Question, Work, study_of
from explorer.page.usage import UsageError
from explorer.questions.rank.content import ranking_rows, rankings_content
from explorer.questions.rank.elementary import first_look
from explorer.questions.rank.first_look import first_look_content, first_look_report, first_look_rows
from explorer.questions.rank.notes import how_shares_were_told, rough_words
from explorer.questions.rank.pictures import ranking_pictures
from explorer.questions.rank.ranking import Ranking, rank
from explorer.questions.rank.report import ranking_report
from explorer.questions.rank.words import plain_words
from explorer.registry import is_name
from explorer.studyfile import Study, read_study


def ask(options: Options) -> Question:
    """The question, as asked on the command line."""
    together = groups(options.groups)
    if options.elementary and (together or len(options.target or ()) > 1):
        raise UsageError("--elementary looks at one target and at every input by itself")
    study = study_of(options)
    against = None if options.against is None else read_study(options.against)
    targets = options.target or (study.target.quantity,)

    def ranking(work: Work, target: str) -> Ranking:
        return rank(
            study,
            target=target,
            rng=options.random_number,
            base=options.base,
            groups=together,
            against=against,
            test_guesses=not options.no_guesses,
            jobs=options.jobs,
            progress=work.progress(f"{target}: operating points"),
        )

    def answer(work: Work) -> Answer:
        rankings = []
        for target in targets:
            try:
                if options.elementary:
                    return _first_look(options, work, study, against, target)
                rankings.append(ranking(work, target))
            except ConstantOutput as error:
                raise ConstantOutput(f"{target}: {error}") from error
        return _answer(work, rankings, study, options.base)

    return Question((study,), answer)


def groups(given: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """What `--group` ranks together, by name; "name=address,address" each."""
    found: dict[str, tuple[str, ...]] = {}
    for text in given:
        name, _, addresses = (part.strip() for part in text.partition("="))
        listed = tuple(part.strip() for part in addresses.split(",") if part.strip())
        if not is_name(name) or not listed:
            raise UsageError(
                f"--group {text}: expected NAME=ADDRESS,ADDRESS, such as gaps=channel.gap_in,channel.gap_out"
            )
        if name in found:
            raise UsageError(f"--group {name} is given twice")
        found[name] = listed
    return found


def _first_look(options: Options, work: Work, study: Study, against: Study | None, target: str) -> Answer:
    found = first_look(
        study,
        target=target,
        rng=options.random_number,
        against=against,
        jobs=options.jobs,
        progress=work.progress("gas table"),
    )
    envelope = work.envelope(found.random_number)
    return Answer(
        envelope,
        first_look_report(found, study, envelope),
        first_look_content(found),
        {"elementary.csv": first_look_rows(found)},
    )


def _answer(work: Work, rankings: Sequence[Ranking], study: Study, asked: int) -> Answer:
    warnings = {
        words for ranking in rankings for words in (*how_shares_were_told(ranking), *rough_words(ranking))
    }
    envelope = work.envelope(rankings[0].random_number, sorted(warnings))
    pictures = [ranking_pictures(ranking) for ranking in rankings]
    words = [plain_words(ranking, study) for ranking in rankings]
    suffixes = [""] if len(rankings) == 1 else [f"-{ranking.target}" for ranking in rankings]
    return Answer(
        envelope,
        ranking_report(rankings, study, envelope, pictures, asked=asked),
        rankings_content(rankings, words),
        {
            f"ranking{suffix}.csv": ranking_rows(ranking)
            for suffix, ranking in zip(suffixes, rankings, strict=True)
        },
    )
