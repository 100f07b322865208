"""What a firing should read: the range of every instrument in every step, and what the burn takes."""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, sampling
from explorer.run import Evaluated
from explorer.sampling import Purpose
from explorer.study.firing.burn import Burn, Moment, burn_of, moment_of
from explorer.study.limits import event
from explorer.study.outcomes import NO_CONTACT
from explorer.study.shown import Shown, Summary, scale_of
from explorer.study.visibility import CARRIED
from explorer.studyfile import Instrument, PlannedFiring, PlannedStep, Study, StudyError

FloatArray = NDArray[np.float64]

#: Shares of firings that read within the range that is told, and within the one beyond which the model is contradicted.
TOLD, SURELY = 0.95, 0.999

#: Fewest points with a number from which a range is told.
_FEWEST: Final[int] = 256

#: Outputs that a card needs whether or not an instrument reads them.
_ALWAYS: Final = ("electrical_power", "mass_flow", "mixture_ratio", "seed_fraction")

#: How long the stage is warmed.
_BURN_TIME: Final = "gas.burn_time"


@dataclass(frozen=True)
class Band:
    """What one instrument should read in one step; NaN where too few points carry a number."""

    step: str
    quantity: str
    instrument: Instrument
    middle: float  #: median without the instrument's errors [SI]
    low: float  #: ends of the range in which 95 % of firings read [SI]
    high: float  #: [SI]
    lowest: float  #: ends of the range in which 999 of 1000 firings read [SI]
    highest: float  #: [SI]
    noise: float  #: standard uncertainty of the instrument itself [SI]
    #: Ends of what the instrument bears in 999 of 1000 firings [SI]: of a load cell that reads a gain the whole thrust.
    borne: tuple[float, float]
    beyond: float  #: share of firings that leave its range [-]

    @property
    def span(self) -> float:
        """Width of the range [SI]."""
        return self.high - self.low


@dataclass(frozen=True)
class StepOfCard:
    """One step of the burn."""

    moment: Moment
    bands: tuple[Band, ...]
    statuses: Mapping[str, float]  #: share of firings that end in each, by name [-]
    warnings: Mapping[str, float]  #: share of firings that carry each, by code, where any does [-]
    power: tuple[float, float, float]  #: electrical power of all pairs: median and ends of its 95 % range [W]
    #: Highest current of a pulse in 39 of 40 firings, by pair with a pulsed source [A].
    peaks: Mapping[str, float]


@dataclass(frozen=True, repr=False)
class Card(Shown):
    """The card of one firing.

    Attributes
    ----------
    study : Study
    firing : PlannedFiring
    steps : tuple of StepOfCard
    central : Mapping
        Outputs of the last step at central values, for the streams [SI].
    points : int
        Of the sample [-].
    random_number : int
    """

    study: Study
    firing: PlannedFiring
    steps: tuple[StepOfCard, ...]
    central: Mapping[str, float]
    points: int
    random_number: int

    @property
    def seconds(self) -> float | None:
        """How long it burns [s]; None where a step doesn't say."""
        return self.firing.seconds

    @property
    def energy(self) -> tuple[float, float] | None:
        """Electrical energy of the burn, as likely as not and at most 19 times in 20 or more [J]."""
        if self.seconds is None:
            return None
        lasting = [(step.moment.seconds or 0.0, step.power) for step in self.steps]
        return sum(s * p[0] for s, p in lasting), sum(s * p[2] for s, p in lasting)

    @property
    def bands(self) -> pd.DataFrame:
        """What instruments should read [SI], a row a step and instrument."""
        rows = [
            {
                "step": band.step,
                "instrument": band.instrument.name,
                "quantity": band.quantity,
                **{
                    key: getattr(band, key)
                    for key in ("middle", "low", "high", "lowest", "highest", "noise", "beyond")
                },
                "unit": registry.quantity(band.quantity).unit,
            }
            for step in self.steps
            for band in step.bands
        ]
        return pd.DataFrame(rows)

    def _summary(self) -> Summary:
        rows = []
        for step in self.steps:
            for band in step.bands:
                scale = scale_of(band.quantity)
                rows.append((step.moment.name, band.instrument.name, scale.span(band.low, band.high, 3)))
        return Summary(
            f'Card of {self.firing.name} of "{self.study.title}"', ("step", "instrument", "95 %"), tuple(rows)
        )


