"""Builds target, instruments, set-ups, measurements and model error from their checked tables."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from explorer import registry
from explorer.registry import Quantity, UnknownAddressError
from explorer.studyfile import schema
from explorer.studyfile.amounts import amount, amount_or_none, range_of, rate
from explorer.studyfile.error import StudyError
from explorer.studyfile.grammar import exact_value
from explorer.studyfile.sections import (
    Decision,
    Instrument,
    Measurement,
    ModelError,
    Reading,
    Setup,
    Target,
)


def known_quantity(
    address: str,
    pairs: tuple[str, ...],
    where: str,
    kind: str | None = None,
    *,
    for_all_pairs: bool = False,
) -> Quantity:
    """Return a quantity that this study has, or say that it doesn't."""
    try:
        found = registry.quantity(address)
    except UnknownAddressError as error:
        raise StudyError(f"{where}: {error}", where) from error
    if found in registry.FLIGHT_INPUTS:
        raise StudyError(f'{where}: "{address}" belongs to the vehicle, and only a flight knows it', where)
    if kind is not None and found.kind != kind:
        raise StudyError(f'{where}: expected an {kind}, but "{address}" is an {found.kind}', where)
    check_pair(where, address, pairs)
    stands_for_one = found.per_pair and not found.adds and not address.startswith("electrodes.")
    if stands_for_one and len(pairs) > 1 and not for_all_pairs:
        first = found.of_pair(pairs[0]).address
        raise StudyError(f'{where}: with several pairs write "{first}", not "{address}"', where)
    return found


def check_pair(where: str, address: str, pairs: tuple[str, ...]) -> None:
    """Refuse the address of a pair that the study doesn't have."""
    parts = address.split(".")
    if parts[0] == "electrodes" and parts[1] not in pairs:
        raise StudyError(f'{where}: the study has no pair "{parts[1]}" (it has {", ".join(pairs)})', where)


def target(table: schema.TargetTable, pairs: tuple[str, ...]) -> Target:
    """Return the target of [target]."""
    quantity = known_quantity(table.quantity, pairs, "target.quantity", "output")
    bounds = {
        key: exact_value(f"target.{key}", written, quantity)
        for key, written in (("at_least", table.at_least), ("at_most", table.at_most))
        if written is not None
    }
    if len(bounds) == 2 and not bounds["at_least"] < bounds["at_most"]:
        raise StudyError("target: at_least must lie below at_most", "target.at_least")
    return Target(table.quantity, **bounds, chance=float(table.chance))


def model_error(table: Mapping[str, Any], pairs: tuple[str, ...]) -> ModelError:
    """Return the model's error of [model_error]."""
    relative, shared = {}, None
    for address, written in flattened(table).items():
        where = f"model_error.{address}"
        if address == "shared":
            shared = exact_value(where, written, _SHARE)
            continue
        known_quantity(address, pairs, where, "output", for_all_pairs=True)
        relative[address] = exact_value(where, written, _RELATIVE)
    if shared is None:
        return ModelError(relative)
    return ModelError(relative, shared, "yours")


_SHARE: Final = Quantity(
    "share", "input", "1", "%", "", "", low=0.0, low_open=False, high=1.0, high_open=False
)
_RELATIVE: Final = Quantity("relative", "input", "1", "%", "", "", low=0.0)


def flattened(table: Mapping[str, Any], leaves: Iterable[str] = ()) -> dict[str, Any]:
    """Return nested tables as addresses; a table with one of the keys `leaves` stays as it is."""
    stop = set(leaves)
    flat: dict[str, Any] = {}
    for key, item in table.items():
        if isinstance(item, Mapping) and not stop & item.keys():
            found = {f"{key}.{rest}": inner for rest, inner in flattened(item, stop).items()}
        else:
            found = {key: item}
        for address in found.keys() & flat.keys():  # once in quotes, once as nested keys
            raise StudyError(f'"{address}" stands twice', address)
        flat |= found
    return flat


def instruments(tables: Iterable[schema.InstrumentTable], pairs: tuple[str, ...]) -> tuple[Instrument, ...]:
    """Return the instruments of [[instrument]]."""
    found = tuple(_instrument(table, pairs) for table in tables)
    _check_names("instrument", [item.name for item in found])
    return found


