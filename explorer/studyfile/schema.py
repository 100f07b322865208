"""The keys of a study, checked by pydantic models that are built from the registry.

Unknown keys are refused with the nearest known one. What stands at an input's key is left to the value
grammar; what stands in the other sections is typed here.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Annotated, Any, Final, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    create_model,
)

from explorer import registry
from explorer.studyfile.error import StudyError


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


def _written(found: object) -> object:
    if isinstance(found, bool) or not isinstance(found, int | float | str | dict):
        raise ValueError("expected a number, a text with a unit or a table")
    return found


def _text(found: object) -> object:
    if not isinstance(found, str) or not found.strip():
        raise ValueError("expected a text")
    return found


def _as_list(found: object) -> object:
    return [found] if isinstance(found, dict) else found


_Value = Annotated[Any, AfterValidator(_written)]
_Text = Annotated[Any, AfterValidator(_text)]


class TargetTable(_Table):
    """[target]: what the study is about."""

    quantity: _Text = "thrust_gain"
    at_least: _Value = None
    at_most: _Value = None
    chance: float | int = Field(default=0.5, gt=0, lt=1)


class WantedTable(_Table):
    """[wanted], or [[wanted]] twice: what a search makes small or large."""

    quantity: _Text
    make: _Text


class LimitTable(_Table):
    """[[limit]]: what a design must keep to."""

    quantity: _Text
    at_least: _Value = None
    at_most: _Value = None
    chance: float | int | None = Field(default=None, gt=0, lt=1)


class RunTable(_Table):
    """[run]."""

    random_number: int = Field(default=1, ge=0)


class CorrelationTable(_Table):
    """[[correlation]]."""

    between: list[str] = Field(min_length=2, max_length=2)
    rank: float | int = Field(gt=-1, lt=1)
    part: _Text = "unknown"


class InstrumentTable(_Table):
    """[[instrument]]."""

    name: _Text
    reads: _Text
    random: _Value = None
    common: _Value = None
    rate: _Value = None
    bandwidth: _Value = None
    range: _Value = None


class SetupTable(_Table):
    """[[setup]]."""

    name: _Text
    hours: float | int = Field(ge=0, allow_inf_nan=False)


class MeasurementTable(_Table):
    """[[measurement]]."""

    name: _Text
    pins: dict[str, Any] = Field(default_factory=dict)
    observes: dict[str, Any] | list[str] = Field(default_factory=dict)
    settings: dict[str, Any] = Field(default_factory=dict)
    setup: str | None = None
    hours: float | int = Field(gt=0, allow_inf_nan=False)
    repeats: int = Field(default=1, ge=1)


class PhaseTable(_Table):
    """[[flight.phase]]: a part of the burn."""

    name: _Text
    start: _Value
    end: _Value
    mode: _Text
    throttle: _Value = 1.0
    settings: dict[str, Any] = Field(default_factory=dict)


class DecisionTable(_Table):
    """[decision]: what being right or wrong is worth, in a unit of the team's own."""

    gain_if_met: float | int = Field(allow_inf_nan=False)
    loss_if_not: float | int = Field(allow_inf_nan=False, ge=0)
    cost_per_hour: float | int = Field(default=0, allow_inf_nan=False, ge=0)
    unit: str = ""
    hours: float | int | None = Field(default=None, gt=0)


@lru_cache(maxsize=1)
def document_model() -> type[BaseModel]:
    """Return the model of a whole study, its input tables built from the registry."""
    addresses = {q.address: _Value for q in registry.INPUTS} | {c.address: _Text for c in registry.CHOICES}
    fields = _fields(addresses)
    fields |= {
        "title": (_Text, ""),
        "target": (TargetTable, TargetTable()),
        "vary": (dict[str, Any] | None, None),
        "wanted": (Annotated[list[WantedTable], BeforeValidator(_as_list)], []),
        "limit": (list[LimitTable], []),
        "run": (RunTable, RunTable()),
        "correlation": (list[CorrelationTable], []),
        "model_error": (dict[str, Any], {}),
        "instrument": (list[InstrumentTable], []),
        "setup": (list[SetupTable], []),
        "measurement": (list[MeasurementTable], []),
        "decision": (DecisionTable | None, None),
        "flight": (_flight_model() | None, None),
    }
    return create_model("Document", __base__=_Table, **fields)


def _flight_model() -> type[BaseModel]:
    """Return the model of [flight]: what the registry lists, and the phases."""
    keys = {q.address.removeprefix("flight."): (_Value, None) for q in registry.FLIGHT_INPUTS}
    fields: dict[str, Any] = {**keys, "phase": (list[PhaseTable], [])}
    return create_model("flight", __base__=_Table, **fields)


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
            pair = create_model(head, __base__=_Table, **_fields(stripped))
            fields[head] = (dict[str, pair], {})  # type: ignore[valid-type]  # a model made at run time
        else:
            model = create_model(head, __base__=_Table, **_fields(branch))
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


def _study_error(first: Mapping[str, Any], count: int, document: Mapping[str, Any]) -> StudyError:
    location = [part for part in first["loc"] if isinstance(part, int) or "[" not in part]
    if location[:2] == ["wanted", 0] and isinstance(document["wanted"], Mapping):
        del location[1]  # one table, not a list of them
    address = _address(location)
    more = f" (and {count - 1} more)" if count > 1 else ""
    if first["type"] == _UNKNOWN:
        guess = registry.nearest(str(location[-1]), _siblings(location))
        known = f'did you mean "{guess}"?' if guess else f"known here: {', '.join(_siblings(location))}"
        return StudyError(f'unknown key "{address}": {known}{more}', address)
    if first["type"] == _MISSING:
        return StudyError(f'missing key "{address}"{more}', address)
    message = first["msg"].removeprefix("Value error, ")
    found = first["input"]
    if isinstance(found, Mapping) and len(str(found)) > 40:
        found = "a table"
    return StudyError(f"{address}: {message[0].lower()}{message[1:]}, got {found}{more}", address)


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
        here = _model_in(here)
    return [*here.model_fields, "like"] if here is top else list(here.model_fields)


def _model_in(annotation: Any) -> type[BaseModel]:
    """Return the model inside `Model`, `Model | None`, `list[Model]` or `dict[str, Model]`."""
    candidates = (annotation, *get_args(annotation))
    return next(kind for kind in candidates if isinstance(kind, type) and issubclass(kind, BaseModel))
