"""The report of the way from one design to another: what to fire first and why, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from matplotlib.figure import Figure

from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import notes
from explorer.page.provenance import provenance
from explorer.page.words import percent
from explorer.questions.scale.changes import change_words, made_words, switch_words
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.points import choice_words, pinned_words, rung_words
from explorer.questions.scale.review import review
from explorer.questions.scale.rows import point_name
from explorer.questions.scale.tables import (
    coarsest_share,
    design_table,
    ended_tables,
    points_table,
    similarity_tables,
    trust_table,
)
from explorer.questions.scale.words import plain_words

_TRUST: Final = (
    "{first}'s firings: as many as you like. In brackets the sampling error. The intervals are those of now, drawn in"
    " as far as the standard uncertainty falls on average; where they will lie only the firings tell."
)
_MODEL: Final = (
    "Of the variance of the model's own error {share} counts as common to any two designs, near or far in size: one"
    " factor for all of them. That is {origin}; a share that fell with the difference in size would let {first} teach"
    " less, and a point close to {last} more."
)
_DESIGNS: Final = (
    "Size: cube root of the channel's volume over {first}'s. Cost: in firings of {first}. In brackets 19 times in 20."
    " Leaves: the standard uncertainty that one firing of this step alone, after {first}'s, would leave. Per cost: the"
    " share of the variance, in per cent, that it removes for each firing of {first} that it costs (sampling errors in"
    " the second part). Changes: how many changes of regime lie before it."
)
_ENDED: Final = (
    "Shares of firings in per cent. Sampling moves none by more than {worst} (one standard error); each one's own"
    " stands in the second part and in path.csv."
)
_MEANS: Final = (
    "Means of one future firing; intervals and sampling errors stand in the second part and in path.csv."
)

Pictures = Mapping[str, Figure]


def scaling_report(
    found: Scaling, envelope: Mapping[str, Any], pictures: Pictures | None = None, *, asked: int | None = None
) -> tuple[Section, ...]:
    """Return the report."""
    drawn = pictures or {}
    return (
        _heading(found),
        _plain(found, asked),
        *_points(found),
        _trust(found, drawn.get("ladder")),
        *_on_the_way(found, drawn.get("path")),
        cautions(),
        *review(found),
        provenance(envelope),
    )


def _heading(found: Scaling) -> Section:
    parts = []
    ends = found.path.first, found.path.second
    for name, study in zip((found.names[0], found.names[-1]), ends, strict=True):
        parts.append(Paragraph(f"{name}: {study.title}."))
        parts += [Paragraph(f"{name}: {note.text}") for note in notes(study)]
    return Section(f"From {found.names[0]} to {found.names[-1]}", tuple(parts), as_written=True)


def _plain(found: Scaling, asked: int | None) -> Section:
    rounded = "" if asked in (None, found.samples) else f" (rounded up from {asked})"
    size = f"From {found.samples} points{rounded}, the same for all designs, in {found.scrambles} independent repeats."
    return Section("In plain words", tuple(Paragraph(words) for words in (*plain_words(found), size)))


def _points(found: Scaling) -> Iterator[Section]:
    if found.ladder is None or not found.ladder.rungs:
        return
    parts: list[Part] = [
        Paragraph(words)
        for number in range(1, len(found.ladder.rungs) + 1)
        for words in rung_words(found, number)
    ]
    if (pinned := pinned_words(found)) is not None:
        parts.append(Paragraph(pinned))
    files = ", ".join(
        f"{point_name(n).replace(' ', '-')}.toml" for n in range(1, len(found.ladder.rungs) + 1)
    )
    parts += [
        *points_table(found),
        Paragraph(choice_words(found)),
        Paragraph(
            f"Their studies, ready to run: {files}. Predictions with limits, no permission to build or to fire."
        ),
    ]
    yield Section("Which points to fire, and why", tuple(parts))


def _trust(found: Scaling, picture: Figure | None) -> Section:
    parts: list[Part] = [trust_table(found), Paragraph(_TRUST.format(first=found.names[0]))]
    if picture is not None:
        parts.append(
            Picture(
                "ladder",
                picture,
                f"{found.target} of {found.names[-1]} in one firing, 19 times in 20, narrowing from now on. Shaded:"
                f" {found.names[-1]}'s own part, which no firing of another design narrows.",
            )
        )
    if found.trust.model_common > 0:
        first = found.path.first.model_error
        origin = "as the study states" if first.shared_origin != "assumed" else "assumed"
        words = _MODEL.format(
            share=percent(found.model_share), origin=origin, first=found.names[0], last=found.names[-1]
        )
        parts.append(Paragraph(words))
    return Section(f"How far {found.names[0]} may be trusted", tuple(parts), as_written=True)


def _on_the_way(found: Scaling, picture: Figure | None) -> Iterator[Section]:
    if not found.path.has_length:
        return
    changes = (*change_words(found), *switch_words(found))
    yield Section("Where the regime changes", tuple(Paragraph(words) for words in changes))
    designs: list[Part] = [design_table(found), Paragraph(_DESIGNS.format(first=found.names[0]))]
    if picture is not None:
        designs.append(
            Picture(
                "path",
                picture,
                f"Above: {found.target} of each design in one firing, the mean and 19 times in 20; filled: points of"
                " the ladder. Below: means of the similarity numbers. Dashed: a regime changes. Dotted: words switch.",
            )
        )
    yield Section("The designs on the way", tuple(designs))
    yield Section("Similarity numbers and working points", (*similarity_tables(found), Paragraph(_MEANS)))
    ended = Paragraph(_ENDED.format(worst=percent(coarsest_share(found), 1)))
    yield Section("How their firings end", (*ended_tables(found), ended))
    yield Section("How the designs were made", tuple(Paragraph(words) for words in made_words(found)))
