"""What has flown, as figures with their intervals and sampling errors: quantities, steps, chances, drivers."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.given_data import given_data_first_order
from explorer.analysis.scrambles import Estimate, order
from explorer.analysis.sensitivity import ConstantOutput
from explorer.physics.flight.ascent import FELL_BACK, FLEW, NEVER_LEFT, Ascent
from explorer.questions.flight.break_even import BreakEven
from explorer.questions.flight.cases import Cases, Vehicles
from explorer.questions.flight.space import Scenarios
from explorer.sampling import Plan
from explorer.space import Row
from explorer.study.contrasts import Difference, Figures, difference_of, figures_of, share_of
from explorer.study.outcomes import fewest

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

Kind = TypeVar("Kind", bound=np.generic)

Verdict = Literal["pays", "doesn't pay", "not decided"]

#: What is told of an ascent, and of which of it the steps between are told.
ASCENT: Final = ("apogee", "burnout_velocity", "burnout_altitude", "impulse")
STEPPED: Final = ("apogee", "burnout_velocity", "impulse")

#: Steps from without to with the stage, in the order in which they are taken.
STEPS: Final = ("channel", "mass", "extraction", "acceleration")

#: How a scenario can end, by the names of the results.
ENDS: Final = {"flew": FLEW, "never_left": NEVER_LEFT, "fell_back": FELL_BACK}

#: Fewest scenarios of a repeat from which drivers are told.
_FEWEST_FOR_DRIVERS: Final[int] = 48

#: Chance from which on, and up to which, the verdict is sure: zero lies outside the 95 % interval.
_SURE, _UNLIKELY = 0.975, 0.025


def verdict(chance: Estimate) -> Verdict:
    """Whether the stage pays, beyond what sampling could feign."""
    low, high = chance.interval
    if low > _SURE:
        return "pays"
    return "doesn't pay" if high < _UNLIKELY else "not decided"


@dataclass(frozen=True)
class Compared:
    """A quantity of the vehicle [SI]."""

    without: Figures
    whole: Figures  #: with the stage
    difference: Difference  #: with less without, scenario by scenario


@dataclass(frozen=True)
class Driver:
    """A row of the uncertain inputs that moves a result."""

    row: Row
    share: Estimate  #: of the result's squared standard uncertainty that it carries alone [-]
    level: bool  #: whether its order against the row above is open

    def cells(self) -> dict[str, str | float | bool]:
        """As cells of a table."""
        low, high = self.share.interval
        share = {"first": float(self.share), "first_low": low, "first_high": high}
        return {"address": self.row.address, "part": self.row.part, **share, "level": self.level}


@dataclass(frozen=True)
class Flown:
    """Everything that has flown; the central scenario first, then those of the plan."""

    scenarios: Scenarios
    plan: Plan
    cube: FloatArray  #: Points of the plan in the unit cube, shape (scenarios, rows) [-]
    whole: Mask  #: Which scenarios carry numbers, the central one first
    vehicles: Vehicles  #: Of these
    cases: Cases  #: Of these
    even: BreakEven  #: Of these

    @property
    def gained(self) -> FloatArray:
        """Apogee with less without the stage, of the whole scenarios [m]."""
        return np.asarray(self.cases.whole.apogee - self.cases.without.apogee)

    @property
    def fly_both(self) -> Mask:
        """Which of all scenarios fly with and without the stage."""
        return self._marks(np.isfinite(self.gained))

    def fewest(self, marked: Mask) -> int:
        """Marked scenarios of the repeat that has fewest [-]."""
        return fewest(self._arranged(marked))

    def _marks(self, marked: Mask) -> Mask:
        """Marks of the whole scenarios among all of them; the others have none."""
        found = np.zeros(self.whole.shape, dtype=np.bool_)
        found[self.whole] = marked
        return found

    def _arranged(self, values: NDArray[Kind]) -> NDArray[Kind]:
        """Values of all scenarios but the central one, shape (repeats, rows)."""
        return self.plan.arranged(values[1:])[:, 0]

    def _numbers(self, values: FloatArray) -> tuple[FloatArray, Mask]:
        """Values of the whole scenarios as (repeats, rows), and which of them are numbers."""
        every = np.full(self.whole.shape, np.nan)
        every[self.whole] = values
        found = self._arranged(every)
        return found, np.isfinite(found)

    def _figures(self, rows: Mapping[str, FloatArray]) -> dict[str, Figures]:
        return {name: figures_of(self._numbers(values), float(values[0])) for name, values in rows.items()}

    def quantities(self) -> dict[str, Compared]:
        """Quantities without and with the stage."""
        start, stage = self.vehicles.start.mass, self.vehicles.stage
        without, whole = (
            {
                **_of_ascent(flown),
                "start_mass": mass,
                "propellant": np.sum([b.propellant for b in burns], axis=0),
            }
            for flown, mass, burns in (
                (self.cases.without, start, self.vehicles.engine_burns),
                (self.cases.whole, start + stage.mass, self.vehicles.stage_burns()),
            )
        )
        of_without, of_whole = self._figures(without), self._figures(whole)
        return {
            name: Compared(
                of_without[name],
                of_whole[name],
                difference_of(self._numbers(whole[name]), self._numbers(without[name])),
            )
            for name in without
        }

    def of_stage(self) -> dict[str, Figures]:
        """Powers, energies, masses and what acceleration pays for."""
        stage, even = self.vehicles.stage, self.even
        return self._figures(
            {
                "power_in": stage.power_in,
                "energy_in": stage.energy_in,
                "power_out": stage.power_out,
                "energy_out": stage.energy_out,
                **stage.hardware,
                "hardware_mass": stage.hardware_mass,
                "flight_supply_mass": stage.supply_mass,
                "flight_store_mass": stage.store_mass,
                "carried_mass": stage.mass,
                "equal_store_mass": stage.equal_store_mass,
                "payable_mass": even.payable_mass,
                "break_even_specific_power": even.specific_power,
                "break_even_specific_energy": even.specific_energy,
                "break_even_gain": even.gain_factor,
            }
        )

    def of_steps(self) -> dict[str, dict[str, Figures]]:
        """What each step from without to with the stage adds, by step and quantity."""
        flown = self.cases
        chain = [
            _of_ascent(case)
            for case in (flown.without, flown.channel, flown.carried, flown.extracting, flown.whole)
        ]
        return {
            step: self._figures({name: after[name] - before[name] for name in STEPPED})
            for step, (before, after) in zip(STEPS, pairwise(chain), strict=True)
        }

    def of_bounds(self) -> dict[str, Figures]:
        """Apogee less that without the stage, were it without its mass, or without any drag."""
        without, weightless, undragged = (
            self.cases.without,
            self.cases.weightless,
            self.cases.undragged,
        )
        rows = {"weightless": weightless.apogee - without.apogee}
        if undragged is not None:
            rows["undragged"] = undragged.apogee - without.apogee
        return self._figures(rows)

    def chance_to_pay(self) -> Estimate:
        """Chance that the apogee is higher with the stage, among scenarios that fly without it [-]."""
        flies = self._marks(self.cases.without.outcome == FLEW)
        higher = self._marks(np.nan_to_num(self.gained, nan=-1.0) > 0.0)
        return share_of(self._arranged(higher), self._arranged(flies))

    def share(self, marked: Mask) -> Estimate:
        """Share of marked scenarios among those that are whole [-]."""
        return share_of(self._arranged(self._marks(marked)), self._arranged(self.whole))

    def chance_of_power(self) -> Estimate | None:
        """Chance that the power wanted is there in every phase of extraction [-]; None where none is wanted."""
        if "flight.power_wanted" not in self.scenarios.space.plan.values:
            return None
        wanted = self.scenarios.of_study("flight.power_wanted")[self.whole]
        there = self._marks(self.vehicles.stage.power_out >= wanted)
        return share_of(self._arranged(there), self._arranged(self.whole))

    def outcomes(self) -> dict[str, dict[str, float]]:
        """How the scenarios end, without and with the stage: shares of all of them [-]."""
        no_number = float(1.0 - self.whole[1:].mean())
        return {
            name: {
                **{end: float(self._marks(case.outcome == code)[1:].mean()) for end, code in ENDS.items()},
                "no_number": no_number,
            }
            for name, case in (("without", self.cases.without), ("with", self.cases.whole))
        }

    def drivers(self) -> dict[str, tuple[Driver, ...]]:
        """What moves the difference of apogees, and the mass that acceleration pays for; most first."""
        columns = np.column_stack(self.scenarios.space.space.dependent(self.cube))
        cubes = self.plan.arranged(columns)[:, 0]
        every = {"apogee": self.gained, "payable_mass": self.even.payable_mass}
        found = {name: self._drivers(cubes, values) for name, values in every.items()}
        return {name: drivers for name, drivers in found.items() if drivers}

    def _drivers(self, cubes: FloatArray, values: FloatArray) -> tuple[Driver, ...]:
        """Rows by their share of the variance; none where there is nothing to share out."""
        numbers, keep = self._numbers(values)
        if fewest(keep) < _FEWEST_FOR_DRIVERS:
            return ()
        try:
            share = given_data_first_order(
                [cube[mask] for cube, mask in zip(cubes, keep, strict=True)],
                [block[mask] for block, mask in zip(numbers, keep, strict=True)],
            ).first
        except ConstantOutput:
            return ()
        places = [int(place) for place in np.argsort(-share.value, kind="stable")]
        level = [False, *(order(share[above], share[place]) == "level" for above, place in pairwise(places))]
        rows = self.scenarios.space.space.rows
        return tuple(
            Driver(rows[place], share[place], open_) for place, open_ in zip(places, level, strict=True)
        )


def _of_ascent(flown: Ascent) -> dict[str, FloatArray]:
    return {name: getattr(flown, name) for name in ASCENT}
