"""What a reviewer wants of a path: method, what is drawn once, every step and set judged, every figure, inputs."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from explorer import registry, units
from explorer.page.designs import columns, event_words, figures_of, percent_cell
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.page.inputs import how_read, resolved_inputs
from explorer.page.shared import shared_part
from explorer.page.words import figure_with_sampling, listed, number_with_sampling, percent, with_sampling
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.points import shared_name
from explorer.study.compared import SIMILARITY

#: Most sets listed.
_MOST_SETS: Final = 12

_METHOD: Final = (
    "Independent scrambles of a Sobol' sequence over one cube for all designs: a coordinate for each thing that is"
    " shared, then each design's own. Readings of every design are simulated on these points: the model's error of a"
    " quantity has a part common to all designs and one of each design alone; an instrument's `common` is drawn once"
    " for all designs, `random` anew for each firing. Of the first design scatter is held at its middle and nothing"
    " random is left: the limit of ever more firings. What readings leave is √E[Var(Y|readings)], by regression on"
    " splines of ranks with products of two, cross-fitted between scrambles; errors are one standard error over the"
    " scrambles. Sets are searched with each reading's own splines alone and the chosen one is judged in full."
)
_NEVER: Final = (
    "What all that both share would leave: half the mean square difference of the last design's target at two draws of"
    " everything else, the shared kept (Jansen 1999); nothing is fitted."
)
_MORE: Final = "All other figures of all designs, each with its sampling error, stand in path.csv."
_USE: Final = "`scale` draws each from the whole of it. They were read so:"


def review(found: Scaling) -> tuple[Section, ...]:
    """Return the sections for a reviewer."""
    return (
        _reviewer("For a reviewer", *_method(found)),
        *_judged(found),
        *_pinned(found),
        _reviewer("What is drawn once", *_shared(found)),
        _reviewer("Target, readings and similarity numbers", *_figures(found), Paragraph(_MORE)),
        _reviewer("All borders, statuses and warnings", *_borders(found)),
        _reviewer("How each input goes", _ways(found)),
        *_inputs(found),
    )


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")


def _method(found: Scaling) -> Iterator[Part]:
    yield Paragraph(_METHOD)
    yield Paragraph(_NEVER)
    if found.ladder is not None:
        yield Paragraph(
            f"Of sets of readings that tell nothing the luckiest would seem to remove {percent(found.ladder.luck)} of"
            " the variance (99 % point of the largest over all sets, target shuffled); a best set below that is none."
            f" {percent(found.ladder.lost)} of the rows were left out, for a point had no number."
        )
        for words, estimate in (
            ("now", found.ladder.now),
            ("after the first design", found.ladder.after_first),
        ):
            apart = ", ".join(registry.quantity(found.target).shown(float(x)) for x in estimate.by_scramble)
            yield Paragraph(f"Standard uncertainty {words}, scramble by scramble: {apart}.")


def _judged(found: Scaling) -> Iterator[Section]:
    ladder = found.ladder
    if ladder is None or ladder.candidates.empty:
        return
    quantity = registry.quantity(found.target)
    share = 100.0 / float(ladder.now.value) ** 2
    steps = [
        (
            str(name),
            with_sampling(quantity, row["left"], row["left_standard_error"]),
            number_with_sampling(share * row["removed"], share * row["removed_standard_error"]),
            number_with_sampling(share * row["per_cost"], share * row["per_cost_standard_error"]),
            str(int(row["changes"])),
        )
        for name, row in ((name, ladder.candidates.loc[name]) for name in ladder.candidates.index)
    ]
    head = ("", "left", "removed [% of variance]", "per cost [%]", "changes")
    yield _reviewer(
        "Every step by itself, after the first design", Table(tuple(steps), head, frozenset({2, 3, 4}))
    )
    by_removed = ladder.sets.sort_values("removed", ascending=False, ignore_index=True)
    most_per_cost, most = (
        tuple(
            (
                listed([found.names[design] for design in row["designs"]]),
                units.number_text(row["cost"], 3),
                units.number_text(share * row["removed"], 3),
                units.number_text(share * row["per_cost"], 3),
            )
            for row in table.head(_MOST_SETS).to_dict("records")
        )
        for table in (ladder.sets, by_removed)
    )
    of_sets = ("set", "cost", "removed [% of variance]", "per cost [%]")
    numeric = frozenset({1, 2, 3})
    yield _reviewer(
        "Sets of steps",
        Paragraph(f"{len(ladder.sets)} sets were tried. Those that remove most for their cost:"),
        Table(most_per_cost, of_sets, numeric),
        Paragraph("Those that remove most:"),
        Table(most, of_sets, numeric),
    )


def _pinned(found: Scaling) -> Iterator[Section]:
    if found.ladder is None or found.ladder.pinned.empty:
        return
    table = found.ladder.pinned
    rows = [
        (shared_name(str(name)), *(percent(float(share), 3) for share in table.loc[name]))
        for name in table.index
    ]
    head = ("", *(str(column) for column in table.columns))
    words = (
        "Share of its own standard uncertainty (of its logarithm where it is positive) that is left of each:"
    )
    yield _reviewer(
        "What is pinned down of what both share",
        Paragraph(words),
        Table(tuple(rows), head, frozenset(range(1, len(head)))),
    )


def _shared(found: Scaling) -> Iterator[Part]:
    yield shared_part(found.shared, "The two ends name nothing as shared.")
    if found.apart:
        yield Paragraph(f"Stated alike by both ends, and yet drawn apart: {listed(found.apart)}.")
    errors = [
        f"{percent(own.relative)} ({own.origin}) in {name}"
        for name, study in ((found.names[0], found.path.first), (found.names[-1], found.path.second))
        for own in (study.model_error.of(found.target),)
    ]
    yield Paragraph(
        f"The model's own error of {found.target} is {listed(errors)}, a lognormal factor of median 1. Of the variance"
        f" of its logarithm {percent(found.model_share)} of the smallest among the designs is one factor for all of"
        " them; the rest is each design's own."
    )


def _figures(found: Scaling) -> Iterator[Part]:
    figures = {name: figures_of(found.quantities, name) for name in found.names}
    reads = [instrument.reads for instrument in found.path.first.instruments]
    wanted = (found.target, *reads, *SIMILARITY)
    rows = [
        str(row) for row in found.quantities.index if str(row).rpartition(".")[2] in wanted or row in wanted
    ]
    for figure, words in (("mean", "Mean"), ("low", "19 times in 20 from"), ("high", "19 times in 20 to")):

        def cell(row: str, name: str, figure: str = figure) -> str:
            own = figures[name][row]
            if own[figure] != own[figure]:
                return "none"
            quantity = registry.quantity(row)
            return figure_with_sampling(
                quantity, own[figure], own[f"{figure}_standard_error"], own["standard_uncertainty"]
            )

        yield Paragraph(f"{words}, with the sampling error:")
        yield from columns(found.names, rows, str, cell)


def _borders(found: Scaling) -> Iterator[Part]:
    figures = {name: figures_of(found.border_shares, name) for name in found.names}

    def head(row: str) -> str:
        border = next(b for b in found.borders if b.regime.name == row)
        return f"{row}: {border.regime.measure or border.regime.quantity}"

    def cell(row: str, name: str) -> str:
        share, error = (figures[name][row][figure] for figure in ("share", "standard_error"))
        return "" if share != share else f"{number_with_sampling(100 * share, 100 * error)} %"

    yield Paragraph("Share of firings past each border, in the pair that lies furthest past it:")
    yield from columns(found.names, [b.regime.name for b in found.borders], head, cell)
    ended = {
        name: {**figures_of(found.statuses, name), **figures_of(found.warnings, name)} for name in found.names
    }
    rows = [str(row) for table in (found.statuses, found.warnings) for row in table.index]

    def share(row: str, name: str) -> str:
        return percent_cell(ended[name][row]["share"], ended[name][row]["standard_error"])

    yield Paragraph("Share of each status and warning among all points:")
    yield from columns(found.names, rows, event_words, share)


def _ways(found: Scaling) -> Table:
    rows = tuple((address, way) for address, way in found.path.ways.items() if way != "alike")
    words = tuple((switch.address, "switches") for switch in found.path.switches)
    return Table((*words, *rows), ("input", "goes"))


def _inputs(found: Scaling) -> Iterator[Section]:
    ends = (found.path.first, found.path.second)
    for name, study in zip((found.names[0], found.names[-1]), ends, strict=True):
        for section in (how_read(study, use=_USE), resolved_inputs(study)):
            yield replace(section, title=f"{section.title}: {name}", as_written=True, audience="reviewer")
    if found.ladder is not None:
        for number, rung in enumerate(found.ladder.rungs, start=1):
            step = found.path.steps[rung.design - 1]
            section = resolved_inputs(step.study)
            yield replace(section, title=f"Point {number} as resolved", audience="reviewer")
