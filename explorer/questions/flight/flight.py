"""Does the stage pay in flight: the same vehicle with and without it, over the same scenarios, up to the apogee.

Every figure that is a difference is formed scenario by scenario, so that what both vehicles share drops out of it. A
scenario whose stage carries no number is left out and counted; one that the stage keeps on the pad counts as lost.
"""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.physics.flight.ascent import FLEW
from explorer.physics.flight.vertical_motion import Start
from explorer.questions.flight.break_even import break_even
from explorer.questions.flight.cases import NoFlight, Vehicles, cases, refuse_grounded
from explorer.questions.flight.exhaust import Exhaust, exhaust, refuse_impossible_exhaust
from explorer.questions.flight.figures import Compared, Driver, Flown, Verdict, verdict
from explorer.questions.flight.model import stage_in_flight
from explorer.questions.flight.paths import Separation, flight_curves, separation
from explorer.questions.flight.space import Scenarios, flight_space
from explorer.questions.flight.stage import StageInFlight, Warned
from explorer.sampling import Purpose
from explorer.study.contrasts import Figures, by_design, figures_row
from explorer.study.limits import Contacts
from explorer.study.outcomes import FEWEST
from explorer.study.shown import Shown, Summary
from explorer.studyfile import FlightPlan, Study, StudyError

FloatArray = NDArray[np.float64]

#: Scenarios where nothing else is asked for, and the fewest from which anything is told.
SAMPLES: Final[int] = 4096
FEWEST_SAMPLES: Final[int] = 512


_OUTPUTS: Final = {quantity.address: quantity for quantity in registry.FLIGHT_OUTPUTS}


def quantity_of(name: str) -> registry.Quantity:
    """Return what the registry says about a result of a flight, or of the stage."""
    return _OUTPUTS[name] if name in _OUTPUTS else registry.quantity(name)


@dataclass(frozen=True, repr=False)
class Flight(Shown):
    """What the stage is worth in flight.

    Attributes
    ----------
    study : Study
    figures : Mapping
        By quantity, the vehicle without and with the stage and the difference [SI].
    of_stage : Mapping
        By quantity (powers, energies, masses, break-even figures), its figures [SI]; `missing` [-] is the share of the
        scenarios in which no finite value does it.
    of_steps : Mapping
        By step ("channel", "mass", "extraction", "acceleration") and quantity, what each adds to apogee, velocity and
        impulse [SI].
    of_bounds : Mapping
        "weightless" (the stage without its mass) and, with extraction, "undragged" (without any drag): apogee less
        that without the stage [m].
    verdict : str
        "pays", "doesn't pay" or "not decided".
    chance : Estimate
        Chance that the apogee is higher with the stage [-].
    chance_of_power : Estimate or None
        Chance that the power wanted is there in every phase of extraction [-].
    ends : Mapping
        "without" and "with", share of all scenarios [-] by outcome (flew, never_left, fell_back, no_number).
    driven : Mapping
        By quantity ("apogee" for its difference, "payable_mass"), the rows that move it, largest first; missing where
        nothing does.
    separations : Mapping
        By phase in which the flow separates at the stage's exit, where and how often.
    stage_warnings : tuple
        What the stage warns of in each phase, and in which share of the scenarios.
    contacts : Mapping
        By phase in which a circuit is closed, in which form its pairs conduct, where that is worked out.
    curves : Mapping
        "without" and "with", a table of time [s], altitude [m] and velocity [m/s] in the central scenario, and the
        ends of the bands that hold 19 in 20.
    differences_of_apogee : NDArray
        [m] in every scenario that flies both ways.
    flow_ratio : float
        The plain engine's flow over that of the stage model, at the study's central point [-].
    exhaust : Exhaust
        The plain engine's speed of exhaust beside the stage's own.
    samples, scrambles, random_number : int
    """

    study: Study
    figures: Mapping[str, Compared]
    of_stage: Mapping[str, Figures]
    of_steps: Mapping[str, Mapping[str, Figures]]
    of_bounds: Mapping[str, Figures]
    verdict: Verdict
    chance: Estimate
    chance_of_power: Estimate | None
    ends: Mapping[str, Mapping[str, float]]
    driven: Mapping[str, tuple[Driver, ...]]
    separations: Mapping[str, Separation]
    stage_warnings: tuple[Warned, ...]
    contacts: Mapping[str, Contacts]
    curves: Mapping[str, pd.DataFrame]
    differences_of_apogee: FloatArray
    flow_ratio: float
    exhaust: Exhaust
    samples: int
    scrambles: int
    random_number: int

    @property
    def plan(self) -> FlightPlan:
        """The flight as the study states it."""
        if self.study.flight is None:
            raise ValueError("the study has no flight")
        return self.study.flight

    @property
    def compared(self) -> pd.DataFrame:
        """Indexed by quantity; columns ("without" or "with", figure) [SI]."""
        sides = {
            "without": {name: each.without for name, each in self.figures.items()},
            "with": {name: each.whole for name, each in self.figures.items()},
        }
        return by_design(sides, figures_row, "quantity")

    @property
    def differences(self) -> pd.DataFrame:
        """Indexed by quantity; columns ("with", figure) [SI]: with less without, and whether it is real."""
        less = {name: each.difference for name, each in self.figures.items()}
        return by_design({"with": less}, figures_row, "quantity")

    @property
    def stage(self) -> pd.DataFrame:
        """Indexed by quantity of the stage; columns figure [SI]."""
        return _table(self.of_stage)

    @property
    def steps(self) -> pd.DataFrame:
        """Indexed by step; columns (quantity, figure) [SI]."""
        quantities = next(iter(self.of_steps.values()))
        turned = {name: {step: found[name] for step, found in self.of_steps.items()} for name in quantities}
        return by_design(turned, figures_row, "step")

    @property
    def bounds(self) -> pd.DataFrame:
        """Indexed by "weightless" and, with extraction, "undragged"; columns figure [m]."""
        return _table(self.of_bounds)

    @property
    def outcomes(self) -> pd.DataFrame:
        """Indexed by outcome; columns "without" and "with": share of all scenarios [-]."""
        return pd.DataFrame(self.ends)

    @property
    def drivers(self) -> dict[str, pd.DataFrame]:
        """By quantity a table indexed by row: address, part, first, first_low, first_high [-], and level."""
        rows = {name: {each.row.name: each.cells() for each in own} for name, own in self.driven.items()}
        return {
            name: pd.DataFrame.from_dict(own, orient="index").rename_axis(index="input")
            for name, own in rows.items()
        }

    def _summary(self) -> Summary:
        rows = []
        for name in ("apogee", "burnout_velocity", "start_mass"):
            scale, own = quantity_of(name).scale, self.figures[name]
            each = (scale.text(float(side.mean)) for side in (own.without, own.whole))
            rows.append((name, *each, scale.difference(float(own.difference.mean))))
        title = f'Flight of "{self.study.title}", {self.samples} scenarios: the stage {self.verdict}'
        return Summary(title, ("", "without the stage", "with it", "difference"), tuple(rows))


