"""What the instruments would read in one firing of every design on a path, on the path's common sample.

The instruments are those of the first end, the same at every design: what each reads wrong by itself (`common`) is
drawn once for all of them, `random` falls anew in each firing. Of the first end ever more firings are taken, so that
nothing random is left; of the last end one firing where it is fired to be read. Streams hang on names and places, not
on how many designs there are.
"""

import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from explorer import sampling
from explorer.analysis.reading_sets import ReadingSets, reading_sets
from explorer.analysis.regression import Regressors, left_variance, regressors
from explorer.run import Evaluated
from explorer.sampling import Plan
from explorer.study.outcomes import FEWEST, NoNumbers, fewest
from explorer.study.visibility import CARRIED
from explorer.studyfile import Instrument

FloatArray = NDArray[np.float64]

Chosen = tuple[int, ...]  #: designs that are fired, by their numbers in rising order

#: Streams beside the sample's own: what an instrument reads wrong in one firing, and always.
_RANDOM, _COMMON = 1_000_000, 2_000_000

#: Share of a step's firings that must carry a number for it to be a point [-]; chosen here.
WITH_NUMBER: Final[float] = 0.9


class Placed(Protocol):
    """A design of a path, as far as choosing among firings goes."""

    @property
    def name(self) -> str:
        """What it is called."""

    @property
    def number(self) -> int:
        """Its number among the path's designs."""

    @property
    def place(self) -> float:
        """Where it lies along the path [-]."""

    @property
    def cost(self) -> float:
        """Firings of the first end that one firing of it costs [-]."""


class Along(Protocol):
    """The designs of a path tried on common points, of studies or of callables; see `path.sample.Sample`."""

    @property
    def plan(self) -> Plan:
        """The points."""

    @property
    def names(self) -> tuple[str, ...]:
        """What the designs are called."""

    @property
    def found(self) -> tuple[Evaluated, ...]:
        """What came of each design."""

    @property
    def settled(self) -> Mapping[str, FloatArray]:
        """What the first design shows with its scatter at its middle."""

    @property
    def fired(self) -> Mapping[str, FloatArray]:
        """What the last one shows in another firing."""

    @property
    def factors(self) -> Mapping[str, FloatArray]:
        """What is drawn once, by its name."""

    @property
    def shared_factors(self) -> tuple[str, ...]:
        """Which of them both ends have in common and the target hangs on."""

    @property
    def instruments(self) -> tuple[Instrument, ...]:
        """The first end's."""

    @property
    def target(self) -> str:
        """The quantity of the last design that is to be learnt."""


@dataclass(frozen=True)
class Read:
    """The common sample as regressions want it: whole rows of the target and of all readings.

    A set of designs leaves the least of what it and its subsets seem to leave: whoever has one more reading may do
    without it, so that no firing ever adds to what is left.
    """

    known: Regressors  #: The readings
    sets: ReadingSets  #: The same for many sets, of the target
    #: By repeat the target [SI], centred, and the factors that designs share: shape (rows, 1 + factors).
    targets: list[FloatArray]
    factors: tuple[str, ...]  #: Their names in the joint space
    columns: Mapping[int, tuple[int, ...]]  #: By design's place, which readings are its own
    lost: float  #: Share of rows left out because a point had no number [-]
    _quickly: dict[Chosen, FloatArray] = field(default_factory=dict, repr=False)
    _in_full: dict[Chosen, FloatArray] = field(default_factory=dict, repr=False)

    def taken(self, chosen: Sequence[int]) -> list[int]:
        """Readings of designs."""
        return [column for design in chosen for column in self.columns[design]]

    def quickly(self, chosen: Chosen) -> FloatArray:
        """Variance of the target that designs leave, each reading by itself, shape (repeats,) [SI²]."""
        return _least(self._quickly, chosen, lambda own: self.sets.left(self.taken(own)))[:, 0]

    def in_full(self, chosen: Chosen) -> FloatArray:
        """Variance that designs leave of the target [SI²] and of the factors, shape (repeats, 1 + factors)."""

        def left(own: Chosen) -> FloatArray:
            return left_variance(self.known.moments(self.taken(own), self.targets))

        return _least(self._in_full, chosen, left)


