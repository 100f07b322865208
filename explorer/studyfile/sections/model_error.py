"""[model_error]: how far the model itself may be off."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Final

from explorer import registry
from explorer.registry import Quantity
from explorer.studyfile.document import flattened
from explorer.studyfile.names import known_quantity
from explorer.studyfile.values import exact_value

#: Share of the variance of the model's error that bench and flight have in common; assumed, no source.
SHARED_MODEL_ERROR: Final[float] = 0.5

_RELATIVE: Final = Quantity(shown_unit="%", low=0.0)
_SHARE: Final = Quantity(shown_unit="%", low=0.0, low_open=False, high=1.0, high_open=False)


@dataclass(frozen=True)
class ErrorOfModel:
    """Relative standard uncertainty of the model for one output, and who says so."""

    relative: float  #: [-]
    origin: str  #: "yours" or "assumed"


@dataclass(frozen=True)
class ModelError:
    """How far the model itself may be off, output by output."""

    relative: Mapping[str, float] = field(default_factory=dict)  #: standard uncertainties by output [-]
    shared: float = SHARED_MODEL_ERROR  #: share of the variance common to every study on this model [-]
    shared_origin: str = "assumed"
    of_flows: Mapping[str, float] = field(
        default_factory=dict
    )  #: assumed besides, where flows are stated [-]

    def of(self, quantity: str) -> ErrorOfModel:
        """Return the model's error for an output; a pair's falls back on the top-level output's."""
        for address in (quantity, quantity.rpartition(".")[2]):
            if address in self.relative:
                return ErrorOfModel(self.relative[address], "yours")
        assumed = self.of_flows.get(quantity, registry.quantity(quantity).model_error)
        return ErrorOfModel(assumed, "assumed")

    def as_resolved(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {key: item for key, item in asdict(self).items() if key != "of_flows" or item}


def model_error(table: Mapping[str, Any], pairs: tuple[str, ...], *, fed: bool = False) -> ModelError:
    """Return the model's error of [model_error]; of a gas that flows make, the chamber's pressure has that of c*."""
    of_flows = {"chamber_pressure": registry.quantity("characteristic_velocity").model_error} if fed else {}
    relative, shared = {}, None
    for address, written in flattened(table).items():
        where = f"model_error.{address}"
        if address == "shared":
            shared = exact_value(where, written, _SHARE)
            continue
        known_quantity(address, pairs, where, "output", for_all_pairs=True)
        relative[address] = exact_value(where, written, _RELATIVE)
    if shared is None:
        return ModelError(relative, of_flows=of_flows)
    return ModelError(relative, shared, "yours", of_flows)
