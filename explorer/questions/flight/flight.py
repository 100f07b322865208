"""Does the stage pay in flight: the same vehicle with and without it, over the same scenarios, up to the apogee.

Every figure that is a difference is formed scenario by scenario, so that what both vehicles share drops out of it. A
scenario whose stage carries no number is left out and counted; one that the stage keeps on the pad counts as lost.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.physics.flight.ascent import FELL_BACK, FLEW
from explorer.physics.flight.vertical_motion import EARTH, Burn, Start
from explorer.questions.flight import figures as flight_figures
from explorer.questions.flight.break_even import break_even
from explorer.questions.flight.cases import Vehicles, cases, separation, warning_shares
from explorer.questions.flight.curves import flight_curves
from explorer.questions.flight.figures import Flown, Verdict
from explorer.questions.flight.model import stage_in_flight
from explorer.questions.flight.space import FlightSpace, flight_space
from explorer.questions.flight.stage import StageInFlight
from explorer.sampling import Purpose
from explorer.study.outcomes import NoNumbers
from explorer.studyfile import Study, StudyError

FloatArray = NDArray[np.float64]

#: Scenarios where nothing else is asked for, and the fewest from which anything is told.
SAMPLES: Final[int] = 4096
FEWEST_SAMPLES: Final[int] = 512


class NoFlight(NoNumbers):
    """With the stage nothing flies, or hardly anything: there is no difference to tell."""


@dataclass(frozen=True)
class Flight:
    """What the stage is worth in flight.

    Attributes
    ----------
    study : Study
    compared : DataFrame
        Indexed by quantity (`flight_figures.COMPARED`); columns ("without" or "with", figure) [SI], as
        `contrasts.Figures`.
    differences : DataFrame
        Indexed alike; columns ("with", figure) [SI]: with less without, as `contrasts.Difference`.
    stage : DataFrame
        Indexed by quantity (powers, energies, masses, break-even figures); columns figure [SI]; missing [-] is the
        share of the scenarios in which no finite value does it.
    steps : DataFrame
        Indexed by step (`flight_figures.STEPS`); columns (quantity, figure) [SI]: what each adds to apogee, velocity
        and impulse.
    bounds : DataFrame
        Indexed by "weightless" (the stage without its mass) and, with extraction, "undragged" (without any drag):
        apogee less that without the stage, columns figure [SI].
    verdict : str
        "pays", "doesn't pay" or "not decided".
    chance : Estimate
        Chance that the apogee is higher with the stage [-].
    chance_of_power : Estimate or None
        Chance that the power wanted is there in every phase of extraction [-].
    outcomes : DataFrame
        Indexed by outcome (flew, never_left, fell_back, no_number); columns "without" and "with": share of all
        scenarios [-].
    drivers : Mapping
        By quantity ("apogee" for its difference, "payable_mass"), a table indexed by row: address, part, first,
        first_low, first_high [-], largest first, and level (whether the order against the row above is open); missing
        where nothing moves it.
    separated, warnings : DataFrame
        As `flight_cases.separation` and `warning_shares`.
    curves : Mapping
        By case, as `flight_curves`.
    differences_of_apogee : NDArray
        [m] in every scenario that flies both ways.
    flow_ratio : float
        The plain engine's flow over that of the stage model, at the study's central point [-].
    samples, scrambles, random_number : int
    """

    study: Study
    compared: pd.DataFrame
    differences: pd.DataFrame
    stage: pd.DataFrame
    steps: pd.DataFrame
    bounds: pd.DataFrame
    verdict: Verdict
    chance: Estimate
    chance_of_power: Estimate | None
    outcomes: pd.DataFrame
    drivers: Mapping[str, pd.DataFrame]
    separated: pd.DataFrame
    warnings: pd.DataFrame
    curves: Mapping[str, pd.DataFrame]
    differences_of_apogee: FloatArray
    flow_ratio: float
    samples: int
    scrambles: int
    random_number: int


def fly(
    study: Study,
    *,
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Flight:
    """Fly a study's vehicle with and without its stage.

    Parameters
    ----------
    study : Study
        With a table [flight].
    rng : int or Generator, optional
        Random number; the study's own if left out.
    samples : int
        [-] scenarios, rounded up to 8 · 2^k.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (done, total): of a gas table, then of the phases.

    Returns
    -------
    Flight

    Raises
    ------
    StudyError
        If the study has no flight, a phase doesn't fit it, or the vehicle doesn't fly without the stage.
    NoFlight
        If at central values, or in nearly all scenarios, it doesn't fly with the stage.
    """
    space = flight_space(study)
    number = sampling.random_number(study.run.random_number if rng is None else rng)
    if not space.space.rows:
        raise StudyError('nothing is uncertain: give at least one input as, say, "150 ± 2 kg"')
    if samples < max(FEWEST_SAMPLES, space.space.dimension):
        raise StudyError(f"{samples} scenarios are too few for an interval: ask for {FEWEST_SAMPLES} or more")
    plan = sampling.sample_plan(number, space.space.dimension, samples, purpose=Purpose.FLIGHT)
    cube = np.concatenate([plan.points(scramble, chunk) for scramble, chunk in plan.chunks()])
    scenarios = space.scenarios(cube)
    stage = stage_in_flight(space, scenarios, 1 + plan.size, jobs=jobs, progress=progress)
    vehicles = _vehicles(space, scenarios, stage)
    whole = stage.numbered & (vehicles.start.mass > vehicles.heaviest_burn)
    _refuse_grounded(vehicles.of(np.arange(whole.size) == 0))
    some = vehicles.of(whole)
    with threadpool_limits(
        limits=1, user_api="blas"
    ):  # small products: more threads only wait for each other
        flown = cases(some)
        even = break_even(some, flown)
    return _told(Flown(space, plan, cube, whole, some, flown, even), number)


def _vehicles(space: FlightSpace, scenarios: Mapping[str, FloatArray], stage: StageInFlight) -> Vehicles:
    size = stage.specific_power.size

    def value(key: str) -> FloatArray:
        return space.of_vehicle(f"flight.{key}", scenarios, size)

    start = Start(
        value("vehicle_mass"), value("drag_area"), value("launch_altitude"), value("launch_velocity")
    )
    return Vehicles(start, value("engine_exit_area"), stage)


def _refuse_grounded(central: Vehicles) -> None:
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


def _told(flown: Flown, number: int) -> Flight:
    both = flown.fly_both
    if flown.fewest(both) < flight_figures.FEWEST_TOLD:
        share = float(both[1:].mean()) if both.size > 1 else 0.0
        raise NoFlight(
            f"with the stage only {share:.1%} of the scenarios fly: there is no difference to tell"
        )
    chance = flown.chance_to_pay()
    stage = flown.vehicles.stage
    paths = {"without": flown.cases.without, "with": flown.cases.whole}
    return Flight(
        study=flown.space.study,
        compared=flown.compared(),
        differences=flown.differences(),
        stage=flown.of_stage(),
        steps=flown.steps(),
        bounds=flown.bounds(),
        verdict=flight_figures.verdict(chance),
        chance=chance,
        chance_of_power=flown.chance_of_power(),
        outcomes=flown.outcomes(),
        drivers=flown.drivers(),
        separated=separation(flown.cases.whole.path, stage),
        warnings=warning_shares(stage),
        curves={
            name: flight_curves(case.path, case.outcome == FLEW)
            for name, case in paths.items()
            if case.path is not None
        },
        differences_of_apogee=flown.gained[both[flown.whole]][1:],
        flow_ratio=float(stage.phases[0].engine_flow[0] / stage.phases[0].flow[0]),
        samples=flown.plan.size,
        scrambles=flown.plan.scrambles,
        random_number=number,
    )
