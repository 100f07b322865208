"""The report of a comparison, as sections: which differences are real first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

import pandas as pd
from matplotlib.figure import Figure

from explorer.page.cautions import cautions
from explorer.page.designs import short_names
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import notes
from explorer.page.provenance import provenance
from explorer.page.words import counted, listed
from explorer.questions.compare.borders import regime_words, similarity_words
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.review import review
from explorer.questions.compare.tables import (
    block,
    difference_table,
    ended_tables,
    inputs_tables,
    inputs_that_differ,
    limit_table,
    side_by_side,
)
from explorer.questions.compare.words import (
    is_mixed,
    key_rows,
    mode_words,
    plain_words,
    sampling_words,
    unweighed_words,
)

_CELLS: Final = "Mean in one future firing; in brackets, 19 times in 20 between."
_GIVEN: Final = "Of firings that make contact, where that is not sure:"
_ALL: Final = "Of all firings:"
_DIFFERENCES: Final = (
    "Larger or smaller where zero lies outside of what the difference is 19 times in 20. Chance of more: that one"
    " firing of this design shows more than one of the first; in brackets its sampling error."
)
_WARNINGS: Final = (
    "Shares of all points, sampling errors in brackets. Warnings are the calculation's and leave the model's own error"
    " out."
)
_LIMITS: Final = "In brackets the sampling error."
_CAPTION: Final = (
    "Left: each design in one future firing, its mean and where it lies 19 times in 20. Right: how much more that is"
    " than {first}'s; filled where zero lies outside of 19 times in 20, open where it may be zero."
)


def comparison_report(
    found: Comparison, envelope: Mapping[str, Any], *, picture: Figure | None = None, asked: int | None = None
) -> tuple[Section, ...]:
    """Return the report of a comparison."""
    return (
        _heading(found),
        _plain(found, asked),
        *_picture(found, picture),
        *_figures(found),
        _differences(found),
        *_limits(found),
        Section("What changes regime", tuple(Paragraph(words) for words in regime_words(found))),
        Section("How the points ended", (*ended_tables(found), Paragraph(_WARNINGS))),
        *_similarity(found),
        *_stated(found),
        cautions(),
        *review(found),
        provenance(envelope),
    )


def _heading(found: Comparison) -> Section:
    parts = [
        Paragraph(f"{name}: {study.title}.") for name, study in zip(found.names, found.studies, strict=True)
    ]
    if (words := mode_words(found)) is not None:
        parts.append(Paragraph(words))
    for name, study in zip(found.names, found.studies, strict=True):
        parts += [Paragraph(f"{name}: {note.text}") for note in notes(study)]
    names = listed(list(short_names(found.names).values()))
    return Section(f"{names} beside each other", tuple(parts), as_written=True)


def _plain(found: Comparison, asked: int | None) -> Section:
    words = (*plain_words(found), sampling_words(found, asked))
    return Section("In plain words", tuple(Paragraph(sentence) for sentence in words))


def _picture(found: Comparison, picture: Figure | None) -> Iterator[Section]:
    if picture is not None:
        of = " Of firings that make contact." if is_mixed(found) else ""
        caption = _CAPTION.format(first=found.names[0]) + of
        yield Section("At a glance", (Picture("comparison", picture, caption),))


def _figures(found: Comparison) -> Iterator[Section]:
    outcome: list[Part] = [Paragraph(_CELLS)]
    rows = block(found, "outcome")
    mixed = [name for name in found.names if is_mixed(found, name)]
    if mixed:
        given = side_by_side(found, rows, found.given_contact, mixed)
        outcome += [Paragraph(_GIVEN), *given, Paragraph(_ALL)]
    yield Section("What comes out", (*outcome, *side_by_side(found, rows)))
    mass = side_by_side(found, block(found, "mass"))
    words = unweighed_words(found)
    told = () if words is None else (Paragraph(words),)
    if mass or told:
        yield Section("What it weighs", (*mass, *told))


def _differences(found: Comparison) -> Section:
    first = found.names[0]
    parts: list[Part] = [Paragraph(_DIFFERENCES)]
    for other in found.names[1:]:
        mixed = is_mixed(found, first, other)
        if mixed:
            given = found.differences_given_contact
            parts += _difference(
                found, other, f"{other} less {first}, of firings that make contact in both", given
            )
        every = f"{other} less {first}{', all firings' if mixed else ''}"
        parts += _difference(found, other, every, found.differences)
    return Section("Which differences are real", tuple(parts))


def _difference(found: Comparison, other: str, head: str, figures: pd.DataFrame) -> tuple[Part, ...]:
    table = difference_table(found, other, key_rows(found), figures)
    if not table.rows:
        return (Paragraph(f"{head}: too few of them to tell a difference from."),)
    return Paragraph(f"{head}:"), table


def _limits(found: Comparison) -> Iterator[Section]:
    table = limit_table(found)
    if table is None:
        yield Section("Limits", (Paragraph("None of these studies requires anything."),))
    else:
        yield Section("Limits", (table, Paragraph(_LIMITS)))


def _similarity(found: Comparison) -> Iterator[Section]:
    rows = block(found, "similarity")
    words = tuple(Paragraph(sentence) for sentence in similarity_words(found))
    yield Section("Similarity numbers", (*side_by_side(found, rows), *words))


def _stated(found: Comparison) -> Iterator[Section]:
    every, main = inputs_that_differ(found, main=False), inputs_that_differ(found, main=True)
    parts: list[Part] = [*inputs_tables(found, main)]
    if not every:
        parts.append(Paragraph("All inputs are stated alike."))
    if len(every) > len(main):
        rest = counted(len(every) - len(main), "more input differs", "more inputs differ")
        parts.append(Paragraph(f"{rest}; the second part of the page lists them all."))
    yield Section("Sizes and settings that differ", tuple(parts))
    yield Section("Where they work", side_by_side(found, block(found, "operation")))
