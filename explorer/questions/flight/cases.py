"""The same vehicle with and without the stage, and the steps in between, over the same scenarios; what doesn't fly."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.physics.flight.ascent import FELL_BACK, FLEW, Ascent, ascent
from explorer.physics.flight.vertical_motion import EARTH, Burn, Start
from explorer.questions.flight.stage import StageInFlight
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import StudyError

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: What the circuit may do besides being open.
BOTH: Final = ("extraction", "acceleration")


@dataclass(frozen=True)
class Vehicles:
    """Everything that an ascent needs, an item a scenario."""

    start: Start  #: Without the stage
    engine_exit_area: FloatArray  #: Of the plain engine. [m²]
    stage: StageInFlight

    def of(self, which: Mask) -> "Vehicles":
        """Some of the scenarios."""
        return Vehicles(self.start.of(which), self.engine_exit_area[which], self.stage.of(which))

    @property
    def engine_burns(self) -> tuple[Burn, ...]:
        """Of the plain engine."""
        return tuple(
            Burn(p.phase.start, p.phase.end, p.engine_thrust, self.engine_exit_area, p.engine_flow)
            for p in self.stage.phases
        )

    def stage_burns(
        self, on: Collection[str] = BOTH, gain_factor: FloatArray | float = 1.0
    ) -> tuple[Burn, ...]:
        """Of the engine with the stage."""
        burns = []
        for p in self.stage.phases:
            factor = gain_factor if p.phase.mode == "acceleration" else 1.0
            thrust = p.open_thrust + (factor * p.gain if p.phase.mode in on else 0.0)
            burns.append(Burn(p.phase.start, p.phase.end, thrust, p.exit_area, p.flow))
        return tuple(burns)

    @property
    def heaviest_burn(self) -> FloatArray:
        """The more that either vehicle burns [kg]."""
        return np.maximum(*(_propellant(burns) for burns in (self.engine_burns, self.stage_burns())))

    def without(self, *, path: bool = False) -> Ascent:
        """The plain engine without the stage."""
        return ascent(self.start, self.engine_burns, path=path)

    def with_stage(
        self,
        mass: FloatArray,
        *,
        on: Collection[str] = BOTH,
        gain_factor: FloatArray | float = 1.0,
        drag: bool = True,
        path: bool = False,
    ) -> Ascent:
        """The engine with the stage."""
        start = self.start
        area = start.drag_area if drag else np.zeros_like(start.drag_area)
        own = Start(start.mass + mass, area, start.altitude, start.velocity)
        return ascent(own, self.stage_burns(on, gain_factor), path=path)


def _propellant(burns: tuple[Burn, ...]) -> FloatArray:
    return np.asarray(np.sum([burn.propellant for burn in burns], axis=0))


@dataclass(frozen=True)
class Cases:
    """Ascents of the vehicle, from without the stage to with all of it."""

    without: Ascent  #: The plain engine
    channel: Ascent  #: The channel in place, no current, no mass
    carried: Ascent  #: The stage's mass too
    extracting: Ascent  #: Power taken out, none put in
    whole: Ascent  #: The stage as it is
    weightless: Ascent  #: The stage as it is, without its mass
    undragged: Ascent | None  #: The stage as it is, without any drag; where power is taken out


def cases(vehicles: Vehicles) -> Cases:
    """Fly every case."""
    mass = vehicles.stage.mass
    none = np.zeros_like(mass)
    extracts = any(phase.phase.mode == "extraction" for phase in vehicles.stage.phases)
    carried = vehicles.with_stage(mass, on=())
    return Cases(
        without=vehicles.without(path=True),
        channel=vehicles.with_stage(none, on=()),
        carried=carried,
        extracting=vehicles.with_stage(mass, on=("extraction",)) if extracts else carried,
        whole=vehicles.with_stage(mass, path=True),
        weightless=vehicles.with_stage(none),
        undragged=vehicles.with_stage(mass, drag=False) if extracts else None,
    )


class NoFlight(NoNumbers):
    """With the stage nothing flies, or hardly anything: there is no difference to tell."""


def refuse_grounded(central: Vehicles) -> None:
    """Refuse a flight whose central scenario has no numbers or doesn't fly."""
    for phase in central.stage.phases:
        if not np.isfinite(phase.flow[0]):
            status = registry.STATUSES[int(phase.outcomes[0])]
            raise NoFlight(
                f"at central values the stage carries no number in the phase {phase.phase.name}:"
                f" {status.name.replace('_', ' ')}. {status.sentence}"
            )
    mass, burnt = float(central.start.mass[0]), float(central.heaviest_burn[0])
    if not mass > burnt:
        raise StudyError(
            f"the phases burn {burnt:.4g} kg of propellant, and the vehicle weighs {mass:.4g} kg"
        )
    without = central.without()
    if without.outcome[0] != FLEW:
        raise StudyError(_grounded("without", without.outcome[0], central.engine_burns[0], central.start))
    whole = central.with_stage(central.stage.mass)
    if whole.outcome[0] != FLEW:
        start, own = central.start, central.stage.mass
        heavier = Start(start.mass + own, start.drag_area, start.altitude, start.velocity)
        words = _grounded("with", whole.outcome[0], central.stage_burns()[0], heavier)
        raise NoFlight(
            f"{words} (the stage weighs {own[0]:.3g} kg of it): the stage doesn't pay; make it lighter, or the thrust"
            " at the start larger"
        )


def _grounded(which: str, outcome: int, burn: Burn, start: Start) -> str:
    """What is said of a vehicle that doesn't fly."""
    if outcome == FELL_BACK:
        return f"{which} the stage the vehicle falls back before its last phase ends"
    thrust, weight = (
        float(x[0]) / 1e3
        for x in (burn.thrust_at(start.altitude), start.mass * EARTH.gravity_at(start.altitude))
    )
    return (
        f"{which} the stage the vehicle doesn't rise when its engine starts: its thrust there is {thrust:.3g} kN, its"
        f" weight {weight:.3g} kN"
    )
