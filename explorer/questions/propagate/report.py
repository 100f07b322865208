"""The report of a propagation, as sections: plain words first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from matplotlib.figure import Figure

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section
from explorer.page.inputs import how_read, model_error_table, notes, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import listed, share_with_sampling
from explorer.questions.propagate import tables, words
from explorer.questions.propagate.first_order import DIGITS
from explorer.questions.propagate.pictures import propagation_pictures
from explorer.questions.propagate.propagation import Propagation
from explorer.questions.propagate.repeats import Piece
from explorer.studyfile import Study

#: By quantity, growing pieces of the sample, the whole last.
Pieces = Mapping[str, Sequence[Piece]]

_USE: Final = "`propagate` draws each from the whole of it. They were read so:"

_LAW: Final = (
    "What a calculation on paper would give: each input moved up and down by one standard uncertainty, half of each"
    " difference added in squares (GUM). The verdict holds it against the sample (JCGM 101, clause 8)."
)

_MODEL: Final = (
    "How far the calculation may be off though every input were right; it is drawn with the rest, and counts as not"
    " known:"
)

_METHOD: Final = (
    "Independent scrambles of a Sobol' sequence; where inputs scatter, every point has a twin that shares the unknowns"
    " and draws the scatter anew. V = Var(E[Y|unknowns]) + E[Var(Y|unknowns)]: the second part is half the mean square"
    " difference of the twins (Jansen 1999), the first their covariance. Figures are those of all values together,"
    " quantiles exact; each sampling error is one standard error, from the spread of the figure over the scrambles."
    " The interval of the mean over firings is carried on from one firing over the mean of two; exact for Gaussian"
    " outputs, an approximation elsewhere."
)

_SETTLED: Final = (
    "The first rows of each scramble are a balanced design themselves. With more of them figures move by no more than"
    " their sampling errors, and these fall."
)

_VERDICT: Final = (  # δ as JCGM 101, 7.9.2 makes it of a number of digits
    "Central differences of plus and minus one standard uncertainty about the expectation, product-moment correlations"
    " out of the copula (JCGM 100, 5.1.3 and 5.2.2). Verdict after JCGM 101, clause 8: both ends of the 95 % interval"
    f" within δ of the sample's, δ half a unit of significant digit {DIGITS} of the standard uncertainty; not decided"
    " where twice the sampling error of an end exceeds δ/5."
)

_CONTRIBUTIONS: Final = "What each row contributes, signed; they add in squares unless rows are correlated:"


def report(
    found: Propagation,
    study: Study,
    envelope: Mapping[str, Any],
    *,
    asked: int | None,
    shortest: bool,
    pieces: Pieces,
    left_of_template: Sequence[Paragraph],
) -> Iterator[Section]:
    """Yield the sections of a propagation's report."""
    about = f"How sure {listed(list(found.figures))} can be predicted for one future firing."
    yield Section(study.title, (Paragraph(about), *notes(study)))
    said = [*words.plain_words(found, study), words.sampling_words(found, asked)]
    yield Section("In plain words", (*map(Paragraph, said), *left_of_template))
    drawn = propagation_pictures(found)
    for name in found.figures:
        yield _quantity(found, study, name, drawn.get(name), shortest=shortest)
    if len(found.statuses) > 1 or "ok" not in found.statuses:
        yield Section("How the points ended", (tables.status_table(found),))
    laws = (Paragraph(words.first_order_words(found, name)) for name in found.figures)
    yield Section("The first-order law beside it", (Paragraph(_LAW), *laws))
    yield _model(found, study)
    yield how_read(study, use=_USE)
    yield cautions()
    yield from _review(found, pieces)
    yield resolved_inputs(study)
    yield provenance(envelope)


def _quantity(
    found: Propagation, study: Study, name: str, picture: Figure | None, *, shortest: bool
) -> Section:
    parts: list[Part] = [Paragraph(registry.quantity(name).sentence)]
    if picture is not None:
        required = study.target.has_requirement and name == study.target.quantity
        hatched = " Hatched: what is required is not met." if required else ""
        caption = f"{name} in one future firing, and of which parts its doubt is made.{hatched}"
        parts.append(Picture(name, picture, caption))
    if found.mixture is not None and name in found.mixture.figures:
        chance = share_with_sampling(found.mixture.contact)
        parts.append(Paragraph(f"Chance of contact: {chance}. Given contact:"))
        parts.append(tables.firing_table(name, found.mixture.figures[name], shortest=shortest))
        parts.append(Paragraph("All firings together, those without contact too:"))
    parts.append(tables.firing_table(name, found.figures[name], shortest=shortest))
    return Section(name, tuple(parts), as_written=True)


def _model(found: Propagation, study: Study) -> Section:
    title = "The model's own error"
    if not any(study.model_error.of(name).relative for name in found.figures):
        none = "For none of these quantities an error of the model itself is stated or assumed."
        return Section(title, (Paragraph(none),))
    return Section(title, (Paragraph(_MODEL), model_error_table(study, tuple(found.figures))))


def _review(found: Propagation, pieces: Pieces) -> Iterator[Section]:
    """What a reviewer wants: method, repeats, how figures settled, the first-order law input by input."""
    method: list[Part] = [Paragraph(_METHOD), tables.status_table(found)]
    if found.chance_met is not None:
        method.append(_apart("that the requirement is met", found.chance_met))
    if found.mixture is not None:
        method.append(_apart("of contact", found.mixture.contact))
    yield _reviewer("For a reviewer", *method)
    told = {name: growing for name, growing in pieces.items() if growing}
    if pieces:
        repeats = (tables.repeats_table(name, growing[-1]) for name, growing in told.items())
        yield _reviewer("Scramble by scramble", *repeats)
        growth = (tables.growth_table(name, growing) for name, growing in told.items())
        yield _reviewer("How the figures settled", Paragraph(_SETTLED), *growth)
    law: list[Part] = [Paragraph(_VERDICT), tables.law_table(found)]
    contributions = tables.contributions_table(found)
    if contributions is not None:
        law += [Paragraph(_CONTRIBUTIONS), contributions]
    yield _reviewer("The first-order law, input by input", *law)


def _apart(of: str, chance: Estimate) -> Paragraph:
    shares = ", ".join(f"{share:.4f}" for share in chance.by_scramble)
    return Paragraph(f"Chance {of}, scramble by scramble: {shares}.")


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")
