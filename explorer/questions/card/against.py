"""A firing that was made, held against what was predicted, and the single wrong inputs that would explain it.

At points of what is uncertain the instruments' readings are drawn, and what was read is held against their law: normal
on either side of the middle, since a current is no less than nothing and may be much more than expected. Then one input
after another is let go: over a range much wider than its own, in steps, with everything else as uncertain as before.
Where the readings fit best it would have to lie. Slips that happen at the stand are tried as they are: no seed flows, a
pair gets no power. An explanation counts by how well the readings fit with it, and by how far out it lies, on a scale
with heavy tails, since what is wrong may be very wrong.
"""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from explorer import registry, sampling
from explorer.firings import Firing, Reading
from explorer.questions.card.card import TOLD
from explorer.space import Lognormal, Uncertain
from explorer.stage.gas.extent import SHAPING_INPUTS
from explorer.study.engine import reach_of
from explorer.study.firing.burn import Burn, burn_of, moment_of
from explorer.study.firing.far_out import SLIP, penalty
from explorer.study.outcomes import NO_CONTACT
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]

#: Values of an input that is let go, points at each, and how far out they lie [standard uncertainties].
_VALUES: Final[int] = 25
_AT_EACH: Final[int] = 64
_FARTHEST: Final[float] = 10.0

#: Share of points with a number from which on the law of readings is told, and how far its correlations are drawn
#: towards none.
_MOSTLY: Final[float] = 0.5
_SHRUNK: Final[float] = 0.02

#: Tenth of how far off an instrument is tried at least [-].
_LEAST_SHARE: Final[float] = 0.05

#: Chance below which readings contradict the prediction (common practice, no source).
SURPRISING: Final[float] = 0.01

#: Chance from which on an explanation leaves nothing to explain.
EXPLAINED: Final[float] = 0.05

#: By how much an explanation must beat none at all, readings e times as likely, and how far out an input must lie for
#: that [standard uncertainties]: where it is expected it explains nothing.
_BETTER: Final[float] = 1.0
_OUT: Final[float] = 1.0

#: Inputs that no slip of a firing changes: the stage is as it was built.
_NOT_TRIED: Final = ("ambient.", "mass.", "magnet.mass")


class Held(NamedTuple):
    """One reading beside its prediction [SI]."""

    step: str
    quantity: str
    value: float
    low: float  #: ends of the range in which 95 % of firings read
    high: float
    mean: float
    standard_uncertainty: float

    @property
    def inside(self) -> bool:
        """Whether it lies within the range."""
        return self.low <= self.value <= self.high


class Explanation(NamedTuple):
    """One thing that would have to be otherwise."""

    address: str  #: of an input, "instrument <name>", or empty for a slip
    slip: str  #: in words; empty for an input
    taken: float  #: what the model takes [SI]
    needed: float  #: where the readings fit best [SI]; of an instrument what it must be off by
    low: float  #: ends of the range in which they fit nearly as well [SI]
    high: float
    off: float  #: how far out that lies [standard uncertainties]; NaN for a slip
    fit: float  #: chance of readings this far off or farther, with it [-]
    score: float  #: ln of how well the readings fit, less what it costs to lie far out [-]


@dataclass(frozen=True, repr=False)
class Against(Shown):
    """A firing held against the prediction.

    Attributes
    ----------
    study : Study
    firing : Firing
    held : tuple of Held
    chance : float
        Of readings this far off or farther, all together [-].
    explanations : tuple of Explanation
        Best first; none where nothing needs explaining.
    score : float
        Of no explanation at all, for comparison [-].
    """

    study: Study
    firing: Firing
    held: tuple[Held, ...]
    chance: float
    explanations: tuple[Explanation, ...]
    score: float
    random_number: int

    @property
    def surprises(self) -> bool:
        """Whether the readings contradict the prediction."""
        return self.chance < SURPRISING

    def _summary(self) -> Summary:
        rows = []
        for own in self.held:
            scale = scale_of(own.quantity)
            said = "inside" if own.inside else "outside"
            rows.append(
                (own.step, own.quantity, scale.text(own.value, 4), scale.span(own.low, own.high, 3), said)
            )
        title = f"{self.firing.name}: {sum(not own.inside for own in self.held)} of {len(self.held)} readings outside"
        return Summary(title, ("step", "quantity", "read", "95 %", ""), tuple(rows))


