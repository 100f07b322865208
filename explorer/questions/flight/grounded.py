"""What is said of a vehicle that doesn't fly."""

import numpy as np

from explorer import registry
from explorer.physics.flight.ascent import FELL_BACK, FLEW
from explorer.physics.flight.vertical_motion import EARTH, Burn, Start
from explorer.questions.flight.cases import Vehicles
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import StudyError


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
        f"{which} the stage the vehicle never leaves the pad: its thrust at the start is {thrust:.3g} kN, its weight"
        f" {weight:.3g} kN"
    )
