"""`mhdstage rank STUDY`: what makes the answer unsure, and what the next test should pin down first."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from matplotlib.figure import Figure

from explorer import registry
from explorer.analysis.sensitivity import ConstantOutput
from explorer.page.answer import Answer, Envelope, Options, Question, Work, study_of
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.events import events_section
from explorer.page.inputs import how_read, notes, origin_words, resolved_inputs, to_try
from explorer.page.pictures.bars import LEVEL, MOST_ROWS
from explorer.page.pictures.distribution import shows_unmet
from explorer.page.provenance import provenance
from explorer.page.requirement import requirement
from explorer.page.usage import UsageError
from explorer.page.words import listed, opened, percent, the
from explorer.questions.rank.brief import short_answer
from explorer.questions.rank.first_look import first_look
from explorer.questions.rank.first_look_report import first_look_told
from explorer.questions.rank.measurements import instruments_section, measurements_section
from explorer.questions.rank.pictures import ranking_pictures, shows_required
from explorer.questions.rank.plain_words import plain_words
from explorer.questions.rank.rank import rank
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.review import review
from explorer.questions.rank.tables import (
    against_name,
    printed_table,
    ranking_rows,
    rankings_content,
    runs_table,
)
from explorer.questions.rank.words import (
    distribution_words,
    guesses_words,
    how_shares_were_told,
    rough_words,
    size_words,
    together_words,
)
from explorer.registry import is_name
from explorer.study.model_error import MODEL_ITSELF
from explorer.study.shown import scale_of
from explorer.studyfile import Study, read_study

#: Inputs for whose values lines to copy are given.
_LEADING: Final = 2

_ALONE: Final = "Alone: what would go if this input were known exactly."
_IN_ALL: Final = " In all: what it carries together with the others."
_UNITS: Final = (
    " Shares are of the squared standard uncertainty; in brackets the sampling error (95 %). Left: the standard"
    " uncertainty if known exactly, for what a test can pin down."
)
_LEVEL_IN_PICTURE: Final = f" {LEVEL} marks a row level with the one above."
_LEVEL: Final = (
    f" {LEVEL} marks a row level with the one above: the sampling error does not tell which of the two carries"
    " more."
)
_RUNS: Final = (
    "Alone: the share of an input by itself in whether the stage runs at all; inputs that stand out of the sampling"
    " error (95 %, in brackets)."
)
_USE: Final = "`rank` tries the whole of each. They were read so:"


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
            progress=work.progress(f"{registry.words_of(target)}: operating points"),
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
        return told(rankings, study, work.envelope, asked=options.base)

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
    return first_look_told(found, work.envelope)


def told(
    rankings: Sequence[Ranking], study: Study, envelope: Envelope, *, asked: int | None = None
) -> Answer:
    """What is said of one ranking or of several; `asked` is the size of the design that was asked for."""
    words = [plain_words(ranking, study) for ranking in rankings]
    warnings = {said for r in rankings for said in (*how_shares_were_told(r), rough_words(r)) if said}
    head = envelope(rankings[0].random_number, sorted(warnings))
    several, against = len(rankings) > 1, rankings[0].against
    everyone, reviewer = [], []
    for ranking, plain in zip(rankings, words, strict=True):
        everyone += [_named(s, ranking, several) for s in _of_one(ranking, plain, study, asked)]
        reviewer += [_named(s, ranking, several) for s in review(ranking)]
    other = "" if against is None else against_name(study, against)
    rows = {"base": str(rankings[0].base)}
    if against is not None:
        rows |= {"against": other, "its study hash": against.study_hash}
    sections = (
        _heading(rankings, study),
        *everyone,
        *instruments_section(rankings[0]),  # the same whatever the target
        *events_section(rankings[0].events),
        *to_try(study, "propagate", _leading(rankings[0])),
        how_read(study, use=_USE),
        *([_beside(how_read(against, use=_USE), other)] if against is not None else []),
        cautions(study),
        *reviewer,
        resolved_inputs(study),
        *([_beside(resolved_inputs(against), other)] if against is not None else []),
        provenance(head, rows),
    )
    tables = {f"ranking{f'-{r.target}' if several else ''}.csv": ranking_rows(r) for r in rankings}
    return Answer(
        head, sections, rankings_content(rankings, words), tables, brief=short_answer(rankings, study)
    )


def _named(section: Section, ranking: Ranking, several: bool) -> Section:
    """A section of one target among several, which its title says."""
    if not several:
        return section
    parts = tuple(
        replace(part, name=f"{part.name}-{ranking.target}") if isinstance(part, Picture) else part
        for part in section.parts
    )
    return replace(
        section, title=f"{section.title}: {registry.words_of(ranking.target)}", parts=parts, as_written=True
    )


def _leading(ranking: Ranking) -> list[str]:
    """The addresses of the unknown inputs that carry most."""
    known = [row for row in ranking.rows if row.part == "unknown" and ranking.against is None]
    return [row.address for row in sorted(known, key=lambda row: -float(row.leading))[:_LEADING]]


def _beside(section: Section, other: str) -> Section:
    """A section on the study whose quantity was taken off."""
    return replace(section, title=f"{section.title}: {other}", as_written=True)


def _heading(rankings: Sequence[Ranking], study: Study) -> Section:
    if len(rankings) > 1:
        several = listed([registry.words_of(ranking.target) for ranking in rankings])
        line = f"What makes {several} uncertain, one after the other."
    else:
        sentence = registry.quantity(rankings[0].target).sentence
        line = f"What makes {the(rankings[0].name)} uncertain: {sentence[0].lower()}{sentence[1:]}"
    return Section(study.title, (Paragraph(line), *notes(study)))


def _of_one(ranking: Ranking, plain: Sequence[str], study: Study, asked: int | None) -> Iterator[Section]:
    drawn, runs = ranking_pictures(ranking), runs_table(ranking)
    yield Section("In plain words", tuple(Paragraph(words) for words in plain))
    hatched = " Hatched: not met." if shows_unmet(drawn["target"]) else ""
    picture = Picture("target", drawn["target"], f"{opened(ranking.name)} in one firing.{hatched}")
    stands = tuple(Paragraph(words) for words in distribution_words(ranking, study))
    target, values = study.target, ranking.picture[ranking.target].to_numpy()
    slider: tuple[Part, ...] = ()
    if ranking.chance_met is not None:
        at_least = target.at_least is not None
        slider = (requirement(values, ranking.name, scale_of(ranking.target), at_least=at_least),)
    yield Section("The answer as it stands", (picture, *stands, *slider))
    yield Section("What carries the uncertainty", tuple(_carries(ranking, study, drawn, asked)))
    if runs is not None:
        yield Section("What decides whether the stage runs", (runs, Paragraph(_RUNS)))
    yield from measurements_section(ranking, study, drawn)


def _carries(
    ranking: Ranking, study: Study, drawn: Mapping[str, Figure], asked: int | None
) -> Iterator[Part]:
    table, small = printed_table(ranking)
    caption = (
        f"What carries the uncertainty of {the(ranking.name)}, largest first, with sampling errors (95 %)."
        f"{_LEVEL_IN_PICTURE if any(row.level for row in ranking.rows[:MOST_ROWS]) else ''}"
    )
    yield Picture("ranking", drawn["ranking"], caption)
    yield table
    if small:
        yield Paragraph(f"{small} more of less than 0.5 % each: see the CSV file.")
    level = _LEVEL if any(row[0] == LEVEL for row in table.rows) else ""
    yield Paragraph(_ALONE + (_IN_ALL if ranking.has_totals else "") + _UNITS + level)
    own = study.model_error.of(ranking.target)
    if own.relative and ranking.against is None:
        yield Paragraph(
            f'"{MODEL_ITSELF}" stands for how far the calculation may be off though every input were right:'
            f" {percent(own.relative)} ({origin_words(own.origin)})."
        )
    told = [*how_shares_were_told(ranking), together_words(ranking), guesses_words(ranking)]
    for words in (*told, size_words(ranking, asked)):
        if words:
            yield Paragraph(words)
    if "inputs" in drawn:
        dashed = " Dashed: required." if shows_required(drawn["inputs"]) else ""
        yield Picture(
            "inputs",
            drawn["inputs"],
            f"{opened(ranking.name)} against the inputs that move it most; a few points in long tails are beyond the"
            f" edges.{dashed}",
        )
