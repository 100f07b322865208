"""What the models of a study's tables share: unknown keys and loose types are refused."""

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict

from explorer import units


class Table(BaseModel):
    """A table of a study."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, defer_build=True)


def _written(found: object) -> object:
    if isinstance(found, bool) or not isinstance(found, int | float | str | dict):
        raise ValueError("expected a number, a text with a unit or a table")
    return found


def _text(found: object) -> object:
    if not isinstance(found, str) or not found.strip():
        raise ValueError("expected a text")
    return found


def _shares(found: object) -> object:
    if isinstance(found, str):
        return found
    plain = isinstance(found, dict) and all(
        isinstance(share, int | float) and not isinstance(share, bool) for share in found.values()
    )
    if not plain or not found:
        raise ValueError("expected plain numbers by species, such as { N2 = 0.98, Cs = 0.02 }")
    return found


def _as_share(found: object) -> object:
    if not isinstance(found, str):
        return found
    try:
        return units.si_text(found, "1")
    except units.UnitError as error:
        raise ValueError('expected a share such as 0.8 or "80 %"') from error


def _as_list(found: object) -> object:
    return [found] if isinstance(found, dict) else found


Written = Annotated[Any, AfterValidator(_written)]  #: left to the value grammar
Share = Annotated[float, BeforeValidator(_as_share)]  #: 0.8 or "80 %"
Text = Annotated[Any, AfterValidator(_text)]
Shares = Annotated[Any, AfterValidator(_shares)]  #: { N2 = 0.98, Cs = 0.02 }
OneOrMore = BeforeValidator(_as_list)  #: [key] counts as one [[key]]
