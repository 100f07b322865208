"""The designs of a path with their sizes and costs, and what is found of each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from explorer import registry, run
from explorer.questions.scale.path.borders import Border, side_at
from explorer.questions.scale.path.path import Path
from explorer.questions.scale.path.sample import Sample, sample_along
from explorer.questions.scale.path.surroundings import fired
from explorer.sampling import Purpose
from explorer.study.compared import compared_quantities, of_study
from explorer.study.contrasts import figures_of
from explorer.study.joint import study_names
from explorer.study.limits import contact_outputs, contacts_of
from explorer.study.outcomes import FEWEST, NoNumbers, endings, fewest
from explorer.study.together import Tried
from explorer.study.visibility import CARRIED
from explorer.studyfile import Instrument, Study


@dataclass(frozen=True)
class Waypoint(Tried):
    """A design of a path, and what is found of it."""

    number: int  #: [-] among the path's designs, 0 for the first end
    place: float  #: [-] along the path, 0 at the first end, 1 at the second
    size: float  #: [-] cube root of the channel's volume over the first end's
    cost: float  #: [-] firings of the first end that one firing of it costs
    notes: tuple[str, ...]  #: What had to be done about an uncertainty


@dataclass(frozen=True)
class Sampling:
    """How often and by which numbers the designs of a path are tried."""

    number: int  #: The random number
    samples: int  #: [-]
    jobs: int = 1
    progress: run.Progress | None = None

    def part(self, part: int, fewest: int) -> "Sampling":
        """The same with a part of the points, but not fewer than some where there are as many."""
        return replace(self, samples=min(self.samples, max(self.samples // part, fewest)))


def designs_tried(
    path: Path, borders: Sequence[Border], how: Sampling, *, cost_exponent: float
) -> tuple[Path, Sample, tuple[Waypoint, ...]]:
    """The designs of a path on the same points, and the path without steps that don't run.

    The cost of a firing goes with a power of the size.
    """
    while True:
        sample = sample_of(path, borders, how)
        idle = _without_numbers(sample)
        if not idle:
            return path, sample, _designs(path, borders, sample, _told(path), cost_exponent)
        path = _left_out(path, sample, idle)


def sample_of(
    path: Path,
    borders: Sequence[Border],
    how: Sampling,
    *,
    purpose: Purpose = Purpose.SCALING,
    shared: Sequence[str] = (),
) -> Sample:
    """The designs of a path on the same points; inputs of some addresses drawn once for all that state them alike."""
    first, second = path.first, path.second
    ends = [
        replace(end, path=None, title=name)
        for end, name in zip((first, second), study_names(first, second), strict=True)
    ]
    reads, carried = _reads(path), _carried(first.instruments)
    bordered = [address for border in borders for address in border.addresses(first.pairs)]
    told = (*_told(path), *(own for end in (first, second) for own in contact_outputs(end)))
    needed = (second.target.quantity, *told, *reads, *carried, "thrust", *bordered)
    studies = [ends[0], *(step.study for step in path.steps), ends[1]]
    return sample_along(
        [_sharing(study, first, shared) for study in studies],
        tuple(dict.fromkeys(needed)),
        how.number,
        how.samples,
        fired=fired(second, first),
        purpose=purpose,
        reads=reads,
        carried=carried,
        cover=path.middle,
        jobs=how.jobs,
        progress=how.progress,
    )


def _reads(path: Path) -> tuple[str, ...]:
    """What the instruments read."""
    return tuple(dict.fromkeys(instrument.reads for instrument in path.first.instruments))


def _carried(instruments: Sequence[Instrument]) -> tuple[str, ...]:
    """What instruments with a range bear."""
    return tuple(CARRIED.get(own.reads, own.reads) for own in instruments if own.range is not None)


def _told(path: Path) -> tuple[str, ...]:
    """The quantities that are told of the designs."""
    first, second, reads = path.first, path.second, _reads(path)
    return of_study(second, compared_quantities((second, first), reads), (*reads, first.target.quantity))


def _sharing(study: Study, first: Study, addresses: Sequence[str]) -> Study:
    """A study in which some inputs are the first one's, where it states them alike."""
    if not addresses:
        return study
    known = {item.address: item.unknown for item in first.space.inputs if item.address in addresses}
    inputs = [
        replace(item, shared=item.address)
        if item.address in known and item.unknown == known[item.address]
        else item
        for item in study.space.inputs
    ]
    return replace(study, space=replace(study.space, inputs=tuple(inputs)))


def _without_numbers(sample: Sample) -> dict[int, str]:
    """Designs that hardly ever carry a number, by their place, with how their points end."""
    return {
        place: endings(found.outcomes, 0)
        for place, found in enumerate(sample.found)
        if fewest(sample.numbered(place)) < FEWEST
    }


def _left_out(path: Path, sample: Sample, idle: Mapping[int, str]) -> Path:
    """The path without steps that don't run; an end that doesn't is refused."""
    for place in (0, len(sample.names) - 1):
        if place in idle:
            raise NoNumbers(
                f"{sample.names[place]}: hardly any point carries a number ({idle[place]}), so there is nothing to"
                " scale from or to: move this design or narrow its ranges"
            )
    why = {path.steps[place - 1].number: ends for place, ends in idle.items()}
    return path.without({step: f"hardly any point carries a number ({ends})" for step, ends in why.items()})


def _designs(
    path: Path, borders: Sequence[Border], sample: Sample, rows: Sequence[str], cost_exponent: float
) -> tuple[Waypoint, ...]:
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
                contacts=contacts_of(side.study, sample.found[number]),
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
