"""The designs of a path with their sizes and costs, and what is found of each."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from explorer import registry
from explorer.questions.scale.path.borders import Border, side_at
from explorer.questions.scale.path.path import Path
from explorer.questions.scale.path.sample import Sample
from explorer.study.contrasts import figures_of
from explorer.study.together import Tried
from explorer.studyfile import Study


@dataclass(frozen=True)
class Waypoint(Tried):
    """A design of a path, and what is found of it."""

    number: int  #: [-] among the path's designs, 0 for the first end
    place: float  #: [-] along the path, 0 at the first end, 1 at the second
    size: float  #: [-] cube root of the channel's volume over the first end's
    cost: float  #: [-] firings of the first end that one firing of it costs
    notes: tuple[str, ...]  #: What had to be done about an uncertainty


def designs_of(
    path: Path, borders: Sequence[Border], sample: Sample, rows: Sequence[str], cost_exponent: float
) -> tuple[Waypoint, ...]:
    """The designs of a path, from what came of them; a firing's cost goes with a power of the size."""
    statuses = sample.shares([status.name for status in registry.STATUSES])
    warnings = sample.shares([warning.code for warning in registry.WARNINGS])
    places = [0.0, *(step.place for step in path.steps), 1.0]
    notes = [(), *(step.notes for step in path.steps), ()]
    designs = []
    for number, (side, place) in enumerate(zip(sample.joint.sides, places, strict=True)):
        size = size_of(side.study) / size_of(path.first)
        designs.append(
            Waypoint(
                name=side.name,
                study=side.study,
                figures={row: figures_of(sample.values(number, row)) for row in rows},
                statuses=statuses[number],
                warnings=warnings[number],
                sides={border.name: side_at(border, sample, number, place) for border in borders},
                number=number,
                place=place,
                size=size,
                cost=size**cost_exponent,
                notes=notes[number],
            )
        )
    return tuple(designs)


def size_of(study: Study) -> float:
    """Cube root of the channel's volume [m]."""
    v = study.central()
    g0, g1, w0, w1 = (v[f"channel.{name}"] for name in ("gap_in", "gap_out", "width_in", "width_out"))
    return float(np.cbrt(v["channel.length"] * (2 * g0 * w0 + 2 * g1 * w1 + g0 * w1 + g1 * w0) / 6))
