"""Values in, kernel results out: one chunk of operating points, and the profile of a single one along the channel."""

from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import allocating
from explorer.stage import columns
from explorer.stage.columns import (
    CAPACITOR,
    COIL,
    NO_CONTACT,
    NOT_FED,
    OUTSIDE_TABLE,
    STEADY,
    Rows,
    rows,
)
from explorer.stage.design import Design, KernelInputs, Values, kernel_inputs
from explorer.stage.gas.expansion import mach_number
from explorer.stage.gas.extent import ROOMS
from explorer.stage.gas.lookup import contract, electrical, gas_space
from explorer.stage.gas.propellants import LN_UNSEEDED
from explorer.stage.gas.table import SHEAR, GasTable
from explorer.stage.kernel import inlet_of, mixture_of, operating_point, operating_points
from explorer.stage.outputs.points import KernelResults
from explorer.stage.segments import Setting, workspace
from explorer.stage.stations import STATION

#: Steps between pairs, within pairs of a uniform field, and within pairs of one that varies along the channel.
GAP_STEPS: Final[int] = 1
PAIR_STEPS: Final[int] = 4
PAIR_STEPS_VARYING: Final[int] = 8

#: The same where electrons are followed: steps end on a pre-ioniser's edges, and grow up to a pair's middle.
RELAXING_GAP_STEPS: Final[int] = 3
RELAXING_PAIR_STEPS: Final[int] = 10
RELAXING_PAIR_STEPS_VARYING: Final[int] = 16

#: The same where nothing makes more electrons than the gas, so that none fall off in front of a pair.
UNAIDED_GAP_STEPS: Final[int] = 1
UNAIDED_PAIR_STEPS: Final[int] = 8

#: The same for a profile that is to be drawn and integrated.
PROFILE_GAP_STEPS: Final[int] = 40
PROFILE_PAIR_STEPS: Final[int] = 80

#: Columns of a profile that stand in the record of stations; pressure, temperature and Mach number come with them.
PROFILE_COLUMNS: Final[tuple[str, ...]] = (
    "x",
    "velocity",
    "conductivity",
    "electron_density",
    "unaided_density",
    "current_density",
    "magnetic_field",
    "electric_field",
    "electrode_drop",
    "gap",
    "width",
    "friction_per_length",
    "wall_heat_per_length",
    "momentum_flux",
    "total_enthalpy",
)


#: How the kernel knows what feeds a pair.
PULSED: Final = {None: STEADY, "coil": COIL, "capacitor": CAPACITOR}


class Profile(NamedTuple):
    """A stage along its channel, with two rows where a pair begins or ends."""

    values: dict[str, NDArray[np.float64]]  #: [SI] by name


def setting(
    design: Design,
    *,
    heater: bool,
    preionized: bool = True,
    gap_steps: int | None = None,
    pair_steps: int | None = None,
) -> Setting:
    """The kernel's setting for a design; by default with as many steps as its field and electrons ask for."""
    few, many, between = PAIR_STEPS, PAIR_STEPS_VARYING, GAP_STEPS
    if design.relaxing and (preionized or len(design.pairs) > 1):
        few, many, between = RELAXING_PAIR_STEPS, RELAXING_PAIR_STEPS_VARYING, RELAXING_GAP_STEPS
    elif design.relaxing:
        few, many, between = UNAIDED_PAIR_STEPS, RELAXING_PAIR_STEPS_VARYING, UNAIDED_GAP_STEPS
    if pair_steps is None:
        pair_steps = few if design.magnet == "uniform" else many
    if gap_steps is None:
        gap_steps = between
    return Setting(
        np.array([pair.segmented for pair in design.pairs]),
        np.array([pair.supplies for pair in design.pairs]),
        np.array([pair.computed for pair in design.pairs]),
        np.array([pair.struck for pair in design.pairs]),
        np.array([pair.material is not None for pair in design.pairs]),
        np.array([PULSED[pair.pulsed] for pair in design.pairs], dtype=np.int8),
        design.propellants.alkali is not None,
        gap_steps,
        pair_steps,
        heater,
        design.relaxing,
    )


#: The gas table of a room (its number in `extent.ROOMS`), for seeded or unseeded gas; None if it can't be had.
Tables = Callable[[int, bool], GasTable | None]


def evaluate(
    design: Design,
    values: Values,
    tables: Tables,
    *,
    heater: bool,
    gap_steps: int | None = None,
    pair_steps: int | None = None,
) -> KernelResults:
    """Operating points of a chunk, each on the narrowest table that it doesn't leave.

    Parameters
    ----------
    tables : callable
        Asked for the tables that are needed; a point outside all of them gets that status.
    heater : bool
        Whether the plain heater twin is wanted.
    gap_steps, pair_steps : int
        [-] between and within pairs.
    """
    given = kernel_inputs(design, values)
    n = given.points.shape[0]
    found = KernelResults(
        np.full((n, len(columns.OUTPUTS)), np.nan),
        np.full((n, len(design.pairs), len(columns.PAIR_OUTPUTS)), np.nan),
        np.full(n, OUTSIDE_TABLE, dtype=np.int8),
    )
    steps = setting(
        design,
        heater=heater,
        preionized="preionizer.power" in values,
        gap_steps=gap_steps,
        pair_steps=pair_steps,
    )
    seeded = given.points[:, columns.INPUTS.index("ln_alkali")] != LN_UNSEEDED
    for with_seed in np.unique(seeded):
        left = np.flatnonzero(seeded == with_seed)
        for room in range(len(ROOMS)):
            table = tables(room, bool(with_seed)) if left.size else None
            if table is None:
                break
            here = _on(table, given, left, steps)
            found.results[left], found.pair_results[left] = here.results, here.pair_results
            found.outcomes[left] = here.outcomes
            outside = here.results[:, columns.OUTPUTS.index("heater_outcome")] == OUTSIDE_TABLE
            left = left[outside | (here.outcomes == OUTSIDE_TABLE)]
    return found


