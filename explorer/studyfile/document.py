"""From a file to the raw document: UTF-8, TOML, `like`, and values replaced from outside."""

import copy
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from explorer import registry
from explorer.physics.compounds import ALKALI_METALS
from explorer.registry import UnknownAddressError
from explorer.studyfile.error import StudyError
from explorer.studyfile.files import bytes_of_file
from explorer.studyfile.names import check_pair
from explorer.studyfile.toml import tables_of

Document = dict[str, Any]
Keys = tuple[str, ...]  #: the keys from the top of a document down to an item

ALTERNATIVES: Final = (  # of each group a study states one: stating another replaces it
    ("magnet.field", "magnet.blocks", "magnet.profile"),
    ("magnet.blocks.grade", "magnet.blocks.remanence"),
    ("ambient.pressure", "ambient.altitude"),
)

STREAMS: Final = ("fuel", "oxidizer", "seed_solution")

_FOLLOWING: Final = (  # what a change to the first takes the place of
    *((f"gas.flows.{stream}", (f"gas.flows.{stream}_orifice",)) for stream in STREAMS),
    *((f"gas.flows.{stream}_orifice", (f"gas.flows.{stream}",)) for stream in STREAMS),
    ("gas.flows", ("gas.mixture_ratio", "gas.seed_fraction", "gas.chamber_pressure")),
    (
        "gas.components",
        ("gas.fuel", "gas.oxidizer", "gas.mixture_ratio", "gas.combustion_efficiency", "gas.flows"),
    ),
    ("gas.components", ("gas.oxidizer_concentration", "gas.custom_fuel", "gas.custom_oxidizer")),
    ("gas.seed", ("gas.trace_alkali",)),
    ("gas.fuel", ("gas.components", "gas.components_by", "gas.stagnation_temperature")),
)

_INPUTS: Final = frozenset(entry.address for entry in registry.INPUTS)
_CHOICES: Final = frozenset(entry.address for entry in registry.CHOICES)

_WHOLE: Final = (("vary",), ("wanted",), ("gas", "components"))  #: tables that count as one item

_OF_THE_FILE: Final = ("like", "rig")  #: what a file says of itself, not of the stage

_RUN_KEYS: Final = (
    *(f"target.{key}" for key in ("quantity", "at_least", "at_most", "chance", "worth")),
    "run.random_number",
)


def base_of(document: Document, folder: Path | None) -> Document:
    """Return what the study states that a document is like, nothing for none; that one lies in `folder`."""
    if "like" not in document:
        return {}
    like = document["like"]
    if not isinstance(like, str):
        raise StudyError(f"like must be the name of a study file, got {like}", "like")
    if folder is None:
        raise StudyError(f'like = "{like}" counts from the study\'s own file, and this one has none', "like")
    base = document_of_file(folder / like)
    if "like" in base:
        raise StudyError(f'"{like}" is itself like another study; one level is allowed', "like")
    return base


def document_of_file(path: Path) -> Document:
    """Return what a study file states itself."""
    try:
        raw = bytes_of_file(path)
    except FileNotFoundError:
        raise StudyError(f"{path}: no such file") from None
    except OSError as error:
        raise StudyError(f"{path}: cannot be read ({error.strerror})") from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise StudyError(f"{path}: not UTF-8 (line {line}); save it as UTF-8") from error
    return document_of_text(text, path.parent, str(path))


def document_of_text(text: str, folder: Path | None = None, name: str = "study") -> Document:
    """Return the raw document of a study's text; file names in it become absolute, from `folder`."""
    document = tables_of(text, name)
    profile = _found(document, ("magnet", "profile"))
    if folder is not None and isinstance(profile, dict) and isinstance(profile.get("file"), str):
        profile["file"] = os.path.realpath(folder / profile["file"])
    learnt = _found(document, ("calibrated",))
    if folder is not None and isinstance(learnt, dict) and isinstance(learnt.get("sample"), str):
        learnt["sample"] = os.path.realpath(folder / learnt["sample"])
    return document


def merged(base: Document, child: Document) -> Document:
    """Return the base with what the child states: tables merge, values and lists are replaced whole.

    So are [vary] and [wanted], for half of one search and half of another are neither; an empty [vary] takes the
    base's away.
    """
    result = _with_items(base, items({key: item for key, item in child.items() if key not in _OF_THE_FILE}))
    if child.get("vary") == {} and "vary" in base:
        del result["vary"]
    return result


