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
_ROOT_STEPS: Final[int] = 4  # of Newton for its eigenvalues
#: Fourier number below which a slab is a half-space: the back moves the surface by less than 2 erfc(1/√Fo) ≈ 1e-9.
_SHORT: Final[float] = 0.05
_TIME_STEPS: Final[int] = 6  # of Newton, within a bracket, for the logarithm of a time
_BRACKET: Final[float] = 2.5  # its width: the bound from above is at most 6.4 times too long
_TINY: Final[float] = 1e-150  # in place of a zero that would divide


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

    Where no heat enters at the start it stays at T_0: that a gas cools a wall is not worked out.

    Parameters
    ----------
    time : array_like
        [s]
    heat_flux : array_like
        [W/m²] q_0 at the start.
    recovery_temperature, start_temperature : array_like
        [K] T_r and T_0.
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
    warms, film = _film(q, T_r, T_0)
    left, _ = _Slab(film, k, rho * cap, s).remainder(t)
    return np.where(warms, T_r - (T_r - T_0) * left, T_0)


def _film(q: FloatArray, T_r: FloatArray, T_0: FloatArray) -> tuple[NDArray[np.bool_], FloatArray]:
    """Whether the gas warms a surface at all, and the film's h; a harmless number where it doesn't."""
    warms = ~((q <= 0.0) | (T_r <= T_0))  # which leaves NaN as it is
    return warms, np.divide(q, T_r - T_0, out=np.ones_like(q), where=warms)


class _Slab:
    """A slab under a film: what is left of T_r − T at its surface, Σ 2 Bi e^(−z² Fo)/(z² + Bi² + Bi), z tan z = Bi."""

    def __init__(self, film: FloatArray, k: FloatArray, rho_c: FloatArray, s: FloatArray) -> None:
        self.strength = film / np.sqrt(k * rho_c)  # of the half-space, per root of time
        self.rate = k / rho_c / s**2
        biot = film * np.where(np.isfinite(s), s, 0.0) / k
        # z = nπ + δ, δ = arctan(Bi/z): concave in δ, so that Newton comes from the left whatever the start.
        whole = np.pi * np.arange(_TERMS).reshape((-1,) + (1,) * biot.ndim)
        z = whole + np.sqrt(biot / (1.0 + 4.0 * biot / np.pi**2)) * (whole == 0.0)
        z = np.where(whole > 0.0, whole + np.arctan(biot / (whole + 0.25 * np.pi)), np.maximum(z, _TINY))
        for _ in range(_ROOT_STEPS):
            excess = z - whole - np.arctan(biot / z)
            z = np.maximum(z - excess / (1.0 + biot / (z * z + biot * biot)), _TINY)
        self.square = z * z
        self.weight = 2.0 * biot / (self.square + biot * biot + biot + _TINY)

    def remainder(self, t: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What is left, and its slope by the logarithm of time."""
        fourier = self.rate * t
        decay = self.square * np.maximum(fourier, _SHORT)
        late = self.weight * np.exp(-decay)
        root = self.strength * np.sqrt(t)
        early = erfcx(root)
        slope = np.where(
            fourier > _SHORT, -(decay * late).sum(axis=0), (root * early - 1 / np.sqrt(np.pi)) * root
        )
        return np.where(fourier > _SHORT, late.sum(axis=0), early), slope

    def time(self, wanted: FloatArray) -> FloatArray:
        """Time after which a remainder between 0 and 1 is left.

        A half-space takes longer, and so does the series with its slowest decay in every term.
        """
        c = 2.0 / (np.sqrt(np.pi) * wanted)  # erfcx x ≤ (2/√π)/(x + √(x² + 4/π)) (Abramowitz & Stegun 7.1.13)
        half_space = ((c * c - 4.0 / np.pi) / (2.0 * c * self.strength)) ** 2
        slowest = -np.log(wanted) / (self.square[0] * self.rate + _TINY)
        high = np.log(np.minimum(half_space, slowest))
        low, x, aim = high - _BRACKET, high, np.log(-np.log(wanted))
        for _ in range(_TIME_STEPS):
            left, slope = self.remainder(np.exp(x))
            gone = -np.log(left)
            excess = np.log(gone) - aim
            low, high = np.where(excess < 0.0, x, low), np.where(excess < 0.0, high, x)
            step = x + excess * gone * left / slope
            x = np.where((step >= low) & (step <= high), step, 0.5 * (low + high))
        return np.asarray(np.exp(x))


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
    warms, film = _film(q, T_r, T_0)
    reached = warms & (limit < T_r) & (limit > T_0)
    wanted = np.where(reached, (T_r - limit) / np.where(reached, T_r - T_0, 1.0), 0.5)
    time = _Slab(film, k, rho * cap, s).time(wanted)
    never = np.where(np.isnan(q + T_r + T_0 + limit), np.nan, np.inf)
    return np.where(reached, time, np.where(limit <= T_0, 0.0, never))


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
