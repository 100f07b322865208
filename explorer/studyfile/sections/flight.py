"""[flight]: the vehicle, its plain engine, and the phases of the burn."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from itertools import pairwise
from typing import Any, Final, Literal, cast

from pydantic import BaseModel, Field, create_model

from explorer import registry
from explorer.registry import Quantity, did_you_mean
from explorer.space import Uncertain
from explorer.studyfile.document import flattened
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.names import check_names
from explorer.studyfile.sections.table import Table, Text, Written
from explorer.studyfile.values import exact_value, value

#: What the stage does in a phase: its circuit feeds the gas, is fed by it, or is open.
PhaseMode = Literal["acceleration", "extraction", "off"]


@dataclass(frozen=True)
class Phase:
    """A part of the burn."""

    name: str
    start: float  #: [s]
    end: float  #: [s]
    mode: PhaseMode
    throttle: float = 1.0  #: chamber pressure over the study's own [-]
    settings: Mapping[str, object] = field(default_factory=dict)  #: as written, by address

    @property
    def duration(self) -> float:
        """How long it lasts [s]."""
        return self.end - self.start


@dataclass(frozen=True)
class FlightPlan:
    """A vehicle and its burn."""

    values: Mapping[str, float | Uncertain]  #: by address ("flight.vehicle_mass") [SI]
    phases: tuple[Phase, ...]  #: in their order
    origin: Mapping[str, str] = field(default_factory=dict)  #: who says a value: "yours" or "default"

    @property
    def has_extraction(self) -> bool:
        """Whether power is taken out in any phase."""
        return any(phase.mode == "extraction" for phase in self.phases)

    @property
    def has_acceleration(self) -> bool:
        """Whether power is put in in any phase."""
        return any(phase.mode == "acceleration" for phase in self.phases)

    def as_resolved(self) -> dict[str, Any]:
        """Return it as plain data for reports and for the study's hash."""
        return {
            "values": {address: repr(value) for address, value in self.values.items()},
            "phases": [asdict(phase) for phase in self.phases],
        }


#: Set by the flight itself: where, and what to write instead.
_NOT_SET: Final = {
    "ambient.pressure": "the ascent sets the pressure around the stage",
    "ambient.altitude": "the ascent sets the pressure around the stage",
    "gas.chamber_pressure": "write throttle, so that the plain engine follows",
    "mode": "write it as the phase's mode",
}

_OPTIONAL: Final = "flight.power_wanted"

_MODES: Final = (*registry.MODES, "off")
_TIME: Final = Quantity(unit="s", low=0.0, low_open=False)
_THROTTLE: Final = Quantity(low=0.0, high=1.0, high_open=False)


class PhaseTable(Table):
    """[[flight.phase]]."""

    name: Text
    start: Written
    end: Written
    mode: Text
    throttle: Written = 1.0
    settings: dict[str, Any] = Field(default_factory=dict)


def flight_table() -> type[BaseModel]:
    """Return the model of [flight]: what the registry lists, and the phases."""
    keys = {q.address.removeprefix("flight."): (Written, None) for q in registry.FLIGHT_INPUTS}
    fields: dict[str, Any] = {**keys, "phase": (list[PhaseTable], [])}
    return create_model("flight", __base__=Table, **fields)


def flight_plan(table: Any | None) -> FlightPlan | None:
    """Return the vehicle and its burn of [flight]; None where the study has no such table."""
    if table is None:
        return None
    values: dict[str, float | Uncertain] = {}
    origin: dict[str, str] = {}
    for quantity in registry.FLIGHT_INPUTS:
        address = quantity.address
        written = getattr(table, address.removeprefix("flight."))
        if written is not None:
            values[address], origin[address] = value(address, written, quantity), "yours"
        elif quantity.default is not None:
            values[address], origin[address] = quantity.default, "default"
        elif address != _OPTIONAL:
            raise StudyError(f'missing key "{address}"', address)
    plan = FlightPlan(values, _phases(table.phase), origin)
    if _OPTIONAL in values and not plan.has_extraction:
        raise refusal(_OPTIONAL, "no phase takes power out")
    return plan


def _phases(tables: list[PhaseTable]) -> tuple[Phase, ...]:
    if not tables:
        raise StudyError("flight: needs at least one [[flight.phase]]", "flight.phase")
    check_names("flight.phase", [table.name for table in tables])
    phases = tuple(map(_phase, tables))
    for first, second in pairwise(phases):
        if second.start < first.end:
            raise refusal(
                f"flight.phase {second.name}",
                f"starts at {second.start:g} s, before {first.name} ends at {first.end:g} s: phases must not overlap,"
                " and stand in their order",
            )
    return phases


def _phase(table: PhaseTable) -> Phase:
    where = f"flight.phase {table.name}"
    if table.mode not in _MODES:
        hint = did_you_mean(table.mode, _MODES, otherwise=f"known: {', '.join(_MODES)}")
        raise refusal(where, f'unknown mode "{table.mode}"{hint}')
    start = exact_value(f"{where}: start", table.start, _TIME)
    end = exact_value(f"{where}: end", table.end, _TIME)
    if not end > start:
        raise refusal(where, f"ends at {end:g} s, which is not after its start at {start:g} s")
    throttle = exact_value(f"{where}: throttle", table.throttle, _THROTTLE)
    settings = flattened(table.settings, ("value", "low", "mean", "median", "values"))
    for address in settings:
        why = _NOT_SET.get(address)
        if address.startswith("flight."):
            why = "belongs to the vehicle, for the whole flight"
        elif address.endswith(".source.kind"):
            why = "the mode decides it"
        if why is not None:
            raise refusal(where, f"settings {address}: {why}")
    return Phase(table.name, start, end, cast(PhaseMode, table.mode), throttle, settings)
