"""Values in, kernel results out: one chunk of operating points, and the profile of a single one along the channel."""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled, recovering
from explorer.stage import columns
from explorer.stage.design import Design, Values, kernel_inputs
from explorer.stage.expansion import mach_number
from explorer.stage.kernel import operating_point, operating_points
from explorer.stage.lookup import contract, electrical, gas_space, temperature
from explorer.stage.outputs import KernelResults
from explorer.stage.segments import Setting, workspace
from explorer.stage.stations import (
    COLUMNS,
    CONDUCTIVITY,
    CURRENT_DENSITY,
    DROP,
    ELECTRIC_FIELD,
    FIELD_AT,
    FRICTION_AT,
    GAP,
    MOMENTUM_FLUX,
    NO_CONTACT,
    OUTSIDE_TABLE,
    TOTAL_ENTHALPY,
    VELOCITY,
    WALL_HEAT_AT,
    WIDTH,
    XI,
    X,
    Z,
)
from explorer.stage.table import GasTable

#: Steps between pairs, within pairs of a uniform field, and within pairs of one that varies along the channel.
GAP_STEPS: Final[int] = 1
PAIR_STEPS: Final[int] = 4
PAIR_STEPS_VARYING: Final[int] = 8

#: The same for a profile that is to be drawn and integrated.
PROFILE_GAP_STEPS: Final[int] = 40
PROFILE_PAIR_STEPS: Final[int] = 80

#: Columns of a profile and the station columns that they are taken from.
PROFILE_COLUMNS: Final[dict[str, int]] = {
    "x": X,
    "velocity": VELOCITY,
    "conductivity": CONDUCTIVITY,
    "current_density": CURRENT_DENSITY,
    "magnetic_field": FIELD_AT,
    "electric_field": ELECTRIC_FIELD,
    "electrode_drop": DROP,
    "gap": GAP,
    "width": WIDTH,
    "friction_per_length": FRICTION_AT,
    "wall_heat_per_length": WALL_HEAT_AT,
    "momentum_flux": MOMENTUM_FLUX,
    "total_enthalpy": TOTAL_ENTHALPY,
}


class Profile(NamedTuple):
    """Values along the channel, by name [SI]; with two rows where a pair begins or ends."""

    values: dict[str, NDArray[np.float64]]


def setting(
    design: Design, *, heater: bool, gap_steps: int = GAP_STEPS, pair_steps: int | None = None
) -> Setting:
    """The kernel's setting for a design.

    Parameters
    ----------
    design : Design
        The choices.
    heater : bool
        [-] whether the plain heater twin is wanted.
    gap_steps, pair_steps : int
        [-] steps between and within pairs; by default as many as the field asks for.
    """
    if pair_steps is None:
        pair_steps = PAIR_STEPS if design.magnet == "uniform" else PAIR_STEPS_VARYING
    return Setting(
        np.array([pair.segmented for pair in design.pairs]),
        np.array([pair.supplies for pair in design.pairs]),
        gap_steps,
        pair_steps,
        heater,
    )


def evaluate(
    design: Design,
    values: Values,
    table: GasTable,
    *,
    heater: bool,
    gap_steps: int = GAP_STEPS,
    pair_steps: int | None = None,
) -> KernelResults:
    """Operating points of a chunk.

    Parameters
    ----------
    design : Design
        The choices.
    values : mapping
        SI by address; scalars hold for all points.
    table : GasTable
        Wide enough for the values; a point outside it gets that status.
    heater : bool
        [-] whether the plain heater twin is wanted.
    gap_steps, pair_steps : int
        [-] steps between and within pairs.

    Returns
    -------
    KernelResults
    """
    given = kernel_inputs(design, values)
    n = given.points.shape[0]
    results = np.empty((n, len(columns.OUTPUTS)))
    pair_results = np.empty((n, len(design.pairs), len(columns.PAIR_OUTPUTS)))
    outcomes = np.empty(n, dtype=np.int8)
    recovering(
        operating_points,
        table.coefficients,
        table.axes,
        given.points,
        given.pairs,
        given.field,
        setting(design, heater=heater, gap_steps=gap_steps, pair_steps=pair_steps),
        results,
        pair_results,
        outcomes,
    )
    return KernelResults(results, pair_results, outcomes)


@compiled
def _stations(
    coefficients: NDArray[np.float32],
    axes: NDArray[np.float64],
    point: NDArray[np.float64],
    pairs: NDArray[np.float64],
    field: NDArray[np.float64],
    setting: Setting,
    result: NDArray[np.float64],
    pair_results: NDArray[np.float64],
    stations: NDArray[np.float64],
    extra: NDArray[np.float64],
) -> int:
    """Stations of all segments, shape (segments, rows, columns); beside them p, T and Mach number."""
    gas = gas_space(axes, coefficients.shape[3])
    work = workspace(pairs.shape[0], setting.gap_steps, setting.pair_steps)
    if not contract(coefficients, axes, point[:3], gas):
        return OUTSIDE_TABLE
    outcome = operating_point(gas, point, pairs, field, setting, work, result, pair_results)
    if outcome > NO_CONTACT:
        return outcome
    stations[:] = work.stations
    stations[0] = work.open_stations[0]
    for segment in range(stations.shape[0]):
        steps = setting.pair_steps if segment % 2 == 1 else setting.gap_steps
        for n in range(2 * steps + 1):
            station = stations[segment, n]
            xi, z = station[XI], station[Z]
            sigma, _ = electrical(gas, xi, z, np.exp(z))
            station[CONDUCTIVITY] = sigma * point[7]
            extra[segment, n, 0] = np.exp(z)
            extra[segment, n, 1] = temperature(xi, z)
            extra[segment, n, 2] = mach_number(gas, xi, z, station[VELOCITY])
    return outcome


def profile(design: Design, values: Values, table: GasTable) -> Profile | None:
    """The operating point along the channel.

    Parameters
    ----------
    design : Design
        The choices.
    values : mapping
        SI by address, scalars.
    table : GasTable
        Wide enough for the values.

    Returns
    -------
    Profile or None
        None where the point carries no numbers.
    """
    given = kernel_inputs(design, values)
    pairs = len(design.pairs)
    steps = setting(design, heater=False, gap_steps=PROFILE_GAP_STEPS, pair_steps=PROFILE_PAIR_STEPS)
    rows = 2 * max(PROFILE_GAP_STEPS, PROFILE_PAIR_STEPS) + 1
    stations = np.zeros((2 * pairs + 1, rows, COLUMNS))
    extra = np.zeros((2 * pairs + 1, rows, 3))
    outcome = recovering(
        _stations,
        table.coefficients,
        table.axes,
        given.points[0],
        given.pairs[0],
        given.field[0],
        steps,
        np.empty(len(columns.OUTPUTS)),
        np.empty((pairs, len(columns.PAIR_OUTPUTS))),
        stations,
        extra,
    )
    if outcome > NO_CONTACT:
        return None
    keep = []
    for segment in range(2 * pairs + 1):
        count = PROFILE_PAIR_STEPS if segment % 2 else PROFILE_GAP_STEPS
        first, last = stations[segment, 0, X], stations[segment, 2 * count, X]
        if last > first:
            keep.append(
                (segment, slice(0, 2 * count + 1, 2))
            )  # nodes; stations between them are stage values
    found = {
        name: np.concatenate([stations[s, n, i] for s, n in keep]) for name, i in PROFILE_COLUMNS.items()
    }
    for i, name in enumerate(("pressure", "temperature", "mach")):
        found[name] = np.concatenate([extra[s, n, i] for s, n in keep])
    return Profile(found)
