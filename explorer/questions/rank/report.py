"""The report of a ranking, or of several one after the other: plain words first, what a reviewer wants last."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from matplotlib.figure import Figure

from explorer import registry
from explorer.page.bars import LEVEL
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import counted, listed, percent
from explorer.questions.rank.measurements import instruments_section, measurements_section
from explorer.questions.rank.notes import (
    distribution_words,
    guesses_words,
    how_shares_were_told,
    runs_table,
    scatter_words,
    size_words,
    together_words,
)
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.review import review
from explorer.questions.rank.tables import against_name, has_totals, printed_table, target_words
from explorer.questions.rank.words import plain_words
from explorer.study.model_error import MODEL_ITSELF
from explorer.studyfile import Study

_ALONE: Final = "Alone: what would go if this row were known exactly."
_IN_ALL: Final = " In all: what it carries together with the others too."
_UNITS: Final = (
    " Shares are of the squared standard uncertainty, in per cent; in brackets the sampling error (95 %). Left: the"
    " standard uncertainty if known exactly, for what a test can pin down."
)
_LEVEL: Final = (
    f" {LEVEL} marks a row level with the one above: which of the two carries more does not stand out of the sampling"
    " error."
)
_USE: Final = "`rank` tries the whole of each. They were read so:"

Pictures = Mapping[str, Figure]


def ranking_report(
    rankings: Sequence[Ranking],
    study: Study,
    envelope: Mapping[str, Any],
    pictures: Sequence[Pictures] = (),
    *,
    asked: int | None = None,
) -> tuple[Section, ...]:
    """Return the report of one ranking or of several."""
    drawn = [*pictures, *([{}] * (len(rankings) - len(pictures)))]
    everyone, reviewer = [], []
    for ranking, own in zip(rankings, drawn, strict=True):
        named = len(rankings) > 1
        everyone += [_named(section, ranking, named) for section in _of_one(ranking, study, own, asked)]
        reviewer += [_named(section, ranking, named) for section in review(ranking)]
    instruments = instruments_section(rankings[0])  # the same whatever the target
    against = rankings[0].against
    return (
        _heading(rankings, study),
        *everyone,
        *([instruments] if instruments is not None else []),
        how_read(study, use=_USE),
        *([_beside(how_read(against, use=_USE), rankings[0])] if against is not None else []),
        cautions(),
        *reviewer,
        resolved_inputs(study),
        *([_beside(resolved_inputs(against), rankings[0])] if against is not None else []),
        provenance(envelope, _more(rankings[0])),
    )


def _named(section: Section, ranking: Ranking, named: bool) -> Section:
    """A section of one target among several, which its title says."""
    if not named:
        return section
    parts = tuple(
        replace(part, name=f"{part.name}-{ranking.target}") if isinstance(part, Picture) else part
        for part in section.parts
    )
    return replace(section, title=f"{section.title}: {ranking.target}", parts=parts, as_written=True)


def _beside(section: Section, ranking: Ranking) -> Section:
    """A section on the study whose quantity was taken off."""
    return replace(section, title=f"{section.title}: {against_name(ranking)}", as_written=True)


def _more(ranking: Ranking) -> dict[str, str]:
    rows = {"base": str(ranking.base)}
    if ranking.against is not None:
        rows |= {"against": str(against_name(ranking)), "its study hash": ranking.against.study_hash}
    return rows


def _heading(rankings: Sequence[Ranking], study: Study) -> Section:
    if len(rankings) > 1:
        several = listed([ranking.target for ranking in rankings])
        line = f"What makes {several} unsure, one after the other."
    else:
        sentence = registry.quantity(rankings[0].target).sentence
        line = f"What makes {target_words(rankings[0])} unsure: {sentence[0].lower()}{sentence[1:]}"
    return Section(study.title, (Paragraph(line), *notes(study)))


def _of_one(ranking: Ranking, study: Study, drawn: Pictures, asked: int | None) -> tuple[Section, ...]:
    measurements = measurements_section(ranking, study, drawn.get("measurements"))
    return (
        Section("In plain words", tuple(Paragraph(words) for words in plain_words(ranking, study))),
        _stands(ranking, study, drawn.get("target")),
        _carries(ranking, study, drawn, asked),
        *([_runs(ranking)] if runs_table(ranking) is not None else []),
        *([measurements] if measurements is not None else []),
    )


def _stands(ranking: Ranking, study: Study, picture: Figure | None) -> Section:
    caption = f"{target_words(ranking)} in one firing.{' Hatched: not met.' if ranking.chance_met else ''}"
    parts: list[Part] = [] if picture is None else [Picture("target", picture, caption)]
    told = (*distribution_words(ranking, study), scatter_words(ranking))
    parts += [Paragraph(words) for words in told if words is not None]
    return Section("The answer as it stands", tuple(parts))


def _carries(ranking: Ranking, study: Study, drawn: Pictures, asked: int | None) -> Section:
    table, small = printed_table(ranking)
    parts: list[Part] = []
    words = target_words(ranking)
    if "ranking" in drawn:
        parts.append(
            Picture(
                "ranking",
                drawn["ranking"],
                f"What carries the uncertainty of {words}, largest first, with sampling errors (95 %). {LEVEL} marks a"
                " row level with the one above.",
            )
        )
    parts.append(table)
    if small:
        parts.append(Paragraph(f"{counted(small, 'row')} of less than 0.5 % each: see the CSV file."))
    level = _LEVEL if any(row[0] == LEVEL for row in table.rows) else ""
    parts.append(Paragraph(_ALONE + (_IN_ALL if has_totals(ranking) else "") + _UNITS + level))
    own = study.model_error.of(ranking.target)
    if own.relative and ranking.against is None:
        parts.append(
            Paragraph(
                f'"{MODEL_ITSELF}" stands for how far the calculation may be off though every input were right:'
                f" {percent(own.relative)} ({own.origin})."
            )
        )
    told = (
        *how_shares_were_told(ranking),
        together_words(ranking),
        guesses_words(ranking),
        size_words(ranking, asked),
    )
    parts += [Paragraph(sentence) for sentence in told if sentence is not None]
    if "inputs" in drawn:
        dashed = " Dashed: required." if ranking.chance_met else ""
        parts.append(
            Picture(
                "inputs",
                drawn["inputs"],
                f"{words} against what it hangs on most; a few points in long tails are beyond the edges.{dashed}",
            )
        )
    return Section("What carries the uncertainty", tuple(parts))


def _runs(ranking: Ranking) -> Section:
    """What decides whether the stage runs at all, where it often doesn't."""
    table = runs_table(ranking)
    if table is None:
        raise ValueError("a stage that always runs has no table of what decides it")
    words = (
        "Alone: the share that a row has by itself in whether a point runs at all; rows that stand out of the sampling"
        " error (95 %, in brackets)."
    )
    return Section("What decides whether the stage runs", (table, Paragraph(words)))
