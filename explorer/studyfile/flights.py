"""What a study says of a flight: the vehicle, its plain engine, and the phases of the burn."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from explorer.space import Uncertain

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
