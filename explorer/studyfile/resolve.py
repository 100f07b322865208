"""From a checked document to a study: the values that it needs, and what must hold between its parts."""

from collections.abc import Mapping
from pathlib import Path

from explorer import registry
from explorer.space import Correlation, CorrelationError, InputSpace, Part, Uncertain
from explorer.studyfile import choices as choosing
from explorer.studyfile import designing, flying, measuring, propellants, schema, sections, varying
from explorer.studyfile.document import Document
from explorer.studyfile.error import StudyError
from explorer.studyfile.geometry import check_geometry
from explorer.studyfile.study import Study
from explorer.studyfile.values import WITHOUT_SEED, Known, known_values, values_of


def study(
    document: Document,
    path: Path | None,
    replacements: Mapping[str, object],
    earlier: Study | None = None,
) -> Study:
    """Return the study of a raw document."""
    model = schema.checked(document)
    pairs = _pair_names(document)
    notes: list[str] = []
    choices, origin = choosing.choices_of(document, pairs)
    choosing.check_alternatives(document, choices)
    values = values_of(document, choices, pairs, origin, notes, _known(earlier))
    exact = {address: item for address, item in values.items() if isinstance(item, float)}
    vary = designing.varied(model.vary, pairs)
    made_exact = _made_exact(replacements, vary, choices)
    space = _space(values, model.correlation, pairs, made_exact, notes)
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
    given = varying.Given(document, choices, values, known_values(document, values, origin))
    vary = varying.still_varied(vary, given, replacements, notes)
    notes += [replacement_note(address, exact) for address in replacements if address in values]
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
        measurements=_pinning_something(measurements, space, made_exact, notes),
        decision=measuring.decision(model.decision),
        vary=vary,
        wishes=designing.wishes(model.wanted, pairs),
        limits=designing.limits(model.limit, pairs),
        flight=flying.flight_plan(model.flight, replacements, notes),
        notes=tuple(notes),
        document=document,
        replacements=dict(replacements),
    )


def _known(earlier: Study | None) -> Known:
    if earlier is None:
        return {}
    uncertain = {item.address: item for item in earlier.space.inputs}
    return known_values(earlier.document, {**earlier.exact, **uncertain}, earlier.origin)


def _made_exact(
    replacements: Mapping[str, object], vary: tuple[sections.Varied, ...], choices: Mapping[str, str]
) -> set[str]:
    """Return what may be exact because of what was replaced: itself, or the shares of a seed now left out."""
    changed = {*replacements, *(item.address for item in vary if item.is_word)}
    without_seed = "gas.seed" in changed and choices["gas.seed"] == "none"
    return {*replacements, *(WITHOUT_SEED if without_seed else ())}


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


def replacement_note(address: str, exact: Mapping[str, float]) -> str:
    """Return what a reader must know of a value that was replaced."""
    if address not in exact:
        return f"{address} is replaced by another uncertain value"
    return f"{address} is now taken as exactly {registry.quantity(address).shown(exact[address], 6)}"


def _space(
    values: Mapping[str, float | Uncertain],
    tables: list[schema.CorrelationTable],
    pairs: tuple[str, ...],
    made_exact: set[str],
    notes: list[str],
) -> InputSpace:
    uncertain = [item for item in values.values() if isinstance(item, Uncertain)]
    addresses = {item.address for item in uncertain}
    correlations = []
    for table in tables:
        first, second = table.between
        for address in table.between:
            measuring.known_quantity(address, pairs, "correlation", "input")
            if address not in addresses and address not in made_exact:
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
    made_exact: set[str],
    notes: list[str],
) -> tuple[sections.Measurement, ...]:
    """Return the measurements that can teach something; what a replacement made exact excuses the others."""
    unknown = {row.address for row in space.rows if row.part == "unknown"}
    kept = []
    for measurement in measurements:
        idle = [address for address in measurement.pins if address not in unknown]
        if not idle:
            kept.append(measurement)
        elif set(idle) <= made_exact:
            notes.append(f"the measurement {measurement.name} is left out: {', '.join(idle)} is now exact")
        else:
            raise StudyError(
                f"measurement {measurement.name}: {idle[0]} has no unknown part that it could pin down",
                f"measurement.{measurement.name}",
            )
    return tuple(kept)
