"""What has flown, as figures with their intervals and sampling errors: quantities, steps, chances, drivers."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer.analysis.given_data import given_data_first_order
from explorer.analysis.scrambles import Estimate, order
from explorer.analysis.sensitivity import ConstantOutput
from explorer.physics.flight.ascent import FELL_BACK, FLEW, NEVER_LEFT, Ascent
from explorer.questions.flight.break_even import BreakEven
from explorer.questions.flight.cases import Cases, Vehicles
from explorer.questions.flight.space import FlightSpace
from explorer.sampling import Plan
from explorer.study.contrasts import (
    by_design,
    difference_of,
    figures_of,
    figures_row,
    share_of,
)
from explorer.study.outcomes import fewest

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

Kind = TypeVar("Kind", bound=np.generic)

Verdict = Literal["pays", "doesn't pay", "not decided"]

#: What is told with and without the stage.
COMPARED: Final = ("apogee", "burnout_velocity", "burnout_altitude", "impulse", "start_mass", "propellant")

#: Of which the steps between are told.
STEPPED: Final = ("apogee", "burnout_velocity", "impulse")

#: Steps from without to with the stage, in the order in which they are taken.
STEPS: Final = ("channel", "mass", "extraction", "acceleration")

#: Fewest scenarios of a repeat from which figures, and drivers, are told.
FEWEST_TOLD: Final[int] = 32
_FEWEST_FOR_DRIVERS: Final[int] = 48

#: Chance from which on, and up to which, the verdict is sure: zero lies outside the 95 % interval.
_SURE, _UNLIKELY = 0.975, 0.025


def verdict(chance: Estimate) -> Verdict:
    """Whether the stage pays, beyond what sampling could feign."""
    if float(chance.low) > _SURE:
        return "pays"
    if float(chance.high) < _UNLIKELY:
        return "doesn't pay"
    return "not decided"


@dataclass(frozen=True)
class Flown:
    """Everything that has flown; the central scenario first, then those of the plan."""

    space: FlightSpace
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

    def compared(self) -> pd.DataFrame:
        """Quantities without and with the stage."""
        return self._beside(self._sides())

    def _beside(self, columns: Mapping[str, Mapping[str, FloatArray]]) -> pd.DataFrame:
        """Figures of rows of values in columns, the central scenario's value first."""
        figures = {
            name: {row: figures_of(self._numbers(x), float(x[0])) for row, x in rows.items()}
            for name, rows in columns.items()
        }
        return by_design(figures, figures_row, "quantity")

    def differences(self) -> pd.DataFrame:
        """The same with less without."""
        without, own = self._sides().values()
        rows = {row: difference_of(self._numbers(own[row]), self._numbers(without[row])) for row in COMPARED}
        return by_design({"with": rows}, figures_row, "quantity")

    def _sides(self) -> dict[str, dict[str, FloatArray]]:
        vehicles, mass = self.vehicles, self.vehicles.start.mass
        burnt = {
            "without": np.sum([burn.propellant for burn in vehicles.engine_burns], axis=0),
            "with": np.sum([burn.propellant for burn in vehicles.stage_burns()], axis=0),
        }
        return {
            "without": {**_of_ascent(self.cases.without), "start_mass": mass, "propellant": burnt["without"]},
            "with": {
                **_of_ascent(self.cases.whole),
                "start_mass": mass + vehicles.stage.mass,
                "propellant": burnt["with"],
            },
        }

    def of_stage(self) -> pd.DataFrame:
        """Powers, energies, masses and what acceleration pays for."""
        stage, even = self.vehicles.stage, self.even
        rows = {
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
        return self._table(rows)

    def _table(self, rows: Mapping[str, FloatArray]) -> pd.DataFrame:
        return pd.DataFrame(self._beside({"": rows}).xs("", axis="columns", level="design"))

    def steps(self) -> pd.DataFrame:
        """What each step from without to with the stage adds."""
        flown = self.cases
        chain = (flown.without, flown.channel, flown.carried, flown.extracting, flown.whole)
        columns = {
            quantity: {
                step: _of_ascent(after)[quantity] - _of_ascent(before)[quantity]
                for step, before, after in zip(STEPS, chain[:-1], chain[1:], strict=True)
            }
            for quantity in STEPPED
        }
        return self._beside(columns)

    def bounds(self) -> pd.DataFrame:
        """Apogee less that without the stage, were it without its mass, or without any drag."""
        flown = self.cases
        rows = {"weightless": flown.weightless.apogee - flown.without.apogee}
        if flown.undragged is not None:
            rows["undragged"] = flown.undragged.apogee - flown.without.apogee
        return self._table(rows)

    def chance_to_pay(self) -> Estimate:
        """Chance that the apogee is higher with the stage, among scenarios that fly without it [-]."""
        flies = self._marks(self.cases.without.outcome == FLEW)
        higher = self._marks(np.nan_to_num(self.gained, nan=-1.0) > 0.0)
        return share_of(self._arranged(higher), self._arranged(flies))

    def chance_of_power(self) -> Estimate | None:
        """Chance that the power wanted is there in every phase of extraction [-]; None where none is wanted."""
        wanted = self.space.plan.values.get("flight.power_wanted")
        if wanted is None:
            return None
        return share_of(
            self._arranged(self._marks(self.vehicles.stage.power_out >= self.wanted)),
            self._arranged(self.whole),
        )

    @property
    def wanted(self) -> FloatArray:
        """Power wanted in the whole scenarios [W]."""
        inside = self.space.scenarios(self.cube)
        return self.space.of_vehicle("flight.power_wanted", inside, self.whole.size)[self.whole]

    def outcomes(self) -> pd.DataFrame:
        """How the scenarios end, without and with the stage."""
        codes = {"flew": FLEW, "never_left": NEVER_LEFT, "fell_back": FELL_BACK}
        sides = {"without": self.cases.without, "with": self.cases.whole}
        table = {
            name: {
                **{
                    outcome: float(self._marks(case.outcome == code)[1:].mean())
                    for outcome, code in codes.items()
                },
                "no_number": float(1.0 - self.whole[1:].mean()),
            }
            for name, case in sides.items()
        }
        return pd.DataFrame(table)

    def drivers(self) -> dict[str, pd.DataFrame]:
        """What moves the difference of apogees, and the mass that acceleration pays for; most first."""
        columns = np.column_stack(self.space.space.dependent(self.cube))
        cubes = self.plan.arranged(columns)[:, 0]
        found = {}
        for name, values in (("apogee", self.gained), ("payable_mass", self.even.payable_mass)):
            table = self._shares(cubes, values)
            if table is not None:
                found[name] = table
        return found

    def _shares(self, cubes: FloatArray, values: FloatArray) -> pd.DataFrame | None:
        """Shares of the variance behind each row; None where there is nothing to share out."""
        numbers, keep = self._numbers(values)
        if fewest(keep) < _FEWEST_FOR_DRIVERS:
            return None
        rows = self.space.rows
        try:
            share = given_data_first_order(
                [cube[mask] for cube, mask in zip(cubes, keep, strict=True)],
                [block[mask] for block, mask in zip(numbers, keep, strict=True)],
            ).first
        except ConstantOutput:
            return None
        places = np.argsort(-share.value, kind="stable")
        level = [order(share[above], share[place]) == "level" for above, place in pairwise(places)]
        figures = {"first": share.value, "first_low": share.low, "first_high": share.high}
        return pd.DataFrame(
            {
                "address": [rows[place].address for place in places],
                "part": [rows[place].part for place in places],
                **{name: values[places] for name, values in figures.items()},
                "level": [False, *level],
            },
            index=pd.Index([rows[place].name for place in places], name="input"),
        )


def _of_ascent(flown: Ascent) -> dict[str, FloatArray]:
    return {
        name: getattr(flown, name) for name in ("apogee", "burnout_velocity", "burnout_altitude", "impulse")
    }
