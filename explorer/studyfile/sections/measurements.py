"""[[setup]] and [[measurement]]: what could be tested before the next firing."""

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

from pydantic import Field

from explorer import registry
from explorer.registry import Quantity
from explorer.studyfile.document import flattened
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inherited import Inheritance
from explorer.studyfile.names import check_known, check_names, known_quantity
from explorer.studyfile.sections.instruments import Amount, Instrument, ReadingUncertainty, amount
from explorer.studyfile.sections.table import Table, Text, Written
from explorer.studyfile.values import exact_value

_KEY: Final = "measurement"


class SetupTable(Table):
    """[[setup]]."""

    name: Text
    hours: float = Field(ge=0, allow_inf_nan=False)
    standing: bool | None = None
    lowest_pressure: Written = None


class MeasurementTable(Table):
    """[[measurement]]."""

    name: Text
    pins: dict[str, Any] = Field(default_factory=dict)
    observes: dict[str, Any] | list[str] = Field(default_factory=dict)
    settings: dict[str, Any] = Field(default_factory=dict)
    setup: str | None = None
    hours: float = Field(gt=0, allow_inf_nan=False)
    repeats: int = Field(default=1, ge=1)


@dataclass(frozen=True)
class Setup:
    """Something that is put up once for several measurements."""

    name: str
    hours: float  #: [h] that it takes yet: none where it stands already
    #: Of an altitude cell, the lowest pressure that it holds around a firing stage [Pa]; None for anything else.
    lowest_pressure: float | None = None


@dataclass(frozen=True)
class Measurement:
    """A test that could be made before the next firing: it reads inputs, or outputs in firings of its own."""

    name: str
    hours: float  #: of work, its set-up aside [h]
    pins: Mapping[str, ReadingUncertainty] = field(default_factory=dict)  #: by input, each once a repeat
    observes: Mapping[str, ReadingUncertainty] = field(default_factory=dict)  #: by output, each once a repeat
    settings: Mapping[str, float] = field(default_factory=dict)  #: inputs that are others in it [SI]
    setup: str | None = None  #: name of the set-up that it needs
    repeats: int = 1  #: [-]


def setups(tables: Iterable[SetupTable]) -> tuple[Setup, ...]:
    """Return the set-ups of [[setup]]."""
    found = tuple(
        Setup(
            table.name,
            0.0 if table.standing else table.hours,
            _lowest(f"setup {table.name}: lowest_pressure", table.lowest_pressure),
        )
        for table in tables
    )
    check_names("setup", [item.name for item in found])
    return found


def _lowest(where: str, written: object) -> float | None:
    """Return what an altitude cell holds [Pa], None where it isn't written."""
    return None if written is None else exact_value(where, written, registry.quantity("ambient.pressure"))


def measurements(
    tables: Iterable[MeasurementTable],
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...],
    setups: tuple[Setup, ...],
    inputs: Container[str],
    inherited: Inheritance,
) -> tuple[Measurement, ...]:
    """Return the measurements of [[measurement]], settings and readings in SI; the study has these inputs."""
    found = inherited.each(
        _KEY, tables, lambda table: _measurement(table, pairs, instruments, setups, inputs)
    )
    check_names("measurement", [item.name for item in found])
    return found


def _measurement(
    table: MeasurementTable,
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...],
    setups: tuple[Setup, ...],
    inputs: Container[str],
) -> Measurement:
    where = f"measurement {table.name}"
    if table.setup is not None:
        check_known(where, "setup", table.setup, [setup.name for setup in setups])
    pins = _readings(where, "pins", table.pins, pairs)
    observes = _observed(where, table.observes, pairs, instruments)
    if not pins and not observes:
        raise refusal(where, "neither pins an input nor observes an output")
    settings = {}
    for address, written in flattened(table.settings).items():
        here = f"{where}: settings {address}"
        settings[address] = exact_value(here, written, known_quantity(address, pairs, where, "input"))
        if address not in inputs:
            raise refusal(here, "this study has no such input")
    return Measurement(table.name, table.hours, pins, observes, settings, table.setup, table.repeats)


def _observed(
    where: str,
    written: Mapping[str, Any] | list[str],
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...],
) -> dict[str, ReadingUncertainty]:
    if isinstance(written, Mapping):
        return _readings(where, "observes", written, pairs, instruments)
    by_name = {item.name: item for item in instruments}
    for name in written:
        check_known(where, "instrument", name, list(by_name))
    return {by_name[name].reads: by_name[name].reading() for name in written}


