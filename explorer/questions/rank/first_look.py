"""A first look by elementary effects, as sections, as data and as a picture."""

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd
from matplotlib.figure import Figure

from explorer import registry
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section, Table
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import STATUS_WORDS, counted, figure_with_sampling, listed, with_uncertainty
from explorer.questions.rank.elementary import FirstLook
from explorer.questions.rank.elementary_picture import elementary_figure
from explorer.questions.rank.tables import against_name, target_words
from explorer.studyfile import Study

_WHAT: Final = (
    "Size: how far a row moves the target on average, up or down, along the middle 95 % of its range, with the sampling"
    " error (95 %). Spread: how much that differs from place to place; where it is as large as the size, the row bends"
    " or hangs on the others."
)
_ONLY: Final = (
    "This is a first look: it tells which inputs may be left out of a closer one, not what they carry of the"
    " uncertainty, and not what a test would leave. For that: rank without --elementary."
)
_METHOD: Final = (
    "Elementary effects on random paths (Morris 1991; mean size after Campolongo et al. 2007), by SALib: one row moved"
    " at a time by two thirds of the middle 95 % of its probability, scaled to the whole of it. Paths that meet a point"
    " without a number are left out whole."
)
_USE: Final = "`rank` tries the whole of each. They were read so:"


def first_look_words(found: FirstLook) -> tuple[str, ...]:
    """Return a first look in plain words."""
    scale = registry.quantity(found.target).scale
    rows = list(zip(_labels(found), found.table["mean_size"], found.table["mean_size_interval"], strict=True))
    name, size, half = rows[0]
    first = (
        f"{name} moves {target_words(found)} most: by {scale.difference(size)} (sampling ± {scale.difference(half, 2)})"
        " on average along the middle of its range."
    )
    following = [other for other, _, _ in rows[1:3]]
    words = [f"{first} Next: {listed(following)}." if following else first, _ONLY]
    if found.lost:
        words.append(
            f"{counted(found.lost, 'path')} of {found.lost + found.paths} met a point without a number and were left"
            " out."
        )
    return tuple(words)


def _labels(found: FirstLook) -> list[str]:
    return [
        f"{address} (scatter)" if part == "scatter" else str(name if part == "model" else address)
        for name, address, part in zip(
            found.table.index, found.table["address"], found.table["part"], strict=True
        )
    ]


def first_look_picture(found: FirstLook) -> Figure:
    """Return the picture of a first look."""
    return elementary_figure(
        found.table.assign(label=_labels(found)), target_words(found), registry.quantity(found.target).scale
    )


def first_look_report(found: FirstLook, study: Study, envelope: Mapping[str, Any]) -> tuple[Section, ...]:
    """Return the report of a first look."""
    quantity = registry.quantity(found.target)
    cells = [
        (
            name,
            with_uncertainty(quantity, row["mean_size"], row["mean_size_interval"]),
            figure_with_sampling(quantity, row["spread"], 0.0, row["mean_size"]),
        )
        for name, row in zip(_labels(found), found.table.to_dict("records"), strict=True)
    ]
    caption = f"How far each row moves {target_words(found)}, largest first."
    parts: list[Part] = [Picture("elementary", first_look_picture(found), caption)]
    parts += [Table(tuple(cells), ("", "size", "spread"), frozenset({1, 2})), Paragraph(_WHAT)]
    points = tuple((STATUS_WORDS[name], str(count)) for name, count in found.points.items())
    return (
        Section(
            study.title, (Paragraph(f"A first look at what moves {target_words(found)}."), *notes(study))
        ),
        Section("In plain words", tuple(Paragraph(words) for words in first_look_words(found))),
        Section("What moves it", tuple(parts)),
        how_read(study, use=_USE),
        cautions(),
        Section(
            "For a reviewer",
            (
                Paragraph(f"{_METHOD} {found.paths} whole paths, {found.lost} lost."),
                Table(points, ("status", "points"), frozenset({1})),
            ),
            audience="reviewer",
        ),
        resolved_inputs(study),
        provenance(envelope),
    )


def first_look_content(found: FirstLook) -> dict[str, Any]:
    """Return what the JSON of a first look holds behind its envelope."""
    against = found.against
    return {
        "target": found.target,
        "unit": found.unit,
        "against": None
        if against is None
        else {"study": against_name(found), "study_hash": against.study_hash},
        "elementary": [
            {
                "address": str(name) if row["part"] == "model" else row["address"],
                "part": row["part"],
                "mean_size": row["mean_size"],
                "mean_size_interval": [
                    row["mean_size"] - row["mean_size_interval"],
                    row["mean_size"] + row["mean_size_interval"],
                ],
                "mean": row["mean"],
                "spread": row["spread"],
            }
            for name, row in zip(found.table.index, found.table.to_dict("records"), strict=True)
        ],
        "points": dict(found.points),
        "paths": found.paths,
        "paths_lost": found.lost,
        "words": " ".join(first_look_words(found)),
    }


def first_look_rows(found: FirstLook) -> pd.DataFrame:
    """Return all rows as a table, the unit in each head."""
    columns = ("mean_size", "mean_size_interval", "mean", "spread")
    return pd.DataFrame(
        {
            "row": _labels(found),
            "part": list(found.table["part"]),
            **{f"{name} [{found.unit}]": found.table[name].to_numpy() for name in columns},
        }
    )
