"""The stage over a whole flight: thrust, flow and power in every phase, masses, energies; and the plain engine."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.registry import PointWarning
from explorer.study.limits import Contacts, forms_of
from explorer.study.outcomes import NO_CONTACT
from explorer.studyfile import Phase

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class PhaseOfStage:
    """Stage and plain engine in one phase, an item a scenario; NaN where the point carries no number."""

    phase: Phase
    flow: FloatArray  #: Of propellant. [kg/s]
    engine_flow: FloatArray  #: Of propellant. [kg/s]
    open_thrust: FloatArray  #: With the circuit open, in vacuum. [N]
    gain: FloatArray  #: What the circuit adds; zero where it is off. [N]
    exit_area: FloatArray  #: [m²]
    exit_pressure: FloatArray  #: [Pa]
    power: FloatArray  #: Electrical, into the stage; zero where the circuit is off. [W]
    engine_thrust: FloatArray  #: In vacuum. [N]
    outcomes: NDArray[np.int8]  #: Of the points
    warnings: NDArray[np.uint32]  #: Of the points
    contacts: Mapping[
        str, FloatArray
    ]  #: Form of contact by pair, where it is worked out and the circuit closed

    @property
    def energy(self) -> FloatArray:
        """Electrical energy into the stage over the phase [J]."""
        return np.asarray(self.power * self.phase.duration)

    def of(self, which: Mask) -> "PhaseOfStage":
        """Some of the scenarios."""
        arrays = [item.name for item in fields(self) if item.name not in ("phase", "contacts")]
        contacts = {pair: forms[which] for pair, forms in self.contacts.items()}
        return replace(self, **{name: getattr(self, name)[which] for name in arrays}, contacts=contacts)


@dataclass(frozen=True)
class Warned:
    """A warning that the stage carries in a phase."""

    phase: str
    warning: PointWarning
    share: Estimate  #: of the scenarios [-]


@dataclass(frozen=True)
class StageInFlight:
    """The stage over the whole burn, an item a scenario."""

    phases: tuple[PhaseOfStage, ...]
    hardware: Mapping[str, FloatArray]  #: What doesn't hang on the power, part by part. [kg]
    specific_power: FloatArray  #: Of the supply. [W/kg]
    specific_energy: FloatArray  #: Of the store. [J/kg]

    def of(self, which: Mask) -> "StageInFlight":
        """Some of the scenarios."""
        return StageInFlight(
            tuple(phase.of(which) for phase in self.phases),
            {name: values[which] for name, values in self.hardware.items()},
            self.specific_power[which],
            self.specific_energy[which],
        )

    @property
    def numbered(self) -> Mask:
        """Which scenarios carry numbers in every phase."""
        return np.asarray(np.all([phase.outcomes <= NO_CONTACT for phase in self.phases], axis=0))

    def warned(self, share: Callable[[Mask], Estimate]) -> tuple[Warned, ...]:
        """What is warned of, phase by phase, where a circuit is closed."""
        every = (
            Warned(phase.phase.name, warning, share((phase.warnings & np.uint32(warning.bit)) != 0))
            for phase in self.phases
            if phase.phase.mode != "off"
            for warning in registry.WARNINGS
        )
        return tuple(found for found in every if float(found.share) > 0.0)

    def contacts(self, share: Callable[[Mask], Estimate]) -> dict[str, Contacts]:
        """In which form its pairs conduct, phase by phase, where that is worked out."""
        return {own.phase.name: forms_of(own.contacts, share) for own in self.phases if own.contacts}

    @property
    def hardware_mass(self) -> FloatArray:
        """Magnet, yoke, electrodes and channel walls [kg]."""
        return np.asarray(np.sum(list(self.hardware.values()), axis=0))

    @property
    def power_in(self) -> FloatArray:
        """Largest power put in [W]; zero without acceleration."""
        return _largest([p.power for p in self.phases if p.phase.mode == "acceleration"], self.specific_power)

    @property
    def power_out(self) -> FloatArray:
        """Smallest power taken out [W]; zero without extraction."""
        return -_largest([p.power for p in self.phases if p.phase.mode == "extraction"], self.specific_power)

    @property
    def energy_in(self) -> FloatArray:
        """Energy put in over the phases of acceleration [J]."""
        return self._energy("acceleration")

    @property
    def energy_out(self) -> FloatArray:
        """Energy taken out over the phases of extraction [J]."""
        return -self._energy("extraction")

    def _energy(self, mode: str) -> FloatArray:
        every = [phase.energy for phase in self.phases if phase.phase.mode == mode]
        return np.asarray(sum(every, start=np.zeros_like(self.specific_power)))

    @property
    def supply_mass(self) -> FloatArray:
        """Supply and converters for the largest power of any phase [kg]."""
        largest = np.max([np.abs(phase.power) for phase in self.phases], axis=0)
        return np.asarray(largest / self.specific_power)

    @property
    def store_mass(self) -> FloatArray:
        """Store for what is put in over all phases [kg]."""
        return np.asarray(np.maximum(self.energy_in, 0.0) / self.specific_energy)

    @property
    def equal_store_mass(self) -> FloatArray:
        """Store and supply that would give what is taken out, at the same power [kg]."""
        energy, power = np.maximum(self.energy_out, 0.0), np.maximum(self.power_out, 0.0)
        return np.asarray(energy / self.specific_energy + power / self.specific_power)

    @property
    def mass(self) -> FloatArray:
        """Everything that the stage adds to the vehicle [kg]."""
        return self.hardware_mass + self.supply_mass + self.store_mass


def _largest(powers: Sequence[FloatArray], like: FloatArray) -> FloatArray:
    return np.asarray(np.max(powers, axis=0)) if powers else np.zeros_like(like)
