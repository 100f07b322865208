"""Whether a ladder is worth climbing, and what would make one so where none is: tried, one thing at a time.

Each instrument far sharper; what both ends state alike and yet don't share as one and the same thing; the model off by
something else past a border that a step lies beyond, in one way for all designs past it, so that only firings past it
tell.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import sampling
from explorer.questions.scale.ladder.judgement import judged_ladder, tried_with
from explorer.questions.scale.ladder.ladder import Ladder, Remedy
from explorer.questions.scale.path.borders import Border
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.designs import Sampling, Waypoint, sample_of
from explorer.questions.scale.path.path import Path
from explorer.questions.scale.path.sample import Sample
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.study.stated import alike_but_apart
from explorer.studyfile import Amount, Instrument

FloatArray = NDArray[np.float64]

#: How much sharper an instrument is taken.
SHARPER: Final[float] = 10.0

#: Most inputs that are tried one by one where all together help.
_FEW: Final[int] = 4

#: Chunk of the stream of what the model is off by past a border, beside those of readings.
_PAST: Final[int] = 3_000_000

#: Of the points, the parts by which steps are chosen and on which inputs are tried as one thing, and the fewest.
_PART_CHOICE, _PART_TRIED, _FEWEST = 2, 4, 2_048

Samples = tuple[Sample, Sample]  #: to choose by and to judge by


def ladder_of(
    path: Path,
    borders: Sequence[Border],
    how: Sampling,
    sample: Sample,
    designs: Sequence[Waypoint],
    changes: Sequence[Change],
    worth: Amount | None,
) -> Ladder:
    """Whether a ladder is worth climbing, and what would make one so where it isn't."""
    by = sample_of(path, borders, how.part(_PART_CHOICE, _FEWEST), purpose=Purpose.LADDER_CHOICE)
    found = judged_ladder(by, sample, designs, changes, worth)
    if found.climb == "worth climbing" or found.plan is None:
        return found
    again = how.part(_PART_TRIED, _FEWEST)

    def with_shared(addresses: Sequence[str]) -> tuple[Sample, Sample]:
        purposes = (Purpose.LADDER_CHOICE, Purpose.SCALING)
        one, two = (sample_of(path, borders, again, purpose=p, shared=addresses) for p in purposes)
        return one, two

    apart = _weightiest(alike_but_apart([path.first, path.second]), by)
    tried = _remedies((by, sample), with_shared, designs, changes, apart, found.worth)
    return replace(found, remedies=tuple(tried))


def _weightiest(addresses: Sequence[str], sample: Sample) -> tuple[str, ...]:
    """Inputs in the order of how closely the last design's target follows each by itself."""
    joint, plan = sample.joint, sample.plan
    chunks = range(plan.rows // plan.chunk_rows)
    cube = np.concatenate([plan.points(s, n) for s in range(plan.scrambles) for n in chunks])
    side = joint.sides[-1]
    values = side.values(joint.space.values(cube[:, : joint.space.dimension]))
    target = sample.found[-1].quantities[side.study.target.quantity].ravel()
    told = np.isfinite(target)

    def closeness(address: str) -> float:
        return -abs(float(np.corrcoef(values[address][told], target[told])[0, 1]))

    return tuple(sorted(addresses, key=closeness))


def _remedies(
    samples: Samples,
    with_shared: Callable[[Sequence[str]], Samples],
    designs: Sequence[Waypoint],
    changes: Sequence[Change],
    apart: Sequence[str],
    worth: float,
) -> Iterator[Remedy]:
    """What would make a ladder worthwhile; `with_shared` draws inputs of these addresses once for all designs."""
    instruments = samples[0].joint.sides[0].study.instruments
    for place, instrument in enumerate(instruments):
        sharp = (*instruments[:place], _sharper(instrument), *instruments[place + 1 :])
        plan = tried_with(samples, designs, changes, worth, sharp)
        yield Remedy("sharper", (instrument.name,), plan)
    yield from _shared(with_shared, designs, changes, apart, worth)
    for change in changes:
        if change.border.limits is None and any(design.place >= change.place for design in designs[1:-1]):
            beyond = tuple(_off_past(sample, designs, change.place) for sample in samples)
            plan = tried_with((beyond[0], beyond[1]), designs, changes, worth)
            yield Remedy("regime", (change.border.name,), plan)


def _shared(
    with_shared: Callable[[Sequence[str]], Samples],
    designs: Sequence[Waypoint],
    changes: Sequence[Change],
    apart: Sequence[str],
    worth: float,
) -> Iterator[Remedy]:
    """All together, and one by one if that makes a ladder worthwhile."""
    if not apart:
        return
    every = Remedy("shared", tuple(apart), tried_with(with_shared(apart), designs, changes, worth))
    if every.climb == "worth climbing" and 1 < len(apart) <= _FEW:
        for address in apart:
            yield Remedy("shared", (address,), tried_with(with_shared([address]), designs, changes, worth))
    yield every


def _sharper(instrument: Instrument) -> Instrument:
    def sharp(amount: Amount) -> Amount:
        return Amount(amount.absolute / SHARPER, amount.relative / SHARPER)

    return replace(instrument, random=sharp(instrument.random), common=sharp(instrument.common))


def _off_past(sample: Sample, designs: Sequence[Waypoint], place: float) -> Sample:
    """The sample with another common factor of the model's error past a place, one for all designs there."""
    common = set(sample.joint.common_errors)
    streams = [
        sampling.generator(sample.plan.number, sample.plan.purpose, scramble=s, chunk=_PAST)
        for s in range(sample.plan.scrambles)
    ]
    order = np.stack([rng.permutation(sample.plan.rows) for rng in streams])

    def other(name: str, quantities: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        found = dict(quantities)
        for quantity in quantities:
            for factor in common & set(sample.joint.model.get((name, quantity), ())):
                values = sample.factors[factor]
                found[quantity] = found[quantity] * np.take_along_axis(values, order, axis=1) / values
        return found

    found = [
        Evaluated(other(design.name, own.quantities), own.outcomes, own.warnings)
        if design.place >= place
        else own
        for design, own in zip(designs, sample.found, strict=True)
    ]
    return replace(sample, found=tuple(found), fired=other(designs[-1].name, sample.fired))
