"""What must hold between the parts of a study."""

from collections.abc import Mapping

from explorer import registry
from explorer.space import Correlation, CorrelationError, InputSpace, Part, Uncertain
from explorer.studyfile import measuring, schema, sections
from explorer.studyfile.document import Document
from explorer.studyfile.error import StudyError
from explorer.studyfile.values import WITHOUT_SEED


def made_exact(
    replacements: Mapping[str, object], vary: tuple[sections.Varied, ...], choices: Mapping[str, str]
) -> set[str]:
    """Return what may be exact because of what was replaced: itself, or the shares of a seed now left out."""
    changed = {*replacements, *(item.address for item in vary if item.is_word)}
    without_seed = "gas.seed" in changed and choices["gas.seed"] == "none"
    return {*replacements, *(WITHOUT_SEED if without_seed else ())}


def pair_names(document: Document) -> tuple[str, ...]:
    """Return the names of the pairs as they stand in the study."""
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


def space(
    values: Mapping[str, float | Uncertain],
    tables: list[schema.CorrelationTable],
    pairs: tuple[str, ...],
    made_exact: set[str],
    notes: list[str],
) -> InputSpace:
    """Return the uncertain inputs with their correlations, but for those that a replacement left without object."""
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


def check_settings(
    measurements: tuple[sections.Measurement, ...], values: Mapping[str, float | Uncertain]
) -> None:
    """Refuse a measurement at a setting of what the study has not."""
    for measurement in measurements:
        for address in measurement.settings:
            if address not in values:
                where = f"measurement {measurement.name}: settings {address}"
                raise StudyError(f"{where}: this study has no such input", where)


def pinning_something(
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
