"""The report of a propagation, as sections: plain words first, what a reviewer wants last."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from explorer import registry
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Part, Picture, Section, for_reviewers, section
from explorer.page.events import events_section
from explorer.page.inputs import how_read, model_error_table, notes, resolved_inputs, to_try
from explorer.page.pictures.distribution import shows_unmet
from explorer.page.provenance import provenance
from explorer.page.requirement import requirement
from explorer.page.words import listed, opened, percent_with_sampling
from explorer.questions.propagate import tables, words
from explorer.questions.propagate.figures import Piece
from explorer.questions.propagate.first_order import DIGITS
from explorer.questions.propagate.pictures import picture
from explorer.questions.propagate.propagation import Propagation
from explorer.study.shown import scale_of
from explorer.studyfile import Study

#: By quantity, growing pieces of the sample, the whole last.
Pieces = Mapping[str, Sequence[Piece]]

_USE: Final = "`propagate` draws each from the whole of it. They were read so:"

_LAW: Final = (
    "What a calculation on paper would give: each input moved up and down by one standard uncertainty, half of each"
    " difference added in squares (GUM). The verdict holds it against the sample (JCGM 101, clause 8)."
)

_MODEL: Final = (
    "How far the calculation may be off even with every input right; it is drawn with the rest, and counts as not"
    " known:"
)

_NO_MODEL: Final = "No error of the model itself is stated or assumed for these quantities."

_METHOD: Final = (
    "Independent scrambles of a Sobol' sequence; where inputs scatter, every point has a twin that shares the unknowns"
    " and draws the scatter anew. V = Var(E[Y|unknowns]) + E[Var(Y|unknowns)]: the second part is half the mean square"
    " difference of the twins (Jansen 1999), the first their covariance. Figures are those of all values together,"
    " quantiles exact; each sampling error is one standard error, from the spread of the figure over the scrambles."
    " The interval of the mean over firings is carried on from one firing over the mean of two; exact for Gaussian"
    " outputs, an approximation elsewhere."
)

_SETTLED: Final = (
    "The first points of each scramble are a balanced design themselves. With more of them figures move by no more than"
    " their sampling errors, and these fall."
)

_VERDICT: Final = (  # δ as JCGM 101, 7.9.2 makes it of a number of digits
    "Central differences of plus and minus one standard uncertainty about the expectation, product-moment correlations"
    " out of the copula (JCGM 100, 5.1.3 and 5.2.2). Verdict after JCGM 101, clause 8: both ends of the 95 % interval"
    f" within δ of the sample's, δ half a unit of significant digit {DIGITS} of the standard uncertainty; not decided"
    " where twice the sampling error of an end exceeds δ/5."
)

_CONTRIBUTIONS: Final = (
    "What each input contributes, signed; they add in squares unless inputs are correlated:"
)


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
    about = (
        f"How well {listed([registry.words_of(name) for name in found.figures])} can be predicted for one future"
        " firing."
    )
    yield section(study.title, [about, *notes(study)])
    said = [*words.plain_words(found, study), words.sampling_words(found, asked)]
    yield section("In plain words", [*said, *left_of_template])
    for name in found.figures:
        yield section(opened(registry.words_of(name)), _quantity(found, study, name, shortest=shortest))
    yield from events_section(found.events)
    if len(found.statuses) > 1 or "ok" not in found.statuses:
        yield section("How the points ended", [tables.status_table(found)])
    laws = (words.first_order_words(found, name) for name in found.figures)
    yield section("The first-order law beside it", [_LAW, *laws])
    stated = any(study.model_error.of(name).relative for name in found.figures)
    model: list[Part | str] = (
        [_MODEL, model_error_table(study, tuple(found.figures))] if stated else [_NO_MODEL]
    )
    yield section("The model's own error", model)
    yield from to_try(study, "propagate")
    yield how_read(study, use=_USE)
    yield cautions(study)
    yield for_reviewers("For a reviewer", _method(found))
    if pieces:
        told = {name: growing for name, growing in pieces.items() if growing}
        repeats = (tables.repeats_table(name, growing[-1]) for name, growing in told.items())
        yield for_reviewers("Scramble by scramble", repeats)
        growth = (tables.growth_table(name, growing) for name, growing in told.items())
        yield for_reviewers("How the figures settled", [_SETTLED, *growth])
    yield for_reviewers("The first-order law, input by input", _by_input(found))
    yield resolved_inputs(study)
    yield provenance(envelope)


def _quantity(found: Propagation, study: Study, name: str, *, shortest: bool) -> Iterator[Part | str]:
    yield registry.quantity(name).sentence
    if found.figures[name].moves:
        required = study.target.has_requirement and name == study.target.quantity
        figure = picture(found, name)
        hatched = " Hatched: what is required is not met." if shows_unmet(figure) else ""
        caption = (
            f"{opened(registry.words_of(name))} in one future firing, and what its uncertainty is made"
            f" of.{hatched}"
        )
        yield Picture(name, figure, caption)
        if required:
            at_least = study.target.at_least is not None
            yield requirement(
                found.histogram_values[name], registry.words_of(name), scale_of(name), at_least=at_least
            )
    if found.mixture is not None and name in found.mixture.figures:
        yield f"Chance of contact: {percent_with_sampling(found.mixture.contact)}. Given contact:"
        yield tables.firing_table(name, found.mixture.figures[name], shortest=shortest)
        yield "All firings together, those without contact too:"
    yield tables.firing_table(name, found.figures[name], shortest=shortest)


def _method(found: Propagation) -> Iterator[Part | str]:
    yield _METHOD
    yield tables.status_table(found)
    contact = found.mixture.contact if found.mixture else None
    for of, chance in (("that the requirement is met", found.chance_met), ("of contact", contact)):
        if chance is not None:
            shares = ", ".join(f"{share:.4f}" for share in chance.by_scramble)
            yield f"Chance {of}, scramble by scramble: {shares}."


def _by_input(found: Propagation) -> Iterator[Part | str]:
    yield _VERDICT
    yield tables.law_table(found)
    contributions = tables.contributions_table(found)
    if contributions is not None:
        yield _CONTRIBUTIONS
        yield contributions