def replaced(document: Document, replacements: Mapping[str, object]) -> Document:
    """Return the document with some values replaced whole."""
    for address in replacements:
        _check_address(address, document)
    items = [
        (tuple(address.split(".")), _value_of_text(address, written))
        for address, written in replacements.items()
    ]
    return _with_items(document, items)


def _check_address(address: str, document: Document) -> None:
    if address in _RUN_KEYS:
        return
    if not is_choice(address):
        try:
            found = registry.quantity(address)
        except UnknownAddressError as error:
            raise StudyError(str(error), address) from error
        if found.kind == "output":
            raise StudyError(f'"{address}" is an output; only inputs can be set', address)
    pairs = at(document, "electrodes")
    if isinstance(pairs, Mapping):
        check_pair(f'"{address}"', address, pairs)


def _value_of_text(address: str, written: object) -> object:
    if not isinstance(written, str):
        return written
    if address == "run.random_number":
        return int(written) if written.strip().isdigit() else written
    if address in ("target.chance", "target.worth"):
        try:
            return float(written)
        except ValueError:
            return written
    if written.lstrip().startswith("{"):
        return tables_of(f"value = {written}", f"{address}: {written} is not a TOML table")["value"]
    return written


def items(table: Mapping[str, Any], head: Keys = ()) -> list[tuple[Keys, Any]]:
    """Return what a document states, with paths; a value's own table counts as one item."""
    found: list[tuple[Keys, Any]] = []
    for key, item in table.items():
        path = (*head, key)
        if isinstance(item, Mapping) and path not in _WHOLE and not is_input(path):
            found += items(item, path)
        else:
            found.append((path, item))
    return found


def is_input(path: Keys) -> bool:
    """Return whether a numeric input stands at a path, so that a table there is a value."""
    return _without_pair(path) in _INPUTS


def is_choice(address: str) -> bool:
    """Return whether an address is that of a word or text."""
    return _without_pair(tuple(address.split("."))) in _CHOICES


def _without_pair(path: Keys) -> str:
    of_pair = path[0] == "electrodes" and len(path) > 2
    return ".".join(("electrodes", "*", *path[2:]) if of_pair else path)


def _with_items(document: Document, items: list[tuple[Keys, Any]]) -> Document:
    """Return the document with items put in; first everything goes that they take the place of."""
    result = copy.deepcopy(document)
    for path, item in items:
        _clear_for(result, path, item)
    for path, item in items:
        table = result
        for key in path[:-1]:
            if not isinstance(table.get(key), dict):
                table[key] = {}
            table = table[key]
        table[path[-1]] = copy.deepcopy(item)
    return result


def _clear_for(document: Document, path: Keys, item: object) -> None:
    """Take out the alternatives of an item; with another kind of source, all that the old one had."""
    address = ".".join(path)
    for group in ALTERNATIVES:
        mine = [other for other in group if address == other or address.startswith(f"{other}.")]
        if mine:
            for other in set(group) - set(mine):
                _remove(document, tuple(other.split(".")))
    for own, others in _FOLLOWING:
        if address == own or address.startswith(f"{own}."):
            for other in others:
                _remove(document, tuple(other.split(".")))
    if address == "gas.components" and isinstance(item, Mapping) and set(item) & set(ALKALI_METALS):
        for key in ("seed", "seed_fraction", "seed_water", "seed_vaporized"):
            _remove(document, ("gas", key))
    if address == "target.quantity" and at(document, address) != item:
        _remove(document, ("target", "at_least"))  # the requirement was on another quantity
        _remove(document, ("target", "at_most"))
    source = _found(document, path[:-1])
    if path[-2:] == ("source", "kind") and isinstance(source, dict) and source.get("kind") != item:
        source.clear()


def _remove(document: Document, path: Keys) -> None:
    table = _found(document, path[:-1])
    if isinstance(table, dict):
        table.pop(path[-1], None)


def at(document: Mapping[str, Any], address: str) -> Any:
    """Return what stands at an address of the raw document, None for nothing."""
    return _found(document, tuple(address.split(".")))


def _found(document: Mapping[str, Any], path: Keys) -> Any:
    table: Any = document
    for key in path:
        table = table.get(key) if isinstance(table, Mapping) else None
    return table


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