class _Read(NamedTuple):
    """All readings of a firing in one order."""

    places: tuple[tuple[int, int, str], ...]  #: moment, moment taken away (−1 for none), quantity
    names: tuple[str, ...]  #: of steps
    readings: tuple[Reading, ...]
    values: FloatArray  #: [SI]
    noise: FloatArray  #: covariance of the instruments' errors [SI²]


def against(
    study: Study, firing: Firing, *, rng: int | np.random.Generator | None = None, jobs: int = 1
) -> Against:
    """Hold a firing against what the study predicts of it.

    Parameters
    ----------
    study : Study
    firing : Firing
        With its readings.
    rng : int or Generator, optional
        Random number; the study's own if left out.
    jobs : int
        [-] threads.

    Raises
    ------
    StudyError
        If the model gives no numbers for the firing's settings, or nothing was read.
    """
    number = sampling.random_number(study.run.random_number if rng is None else rng)
    read = _read(firing)
    if not read.readings:
        raise StudyError(
            f"{firing.name}: no reading is a number, so that none can be held against the prediction"
        )
    moments = [moment_of(study, own.name, own.seconds, own.settings) for own in firing.moments]
    quantities = [quantity for _, _, quantity in read.places]
    burn = burn_of(study, moments, quantities, number, jobs=jobs)
    would = _would(_ideal(burn, read, {}), read, number)
    law = _law(would)
    if law is None:
        raise StudyError(f"{firing.name}: hardly any point of the model has a number at these settings")
    low, high = np.nanquantile(would, (0.5 - TOLD / 2, 0.5 + TOLD / 2), axis=0)
    mean, spread = np.nanmean(would, axis=0), np.nanstd(would, axis=0)
    held = tuple(
        Held(name, quantity, *(float(x[k]) for x in (read.values, low, high, mean, spread)))
        for k, (name, (_, _, quantity)) in enumerate(zip(read.names, read.places, strict=True))
    )
    score, chance = law.fit(read.values)
    surprising = chance < SURPRISING or any(not own.inside for own in held)
    tried = list(_tried(burn, read, law)) if surprising else []
    better = [own for own in tried if own.score > score + _BETTER and (own.slip or abs(own.off) >= _OUT)]
    better.sort(key=lambda own: -own.score)
    return Against(study, firing, held, chance, tuple(better), score, number)


def _read(firing: Firing) -> _Read:
    names = [step.name for step in firing.moments]
    places, labels, readings = [], [], []
    for place, step in enumerate(firing.moments):
        for quantity, reading in step.readings.items():
            places.append((place, -1, quantity))
            labels.append(step.name)
            readings.append(reading)
    for difference in firing.differences:
        places.append((names.index(difference.step), names.index(difference.less), difference.quantity))
        labels.append(f"{difference.step} less {difference.less}")
        readings.append(difference.reading)
    keep = [k for k, reading in enumerate(readings) if np.isfinite(reading.value)]
    kept = [readings[k] for k in keep]
    noise = np.diag([own.random_of_mean**2 for own in kept]) if kept else np.zeros((0, 0))
    for name in {name for own in kept for name in own.common}:
        shared = np.array([own.common.get(name, 0.0) for own in kept])
        noise += np.outer(shared, shared)
    return _Read(
        tuple(places[k] for k in keep),
        tuple(labels[k] for k in keep),
        tuple(kept),
        np.array([own.value for own in kept]),
        noise,
    )