def _instrument(table: schema.InstrumentTable, pairs: tuple[str, ...]) -> Instrument:
    where = f"instrument {table.name}"
    quantity = known_quantity(table.reads, pairs, f"{where}: reads", "output")
    if table.random is None and table.common is None:
        raise StudyError(f"{where}: needs its uncertainty, random or common or both", where)
    return Instrument(
        table.name,
        table.reads,
        random=amount_or_none(f"{where}: random", table.random, quantity),
        common=amount_or_none(f"{where}: common", table.common, quantity),
        rate=rate(f"{where}: rate", table.rate),
        bandwidth=rate(f"{where}: bandwidth", table.bandwidth),
        range=range_of(f"{where}: range", table.range, quantity),
    )


def setups(tables: Iterable[schema.SetupTable]) -> tuple[Setup, ...]:
    """Return the set-ups of [[setup]]."""
    found = tuple(Setup(table.name, float(table.hours)) for table in tables)
    _check_names("setup", [item.name for item in found])
    return found


def decision(table: schema.DecisionTable | None) -> Decision | None:
    """Return the pay-offs of [decision]."""
    if table is None:
        return None
    hours = None if table.hours is None else float(table.hours)
    return Decision(
        float(table.gain_if_met), float(table.loss_if_not), float(table.cost_per_hour), table.unit, hours
    )


def measurements(
    tables: Iterable[schema.MeasurementTable],
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...],
    setups: tuple[Setup, ...],
) -> tuple[Measurement, ...]:
    """Return the measurements of [[measurement]], settings and readings in SI."""
    found = tuple(_measurement(table, pairs, instruments, setups) for table in tables)
    _check_names("measurement", [item.name for item in found])
    return found


def _measurement(
    table: schema.MeasurementTable,
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...],
    setups: tuple[Setup, ...],
) -> Measurement:
    where = f"measurement {table.name}"
    if table.setup is not None and table.setup not in [setup.name for setup in setups]:
        guess = registry.nearest(table.setup, [setup.name for setup in setups])
        hint = f': did you mean "{guess}"?' if guess else ""
        raise StudyError(f'{where}: the study has no setup "{table.setup}"{hint}', where)
    pins = {
        address: _reading(
            f"{where}: pins {address}", written, known_quantity(address, pairs, where, "input"), ()
        )
        for address, written in flattened(table.pins, ("random", "common")).items()
    }
    observes = _observes(where, table.observes, pairs, instruments)
    if not pins and not observes:
        raise StudyError(f"{where}: neither pins an input nor observes an output", where)
    settings = {
        address: exact_value(
            f"{where}: settings {address}", written, known_quantity(address, pairs, where, "input")
        )
        for address, written in flattened(table.settings).items()
    }
    return Measurement(table.name, float(table.hours), pins, observes, settings, table.setup, table.repeats)


def _observes(
    where: str,
    written: Mapping[str, Any] | list[str],
    pairs: tuple[str, ...],
    instruments: tuple[Instrument, ...],
) -> dict[str, Reading]:
    by_name = {item.name: item for item in instruments}
    if isinstance(written, Mapping):
        return {
            address: _reading(
                f"{where}: observes {address}",
                item,
                known_quantity(address, pairs, where, "output"),
                instruments,
            )
            for address, item in flattened(written, ("random", "common")).items()
        }
    readings = {}
    for name in written:
        if name not in by_name:
            guess = registry.nearest(name, by_name)
            hint = f': did you mean "{guess}"?' if guess else ""
            raise StudyError(f'{where}: the study has no instrument "{name}"{hint}', where)
        readings[by_name[name].reads] = _of_instrument(by_name[name])
    return readings


def _of_instrument(instrument: Instrument) -> Reading:
    return Reading(instrument.random, instrument.common, instrument.name)


def _reading(where: str, written: object, quantity: Quantity, instruments: Iterable[Instrument]) -> Reading:
    """Return what a reading is worth: a ±, { random, common }, or an instrument's name."""
    for instrument in instruments:
        if written == instrument.name:
            if instrument.reads != quantity.address:
                raise StudyError(f"{where}: {instrument.name} reads {instrument.reads}", where)
            return _of_instrument(instrument)
    if isinstance(written, Mapping):
        for key in written:
            if key not in ("random", "common"):
                raise StudyError(f'{where}: unknown key "{key}": random and common are known here', where)
        return Reading(
            amount_or_none(f"{where}: random", written.get("random"), quantity),
            amount_or_none(f"{where}: common", written.get("common"), quantity),
        )
    return Reading(amount(where, written, quantity))


def _check_names(kind: str, names: list[str]) -> None:
    for name in names:
        if not registry.is_name(name):
            raise StudyError(
                f'{kind} "{name}": a name has small letters, digits and _, and begins with a letter'
            )
        if names.count(name) > 1:
            raise StudyError(f'{kind} "{name}" stands twice')
