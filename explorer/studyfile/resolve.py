"""From a checked document to a study: the values that it needs, and what must hold between its parts."""

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from explorer import registry
from explorer.space import Correlation, CorrelationError, InputSpace, Part, Rectangular, Uncertain
from explorer.studyfile import choices as choosing
from explorer.studyfile import grammar, measuring, propellants, schema, sections
from explorer.studyfile.document import Document, at
from explorer.studyfile.error import StudyError
from explorer.studyfile.geometry import check_geometry
from explorer.studyfile.study import Study

_WITHOUT_SEED: Final = {"gas.seed_fraction": 0.0, "gas.seed_water": 0.0, "gas.seed_vaporized": 1.0}


def study(document: Document, path: Path | None, replacements: Mapping[str, object]) -> Study:
    """Return the study of a raw document.

    Parameters
    ----------
    document
        As read, `like` filled in, replacements made.
    path
        Where it was read.
    replacements
        What was replaced from outside: it may leave correlations and measurements without object.

    Raises
    ------
    StudyError
        For anything in it that cannot be run.
    """
    model = schema.checked(document)
    pairs = _pair_names(document)
    notes: list[str] = []
    choices, origin = choosing.choices_of(document, pairs)
    choosing.check_alternatives(document, choices)
    values = _values(document, choices, pairs, origin, notes)
    exact = {address: item for address, item in values.items() if isinstance(item, float)}
    space = _space(values, model.correlation, pairs, replacements, notes)
    central = exact | space.central()
    if choices["magnet.kind"] == "blocks" and "magnet.blocks.position" not in central:
        exact["magnet.blocks.position"] = 0.5 * central["channel.length"]
        origin["magnet.blocks.position"] = "default"
    pairs = tuple(sorted(pairs, key=lambda pair: central[f"electrodes.{pair}.start"]))
    check_geometry(central, pairs, propellants.field_profile_of(choices))
    propellants.check_gas(choices, central)
    instruments = measuring.instruments(model.instrument, pairs)
    setups = measuring.setups(model.setup)
    measurements = measuring.measurements(model.measurement, pairs, instruments, setups)
    _check_settings(measurements, values)
    notes += [_replacement_note(address, exact) for address in replacements if address in values]
    return Study(
        title=model.title,
        mode=choices["mode"],
        path=path,
        choices=choices,
        exact=dict(sorted(exact.items(), key=lambda item: registry.position(item[0]))),
        space=space,
        origin=origin,
        pairs=pairs,
        target=measuring.target(model.target, pairs),
        run=sections.Run(model.run.random_number),
        model_error=measuring.model_error(model.model_error, pairs),
        instruments=instruments,
        setups=setups,
        measurements=_pinning_something(measurements, space, replacements, notes),
        decision=measuring.decision(model.decision),
        notes=tuple(notes),
        document=document,
        replacements=dict(replacements),
    )


def _pair_names(document: Document) -> tuple[str, ...]:
    names = tuple(document.get("electrodes", {}))
    if not names:
        raise StudyError(
            'missing key "electrodes": a study has at least one table [electrodes.main]', "electrodes"
        )
    for name in names:
        if not registry.is_name(name):
            raise StudyError(
                f'electrodes."{name}": a name has small letters, digits and _, and begins with a letter',
                f"electrodes.{name}",
            )
    return names


def _replacement_note(address: str, exact: Mapping[str, float]) -> str:
    if address not in exact:
        return f"{address} is replaced by another uncertain value"
    return f"{address} is now taken as exactly {registry.quantity(address).shown(exact[address], 6)}"


def _values(
    document: Document,
    choices: Mapping[str, str],
    pairs: tuple[str, ...],
    origin: dict[str, str],
    notes: list[str],
) -> dict[str, float | Uncertain]:
    """Return every numeric input that the study has, and fill in who says so."""
    values: dict[str, float | Uncertain] = {}
    for address in registry.inputs_of(pairs):
        quantity = registry.quantity(address)
        written, need = at(document, address), choosing.need_of(quantity, choices)
        if choices["gas.seed"] == "none" and address in _WITHOUT_SEED:
            if written is not None:
                notes.append(f'{address} is not used: gas.seed is "none"')
            values[address], origin[address] = _WITHOUT_SEED[address], "default"
        elif written is not None:
            if need.misfit:
                raise StudyError(f'"{address}" does not fit: {need.misfit}', address)
            values[address], origin[address] = grammar.value(address, written, quantity), "yours"
        elif address == "magnet.blocks.remanence" and "magnet.blocks.grade" in choices:
            values[address], origin[address] = _remanence_of_grade(choices["magnet.blocks.grade"]), "assumed"
        elif need.needed:
            raise StudyError(f'missing key "{address}"{need.reason}', address)
        elif quantity.default is not None and not need.misfit:
            values[address], origin[address] = quantity.default, quantity.default_origin or "default"
    return values


def _remanence_of_grade(grade: str) -> Uncertain:
    """Return a grade's remanence: anywhere within what makers promise."""
    from explorer.physics.magnet import GRADES  # with magpylib, which a study without blocks does not need

    limits = GRADES[grade]
    return Uncertain(
        "magnet.blocks.remanence", unknown=Rectangular(limits.lowest_remanence, limits.highest_remanence)
    )


def _space(
    values: Mapping[str, float | Uncertain],
    tables: list[schema.CorrelationTable],
    pairs: tuple[str, ...],
    replacements: Mapping[str, object],
    notes: list[str],
) -> InputSpace:
    uncertain = [item for item in values.values() if isinstance(item, Uncertain)]
    addresses = {item.address for item in uncertain}
    correlations = []
    for table in tables:
        first, second = table.between
        for address in table.between:
            measuring.known_quantity(address, pairs, "correlation", "input")
            if address not in addresses and address not in replacements:
                raise StudyError(f"correlation: {address} is not uncertain in this study", "correlation")
        if {first, second} <= addresses:
            correlations.append(Correlation((first, second), float(table.rank), _part(table.part)))
        else:
            notes.append(f"the correlation of {first} and {second} is left out: one of them is now exact")
    try:
        return InputSpace.in_registry_order(uncertain, correlations)
    except CorrelationError as error:
        raise StudyError(f"correlation: {error}", "correlation") from error


def _part(written: str) -> Part:
    if written == "unknown":
        return "unknown"
    if written == "scatter":
        return "scatter"
    raise StudyError(f'correlation: part must be "unknown" or "scatter"; got {written}', "correlation")


def _check_settings(
    measurements: tuple[sections.Measurement, ...], values: Mapping[str, float | Uncertain]
) -> None:
    for measurement in measurements:
        for address in measurement.settings:
            if address not in values:
                where = f"measurement {measurement.name}: settings {address}"
                raise StudyError(f"{where}: this study has no such input", where)


def _pinning_something(
    measurements: tuple[sections.Measurement, ...],
    space: InputSpace,
    replacements: Mapping[str, object],
    notes: list[str],
) -> tuple[sections.Measurement, ...]:
    """Return the measurements that can teach something; what a replacement made exact excuses the others."""
    unknown = {row.address for row in space.rows if row.part == "unknown"}
    kept = []
    for measurement in measurements:
        idle = [address for address in measurement.pins if address not in unknown]
        if not idle:
            kept.append(measurement)
        elif set(idle) <= set(replacements):
            notes.append(f"the measurement {measurement.name} is left out: {', '.join(idle)} is now exact")
        else:
            raise StudyError(
                f"measurement {measurement.name}: {idle[0]} has no unknown part that it could pin down",
                f"measurement.{measurement.name}",
            )
    return tuple(kept)
