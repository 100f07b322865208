"""Firings as they were written down, held against the study of the stage that was fired."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple

from explorer import registry
from explorer.firings import Difference, Firing, FiringError, Reading, Step, WrittenReading, WrittenRow
from explorer.registry import UnknownAddressError, did_you_mean
from explorer.space import Normal
from explorer.studyfile import Instrument, Study, StudyError
from explorer.studyfile.names import known_quantity
from explorer.studyfile.values.text import value_of_text
from explorer.units import UnitError, number_and_unit, si_value

#: Between the names of two steps: what was read of the one less what was read of the other.
LESS: Final = " less "

#: What is written where a firing gave no reading that could be told, because it choked or went out.
NO_NUMBER: Final = "none"


class LeftOut(NamedTuple):
    """A firing that can't be used."""

    name: str  #: empty where it has none
    where: str  #: file and line of its first row
    why: str


@dataclass(frozen=True)
class Recorded:
    """The firings of a file."""

    firings: tuple[Firing, ...]
    left_out: tuple[LeftOut, ...] = ()
    assumed: tuple[
        str, ...
    ] = ()  #: what was taken from the study without a word in the file, a sentence each

    @property
    def refused(self) -> tuple[str, ...]:
        """Why firings are left out, a sentence for each reason."""
        reasons: dict[str, list[str]] = {}
        for own in self.left_out:
            reasons.setdefault(own.why, []).append(f"{own.name or own.where} ({own.where})")
        return tuple(f"Left out: {', '.join(firings)}: {why}." for why, firings in reasons.items())


def firings_file(study: Study) -> Path:
    """Return where a study's firings are looked for: beside it, named after it.

    Raises
    ------
    StudyError
        If the study has no file.
    """
    if study.path is None:
        raise StudyError("a study without a file has no firings beside it: name their file")
    return study.path.with_name(f"{study.path.stem}-firings.csv")


def recorded(rows: Sequence[WrittenRow], study: Study) -> Recorded:
    """Return the firings that rows tell of, the good ones kept where others can't be."""
    firings, left_out, assumed = [], [], dict[str, None]()
    for name, own in _by_name(rows).items():
        try:
            if not name:
                raise FiringError("has no name")
            firings.append(_firing(name, own, study, assumed))
        except (FiringError, StudyError, UnitError) as error:
            left_out.append(LeftOut(name, own[0].where, str(error)))
    return Recorded(tuple(firings), tuple(left_out), tuple(assumed))


def _original(study: Study) -> str:
    """Stem of the study that a calibrated one was learnt about; empty for another."""
    if study.calibrated is None or study.path is None:
        return ""
    return Path(study.calibrated.of).stem


def _by_name(rows: Sequence[WrittenRow]) -> dict[str, list[WrittenRow]]:
    found: dict[str, list[WrittenRow]] = {}
    for row in rows:
        found.setdefault(row.name, []).append(row)
    return found


def _firing(name: str, rows: Sequence[WrittenRow], study: Study, assumed: dict[str, None]) -> Firing:
    stem = study.path.stem if study.path is not None else ""
    for row in rows:
        if row.study and stem and row.study.removesuffix(".toml") not in (stem, _original(study)):
            raise FiringError(f"it is a firing of {row.study}, and this is {stem}")
    steps = [row for row in rows if LESS not in row.step]
    if len(rows) > 1 and not all(row.step for row in rows):
        raise FiringError("it stands in several rows, so each needs the name of its step")
    if not steps:
        raise FiringError("only differences of steps are written, and not the steps' settings")
    made = [_step(row, study, assumed) for row in steps]
    differences = [
        _difference(row, difference, study, assumed) for row in rows for difference in _differences(row)
    ]
    date, note = rows[0].date, "; ".join(row.note for row in rows if row.note)
    if len(rows) == 1 and not rows[0].step:
        return Firing(made[0].settings, made[0].readings, name, date=date, note=note)
    return Firing(name=name, steps=tuple(made), differences=tuple(differences), date=date, note=note)


def _step(row: WrittenRow, study: Study, assumed: dict[str, None]) -> Step:
    settings = settings_of(row.settings, row.mode, study)
    if settings:
        study.replaced(settings)  # which refuses what the stage can't stand
    readings = {
        address: _reading(address, written, study, assumed) for address, written in row.readings.items()
    }
    return Step(row.step, settings, readings, _seconds(row.seconds))


def settings_of(settings: Mapping[str, Any], mode: str, study: Study) -> dict[str, Any]:
    """Return a firing's settings with what its mode asks of the sources.

    Raises
    ------
    StudyError
        If there is no such mode.
    """
    whole = dict(settings)
    if mode and mode != study.mode:
        if mode not in registry.MODES:
            hint = did_you_mean(mode, registry.MODES, otherwise=f"known: {', '.join(registry.MODES)}")
            raise StudyError(f'unknown mode "{mode}"{hint}')
        kind = registry.SOURCE_OF_MODE[mode]
        whole = {"mode": mode, **{f"electrodes.{pair}.source.kind": kind for pair in study.pairs}, **whole}
    return whole


