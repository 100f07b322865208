"""A first look by elementary effects, as sections and as data."""

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.page.answer import Answer, Envelope
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section, Table
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import (
    STATUS_WORDS,
    counted,
    figure_with_sampling,
    listed,
    opening,
    the,
    with_uncertainty,
)
from explorer.questions.rank.first_look import FirstLook
from explorer.questions.rank.pictures import picture
from explorer.questions.rank.shares import label
from explorer.questions.rank.tables import against_content

_WHAT: Final = (
    "Size: how far an input moves the target on average, up or down, along the middle 95 % of its range, with the"
    " sampling error (95 %). Spread: how much that differs from place to place; where it is as large as the size, the"
    " response bends or depends on the others."
)
_ONLY: Final = (
    "This is a first look: it tells which inputs a closer one may leave out, neither what they carry of the"
    " uncertainty nor what a test would leave. For that: rank without --elementary."
)
_METHOD: Final = (
    "Elementary effects on random paths (Morris 1991; mean size after Campolongo et al. 2007), by SALib: one input"
    " moved"
    " at a time by two thirds of the middle 95 % of its probability, scaled to the whole of it. Paths that meet a point"
    " without a number are left out whole."
)
_USE: Final = "`rank` tries the whole of each. They were read so:"


def first_look_told(found: FirstLook, envelope: Envelope) -> Answer:
    """What is said of a first look."""
    words, head = _plain_words(found), envelope(found.random_number, ())
    return Answer(
        head, _sections(found, words, head), _content(found, words), {"elementary.csv": _rows(found)}
    )


def _plain_words(found: FirstLook) -> tuple[str, ...]:
    scale, first = registry.quantity(found.target).scale, found.effects[0]
    size, error = scale.difference(first.mean_size), scale.difference(first.half_width, 2)
    words = (
        f"{opening(first.words)} moves {the(found.name)} most: by {size} (sampling ± {error}) on average along the"
        " middle of its range."
    )
    following = [effect.words for effect in found.effects[1:3]]
    said = [f"{words} Next: {listed(following)}." if following else words, _ONLY]
    if found.lost:
        said.append(
            f"{counted(found.lost, 'path')} of {found.lost + found.paths} met a point without a number and are left"
            " out."
        )
    return tuple(said)


def _sections(found: FirstLook, words: tuple[str, ...], envelope: Mapping[str, Any]) -> tuple[Section, ...]:
    quantity, study = registry.quantity(found.target), found.study
    column = quantity.readable(*(effect.mean_size for effect in found.effects))
    cells = [
        (
            effect.words,
            with_uncertainty(column, effect.mean_size, effect.half_width, full=True),
            figure_with_sampling(column, effect.spread, None, effect.mean_size, full=True),
        )
        for effect in found.effects
    ]
    parts: list[Part] = [
        Picture("elementary", picture(found), f"How far each input moves {the(found.name)}, largest first."),
        Table(tuple(cells), ("", "size", "spread"), frozenset({1, 2})),
        Paragraph(_WHAT),
    ]
    points = tuple((STATUS_WORDS[name], str(count)) for name, count in found.points.items())
    method = (
        Paragraph(f"{_METHOD} {found.paths} whole paths, {found.lost} lost."),
        Table(points, ("status", "points"), frozenset({1})),
    )
    return (
        Section(study.title, (Paragraph(f"A first look at what moves {the(found.name)}."), *notes(study))),
        Section("In plain words", tuple(Paragraph(sentence) for sentence in words)),
        Section("What moves it", tuple(parts)),
        how_read(study, use=_USE),
        cautions(study),
        Section("For a reviewer", method, audience="reviewer"),
        resolved_inputs(study),
        provenance(envelope),
    )


def _content(found: FirstLook, words: tuple[str, ...]) -> dict[str, Any]:
    return {
        "target": found.target,
        "unit": found.unit,
        "against": against_content(found.study, found.against),
        "elementary": [
            {
                "address": label(effect.row),
                "part": effect.row.part,
                "mean_size": effect.mean_size,
                "mean_size_interval": [
                    effect.mean_size - effect.half_width,
                    effect.mean_size + effect.half_width,
                ],
                "mean": effect.mean,
                "spread": effect.spread,
            }
            for effect in found.effects
        ],
        "points": dict(found.points),
        "paths": found.paths,
        "paths_lost": found.lost,
        "words": " ".join(words),
    }


def _rows(found: FirstLook) -> pd.DataFrame:
    """All rows as a table, the unit in each head."""
    figures = found.table.add_suffix(f" [{found.unit}]").reset_index(drop=True)
    figures.insert(0, "row", [effect.label for effect in found.effects])
    figures.insert(1, "part", [effect.row.part for effect in found.effects])
    return figures
