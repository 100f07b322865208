"""What a propagation says on a terminal: verdict, what could fool the reader, the numbers."""

from collections.abc import Iterator

from explorer import registry
from explorer.page import brief
from explorer.page.document import Section, Table
from explorer.page.events import beware
from explorer.page.words import between, requirement, with_uncertainty
from explorer.questions.propagate import words
from explorer.questions.propagate.propagation import Propagation
from explorer.study.limits import MET, verdict
from explorer.studyfile import Study


def short_answer(found: Propagation, study: Study) -> tuple[Section, ...]:
    """The short answer."""
    return brief.brief(
        [study],
        f"Propagate: {study.title}",
        verdict=_verdict(found, study),
        to_do=_to_do(found, study),
        beware=_beware(found),
        numbers=_numbers(found),
        notes=[
            "" if found.digits is None else words.digits_words(found),
            f"{found.samples} points; ± is one standard uncertainty.",
        ],
    )


def _verdict(found: Propagation, study: Study) -> Iterator[str]:
    target = study.target
    if found.chance_met is not None and target.has_requirement:
        quantity = registry.quantity(target.quantity)
        yield brief.verdict_line(
            found.chance_met,
            target.chance,
            f"{quantity.words} {requirement(quantity, at_least=target.at_least, at_most=target.at_most)}",
        )
    if (contact := words.contact_words(found)) is not None:
        yield contact
        yield from (words.one_firing(found, name, figures) for name, figures in found.figures.items())
        return
    for name, figures in found.figures.items():
        quantity = registry.quantity(name)
        if not figures.moves:
            yield f"The {quantity.words} is {quantity.spoken(float(figures.mean))} in every firing."
            continue
        ends = between(quantity, figures.low, figures.high, figures.spread)
        amount = with_uncertainty(quantity, figures.mean, figures.spread)
        yield f"One firing: {quantity.words} {amount}, 19 times in 20 between {ends}."


def _to_do(found: Propagation, study: Study) -> Iterator[str]:
    if found.chance_met is not None and verdict(found.chance_met.interval, study.target.chance) != MET:
        yield "`rank` tells which measurement makes this surer, `optimize` looks for a design that meets it."


def _beware(found: Propagation) -> Iterator[str]:
    yield from beware(found.events)
    for name, rare in found.tails.items():
        yield words.tail_words(name, rare)
    yield words.failure_words(found) or ""


def _numbers(found: Propagation) -> Table:
    rows = []
    for name, figures in found.figures.items():
        quantity = registry.quantity(name)
        if figures.moves:
            of_it = (figures.unknown, figures.scatter) if figures.scatters else (figures.spread, 0.0)
            median = float(figures.median)
            # One unit a row, for its figures are held against each other.
            scale = quantity.scale.readable(median)
            spread = (scale.difference(float(part), 2, kept=True) for part in of_it)
            rows.append((quantity.words, scale.text(median, 3), *spread))
    return Table(tuple(rows), ("", "median", "± not known", "± scatter"), frozenset({1, 2, 3}))