def _on(table: GasTable, given: KernelInputs, which: NDArray[np.intp], steps: Setting) -> KernelResults:
    """Some of the points, on one table."""
    points, pairs = given.points[which], given.pairs[which]
    field = given.field if given.field.shape[0] == 1 else given.field[which]
    found = KernelResults(
        np.empty((which.size, len(columns.OUTPUTS))),
        np.empty((which.size, pairs.shape[1], len(columns.PAIR_OUTPUTS))),
        np.empty(which.size, dtype=np.int8),
    )
    operating_points(*table, points, pairs, field, steps, found.results, found.pair_results, found.outcomes)
    return found


def refuse_unfed(given: KernelResults, unfed: NDArray[np.bool_]) -> None:
    """Take their numbers from points whose orifices don't feed, shape (n,)."""
    given.results[unfed] = np.nan
    given.pair_results[unfed] = np.nan
    given.outcomes[unfed] = NOT_FED


@allocating
def _stations(
    coefficients: NDArray[np.float32],
    axes: NDArray[np.float64],
    point: Rows,
    pairs: Rows,
    field: NDArray[np.float64],
    setting: Setting,
    result: Rows,
    pair_results: Rows,
    stations: Rows,
    mach: NDArray[np.float64],
) -> int:
    """Stations of all segments, shape (segments, places), and their Mach number; everything else of one point."""
    gas = gas_space(axes, coefficients.shape[3])
    work = workspace(pairs.shape[1], setting.gap_steps, setting.pair_steps)
    if not contract(coefficients, axes, mixture_of(point[0]), gas):
        return OUTSIDE_TABLE
    inlet = inlet_of(gas, point[0])
    outcome = operating_point(
        gas, inlet, point[0], pairs[0], field, setting, work, result[0], pair_results[0]
    )
    if outcome > NO_CONTACT:
        return outcome
    stations[:] = work.stations
    stations[0] = work.open_stations[0]
    for segment in range(stations.shape[0]):
        steps = setting.pair_steps if segment % 2 == 1 else setting.gap_steps
        for n in range(2 * steps + 1):
            here = stations[segment, n]
            if not setting.relaxing:
                sigma, mobility = electrical(gas, here.xi, here.z, np.exp(here.z))
                here.conductivity = sigma * point[0].conductivity_factor * point[0].nozzle_lag
                here.electron_density = sigma / (c.e * mobility) * point[0].nozzle_lag
                here.unaided_density = here.electron_density
            mach[segment, n] = mach_number(gas, here.xi, here.z, here.velocity)
    return outcome


def profile(design: Design, values: Values, tables: Tables) -> Profile | None:
    """The operating point along the channel, None where it carries no numbers.

    Parameters
    ----------
    values : mapping
        Scalars.
    tables : callable
        As in `evaluate`.
    """
    given = kernel_inputs(design, values)
    seeded = bool(given.points[0, columns.INPUTS.index("ln_alkali")] != LN_UNSEEDED)
    for room in range(len(ROOMS)):
        table = tables(room, seeded)
        if table is None:
            return None
        outcome, along = _along(design, given, table)
        if outcome != OUTSIDE_TABLE:
            return along
    return None


def _along(design: Design, given: KernelInputs, table: GasTable) -> tuple[int, Profile | None]:
    pairs = len(design.pairs)
    steps = setting(design, heater=False, gap_steps=PROFILE_GAP_STEPS, pair_steps=PROFILE_PAIR_STEPS)
    shape = 2 * pairs + 1, 2 * max(PROFILE_GAP_STEPS, PROFILE_PAIR_STEPS) + 1
    stations, mach = np.zeros(shape, dtype=STATION), np.zeros(shape)
    outcome = _stations(
        table.coefficients,
        table.axes,
        rows(given.points, columns.INPUTS),
        rows(given.pairs, columns.PAIR_INPUTS),
        given.field[0],
        steps,
        rows(np.empty((1, len(columns.OUTPUTS))), columns.OUTPUTS),
        rows(np.empty((1, pairs, len(columns.PAIR_OUTPUTS))), columns.PAIR_OUTPUTS),
        stations,
        mach,
    )
    if outcome > NO_CONTACT:
        return outcome, None
    kept = []
    for segment, record in enumerate(stations):
        last = 2 * (PROFILE_PAIR_STEPS if segment % 2 else PROFILE_GAP_STEPS)
        if record["x"][last] > record["x"][0]:
            kept.append((segment, slice(0, last + 1, 2)))  # nodes; stations between them are stage values
    along = np.concatenate([stations[here] for here in kept])
    found = {name: along[name].copy() for name in PROFILE_COLUMNS}
    found["pressure"] = np.exp(along["z"])
    found["temperature"] = np.exp(along["xi"] + SHEAR * along["z"])
    found["mach"] = np.concatenate([mach[here] for here in kept])
    return outcome, Profile(found)
