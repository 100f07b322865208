"""How warm a wall or electrode gets while the stage fires, and for how long it may; and how warm the magnet.

Heat enters a half-space, or a slab with an insulated back, through a film: the flux falls as the surface warms,
q = h (T_r − T). One number of properties, no melting, no radiation. Carslaw & Jaeger, Conduction of Heat in Solids, 2nd
ed. (1959): 2.7 (half-space, from memory), 3.11 (slab, film), 3.8 (slab, constant flux). CONTACT.md, section 8.

All functions take numbers or arrays that broadcast. The slab's series is summed to a fixed number of terms, and
short times, for which it converges slowly, go by the half-space, which doesn't feel its back yet.
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erfcx

FloatArray = NDArray[np.float64]

_TERMS: Final[int] = 8  # of the slab's series: what is left out is below 1e-13
_ROOT_STEPS: Final[int] = 54  # of bisection for the roots of its eigenvalues
#: Fourier number below which a slab is a half-space: the back moves the surface by less than 2 erfc(1/√Fo) ≈ 1e-9.
_SHORT: Final[float] = 0.05
_TIME_STEPS: Final[int] = 52  # of bisection for the logarithm of a time


def _floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values)))


def half_space_temperature(
    time: ArrayLike,
    *,
    heat_flux: ArrayLike,
    recovery_temperature: ArrayLike,
    start_temperature: ArrayLike,
    effusivity: ArrayLike,
) -> FloatArray:
    """Return the surface temperature under a flux that falls as it warms [K].

    T_0 + (T_r − T_0) [1 − erfcx(h √t/e)] with h = q_0/(T_r − T_0) and the effusivity e = √(k ρ c).

    Parameters
    ----------
    time : array_like
        [s]
    heat_flux : array_like
        [W/m²] q_0 at the start.
    recovery_temperature, start_temperature : array_like
        [K] T_r, above T_0; and T_0.
    effusivity : array_like
        [J/(m² K s^½)]
    """
    t, q, T_r, T_0, e = _floats(time, heat_flux, recovery_temperature, start_temperature, effusivity)
    film = q / (T_r - T_0)
    return np.asarray(T_0 + (T_r - T_0) * (1.0 - erfcx(film * np.sqrt(t) / e)))


def constant_flux_temperature(
    time: ArrayLike, *, heat_flux: ArrayLike, start_temperature: ArrayLike, effusivity: ArrayLike
) -> FloatArray:
    """Return the surface temperature under a constant flux, T_0 + 2 q √(t/π)/e, the limit of a strong recovery [K].

    Parameters
    ----------
    time : array_like
        [s]
    heat_flux : array_like
        [W/m²]
    start_temperature : array_like
        [K]
    effusivity : array_like
        [J/(m² K s^½)]
    """
    t, q, T_0, e = _floats(time, heat_flux, start_temperature, effusivity)
    return np.asarray(T_0 + 2.0 * q * np.sqrt(t / np.pi) / e)


def surface_temperature(
    time: ArrayLike,
    *,
    heat_flux: ArrayLike,
    recovery_temperature: ArrayLike,
    start_temperature: ArrayLike,
    conductivity: ArrayLike,
    density: ArrayLike,
    heat_capacity: ArrayLike,
    thickness: ArrayLike,
) -> FloatArray:
    """Return the surface temperature of a slab with an insulated back, under a flux that falls as it warms [K].

    Parameters
    ----------
    time : array_like
        [s]
    heat_flux : array_like
        [W/m²] q_0 at the start.
    recovery_temperature, start_temperature : array_like
        [K] T_r, above T_0; and T_0.
    conductivity, density, heat_capacity : array_like
        [W/(m K), kg/m³, J/(kg K)]
    thickness : array_like
        [m] infinite for a half-space.
    """
    t, q, T_r, T_0, k, rho, cap, s = _floats(
        time,
        heat_flux,
        recovery_temperature,
        start_temperature,
        conductivity,
        density,
        heat_capacity,
        thickness,
    )
    return np.asarray(T_r - (T_r - T_0) * _Slab(q / (T_r - T_0), k, rho * cap, s).remainder(t))


class _Slab:
    """A slab under a film: what is left of T_r − T at its surface, Σ 2 Bi e^(−z² Fo)/(z² + Bi² + Bi), z tan z = Bi."""

    def __init__(self, film: FloatArray, k: FloatArray, rho_c: FloatArray, s: FloatArray) -> None:
        self.strength = film / np.sqrt(k * rho_c)  # of the half-space, per root of time
        self.rate = k / rho_c / s**2
        biot = film * np.where(np.isfinite(s), s, 0.0) / k
        n = np.arange(_TERMS).reshape((-1,) + (1,) * biot.ndim)
        low, high = np.pi * n + 0.0 * biot, np.pi * n + 0.5 * np.pi + 0.0 * biot
        for _ in range(_ROOT_STEPS):
            middle = 0.5 * (low + high)
            above = (-1.0) ** n * (middle * np.sin(middle) - biot * np.cos(middle)) > 0.0
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        self.square = (0.5 * (low + high)) ** 2
        self.weight = 2.0 * biot / (self.square + biot * biot + biot)

    def remainder(self, t: FloatArray) -> FloatArray:
        fourier = self.rate * t
        late = np.asarray((self.weight * np.exp(-self.square * np.maximum(fourier, _SHORT))).sum(axis=0))
        early = erfcx(self.strength * np.sqrt(t))
        return np.where(fourier > _SHORT, late, early)


def allowed_burn_time(
    limit_temperature: ArrayLike,
    *,
    heat_flux: ArrayLike,
    recovery_temperature: ArrayLike,
    start_temperature: ArrayLike,
    conductivity: ArrayLike,
    density: ArrayLike,
    heat_capacity: ArrayLike,
    thickness: ArrayLike,
) -> FloatArray:
    """Return how long a surface takes to its limit [s]; infinite where it never gets there, 0 where it begins above.

    Parameters
    ----------
    limit_temperature : array_like
        [K]
    heat_flux, recovery_temperature, start_temperature, conductivity, density, heat_capacity, thickness : array_like
        As in `surface_temperature`.
    """
    limit, q, T_r, T_0, k, rho, cap, s = _floats(
        limit_temperature,
        heat_flux,
        recovery_temperature,
        start_temperature,
        conductivity,
        density,
        heat_capacity,
        thickness,
    )
    reached = (limit < T_r) & (limit > T_0)
    wanted = np.where(reached, (T_r - limit) / (T_r - T_0), 0.5)
    film, rho_c = q / (T_r - T_0), rho * cap
    slab = _Slab(film, k, rho_c, s)
    unit = k * rho_c / film**2 + np.where(np.isfinite(s), s, 0.0) * rho_c / film  # both ways to feel the film
    low, high = np.full(wanted.shape, -45.0), np.full(wanted.shape, 45.0)  # logarithms
    for _ in range(_TIME_STEPS):
        middle = 0.5 * (low + high)
        cooler = slab.remainder(unit * np.exp(middle)) > wanted
        low, high = np.where(cooler, middle, low), np.where(cooler, high, middle)
    time = unit * np.exp(0.5 * (low + high))
    return np.where(reached, time, np.where(limit <= T_0, 0.0, np.inf))


def magnet_temperature(
    time: ArrayLike,
    *,
    start_temperature: ArrayLike,
    heat_leak: ArrayLike,
    mass: ArrayLike,
    heat_capacity: ArrayLike,
) -> FloatArray:
    """Return how warm a magnet gets, even throughout and cooled by nothing, T_0 + Q̇ t/(m c) [K].

    Parameters
    ----------
    time : array_like
        [s]
    start_temperature : array_like
        [K]
    heat_leak : array_like
        [W] into the magnet.
    mass : array_like
        [kg]
    heat_capacity : array_like
        [J/(kg K)]
    """
    t, T_0, leak, m, cap = _floats(time, start_temperature, heat_leak, mass, heat_capacity)
    return np.asarray(T_0 + leak * t / (m * cap))