def _ideal(burn: Burn, read: _Read, changes: Mapping[str, FloatArray]) -> FloatArray:
    """What ideal instruments would read, shape (points, readings), NaN where there is no number [SI]."""
    found = []
    for place in range(len(burn.moments)):
        known = burn.moments[place].study.central()
        one = burn.found(place, {address: values for address, values in changes.items() if address in known})
        there = one.outcomes <= NO_CONTACT
        found.append(
            {quantity: np.where(there, values, np.nan) for quantity, values in one.quantities.items()}
        )
    columns = [
        found[place][quantity] - (found[less][quantity] if less >= 0 else 0.0)
        for place, less, quantity in read.places
    ]
    return np.column_stack(columns)


def _would(ideal: FloatArray, read: _Read, number: int) -> FloatArray:
    """What the instruments would read, their errors put on [SI]."""
    rng = sampling.generator(number, sampling.Purpose.FIRING, chunk=2)
    return np.asarray(ideal + rng.standard_normal(ideal.shape) @ np.linalg.cholesky(read.noise).T)


@dataclass(frozen=True)
class _Law:
    """The law of readings: normal on either side of its middle, as far as each side reaches, and correlated."""

    middle: FloatArray  #: [SI]
    below: FloatArray  #: root mean square distance from the middle of what lies below it [SI]
    above: FloatArray  #: of what lies above it [SI]
    correlation: FloatArray

    def scores(self, values: FloatArray) -> FloatArray:
        """How far out values lie [standard uncertainties]."""
        off = values - self.middle
        return np.asarray(off / np.where(off < 0.0, self.below, self.above))

    def fit(self, values: FloatArray) -> tuple[float, float]:
        """Ln of the density at values, and the chance of values that lie as far out or farther."""
        z = self.scores(values)
        size = float(z @ np.linalg.solve(self.correlation, z))
        _, volume = np.linalg.slogdet(self.correlation)
        widths = float(np.log(0.5 * (self.below + self.above)).sum())
        return -0.5 * (size + float(volume)) - widths, float(chdtrc(z.size, size))


def _law(would: FloatArray) -> _Law | None:
    """The law of readings that have a number; None where hardly any has."""
    there = would[np.isfinite(would).all(axis=1)]
    if there.shape[0] < _MOSTLY * would.shape[0]:
        return None
    middle = np.median(there, axis=0)
    off = there - middle
    count = there.shape[0] / 2
    below, above = (
        np.sqrt(np.sum(np.where(side, off, 0.0) ** 2, axis=0) / count) for side in (off < 0, off > 0)
    )
    law = _Law(middle, below, above, np.eye(middle.size))
    correlation = np.atleast_2d(np.corrcoef(law.scores(there), rowvar=False))
    shrunk = (1.0 - _SHRUNK) * correlation + _SHRUNK * np.eye(middle.size)  # few points, many readings
    return _Law(middle, below, above, shrunk)


def _let_go(study: Study, fired: Study) -> tuple[Uncertain, ...]:
    """The inputs of which one may be wrong."""
    every = {item.address: item for item in (*study.space.inputs, *fired.space.inputs)}
    return tuple(item for address, item in every.items() if not address.startswith(_NOT_TRIED))


def _range(item: Uncertain) -> FloatArray:
    """Values of an input that is let go [SI], within what is possible."""
    quantity = registry.quantity(item.address)
    if item.address in SHAPING_INPUTS:  # no farther than the gas table of its distribution reaches
        return np.linspace(*reach_of(item), _VALUES)
    reach = np.linspace(-_FARTHEST, _FARTHEST, _VALUES)
    centre, spread = item.centre, item.standard_uncertainty
    if isinstance(item.unknown, Lognormal):
        values = centre * np.exp(reach / _FARTHEST * min(_FARTHEST * spread / centre, 5.0))
    else:
        values = centre + reach * spread
    values = values[quantity.inside(values)]
    return np.asarray(values)


