"""The keys of a study, checked by pydantic models that are built from the registry.

Unknown keys are refused with the nearest known one. What stands at an input's key is left to the value
grammar; what stands in the other sections is typed there.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Annotated, Any, Final, get_args, get_origin

from pydantic import BaseModel, ValidationError, create_model

from explorer import registry
from explorer.studyfile.error import StudyError
from explorer.studyfile.inputs.correlations import CorrelationTable
from explorer.studyfile.sections.calibrated import CalibratedTable
from explorer.studyfile.sections.firings import FiringTable
from explorer.studyfile.sections.flight import flight_table
from explorer.studyfile.sections.instruments import InstrumentTable
from explorer.studyfile.sections.measurements import MeasurementTable, SetupTable
from explorer.studyfile.sections.search import LimitTable, WantedTable
from explorer.studyfile.sections.table import OneOrMore, Shares, Table, Text, Written
from explorer.studyfile.sections.target import DecisionTable, RunTable, TargetTable


@lru_cache(maxsize=1)
def document_model() -> type[BaseModel]:
    """Return the model of a whole study, its input tables built from the registry."""
    addresses = {q.address: Written for q in registry.INPUTS} | {c.address: Text for c in registry.CHOICES}
    addresses["gas.components"] = Shares
    fields = _fields(addresses)
    fields |= {
        "title": (Text, ""),
        "target": (TargetTable, TargetTable()),
        "vary": (dict[str, Any] | None, None),
        "wanted": (Annotated[list[WantedTable], OneOrMore], []),
        "limit": (list[LimitTable], []),
        "run": (RunTable, RunTable()),
        "correlation": (list[CorrelationTable], []),
        "model_error": (dict[str, Any], {}),
        "instrument": (list[InstrumentTable], []),
        "setup": (list[SetupTable], []),
        "measurement": (list[MeasurementTable], []),
        "firing": (list[FiringTable], []),
        "decision": (DecisionTable | None, None),
        "calibrated": (CalibratedTable | None, None),
        "flight": (flight_table() | None, None),
    }
    return create_model("Document", __base__=Table, **fields)


def _fields(addresses: Mapping[str, Any]) -> dict[str, Any]:
    """Return pydantic fields for a tree of addresses; "*" stands for the name of a pair."""
    tree: dict[str, dict[str, Any]] = {}
    fields: dict[str, Any] = {}
    for address, kind in addresses.items():
        head, _, rest = address.partition(".")
        if rest:
            tree.setdefault(head, {})[rest] = kind
        else:
            fields[head] = (kind, None)
    for head, branch in tree.items():
        if all(rest.startswith("*.") for rest in branch):
            stripped = {rest.removeprefix("*."): kind for rest, kind in branch.items()}
            pair = create_model(head, __base__=Table, **_fields(stripped))
            fields[head] = (dict[str, pair], {})  # type: ignore[valid-type]  # a model made at run time
        else:
            model = create_model(head, __base__=Table, **_fields(branch))
            fields[head] = (model | None, None)
    return fields


def checked(document: Mapping[str, Any]) -> Any:
    """Return the document as a model, or say what is wrong with it."""
    try:
        return document_model().model_validate(dict(document))
    except ValidationError as error:
        found = error.errors()
        first = found[0]
        if first["type"] == _MISSING:  # perhaps for a slip, which an unknown key then tells
            first = next((item for item in found if item["type"] == _UNKNOWN), first)
        raise _study_error(first, len(found), document) from error


_MISSING: Final = "missing"
_UNKNOWN: Final = "extra_forbidden"

#: Keys that a reader may look for under another name.
_OTHER_NAMES: Final = {"stagnation_pressure": "chamber_pressure"}


def _study_error(first: Mapping[str, Any], count: int, document: Mapping[str, Any]) -> StudyError:
    location = [part for part in first["loc"] if isinstance(part, int) or "[" not in part]
    if location[:2] == ["wanted", 0] and isinstance(document["wanted"], Mapping):
        del location[1]  # one table, not a list of them
    address = _address(location)
    more = f" (and {count - 1} more)" if count > 1 else ""
    if first["type"] == _UNKNOWN:
        guess = _nearest(str(location[-1]), _siblings(location))
        known = f'did you mean "{guess}"?' if guess else f"known here: {', '.join(_siblings(location))}"
        return StudyError(f'unknown key "{address}": {known}{more}', address)
    if first["type"] == _MISSING:
        return StudyError(f'missing key "{address}"{more}', address)
    message = first["msg"].removeprefix("Value error, ")
    found = first["input"]
    if isinstance(found, Mapping) and len(str(found)) > 40:
        found = "a table"
    return StudyError(f"{address}: {message[0].lower()}{message[1:]}, got {found}{more}", address)


def _nearest(key: str, siblings: list[str]) -> str | None:
    """Return the known key that is meant: one of another name, one like it, or one that it begins."""
    if key in _OTHER_NAMES:
        return _OTHER_NAMES[key]
    return registry.nearest(key, siblings) or next(
        (known for known in siblings if known.startswith(key)), None
    )


def _address(location: list[Any]) -> str:
    text = ""
    for part in location:
        text += f"[{part + 1}]" if isinstance(part, int) else (f".{part}" if text else str(part))
    return text


def _siblings(location: list[Any]) -> list[str]:
    """Return the keys that are known where an unknown one stands."""
    top = document_model()
    here: Any = top
    for part in location[:-1]:
        if isinstance(part, int):
            continue
        if isinstance(here, type) and issubclass(here, BaseModel):
            here = here.model_fields[part].annotation
            if get_origin(here) is dict:
                continue  # the next part is a name of the user's own
        here = model_in(here)
    return [*here.model_fields, "like", "rig"] if here is top else list(here.model_fields)


def model_in(annotation: Any) -> type[BaseModel]:
    """Return the model inside `Model`, `Model | None`, `list[Model]` or `dict[str, Model]`."""
    candidates = (annotation, *get_args(annotation))
    return next(kind for kind in candidates if isinstance(kind, type) and issubclass(kind, BaseModel))
