"""The report of a comparison, as sections: which differences are real first, what a reviewer wants last."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final

from explorer import registry
from explorer.page.cautions import cautions
from explorer.page.designs import columns, every_figure, inputs_read, shared_part, short_names
from explorer.page.document import Part, Picture, Section, Table, for_reviewers, section
from explorer.page.events import contact_tables
from explorer.page.inputs import notes, origin_words, to_compare
from explorer.page.provenance import provenance
from explorer.page.words import AS_CALCULATED, counted, listed, percent
from explorer.questions.compare.blocks import BLOCKS, block, key_rows, main_inputs, printed
from explorer.questions.compare.borders import regime_words, similarity_words
from explorer.questions.compare.comparison import Compared, Comparison
from explorer.questions.compare.contacts import contact_difference_table
from explorer.questions.compare.pictures import comparison_picture
from explorer.questions.compare.tables import (
    border_tables,
    difference_table,
    differences_beside,
    ended_tables,
    figure_tables,
    inputs_tables,
    limit_table,
)
from explorer.questions.compare.words import (
    is_mixed,
    mode_words,
    plain_words,
    sampling_words,
    unweighed_words,
)
from explorer.study.contrasts import Difference, Figures
from explorer.studyfile import Study

_CELLS: Final = "Mean in one future firing; in brackets, 19 times in 20 between."
_GIVEN: Final = "Of firings that make contact, where that is not sure:"
_ALL: Final = "Of all firings:"
_DIFFERENCES: Final = (
    "Larger or smaller where zero lies outside the range that holds the difference 19 times in 20. Chance of more: that"
    " one firing of this design shows more than one of the first; in brackets its sampling error."
)
_ALONE: Final = (
    "The same hardware with a change: what the change does in one and the same firing. Chance of more: that it brings"
    " more."
)
_WARNINGS: Final = f"Shares of all points, sampling errors in brackets. Warnings are {AS_CALCULATED}."
_CONTACTS: Final = (
    "Shares of the points with numbers, where the form of contact is worked out and not taken for granted. A difference"
    " is real where its sampling interval leaves zero out."
)
_LIMITS: Final = "In brackets the sampling error."
_CAPTION: Final = (
    "Left: each design in one future firing, its mean and where it lies 19 times in 20. Right: how much more that is"
    " than {first}'s; different where zero lies outside of 19 times in 20."
)

_METHOD: Final = (
    "Independent scrambles of a Sobol' sequence over one cube for all designs: a coordinate for each thing that is"
    " shared, then each design's own. Of an input that is shared the unknown part is drawn once; scatter falls anew at"
    " each firing and is each design's own, but for designs that are one rig: there it is held too, as if the change"
    " were made in that very firing, and the first design is drawn once more in a firing of its own. A difference is"
    " formed point by point and its interval read from these differences, quantiles exact. Each sampling error is one"
    " standard error, from the spread of the figure over the scrambles. A difference is real where the end of its 95 %"
    " interval that lies nearer to zero leaves zero out, beyond Student's t over the scrambles; not decided where"
    " sampling could bring it to zero."
)
_MODEL: Final = (
    "The model's own error is a lognormal factor of median 1 for each quantity by itself. Of the variance of its"
    " logarithm {share} of the smallest among the designs is common to all and drawn once; the rest is each design's"
    " own; designs that are one rig have the smallest of theirs in common in full."
)
_BORDERS: Final = "Share of points past each regime boundary, in the pair that lies furthest past it:"
_USE: Final = "`compare` draws each from the whole of it. They were read so:"


def report(
    found: Comparison, envelope: Mapping[str, Any], *, asked: int | None = None
) -> tuple[Section, ...]:
    """Return the report of a comparison."""
    return (
        _heading(found),
        section("In plain words", (*plain_words(found), sampling_words(found, asked))),
        *_picture(found),
        *_figures(found),
        section("Which differences are real", _differences(found)),
        section("Limits", _limits(found)),
        section("What changes regime", regime_words(found)),
        section("How the points ended", (*ended_tables(found), _WARNINGS)),
        *_contacts(found),
        section("Similarity numbers", (*_block(found, "similarity"), *similarity_words(found))),
        section("Sizes and settings that differ", _stated(found)),
        section("Where they work", _block(found, "operation")),
        *to_compare(found.first.study),
        cautions(*(own.study for own in found.designs)),
        *_for_reviewers(found),
        provenance(envelope),
    )


def _heading(found: Comparison) -> Section:
    names = listed(list(short_names(found.names).values()))
    parts = [
        *(
            f"{own.name}: {own.study.title}."
            for own in found.designs
            if not (own.one_rig and own.study.title == found.first.study.title)
        ),
        *mode_words(found),
        *(f"{own.name}: {note.text}" for own in found.designs for note in notes(own.study)),
    ]
    return section(f"{names} beside each other", parts, as_written=True)


def _picture(found: Comparison) -> Iterator[Section]:
    picture = comparison_picture(found)
    if picture is not None:
        of = " Of firings that make contact." if is_mixed(*found.designs) else ""
        caption = _CAPTION.format(first=found.first.name) + of
        yield section("At a glance", (Picture("comparison", picture, caption),))


def _block(found: Comparison, name: str) -> tuple[Table, ...]:
    return figure_tables(found.designs, printed(found, name))


def _figures(found: Comparison) -> Iterator[Section]:
    outcome: list[Part | str] = [_CELLS]
    mixed = [own for own in found.designs if is_mixed(own)]
    if mixed:
        given = figure_tables(mixed, printed(found, "outcome"), lambda own: own.figures_given_contact)
        outcome += [_GIVEN, *given, _ALL]
    yield section("What comes out", (*outcome, *_block(found, "outcome")))
    weighed: list[Part | str] = [*_block(found, "mass"), *unweighed_words(found)]
    if weighed:
        yield section("What it weighs", weighed)


def _differences(found: Comparison) -> Iterator[Part | str]:
    yield _DIFFERENCES
    if any(other.one_rig for other in found.others):
        yield _ALONE
    told = {head: of for other in found.others for head, of in _told_of(found.first, other)}
    rows = key_rows(found)
    few = [head for head, of in told.items() if not any(of[row].verdict for row in rows)]
    yield from (f"{head}: too few of them to tell a difference from." for head in few)
    told = {head: of for head, of in told.items() if head not in few}
    if len(told) == 1:
        ((head, of),) = told.items()
        yield f"{head}:"
        yield difference_table(of, rows)
    elif told:
        yield f"Each less {found.first.name}: mean (19 times in 20), which is, chance of more."
        yield differences_beside(
            {head.replace(f" less {found.first.name}", ""): of for head, of in told.items()}, rows
        )


def _told_of(first: Compared, other: Compared) -> Iterator[tuple[str, Mapping[str, Difference]]]:
    """What is told of a design less the first one, each in its words."""
    head, mixed = f"{other.name} less {first.name}", is_mixed(first, other)
    if mixed:
        yield f"{head}, of firings that make contact in both", other.differences_given_contact
    yield f"{head}{', all firings' if mixed else ''}", other.differences
    if other.between_firings:
        yield f"{head}, between one firing of each", other.between_firings


def _contacts(found: Comparison) -> Iterator[Section]:
    tables = contact_tables(found.designs)
    parts: list[Part | str] = [*tables, _CONTACTS]
    for own in found.others:
        if own.contact_differences:
            parts += [
                f"{own.name} less {found.first.name}:",
                contact_difference_table(own.contact_differences),
            ]
    if tables:
        yield section("In which form current flows", parts)


def _limits(found: Comparison) -> list[Part | str]:
    table = limit_table(found)
    return [table, _LIMITS] if table.rows else ["None of these studies requires anything."]


def _stated(found: Comparison) -> Iterator[Part | str]:
    main = main_inputs(found)
    yield from inputs_tables(found, main)
    if not found.unlike:
        yield "All inputs are stated alike."
    if len(found.unlike) > len(main):
        rest = counted(len(found.unlike) - len(main), "more input differs", "more inputs differ")
        yield f"{rest}; the second part of the page lists them all."


# For a reviewer


def _for_reviewers(found: Comparison) -> Iterator[Section]:
    every, others = found.designs, found.others
    rows = [row for name in BLOCKS for row in block(found, name)]
    less = _every(others, rows, lambda own: own.differences)
    yield for_reviewers("For a reviewer", _method(found))
    yield for_reviewers("What is drawn once", _shared(found))
    yield for_reviewers("Every figure", _every(every, rows, lambda own: own.figures, centres=True))
    yield for_reviewers("Every difference", (f"Each design less {found.first.name}.", *less))
    if found.first.figures_given_contact:
        given = _every(every, rows, lambda own: own.figures_given_contact, centres=True)
        yield for_reviewers("Every figure, given contact", given)
        less = _every(others, rows, lambda own: own.differences_given_contact)
        yield for_reviewers("Every difference, contact in both", less)
    yield for_reviewers("All regime boundaries", (_BORDERS, *border_tables(found)))
    yield for_reviewers("All inputs that differ", inputs_tables(found, found.unlike))
    yield from inputs_read({own.name: own.study for own in found.designs}, use=_USE)


def _method(found: Comparison) -> Iterator[str]:
    yield _METHOD
    yield _MODEL.format(share=percent(found.model_share))
    for own in found.designs:
        apart = ", ".join(f"{share:.4f}" for share in own.contact.by_scramble)
        yield f"Chance of contact of {own.name}, scramble by scramble: {apart}."


def _shared(found: Comparison) -> Iterator[Part | str]:
    yield shared_part(found.shared, "No two studies name the same thing as shared.")
    errors = [
        (registry.words_of(row), *(_model_error(study, row) for study in found.studies))
        for row in found.first.figures
    ]
    yield "The model's own error, one standard uncertainty, and where it comes from:"
    yield Table(tuple(errors), ("", *found.names))
    if found.apart:
        words = ", ".join(map(registry.words_of, found.apart))
        yield f"Stated alike by the first design and another, and yet drawn apart: {words}."


def _model_error(study: Study, row: str) -> str:
    if row not in registry.outputs_of(study.pairs):
        return ""
    own = study.model_error.of(row)
    return f"{percent(own.relative)} ({origin_words(own.origin)})" if own.relative else "none"


def _every(
    designs: Sequence[Compared],
    rows: Sequence[str],
    of: Callable[[Compared], Mapping[str, Figures]],
    *,
    centres: bool = False,
) -> Iterator[Part | str]:
    yield from every_figure(designs, rows, of)
    if centres:
        yield "At central values of all inputs:"
        yield from columns(
            designs,
            rows,
            registry.words_of,
            lambda row, own: registry.quantity(row).shown(of(own)[row].centre),
        )
    without = [row for row in rows if any(of(own)[row].missing > 0 for own in designs)]
    if without:
        yield "Share of points without a value:"
        yield from columns(
            designs, without, registry.words_of, lambda row, own: percent(of(own)[row].missing)
        )