def planned(study: Study, name: str | None) -> PlannedFiring:
    """Return a study's firing by its name; without one the only one, or the study as it stands.

    Raises
    ------
    StudyError
        If the study has no such firing, or several and none is named.
    """
    if name is None and len(study.firings) > 1:
        names = ", ".join(own.name for own in study.firings)
        raise StudyError(f"the study plans several firings: say which, --firing with one of {names}")
    if name is None:
        return study.firings[0] if study.firings else _as_it_stands(study)
    found = [own for own in study.firings if own.name == name]
    if not found:
        known = ", ".join(own.name for own in study.firings) or "none: write a [[firing]] table"
        raise StudyError(f'the study plans no firing "{name}" (it plans {known})')
    return found[0]


def _as_it_stands(study: Study) -> PlannedFiring:
    return PlannedFiring("as_it_stands", (PlannedStep(""),), study.instruments)


def card(
    study: Study,
    firing: PlannedFiring | None = None,
    *,
    rng: int | np.random.Generator | None = None,
    jobs: int = 1,
) -> Card:
    """Return the card of a firing.

    Parameters
    ----------
    study : Study
    firing : PlannedFiring, optional
        One of the study's; the only one, or the study as it stands, if left out.
    rng : int or Generator, optional
        Random number; the study's own if left out.
    jobs : int
        [-] threads.

    Raises
    ------
    StudyError
        If the study has no instrument that reads the firing, or doesn't stand with its settings.
    """
    firing = planned(study, None) if firing is None else firing
    if not firing.instruments:
        raise StudyError(
            "a card says what instruments should read, and the study lists none: write [[instrument]] tables"
        )
    number = sampling.random_number(study.run.random_number if rng is None else rng)
    moments = _moments(study, firing)
    read = [own.reads for own in firing.instruments]
    carried = [CARRIED.get(address, address) for address in read]
    peaks = (address for moment in moments for address in _peaks(moment.study).values())
    wanted = (*read, *carried, *_ALWAYS, *peaks)
    burn = burn_of(study, moments, wanted, number, jobs=jobs)
    errors = Errors.drawn(firing.instruments, burn, number)
    steps = tuple(_step(burn, place, firing.instruments, errors) for place in range(len(moments)))
    return Card(study, firing, steps, _central(burn), burn.points, number)


def _moments(study: Study, firing: PlannedFiring) -> list[Moment]:
    """Return the steps of a firing, each as warm as the burn up to its end makes the stage."""
    moments, elapsed, timed = [], 0.0, _BURN_TIME in study.central()
    for step in firing.steps:
        elapsed = np.nan if step.seconds is None else elapsed + step.seconds
        own = not timed or _BURN_TIME in step.settings or not np.isfinite(elapsed)
        warm = {} if own else {_BURN_TIME: f"{elapsed:g} s"}
        try:
            made = moment_of(study, step.name, step.seconds, {**warm, **step.settings})
        except StudyError as error:
            where = f"firing {firing.name}, step {step.name}" if step.name else f"firing {firing.name}"
            raise StudyError(f"{where}: {error}") from error
        told = {address: written for address, written in made.settings.items() if address not in warm}
        moments.append(replace(made, settings=told))
    return moments


def _peaks(study: Study) -> dict[str, str]:
    """Return the output that holds the highest current of a pulse, by pair with a pulsed source."""
    kinds = {pair: study.choices.get(f"electrodes.{pair}.source.kind") for pair in study.pairs}
    return {
        pair: f"electrodes.{pair}.pulse_peak_current"
        for pair, kind in kinds.items()
        if kind in registry.PULSED_SOURCES
    }


