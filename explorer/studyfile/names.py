"""What a study may name: quantities that it has, pairs, words among options, and names of its own."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from explorer import registry
from explorer.registry import Quantity, did_you_mean
from explorer.studyfile.error import StudyError, naming, refusal

_FORM: Final = "a name has small letters, digits and _, and begins with a letter"


def pair_names(document: Mapping[str, Mapping[str, object]]) -> tuple[str, ...]:
    """Return the names of a study's pairs, as they stand in it."""
    names = tuple(document.get("electrodes", {}))
    if not names:
        raise StudyError(
            'missing key "electrodes": a study has at least one table [electrodes.main]', "electrodes"
        )
    for name in names:
        if not registry.is_name(name):
            raise StudyError(f'electrodes."{name}": {_FORM}', f"electrodes.{name}")
    return names


def known_quantity(
    address: str,
    pairs: tuple[str, ...],
    where: str,
    kind: str | None = None,
    *,
    for_all_pairs: bool = False,
) -> Quantity:
    """Return a quantity that this study has, or say that it doesn't."""
    with naming(where):
        found = registry.quantity(address)
    if found in registry.FLIGHT_INPUTS:
        raise refusal(where, f'"{address}" belongs to the vehicle, and only a flight knows it')
    if kind is not None and found.kind != kind:
        raise refusal(where, f'expected an {kind}, but "{address}" is {found.kind_words}')
    check_pair(where, address, pairs)
    stands_for_one = found.per_pair and not found.adds and not address.startswith("electrodes.")
    if stands_for_one and len(pairs) > 1 and not for_all_pairs:
        first = found.of_pair(pairs[0]).address
        raise refusal(where, f'with several pairs write "{first}", not "{address}"')
    return found


def check_pair(where: str, address: str, pairs: Iterable[str]) -> None:
    """Refuse the address of a pair that the study doesn't have."""
    parts = address.split(".")
    if parts[0] == "electrodes" and parts[1] not in pairs:
        raise refusal(where, f'the study has no pair "{parts[1]}" (it has {", ".join(pairs)})')


def check_names(kind: str, names: Sequence[str]) -> None:
    """Refuse a name of the study's own that is no name, or stands twice."""
    for name in names:
        if not registry.is_name(name):
            raise StudyError(f'{kind} "{name}": {_FORM}', kind)
        if names.count(name) > 1:
            raise StudyError(f'{kind} "{name}" stands twice', kind)


def check_known(where: str, what: str, name: str, known: Sequence[str]) -> None:
    """Refuse what the study names and doesn't have: a set-up, an instrument."""
    if name not in known:
        raise refusal(where, f'the study has no {what} "{name}"{did_you_mean(name, known)}')


def option(address: str, written: str, options: tuple[str, ...]) -> str:
    """Return a word if it is among the options; a choice without options takes any text."""
    if options and written not in options:
        known = registry.house_name(written, options)
        if known is not None:
            raise refusal(address, _spelled(written, *known))
        hint = did_you_mean(written, options, otherwise=f"known: {', '.join(options)}")
        raise refusal(address, f'unknown {address.rpartition(".")[2]} "{written}"{hint}')
    return written


def _spelled(written: str, name: str, liquid: bool) -> str:
    """Return what is said of a word that has another spelling here."""
    words = f'"{written}" is spelled otherwise here: write "{name}"'
    if not liquid:
        return words
    return f'{words}, which is injected as a gas, or "custom" with a liquid\'s enthalpy of formation'
