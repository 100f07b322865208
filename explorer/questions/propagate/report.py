"""The report of a propagation, as sections: plain words first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from matplotlib.figure import Figure

from explorer import registry
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import listed, share_with_sampling
from explorer.questions.propagate.propagation import Propagation
from explorer.questions.propagate.repeats import Repeats
from explorer.questions.propagate.review import review
from explorer.questions.propagate.tables import firing_table, model_error_table, status_table
from explorer.questions.propagate.words import (
    Figures,
    figures_of,
    first_order_words,
    plain_words,
    rows_of,
    sampling_words,
)
from explorer.studyfile import Study

_USE: Final = "`propagate` draws each from the whole of it. They were read so:"

_LAW: Final = (
    "What a calculation on paper would give: each input moved up and down by one standard uncertainty, half of each"
    " difference added in squares (GUM). The verdict holds it against the sample (JCGM 101, clause 8)."
)

_MODEL: Final = (
    "How far the calculation may be off though every input were right; it is drawn with the rest, and counts as not"
    " known:"
)


def propagation_report(
    found: Propagation,
    study: Study,
    envelope: Mapping[str, Any],
    *,
    asked: int | None = None,
    shortest: bool = False,
    pieces: Repeats | None = None,
    pictures: Mapping[str, Figure] | None = None,
    left_of_template: tuple[Paragraph, ...] = (),
) -> tuple[Section, ...]:
    """Return the report of a propagation."""
    drawn = pictures or {}
    required = study.target.quantity if study.target.has_requirement else None
    return (
        _heading(found, study),
        _plain(found, study, asked, left_of_template),
        *(
            _quantity(found, name, row, shortest, drawn.get(name), required)
            for name, row in rows_of(found).items()
        ),
        *_statuses(found),
        Section("The first-order law beside it", (Paragraph(_LAW), *_law(found))),
        *_model(found, study),
        how_read(study, use=_USE),
        cautions(),
        *review(found, pieces),
        resolved_inputs(study),
        provenance(envelope),
    )


def _heading(found: Propagation, study: Study) -> Section:
    names = listed(list(rows_of(found)))
    return Section(
        study.title, (Paragraph(f"How sure {names} can be predicted for one future firing."), *notes(study))
    )


def _plain(
    found: Propagation, study: Study, asked: int | None, left_of_template: tuple[Paragraph, ...]
) -> Section:
    parts: list[Part] = [Paragraph(words) for words in plain_words(found, study)]
    parts.append(Paragraph(sampling_words(found, asked)))
    parts += left_of_template
    return Section("In plain words", tuple(parts))


def _quantity(
    found: Propagation, name: str, row: Figures, shortest: bool, picture: Figure | None, required: str | None
) -> Section:
    quantity = registry.quantity(name)
    parts: list[Part] = [Paragraph(quantity.sentence)]
    if picture is not None:
        hatched = " Hatched: what is required is not met." if name == required else ""
        words = f"{name} in one future firing, and of which parts its doubt is made.{hatched}"
        parts.append(Picture(name, picture, words))
    if found.mixture is not None:
        contact = found.mixture.contact
        chance = share_with_sampling(float(contact.value), float(contact.standard_error))
        given = figures_of(found.mixture.given_contact)[name]
        parts.append(Paragraph(f"Chance of contact: {chance}. Given contact:"))
        parts.append(firing_table(quantity, given, shortest=shortest))
        parts.append(Paragraph("All firings together, those without contact too:"))
    parts.append(firing_table(quantity, row, shortest=shortest))
    return Section(name, tuple(parts), as_written=True)


def _statuses(found: Propagation) -> Iterator[Section]:
    if len(found.status_shares) > 1 or "ok" not in found.status_shares.index:
        yield Section("How the points ended", (status_table(found),))


def _law(found: Propagation) -> Iterator[Paragraph]:
    for name in rows_of(found):
        yield Paragraph(first_order_words(found, name))


def _model(found: Propagation, study: Study) -> Iterator[Section]:
    table = model_error_table(found, study)
    if table is None:
        words = "For none of these quantities an error of the model itself is stated or assumed."
        yield Section("The model's own error", (Paragraph(words),))
    else:
        yield Section("The model's own error", (Paragraph(_MODEL), table))