def _tried(burn: Burn, read: _Read, law: _Law) -> Iterator[Explanation]:
    """Every single thing that might be wrong."""
    few = np.arange(_AT_EACH)
    for item in _let_go(burn.study, burn.moments[-1].study):
        values = _range(item)
        if values.size > 1:
            yield from _input(burn, read, item, values, few)
    for slip, changes in _slips(burn):
        each = {address: np.full(few.size, value) for address, value in changes.items()}
        with_it = _law(_would(_ideal(burn.at(few), read, each), read, burn.number))
        if with_it is not None:
            score, fit = with_it.fit(read.values)
            yield Explanation("", slip, *(np.nan,) * 5, fit, score - SLIP)
    yield from _instruments(read, law)


def _input(
    burn: Burn, read: _Read, item: Uncertain, values: FloatArray, few: NDArray[np.intp]
) -> Iterator[Explanation]:
    """Where an input would have to lie, everything else as it is."""
    rows = np.tile(few, values.size)
    ideal = _ideal(burn.at(rows), read, {item.address: np.repeat(values, few.size)})
    laws = [_law(block) for block in np.split(_would(ideal, read, burn.number), values.size)]
    fits = [(-np.inf, 0.0) if own is None else own.fit(read.values) for own in laws]
    offs = (values - item.centre) / item.standard_uncertainty
    scores = np.array([score for score, _ in fits]) - penalty(offs)
    best = int(np.argmax(scores))
    if not np.isfinite(scores[best]):
        return
    needed, width = _located(values, scores)
    low, high = max(needed - width, float(values.min())), min(needed + width, float(values.max()))
    off = (needed - item.centre) / item.standard_uncertainty
    yield Explanation(
        item.address, "", item.centre, needed, low, high, off, fits[best][1], float(scores[best])
    )


def _located(values: FloatArray, scores: FloatArray) -> tuple[float, float]:
    """Where the readings fit best, and twice the standard uncertainty of that: values weighed by scores [values]."""
    weights = np.exp(scores - scores.max())
    needed = float(np.average(values, weights=weights))
    return needed, 2.0 * float(np.sqrt(np.average((values - needed) ** 2, weights=weights)))


def _slips(burn: Burn) -> Iterator[tuple[str, dict[str, float]]]:
    """What goes wrong at a stand, as changed values: words and values [SI] by address."""
    study = burn.moments[-1].study
    central = study.central()
    if central.get("gas.seed_fraction", 0.0) > 0.0:
        yield "no seed flow", {"gas.seed_fraction": 0.0}
    for pair in study.pairs:
        voltage = f"electrodes.{pair}.source.voltage"
        if voltage in central:
            what = "the supply" if len(study.pairs) == 1 else f"the supply of the {pair} pair"
            yield f"{what} gave no voltage, or a lead was off", {voltage: 1e-3}


def _instruments(read: _Read, law: _Law) -> Iterator[Explanation]:
    """What each instrument would have to be off by, in per cent of its reading, all its readings alike."""
    for name in dict.fromkeys(name.partition(" (")[0] for own in read.readings for name in own.common):
        its = np.array([any(key.partition(" (")[0] == name for key in own.common) for own in read.readings])
        stated = np.array([sum(own.common.values()) for own in read.readings])
        known = its & (read.values != 0.0)
        if not known.any():
            continue
        share = float(np.max(stated[known] / np.abs(read.values[known])))
        offs = np.linspace(-_FARTHEST, _FARTHEST, 4 * _VALUES + 1) * max(share, _LEAST_SHARE)
        offs = offs[offs > -0.9]
        right = [np.where(its, read.values / (1.0 + off), read.values) for off in offs]
        fits = [law.fit(values) for values in right]
        scores = np.array([score for score, _ in fits]) - penalty(offs / share)
        best = int(np.argmax(scores))
        needed, width = _located(offs, scores)
        yield Explanation(
            f"instrument {name}",
            "",
            0.0,
            needed,
            needed - width,
            needed + width,
            needed / share,
            fits[best][1],
            float(scores[best]),
        )
