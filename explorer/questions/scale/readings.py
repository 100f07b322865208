"""What the instruments would read in one firing of every design on a path, on the path's common sample.

The instruments are those of the first end, the same at every design: what each reads wrong by itself (`common`) is
drawn once for all of them, `random` falls anew in each firing. Of the first end ever more firings are taken, so that
nothing random is left. Streams hang on names and places, not on how many designs there are.
"""

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import sampling
from explorer.analysis.reading_sets import ReadingSets, reading_sets
from explorer.analysis.regression import Regressors, left_variance, regressors
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.path.sample import Sample
from explorer.sampling import Purpose
from explorer.study.outcomes import FEWEST, NoNumbers, fewest
from explorer.studyfile import Instrument

FloatArray = NDArray[np.float64]

#: Streams beside the sample's own: what an instrument reads wrong in one firing, and always.
_RANDOM, _COMMON, _SHUFFLES = 1_000_000, 2_000_000, 3_000_000

#: Shuffled copies of the target, for what readings that tell nothing seem to remove.
_PERMUTATIONS: Final[int] = 100

#: Share of a step's firings that must carry a number for it to be a point [-]; chosen here.
WITH_NUMBER: Final[float] = 0.9

#: What an instrument carries that reads a change: a load cell bears the whole thrust.
CARRIED: Final[Mapping[str, str]] = {"thrust_gain": "thrust"}


@dataclass(frozen=True)
class Read:
    """The common sample as regressions want it: whole rows of the target and of all readings."""

    known: Regressors  #: The readings
    sets: ReadingSets  #: The same for many sets, of the target and its shuffled copies
    #: By repeat the target [SI], centred, and the factors that designs share: shape (rows, 1 + factors).
    targets: list[FloatArray]
    factors: tuple[str, ...]  #: Their names in the joint space
    columns: Mapping[int, tuple[int, ...]]  #: By design's place, which readings are its own
    lost: float  #: Share of rows left out because a point had no number [-]

    def taken(self, chosen: Sequence[int]) -> list[int]:
        """Readings of the first design and of points."""
        return [column for design in (0, *chosen) for column in self.columns[design]]

    def removed(self, chosen: Sequence[int]) -> FloatArray:
        """Variance that points remove beyond the first design, quickly: of the target, then of its shuffles [SI²]."""
        before, after = (self.sets.left(self.taken(points)).mean(axis=0) for points in ((), chosen))
        return np.asarray(before - after)

    def left(self, chosen: Sequence[int]) -> FloatArray:
        """Variance left, in full: of the target [SI²] and of the factors, shape (repeats, 1 + factors)."""
        return left_variance(self.known.moments(self.taken(chosen), self.targets))


def read_along(sample: Sample, designs: Sequence[Waypoint]) -> Read:
    """The common sample with what the instruments would read of it."""
    instruments = sample.joint.sides[0].study.instruments
    target = sample.found[-1].quantities[sample.joint.sides[-1].study.target.quantity]
    readings = {0: first_readings(sample, instruments)}
    for design in designs[1:-1]:
        read = readings_at(sample, design, instruments)
        if np.isfinite(read).all(axis=-1).mean() >= WITH_NUMBER:
            readings[design.number] = read
    factors = factors_shared(sample)
    wanted = np.stack([target, *(_scores(sample.factors[name]) for name in factors)], axis=-1)
    every = np.concatenate(list(readings.values()), axis=-1)
    whole = np.isfinite(wanted).all(axis=-1) & np.isfinite(every).all(axis=-1)
    if fewest(whole) < FEWEST:
        raise NoNumbers(
            f"the instruments of {sample.names[0]} hardly ever read a number where {sample.names[-1]} has one: what its"
            " firings teach can't be told; let them read something else, or move a design"
        )
    known = regressors([block[rows] for block, rows in zip(every, whole, strict=True)])
    targets = [block[rows] for block, rows in zip(wanted, whole, strict=True)]
    middle = np.concatenate(targets).mean(axis=0)
    targets = [block - middle for block in targets]
    rng = sampling.generator(sample.plan.number, Purpose.SCALING, chunk=_SHUFFLES)
    shuffled = [rng.permuted(np.repeat(y[:, :1], _PERMUTATIONS, axis=1), axis=0) for y in targets]
    both = [np.hstack([y[:, :1], s]) for y, s in zip(targets, shuffled, strict=True)]
    each = len(instruments)
    columns = {d: tuple(range(each * n, each * (n + 1))) for n, d in enumerate(readings)}
    return Read(known, reading_sets(known, both), targets, factors, columns, float(1.0 - whole.mean()))


def factors_shared(sample: Sample) -> tuple[str, ...]:
    """Names in the joint space of what both ends have in common: shared inputs, the model's error of the target."""
    first, last = sample.joint.sides[0], sample.joint.sides[-1]
    target = last.study.target.quantity
    model = set(sample.joint.model.get((first.name, target), ())) & set(
        sample.joint.model.get((last.name, target), ())
    )
    inputs = {name for names in first.terms.values() for name in names}
    return tuple(name for name in sample.factors if name in model | inputs)


def _scores(values: FloatArray) -> FloatArray:
    """A factor as it is, or its logarithm where it is above zero, brought to a spread of one."""
    straight = np.log(values) if np.all(values > 0) else values
    return np.asarray((straight - straight.mean()) / straight.std())


def first_readings(sample: Sample, instruments: Sequence[Instrument]) -> FloatArray:
    """What ever more firings of the first design show [SI], shape (repeats, rows, instruments)."""
    settled = [sample.settled[instrument.reads] for instrument in instruments]
    read = [
        _with_common(sample, instrument, values, float(np.nanmean(values)))
        for instrument, values in zip(instruments, settled, strict=True)
    ]
    return np.stack(read, axis=-1)


def readings_at(sample: Sample, design: Waypoint, instruments: Sequence[Instrument]) -> FloatArray:
    """What one firing of a design shows [SI], shape (repeats, rows, instruments)."""
    read = []
    for instrument in instruments:
        values = sample.found[design.number].quantities[instrument.reads]
        typical = float(np.nanmean(values))
        noise = instrument.random.at(typical) * _drawn(
            sample, _RANDOM, f"{design.place:.9f} {instrument.name}"
        )
        read.append(_with_common(sample, instrument, values, typical) + noise)
    return np.stack(read, axis=-1)


def _with_common(sample: Sample, instrument: Instrument, values: FloatArray, typical: float) -> FloatArray:
    return values + instrument.common.at(typical) * _drawn(sample, _COMMON, instrument.name)


def _drawn(sample: Sample, kind: int, name: str) -> FloatArray:
    """Standard normal numbers of a stream, shape (repeats, rows)."""
    chunk = kind + zlib.crc32(name.encode()) % 1_000_000
    return np.stack(
        [
            sampling.generator(sample.plan.number, Purpose.SCALING, scramble=s, chunk=chunk).standard_normal(
                sample.plan.rows
            )
            for s in range(sample.plan.scrambles)
        ]
    )


def beyond_range(sample: Sample, design: Waypoint, instruments: Sequence[Instrument]) -> dict[str, float]:
    """By instrument, the share of a design's firings that lie beyond its range [-]; those without a range left out."""
    shares = {}
    for instrument in instruments:
        if instrument.range is not None:
            carried = CARRIED.get(instrument.reads, instrument.reads)
            values = sample.found[design.number].quantities[carried]
            low, high = instrument.range
            with np.errstate(invalid="ignore"):
                shares[instrument.name] = float(np.mean((values < low) | (values > high)))
    return shares