def _readings(
    where: str,
    verb: Literal["pins", "observes"],
    table: Mapping[str, Any],
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...] = (),
) -> dict[str, ReadingUncertainty]:
    kind = "input" if verb == "pins" else "output"
    found = {}
    for address, written in flattened(table, ("random", "common")).items():
        quantity = known_quantity(address, pairs, where, kind)
        found[address] = _reading(f"{where}: {verb} {address}", written, quantity, instruments)
    return found


def _reading(
    where: str, written: object, quantity: Quantity, instruments: Iterable[Instrument]
) -> ReadingUncertainty:
    """Return what a reading is worth: a ±, { random, common }, or an instrument's name."""
    for instrument in instruments:
        if written == instrument.name:
            if instrument.reads != quantity.address:
                raise refusal(where, f"{instrument.name} reads {instrument.reads}")
            return instrument.reading()
    if not isinstance(written, Mapping):
        return ReadingUncertainty(amount(where, written, quantity))
    for key in written:
        if key not in ("random", "common"):
            raise refusal(where, f'unknown key "{key}": random and common are known here')
    return ReadingUncertainty(
        amount(f"{where}: random", written.get("random"), quantity),
        amount(f"{where}: common", written.get("common"), quantity),
    )


def pinning_something(
    measurements: tuple[Measurement, ...],
    unknown: set[str],
    inputs: Container[str],
    made_exact: set[str],
    inherited: Inheritance,
) -> tuple[Measurement, ...]:
    """Return the measurements as far as they can teach something; a change excuses what is now exact."""
    kept = []
    for measurement in measurements:
        name, idle = measurement.name, [address for address in measurement.pins if address not in unknown]
        if idle and not inherited.holds(_KEY) and not set(idle) <= made_exact:
            raise StudyError(
                f"measurement {name}: {idle[0]} has no unknown part that it could pin down",
                f"measurement.{name}",
            )
        pins = {address: reading for address, reading in measurement.pins.items() if address not in idle}
        states = {True: "now exact", False: "no longer there"}
        now = " and ".join(f"{registry.words_of(address)} is {states[address in inputs]}" for address in idle)
        if pins or measurement.observes:
            kept.append(replace(measurement, pins=pins))
            if idle:
                inherited.left_out(f"the measurement {name} no longer pins all that it did: {now}")
        else:
            inherited.left_out(f"the measurement {name} is left out: {now}")
    return tuple(kept)


_MAY_HAVE: Final = frozenset({"name", "hours", "pins", "observes", "settings", "setup", "repeats"})


def measurement_of(written: Measurement | Mapping[str, Any]) -> Measurement:
    """Return a measurement given as such or as a mapping of its keys, numbers in SI.

    A reading may be a `ReadingUncertainty`, one standard uncertainty, or a mapping of `random` and `common`.
    """
    if isinstance(written, Measurement):
        return written
    if not isinstance(written, Mapping) or not {"name", "hours"} <= set(written):
        raise StudyError(
            f"a measurement needs a name and hours, and what it pins or observes; got {written!r}"
        )
    unknown = sorted(set(written) - _MAY_HAVE)
    if unknown:
        raise StudyError(f"measurement {written['name']}: {unknown[0]} is no key of a measurement")
    read = {
        key: {
            address: _reading_of(f"{written['name']}: {address}", own)
            for address, own in written[key].items()
        }
        for key in ("pins", "observes")
        if key in written
    }
    found = Measurement(**{**written, **read})
    if not (isinstance(found.hours, int | float) and found.hours > 0.0):
        raise StudyError(f"measurement {found.name}: hours must be above 0; got {found.hours!r}")
    if not found.pins and not found.observes:
        raise StudyError(f"measurement {found.name} neither pins nor observes anything")
    return found


def _reading_of(where: str, written: object) -> ReadingUncertainty:
    if isinstance(written, ReadingUncertainty):
        return written
    parts: Mapping[str, Any] = written if isinstance(written, Mapping) else {"random": written}
    numbers = all(isinstance(own, int | float) and own >= 0.0 for own in parts.values())
    if not numbers or not parts or not set(parts) <= {"random", "common"}:
        raise StudyError(
            f"measurement {where}: expected a standard uncertainty in SI, or a mapping of random and common; got"
            f" {written!r}"
        )
    return ReadingUncertainty(
        Amount(float(parts.get("random", 0.0))), Amount(float(parts.get("common", 0.0)))
    )