@dataclass(frozen=True)
class Errors:
    """Errors of instruments at the points of a sample, in standard uncertainties: what recurs, and what doesn't."""

    common: Mapping[str, FloatArray]  #: by instrument [-]
    rng: np.random.Generator

    @classmethod
    def drawn(cls, instruments: Sequence[Instrument], burn: Burn, number: int) -> Errors:
        """Return errors that are the same for all steps."""
        rng = sampling.generator(number, Purpose.FIRING, chunk=1)
        return cls({own.name: rng.standard_normal(burn.points) for own in instruments}, rng)

    def read(self, instrument: Instrument, ideal: FloatArray) -> FloatArray:
        """Return what an instrument reads of a quantity [SI]."""
        random = np.hypot(instrument.random.absolute, instrument.random.relative * ideal)
        common = np.hypot(instrument.common.absolute, instrument.common.relative * ideal)
        noise = self.rng.standard_normal(ideal.shape)
        return np.asarray(ideal + random * noise + common * self.common[instrument.name])


def _step(burn: Burn, place: int, instruments: Sequence[Instrument], errors: Errors) -> StepOfCard:
    found, moment = burn.found(place), burn.moments[place]
    bands = tuple(_band(moment.name, own, found, errors) for own in instruments)
    statuses, warnings = (_shares(found, names) for names in (registry.STATUS_CODES, registry.WARNING_BITS))
    power = found.quantities["electrical_power"]
    power = power[np.isfinite(power)]
    low, middle, high = np.quantile(power, _ends(TOLD)) if power.size >= _FEWEST else (np.nan,) * 3
    peaks = {
        pair: float(np.quantile(np.nan_to_num(found.quantities[address]), 0.5 + TOLD / 2))
        for pair, address in _peaks(moment.study).items()
    }
    return StepOfCard(moment, bands, statuses, warnings, (float(middle), float(low), float(high)), peaks)


def _shares(found: Evaluated, names: Iterable[str]) -> dict[str, float]:
    """Share of firings in which each of some events is found, where any is [-]."""
    shares = {name: float(np.mean(event(found, name))) for name in names}
    return {name: share for name, share in shares.items() if share > 0.0}


def _ends(share: float) -> tuple[float, float, float]:
    return 0.5 * (1.0 - share), 0.5, 0.5 * (1.0 + share)


def _band(step: str, instrument: Instrument, found: Evaluated, errors: Errors) -> Band:
    ideal = found.quantities[instrument.reads]
    there = np.isfinite(ideal) & (found.outcomes <= NO_CONTACT)
    values = errors.read(instrument, ideal)[there]
    if values.size < _FEWEST:
        return Band(step, instrument.reads, instrument, *(np.nan,) * 6, (np.nan, np.nan), np.nan)
    low, _, high = np.quantile(values, _ends(TOLD))
    middle = np.median(ideal[there])
    lowest, _, highest = np.quantile(values, _ends(SURELY))
    noise = float(np.hypot(instrument.random.at(float(middle)), instrument.common.at(float(middle))))
    beyond = 0.0
    borne = errors.read(instrument, found.quantities[CARRIED.get(instrument.reads, instrument.reads)])[there]
    if instrument.range is not None:
        beyond = float(np.mean((borne < instrument.range[0]) | (borne > instrument.range[1])))
    ends = (float(middle), float(low), float(high), float(lowest), float(highest))
    least, _, most = np.quantile(borne, _ends(SURELY))
    return Band(step, instrument.reads, instrument, *ends, noise, (float(least), float(most)), beyond)


def _central(burn: Burn) -> dict[str, float]:
    """Outputs of the last step at central values [SI]."""
    stage = burn.stages[-1]
    central = {item.address: np.array([item.centre]) for item in burn.moments[-1].study.space.inputs}
    return {name: float(values[0]) for name, values in stage.points(central).quantities.items()}