def _least(
    kept: dict[Chosen, FloatArray], chosen: Chosen, left: Callable[[Chosen], FloatArray]
) -> FloatArray:
    """What a set leaves, or a subset of it where that leaves less; the first design is the last to go."""
    if chosen not in kept:
        found = left(chosen)
        for own in [number for number in chosen if number > 0] or chosen:
            fewer = _least(kept, tuple(number for number in chosen if number != own), left)
            found = np.where(fewer.mean(axis=0) < found.mean(axis=0), fewer, found)
        kept[chosen] = found
    return kept[chosen]


def read_along(
    sample: Along, designs: Sequence[Placed], instruments: Sequence[Instrument] | None = None
) -> Read:
    """The common sample with what the instruments would read of it, the first end's own if none are given."""
    if instruments is None:
        instruments = sample.instruments
    target = sample.found[-1].quantities[sample.target]
    readings = {0: first_readings(sample, instruments)}
    for design in designs[1:]:
        own = sample.fired if design is designs[-1] else sample.found[design.number].quantities
        read = readings_at(sample, design, own, instruments)
        if np.isfinite(read).all(axis=-1).mean() >= WITH_NUMBER:
            readings[design.number] = read
    factors = sample.shared_factors
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
    sets = reading_sets(known, [block[:, :1] for block in targets])
    each = len(instruments)
    columns = {d: tuple(range(each * n, each * (n + 1))) for n, d in enumerate(readings)}
    return Read(known, sets, targets, factors, columns, float(1.0 - whole.mean()))


def _scores(values: FloatArray) -> FloatArray:
    """A factor as it is, or its logarithm where it is above zero, brought to a spread of one."""
    straight = np.log(values) if np.all(values > 0) else values
    return np.asarray((straight - straight.mean()) / straight.std())


def first_readings(sample: Along, instruments: Sequence[Instrument]) -> FloatArray:
    """What ever more firings of the first design show [SI], shape (repeats, rows, instruments)."""
    settled = [sample.settled[instrument.reads] for instrument in instruments]
    read = [
        _with_common(sample, instrument, values, float(np.nanmean(values)))
        for instrument, values in zip(instruments, settled, strict=True)
    ]
    return np.stack(read, axis=-1)


def readings_at(
    sample: Along,
    design: Placed,
    own: Mapping[str, FloatArray],
    instruments: Sequence[Instrument],
) -> FloatArray:
    """What one firing of a design shows, from its quantities [SI], shape (repeats, rows, instruments)."""
    read = []
    for instrument in instruments:
        values = own[instrument.reads]
        typical = float(np.nanmean(values))
        noise = instrument.random.at(typical) * _drawn(
            sample, _RANDOM, f"{design.place:.9f} {instrument.name}"
        )
        read.append(_with_common(sample, instrument, values, typical) + noise)
    return np.stack(read, axis=-1)


def _with_common(sample: Along, instrument: Instrument, values: FloatArray, typical: float) -> FloatArray:
    return values + instrument.common.at(typical) * _drawn(sample, _COMMON, instrument.name)


def _drawn(sample: Along, kind: int, name: str) -> FloatArray:
    """Standard normal numbers of a stream, shape (repeats, rows)."""
    chunk = kind + zlib.crc32(name.encode()) % 1_000_000
    return np.stack(
        [
            sampling.generator(
                sample.plan.number, sample.plan.purpose, scramble=s, chunk=chunk
            ).standard_normal(sample.plan.rows)
            for s in range(sample.plan.scrambles)
        ]
    )


def beyond_range(own: Mapping[str, FloatArray], instruments: Sequence[Instrument]) -> dict[str, float]:
    """By instrument, the share of a design's firings that lie beyond its range [-]; those without a range left out."""
    shares = {}
    for instrument in instruments:
        if instrument.range is not None:
            values = own[CARRIED.get(instrument.reads, instrument.reads)]
            low, high = instrument.range
            with np.errstate(invalid="ignore"):
                shares[instrument.name] = float(np.mean((values < low) | (values > high)))
    return shares
