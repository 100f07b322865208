"""What a study says of a flight: the vehicle, its plain engine, and the phases of the burn."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from itertools import pairwise
from typing import Any, Final, Literal, cast

from explorer import registry
from explorer.registry import Quantity
from explorer.space import Uncertain
from explorer.studyfile import grammar
from explorer.studyfile.error import StudyError
from explorer.studyfile.measuring import flattened

#: What the stage does in a phase: its circuit feeds the gas, is fed by it, or is open.
PhaseMode = Literal["acceleration", "extraction", "off"]


@dataclass(frozen=True)
class Phase:
    """A part of the burn."""

    name: str
    start: float  #: [s]
    end: float
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
_TIME: Final = Quantity("time", "input", "s", "s", "", "", low=0.0, low_open=False)
_THROTTLE: Final = Quantity("throttle", "input", "1", "1", "", "", low=0.0, high=1.0, high_open=False)


def flight_plan(table: Any | None, replacements: Mapping[str, object], notes: list[str]) -> FlightPlan | None:
    """Return the vehicle and its burn of [flight]; None where the study has no such table."""
    if table is None:
        return None
    values: dict[str, float | Uncertain] = {}
    origin: dict[str, str] = {}
    for quantity in registry.FLIGHT_INPUTS:
        written = getattr(table, quantity.address.removeprefix("flight."))
        if written is not None:
            values[quantity.address] = grammar.value(quantity.address, written, quantity)
            origin[quantity.address] = "yours"
        elif quantity.default is not None:
            values[quantity.address], origin[quantity.address] = quantity.default, "default"
        elif quantity.address != _OPTIONAL:
            raise StudyError(f'missing key "{quantity.address}"', quantity.address)
    plan = FlightPlan(values, tuple(_phase(item) for item in table.phase), origin)
    _check_phases(plan.phases)
    if _OPTIONAL in values and not plan.has_extraction:
        raise StudyError(f"{_OPTIONAL}: no phase takes power out", _OPTIONAL)
    notes += [_replacement_note(address, values[address]) for address in values if address in replacements]
    return plan


def _replacement_note(address: str, value: float | Uncertain) -> str:
    if isinstance(value, Uncertain):
        return f"{address} is replaced by another uncertain value"
    return f"{address} is now taken as exactly {registry.quantity(address).shown(value, 6)}"


def _phase(table: Any) -> Phase:
    where = f"flight.phase {table.name}"
    if not registry.is_name(table.name):
        raise StudyError(
            f'flight.phase "{table.name}": a name has small letters, digits and _, and begins with a letter'
        )
    if table.mode not in _MODES:
        guess = registry.nearest(table.mode, _MODES)
        hint = f'did you mean "{guess}"?' if guess else f"known: {', '.join(_MODES)}"
        raise StudyError(f'{where}: unknown mode "{table.mode}": {hint}', where)
    start, end = (
        grammar.exact_value(f"{where}: {key}", getattr(table, key), _TIME) for key in ("start", "end")
    )
    if not end > start:
        raise StudyError(f"{where}: ends at {end:g} s, which is not after its start at {start:g} s", where)
    throttle = grammar.exact_value(f"{where}: throttle", table.throttle, _THROTTLE)
    settings = flattened(table.settings, ("value", "low", "mean", "median", "values"))
    for address in settings:
        if address.startswith("flight."):
            raise StudyError(
                f"{where}: settings {address}: belongs to the vehicle, for the whole flight", where
            )
        why = _NOT_SET.get(address) or ("the mode decides it" if address.endswith(".source.kind") else None)
        if why is not None:
            raise StudyError(f"{where}: settings {address}: {why}", where)
    return Phase(table.name, start, end, cast(PhaseMode, table.mode), throttle, settings)


def _check_phases(phases: tuple[Phase, ...]) -> None:
    if not phases:
        raise StudyError("flight: needs at least one [[flight.phase]]", "flight.phase")
    names = [phase.name for phase in phases]
    for name in names:
        if names.count(name) > 1:
            raise StudyError(f'flight.phase "{name}" stands twice', "flight.phase")
    for first, second in pairwise(phases):
        if second.start < first.end:
            raise StudyError(
                f"flight.phase {second.name}: starts at {second.start:g} s, before {first.name} ends at"
                f" {first.end:g} s: phases must not overlap, and stand in their order",
                "flight.phase",
            )
