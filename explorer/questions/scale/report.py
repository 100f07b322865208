"""The report of the way from one design to another: what to fire first and why, what a reviewer wants last."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from explorer import registry
from explorer.page.cautions import cautions
from explorer.page.designs import every_figure, inputs_read, sampled_words, shared_part
from explorer.page.document import Part, Picture, Section, Table, for_reviewers, section
from explorer.page.events import contact_tables
from explorer.page.inputs import notes, origin_words, resolved_inputs
from explorer.page.provenance import provenance
from explorer.page.words import AS_CALCULATED, listed, opened, percent
from explorer.questions.scale.changes import change_words, made_words, switch_words
from explorer.questions.scale.firings import choice_words, file_name, firings_words, out_of_range
from explorer.questions.scale.ladder.ladder import Ladder
from explorer.questions.scale.pictures import picture
from explorer.questions.scale.scaling import Scaling
from explorer.questions.scale.tables import (
    border_tables,
    build_table,
    coarsest_share,
    design_table,
    ended_tables,
    event_tables,
    pinned_table,
    set_table,
    similarity_tables,
    step_table,
    trust_table,
)
from explorer.questions.scale.words import plain_words
from explorer.study.compared import SIMILARITY
from explorer.studyfile import Study

_TRUST: Final = (
    "{first}'s firings: any number. Cost: in firings of {first}, beyond its own. In brackets the sampling"
    " error (one standard error). The intervals are those of now, drawn in as far as the standard uncertainty falls on"
    " average; where they will lie only the firings tell."
)
_MODEL: Final = (
    "Of the variance of the model's own error {share} counts as common to any two designs, near or far in size: one"
    " factor for all of them. That is {origin}; a share that fell with the difference in size would let {first} teach"
    " less, and a point close to {last} more."
)
_DESIGNS: Final = (
    "Size: cube root of the channel's volume over {first}'s. Cost: in firings of {first}. In brackets 19 times in 20."
    " Leaves: the standard uncertainty that one firing of this step alone, after {first}'s, would leave. Per cost: the"
    " share of the variance, in %, that it removes for each firing of {first} that it costs (sampling errors in"
    " the second part). Changes: how many changes of regime lie before it."
)
_ENDED: Final = (
    f"Shares of firings in %, at regime boundaries {AS_CALCULATED}; limits are judged with it."
    " Sampling moves none by more than {worst} (one standard error); each one's own"
    " stands in the second part and in path.csv."
)
_CALCULATED: Final = (
    f"Values and shares at regime boundaries are {AS_CALCULATED}; a study's own limits are judged with it."
)
_MEANS: Final = (
    "Means of one future firing; intervals and sampling errors stand in the second part and in path.csv."
)
_LADDER: Final = (
    "{target} of {last} in one firing, 19 times in 20, narrowing from now on. Shaded: {last}'s own part, which no"
    " firing of another design narrows, but one of {last} itself does."
)
_PATH: Final = (
    "Above: {target} of each design in one firing, the mean and 19 times in 20{filled}. Below:"
    " means of the similarity numbers.{dashed}{dotted}"
)

_METHOD: Final = (
    "Independent scrambles of a Sobol' sequence over one cube for all designs: a coordinate for each thing that is"
    " shared, then each design's own. Readings of every design are simulated on these points: the model's error of a"
    " quantity has a part common to all designs and one of each design alone; an instrument's `common` is drawn once"
    " for all designs, `random` anew for each firing. Of the first design scatter is held at its middle and nothing"
    " random is left: the limit of ever more firings; of the last one its scatter falls anew between the firing that is"
    " read and the one that is predicted. What readings leave is √E[Var(Y|readings)], by regression on splines of ranks"
    " with products of two, cross-fitted between scrambles, or what some of the readings leave where that is less, for"
    " a reading more can only help; errors are one standard error over the scrambles, in brackets in tables half of the"
    " 95 % interval. Sets are searched with each"
    " reading's own splines alone, on points that have no part in anything else told here; the chosen one is judged in"
    " full."
)
_NEVER: Final = (
    "What all that both share would leave: half the mean square difference of the last design's target at two draws of"
    " everything else, the shared kept (Jansen 1999); nothing is fitted."
)
_MORE: Final = "All other figures of all designs, each with its sampling error, stand in path.csv."
_GAIN: Final = (
    "Gain: the variance that a set removes, less what the same cost removes in a firing of {last} itself. Of the sets"
    " whose steps are each worth it and that are no dearer than that firing, the one of largest gain is taken; of those"
    " that can't be told apart from it, the cheapest; where none gains, the one that removes most for its cost."
)
_LOST: Final = "{lost} of the points are left out, for they have no number."
_PINNED: Final = (
    "Share of its own standard uncertainty (of its logarithm where it is positive) that is left of each:"
)
_BORDERS: Final = "Share of firings past each regime boundary, in the pair that lies furthest past it:"
_EVENTS: Final = "Share of each status and warning among all points:"
_USE: Final = "`scale` draws each from the whole of it. They were read so:"


def report(found: Scaling, envelope: Mapping[str, Any], *, asked: int | None = None) -> tuple[Section, ...]:
    """Return the report."""
    return (
        _heading(found),
        section("In plain words", (*plain_words(found), sampled_words(found, asked))),
        *_steps(found),
        section(f"How far {found.first.name} may be trusted", _trust(found), as_written=True),
        *_on_the_way(found),
        cautions(found.first.study, found.last.study),
        *_for_reviewers(found),
        provenance(envelope),
    )


def _heading(found: Scaling) -> Section:
    parts: list[str] = []
    for name, study in _ends(found).items():
        parts += [f"{name}: {study.title}.", *(f"{name}: {note.text}" for note in notes(study))]
    return section(f"From {found.first.name} to {found.last.name}", parts, as_written=True)


def _ends(found: Scaling) -> dict[str, Study]:
    return {found.first.name: found.path.first, found.last.name: found.path.second}


def _steps(found: Scaling) -> Iterator[Section]:
    ladder = found.ladder
    if ladder is None or ladder.plan is None:
        return
    if not ladder.rungs:
        parts: list[Part | str] = [choice_words(found, ladder)]
        parts += [] if ladder.fired is None else out_of_range(found, ladder.fired)
        yield section("Why no step is fired", parts)
        return
    files = ", ".join(file_name(rung) for rung in ladder.rungs)
    parts = [
        *firings_words(found, ladder),
        *build_table(found, ladder),
        choice_words(found, ladder),
        f"Their studies, ready to run: {files}. Predictions with limits, no permission to build or to fire.",
    ]
    yield section("Which steps to fire, and why", parts)


def _trust(found: Scaling) -> Iterator[Part | str]:
    first, last = found.first.name, found.last.name
    yield trust_table(found)
    yield _TRUST.format(first=first)
    yield Picture(
        "ladder",
        picture(found, "ladder"),
        _LADDER.format(target=opened(registry.words_of(found.target)), last=last),
    )
    if found.trust.model_common > 0:
        stated = found.path.first.model_error.shared_origin != "assumed"
        origin = "as the study states" if stated else "assumed"
        origin = "so because they are one rig" if found.path.is_one_rig else origin
        yield _MODEL.format(share=percent(found.model_share), origin=origin, first=first, last=last)


def _on_the_way(found: Scaling) -> Iterator[Section]:
    if not found.path.has_length:
        return
    yield section("Where the regime changes", (*change_words(found), *switch_words(found), _CALCULATED))
    designs = _DESIGNS.format(first=found.first.name)
    path = Picture("path", picture(found, "path"), _path_caption(found))
    yield section("The designs on the way", (design_table(found), designs, path))
    yield section("Similarity numbers and working points", (*similarity_tables(found), _MEANS))
    ended = _ENDED.format(worst=percent(coarsest_share(found), 1))
    yield section("How their firings end", (*ended_tables(found), ended, *contact_tables(found.designs)))
    yield section("How the designs were made", made_words(found))


def _path_caption(found: Scaling) -> str:
    """What the picture of the path shows, of what is drawn in it."""
    return _PATH.format(
        target=registry.words_of(found.target),
        filled="; filled: steps to fire" if found.ladder is not None and found.ladder.rungs else "",
        dashed=" Dashed: a regime changes." if any(change.counts for change in found.changes) else "",
        dotted=" Dotted: words switch." if found.path.switches else "",
    )


# For a reviewer


def _for_reviewers(found: Scaling) -> Iterator[Section]:
    yield for_reviewers("For a reviewer", _method(found))
    if found.ladder is not None:
        yield from _judged(found, found.ladder)
    yield for_reviewers("What is drawn once", _shared(found))
    yield for_reviewers("Target, readings and similarity numbers", (*_figures(found), _MORE))
    borders: list[Part | str] = [_BORDERS, *border_tables(found), _EVENTS, *event_tables(found)]
    yield for_reviewers("All regime boundaries, statuses and warnings", borders)
    yield for_reviewers("How each input goes", [_ways(found)])
    yield from inputs_read(_ends(found), use=_USE)
    if found.ladder is not None:
        for rung in found.ladder.rungs:
            yield replace(
                resolved_inputs(rung.design.study), title=f"{rung.design.name.capitalize()} as resolved"
            )


def _method(found: Scaling) -> Iterator[str]:
    yield _METHOD
    yield _NEVER
    ladder = found.ladder
    if ladder is not None:
        yield _LOST.format(lost=percent(ladder.lost))
        for words, estimate in (("now", ladder.now), ("after the first design", ladder.after_first)):
            apart = ", ".join(registry.quantity(found.target).shown(float(x)) for x in estimate.by_scramble)
            yield f"Standard uncertainty {words}, scramble by scramble: {apart}."


def _judged(found: Scaling, ladder: Ladder) -> Iterator[Section]:
    if ladder.steps:
        yield for_reviewers("Every step by itself, after the first design", [step_table(found, ladder)])
        by_removed = sorted(ladder.tried, key=lambda own: -float(own.removed))
        sets = (
            _GAIN.format(last=found.last.name),
            f"{len(ladder.tried)} sets were tried. Those that gain most:",
            set_table(ladder.tried, ladder),
            "Those that remove most:",
            set_table(by_removed, ladder),
        )
        yield for_reviewers("Sets of steps", sets)
    if ladder.shared_left:
        yield for_reviewers("What is pinned down of what both share", (_PINNED, pinned_table(ladder)))


def _shared(found: Scaling) -> Iterator[Part | str]:
    yield shared_part(found.shared, "The two ends name nothing as shared.")
    if found.apart:
        yield (
            "Stated alike by both ends, and yet drawn apart:"
            f" {listed([registry.words_of(own) for own in found.apart])}."
        )
    errors = [
        f"{percent(own.relative)} ({origin_words(own.origin)}) in {name}"
        for name, study in _ends(found).items()
        for own in (study.model_error.of(found.target),)
    ]
    yield (
        f"The model's own error of the {registry.words_of(found.target)} is {listed(errors)}, a lognormal factor of"
        " median 1. Of the variance"
        f" of its logarithm {percent(found.model_share)} of the smallest among the designs is one factor for all of"
        " them; the rest is each design's own."
    )


def _figures(found: Scaling) -> Iterator[Part]:
    reads = [instrument.reads for instrument in found.path.first.instruments]
    wanted = (found.target, *reads, *SIMILARITY)
    rows = [row for row in found.first.figures if row.rpartition(".")[2] in wanted or row in wanted]
    return every_figure(found.designs, rows, lambda own: own.figures)


def _ways(found: Scaling) -> Table:
    rows = tuple(
        (registry.words_of(address), way) for address, way in found.path.ways.items() if way != "alike"
    )
    words = tuple((registry.words_of(switch.address), "switches") for switch in found.path.switches)
    return Table((*words, *rows), ("input", "goes"))
