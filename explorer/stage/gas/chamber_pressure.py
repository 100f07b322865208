"""The chamber pressure that streams from the stand come to. Compiled, one point after another.

All that becomes gas leaves through the throat: p_c = gas flow · c*/(C_d A_t), with c* of the mixture at that pressure
(MODEL.md, section 1), while a liquid orifice feeds less the higher the pressure. The root is found for ln c*: the
pressure that the orifices give with it, and the c* of the gas at that pressure.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.gas.expansion import throat, xi_of_enthalpy
from explorer.stage.gas.lookup import contract, entropy, gas_space
from explorer.stage.gas.propellants import LEAST_ALKALI
from explorer.stage.gas.table import SHEAR

Array = NDArray[np.float64]

#: Tolerance of ln c* in the root, and the most steps to it and within it.
TOLERANCE: Final[float] = 1e-10
_MOST_STEPS: Final[int] = 40
_MOST_INNER_STEPS: Final[int] = 80

#: Where the search for c* [m/s] and for the flame [K] begins.
_SPEED_GUESS: Final[float] = 1600.0
_FLAME_GUESS: Final[float] = 3200.0


class FedStreams(NamedTuple):
    """Streams of a series of points, each shape (n, 3): flow = steady + factor · √(upstream − p_c)."""

    steady: Array  #: [kg/s]
    factor: Array  #: [kg/(s Pa^½)]
    upstream: Array  #: [Pa]
    ceiling: (
        Array  #: [Pa] chamber pressure above which the stream is none of this, infinite for a stated flow
    )


class Chamber(NamedTuple):
    """What a series of points needs to know besides its streams, each shape (n,)."""

    gas_share: Array  #: [-] of the seed solution, what becomes gas
    water_share: Array  #: [-] of the seed solution, its water
    vaporized_share: Array  #: [-] of the seed solution, the compound that vaporises
    efficiency: Array  #: [-] c* over that of the adiabatic flame
    throat_flow_area: Array  #: [m²]


@compiled
def _flow(p: float, k: int, steady: Array, factor: Array, upstream: Array) -> float:
    """Flow [kg/s] of stream k at a chamber pressure [Pa]."""
    return float(steady[k] + factor[k] * np.sqrt(max(upstream[k] - p, 0.0)))


@compiled
def pressure_of_speed(
    speed_over_area: float, gas_share: float, steady: Array, factor: Array, upstream: Array
) -> float:
    """Chamber pressure [Pa] at which the streams' gas leaves through the throat, for a c* over C_d A_t [1/(m s)]."""
    high = speed_over_area * (
        _flow(0.0, 0, steady, factor, upstream)
        + _flow(0.0, 1, steady, factor, upstream)
        + gas_share * _flow(0.0, 2, steady, factor, upstream)
    )
    if factor[0] == 0.0 and factor[1] == 0.0 and factor[2] == 0.0:
        return high
    low, p = 0.0, high
    for _ in range(_MOST_INNER_STEPS):
        flow, slope = 0.0, 0.0
        for k in range(3):
            share = gas_share if k == 2 else 1.0
            flow += share * _flow(p, k, steady, factor, upstream)
            if factor[k] > 0.0 and upstream[k] > p:
                slope -= share * factor[k] * 0.5 / np.sqrt(upstream[k] - p)
        excess = speed_over_area * flow - p
        if excess > 0.0:
            low = p
        else:
            high = p
        step = excess / (1.0 - speed_over_area * slope)
        following = p + step
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - p) < 1e-13 * p:
            return following
        p = following
    return p


@compiled
def _adiabatic_speed(gas: Array, enthalpy: float, z: float) -> float:
    """Characteristic velocity [m/s] of the adiabatic flame at ln p = z."""
    xi = xi_of_enthalpy(gas, enthalpy, z, np.log(_FLAME_GUESS) - SHEAR * z)
    s, _, _ = entropy(gas, xi, z)
    _, _, flux = throat(gas, s, enthalpy, z - 0.55, xi)
    return float(np.exp(z) / flux)


@compiled
def _held(axes: Array, k: int, value: float) -> float:
    """A composition coordinate, or the end of its axis that is nearest: on the way to the root it may lie outside."""
    first = axes[k, 0]
    return float(min(max(value, first), first + (axes[k, 2] - 1.0) / axes[k, 1]))


@compiled
def _near(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    """Whether two mixtures are the same to rounding."""
    off = 0.0
    for k in range(3):
        off = max(off, abs(one[k] - other[k]) / (1.0 + abs(other[k])))
    return off < 1e-9


@compiled
def pressures(
    coefficients: NDArray[np.float32],
    axes: Array,
    streams: FedStreams,
    chamber: Chamber,
    alkali_share: float,
    enthalpies: Array,
    found: Array,
) -> None:
    """Chamber pressure [Pa] of each point, NaN where it isn't found.

    `alkali_share` [-] is that of the seed compound, 0 without one; `enthalpies` [J/kg] are those of fuel, oxidizer,
    seed compound and water.
    """
    gas = gas_space(axes, coefficients.shape[3])
    held = (np.nan, np.nan, np.nan)
    in_table = False
    ln_guess = np.log(_SPEED_GUESS)  # that of the point before, once there is one
    for n in range(found.size):
        steady, factor, upstream = streams.steady[n], streams.factor[n], streams.upstream[n]
        share, per_area = chamber.gas_share[n], 1.0 / chamber.throat_flow_area[n]
        found[n] = np.nan
        ln_speed = ln_guess + np.log(chamber.efficiency[n])
        before, off_before = np.nan, np.nan
        for _ in range(_MOST_STEPS):
            p = pressure_of_speed(np.exp(ln_speed) * per_area, share, steady, factor, upstream)
            fuel = _flow(p, 0, steady, factor, upstream)
            oxidizer = _flow(p, 1, steady, factor, upstream)
            solution = _flow(p, 2, steady, factor, upstream)
            seed, water = chamber.vaporized_share[n] * solution, chamber.water_share[n] * solution
            total = fuel + oxidizer + seed + water
            alkali = alkali_share * seed / total
            ln_alkali = axes[1, 0]  # of an unseeded gas, unless the table is of a seeded one
            if alkali >= LEAST_ALKALI or (alkali_share > 0.0 and axes[1, 2] > 1.0):
                ln_alkali = np.log(max(alkali, LEAST_ALKALI))
            wanted = (oxidizer / fuel, ln_alkali, water / total)
            mixture = (_held(axes, 0, wanted[0]), _held(axes, 1, wanted[1]), _held(axes, 2, wanted[2]))
            if mixture != held:
                in_table = contract(coefficients, axes, mixture, gas)
                held = mixture
            if not in_table:
                break
            enthalpy = (
                fuel * enthalpies[0] + oxidizer * enthalpies[1] + seed * enthalpies[2] + water * enthalpies[3]
            ) / total
            off = np.log(chamber.efficiency[n] * _adiabatic_speed(gas, enthalpy, np.log(p))) - ln_speed
            if np.isnan(off):
                break
            if abs(off) < TOLERANCE:
                found[n] = p if _near(mixture, wanted) else np.nan
                ln_guess = ln_speed - np.log(chamber.efficiency[n])
                break
            slope = (
                -1.0 if np.isnan(before) or off == off_before else (off - off_before) / (ln_speed - before)
            )
            before, off_before = ln_speed, off
            ln_speed += min(max(-off / slope, -0.3), 0.3)