def _differences(row: WrittenRow) -> list[tuple[str, str]]:
    one, less, other = row.step.partition(LESS)
    return [(one.strip(), other.strip())] if less else []


def _difference(
    row: WrittenRow, steps: tuple[str, str], study: Study, assumed: dict[str, None]
) -> Difference:
    if row.settings or len(row.readings) != 1:
        raise FiringError(f'"{row.step}" is a difference of steps: it has one reading, and no settings')
    ((address, written),) = row.readings.items()
    return Difference(address, *steps, _reading(address, written, study, assumed, of_difference=True))


def _reading(
    address: str,
    written: WrittenReading,
    study: Study,
    assumed: dict[str, None],
    *,
    of_difference: bool = False,
) -> Reading:
    try:
        quantity = known_quantity(address, study.pairs, address, "output")
    except UnknownAddressError as error:
        raise FiringError(str(error)) from None
    try:
        value, spread = _value_and_spread(written, quantity)
    except UnitError as error:
        raise FiringError(f"{address}: {error}") from error
    instrument = _instrument(address, written, study, told=not math.isnan(spread))
    if instrument is not None and not written.instrument:
        assumed[f"{registry.words_of(address)} is taken as read by {instrument.name}"] = None
    known = 0.0 if math.isnan(value) else value
    if math.isnan(spread) and instrument is not None:
        spread = instrument.random.at(known) or instrument.common.at(known)
    if math.isnan(spread):
        raise FiringError(
            f'{address}: neither a ± nor an instrument of the study says how good "{written.value}" is'
        )
    common = _common(written, instrument, known, quantity, of_difference=of_difference)
    return Reading(
        value, spread, common, _number(written.degrees_of_freedom, math.inf), int(_number(written.repeats, 1))
    )


def _value_and_spread(written: WrittenReading, quantity: registry.Quantity) -> tuple[float, float]:
    """A reading and its ± [SI], NaN where it isn't written; a reading of "none" is NaN."""
    spread = _spread(written.spread, quantity)
    if written.value.strip().lower() == NO_NUMBER:
        return math.nan, spread
    found = value_of_text(_typed(written.value), quantity)
    if isinstance(found, float):
        return found, spread
    if not isinstance(found, Normal) or written.spread:
        raise UnitError(f'"{written.value}": a reading has one ±, its standard uncertainty')
    return found.mean, found.standard_deviation


def _typed(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _spread(text: str, quantity: registry.Quantity) -> float:
    if not text:
        return math.nan
    number, unit = number_and_unit(text)
    return si_value(number, unit, quantity.unit) if quantity.unit != "K" else number


def _instrument(address: str, written: WrittenReading, study: Study, *, told: bool) -> Instrument | None:
    """The study's instrument behind a reading: the one named, or the only one that reads the quantity."""
    if written.instrument:
        named = [own for own in study.instruments if own.name == written.instrument]
        if not named and not told:
            hint = did_you_mean(written.instrument, [own.name for own in study.instruments])
            raise FiringError(
                f'{address}: the study has no instrument "{written.instrument}"{hint}; or write its ±'
            )
        if named and not told and named[0].reads != address:
            raise FiringError(
                f"{address}: {named[0].name} reads {named[0].reads}; write the ± of what was read"
            )
        return named[0] if named else None
    reading = [own for own in study.instruments if own.reads == address]
    if len(reading) > 1 and not told:
        names = ", ".join(own.name for own in reading)
        raise FiringError(f"{address} is read by {names}: name one in a column {address} instrument")
    return reading[0] if len(reading) == 1 else None


def _common(
    written: WrittenReading,
    instrument: Instrument | None,
    value: float,
    quantity: registry.Quantity,
    *,
    of_difference: bool,
) -> dict[str, float]:
    """Named common errors of a reading [SI]: an offset, which a difference loses, and a share of the reading."""
    if written.common:
        name = written.instrument or (instrument.name if instrument else "")
        if not name:
            raise FiringError("a common uncertainty belongs to an instrument: name it")
        return {name: _spread(written.common, quantity)}
    if instrument is None:
        return {}
    offset, share = instrument.common.absolute, abs(instrument.common.relative * value)
    both = instrument.common.absolute > 0.0 and instrument.common.relative > 0.0
    found = {}
    if share > 0.0:
        found[f"{instrument.name} (scale)" if both else instrument.name] = share
    if offset > 0.0 and not of_difference:
        found[f"{instrument.name} (offset)" if both else instrument.name] = offset
    return found


def _number(text: str, otherwise: float) -> float:
    if not text:
        return otherwise
    try:
        return float(text)
    except ValueError:
        raise FiringError(f'expected a number, got "{text}"') from None


def _seconds(text: str) -> float | None:
    if not text:
        return None
    try:
        number, unit = number_and_unit(text)
        seconds = si_value(number, unit or "s", "s")
    except UnitError as error:
        raise FiringError(f"seconds: {error}") from error
    if not seconds > 0.0:
        raise FiringError(f'a step lasts some time; got "{text}"')
    return seconds