def _table(found: Mapping[str, Figures]) -> pd.DataFrame:
    rows = {name: figures_row(each) for name, each in found.items()}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis(index="quantity")


def flight(
    study: Study,
    *,
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Flight:
    """A study's vehicle flown with and without its stage.

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
    if "gas.chamber_pressure" not in study.central() or "gas.components" in study.choices:
        raise StudyError(
            "a flight throttles what burns in its chamber: state gas.mixture_ratio, gas.seed_fraction and"
            " gas.chamber_pressure in place of [gas.flows] or gas.components"
        )
    space = flight_space(study)
    number = sampling.random_number(study.run.random_number if rng is None else rng)
    if not space.space.rows:
        raise StudyError('nothing is uncertain: give at least one input as, say, "150 ± 2 kg"')
    if samples < max(FEWEST_SAMPLES, space.space.dimension):
        raise StudyError(f"{samples} scenarios are too few for an interval: ask for {FEWEST_SAMPLES} or more")
    plan = sampling.sample_plan(number, space.space.dimension, samples, purpose=Purpose.FLIGHT)
    cube = np.concatenate([plan.points(scramble, chunk) for scramble, chunk in plan.chunks()])
    scenarios = space.scenarios(cube)
    thrust, flow = (float(scenarios.of_study(f"flight.engine_{what}")[0]) for what in ("thrust", "flow"))
    refuse_impossible_exhaust(study, thrust=thrust, flow=flow)
    stage = stage_in_flight(scenarios, jobs=jobs, progress=progress)
    vehicles = _vehicles(scenarios, stage)
    whole = stage.numbered & (vehicles.start.mass > vehicles.heaviest_burn)
    refuse_grounded(vehicles.of(np.arange(whole.size) == 0))
    some = vehicles.of(whole)
    with threadpool_limits(
        limits=1, user_api="blas"
    ):  # small products: more threads only wait for each other
        flown = cases(some)
        even = break_even(some, flown)
    return _told(Flown(scenarios, plan, cube, whole, some, flown, even), number)


def _vehicles(scenarios: Scenarios, stage: StageInFlight) -> Vehicles:
    keys = ("vehicle_mass", "drag_area", "launch_altitude", "launch_velocity", "engine_exit_area")
    *start, exit_area = (scenarios.of_study(f"flight.{key}") for key in keys)
    return Vehicles(Start(*start), exit_area, stage)


def _told(flown: Flown, number: int) -> Flight:
    both = flown.fly_both
    if flown.fewest(both) < FEWEST:
        share = float(both[1:].mean()) if both.size > 1 else 0.0
        raise NoFlight(
            f"with the stage only {share:.1%} of the scenarios fly: there is no difference to tell"
        )
    chance = flown.chance_to_pay()
    stage = flown.vehicles.stage
    paths = {"without": flown.cases.without, "with": flown.cases.whole}
    return Flight(
        study=flown.scenarios.space.study,
        figures=flown.quantities(),
        of_stage=flown.of_stage(),
        of_steps=flown.of_steps(),
        of_bounds=flown.of_bounds(),
        verdict=verdict(chance),
        chance=chance,
        chance_of_power=flown.chance_of_power(),
        ends=flown.outcomes(),
        driven=flown.drivers(),
        separations=separation(flown.cases.whole.path, stage),
        stage_warnings=stage.warned(flown.share),
        contacts=stage.contacts(flown.share),
        curves={
            name: flight_curves(case.path, case.outcome == FLEW)
            for name, case in paths.items()
            if case.path is not None
        },
        differences_of_apogee=flown.gained[both[flown.whole]][1:],
        flow_ratio=float(stage.phases[0].engine_flow[0] / stage.phases[0].flow[0]),
        exhaust=exhaust(stage),
        samples=flown.plan.size,
        scrambles=flown.plan.scrambles,
        random_number=number,
    )
