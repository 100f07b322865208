"""The cool gas layer on an electrode: thickness, temperature, electrons that outlive the cooling, resistance.

The layer carries the wall's heat by conduction, so its thickness follows from the heat flux; temperature is linear
across it. Electrons and alkali ions drift out of the core together (ambipolar) and recombine on the way, which has a
closed form; where equilibrium has more, equilibrium holds. Attachment to OH in the layer, which can raise the
resistance tenfold, is left out and not held by `layer_factor`. CONTACT.md, section 3.

Formulas take numbers or arrays that broadcast, and are built into compiled code.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import Values, elementwise
from explorer.physics.contact.recombination import recombination_rate

FloatArray = NDArray[np.float64]

#: Heat conductivity of combustion gas over its temperature, composition frozen; from memory. Reactive, up to twice.
CONDUCTIVITY_SLOPE: Final[float] = 1.03e-4  # [W/(m K²)]

#: Mobility of an alkali ion times the gas's number density; from memory.
ION_MOBILITY: Final[float] = 7e21  # [1/(m V s)]

#: Stands for no recombination at all, of which electrons would live for ever [m³/s].
_NO_RATE: Final[float] = 1e-40

#: Number density of a gas at 1.01325 bar and 293.15 K, by which distances of breakdown are measured.
STANDARD_DENSITY: Final[float] = 2.504e25  # [1/m³]

_NO_LENGTH: Final[float] = 1e-40  # [m] in place of zero: such a layer holds no electrons out of equilibrium


class CoolLayer(NamedTuple):
    """The layer on one electrode; each field one number, or an array of them."""

    wall_temperature: Values  #: [K] T_w
    core_temperature: Values  #: [K] T_c
    pressure: Values  #: [Pa]
    thickness: Values  #: [m] s
    core_density: Values  #: [1/m³] n_c, electrons at the layer's edge
    electron_lag: Values  #: [-] multiplies ℓ; 0 is equilibrium
    alkali_share: Values  #: [-] of the positive ions, as in `recombination_rate`
    recombination_factor: Values  #: [-]
    recombination_exponent: Values  #: [-]


@elementwise
def layer_thickness(
    layer_factor: Values, recovery_temperature: Values, wall_temperature: Values, heat_flux: Values
) -> Values:
    """Thickness that conducts the wall's heat flux, s = factor · k_g (T_r − T_w)/q, k_g at the mean temperature [m].

    Parameters
    ----------
    layer_factor : float or array
        [-] for reactive conduction and all else: median 1.4, factor 2.
    recovery_temperature, wall_temperature : float or array
        [K] T_r, that of a wall which takes no heat, and T_w.
    heat_flux : float or array
        [W/m²] q into the wall.
    """
    conductivity = CONDUCTIVITY_SLOPE * 0.5 * (recovery_temperature + wall_temperature)
    return layer_factor * conductivity * (recovery_temperature - wall_temperature) / heat_flux


@elementwise
def temperature_at(layer: CoolLayer, y: Values) -> Values:
    """Temperature at a depth, linear from the core's to the wall's [K].

    Parameters
    ----------
    y : float or array
        [m] from the layer's edge toward the wall.
    """
    return layer.core_temperature - (layer.core_temperature - layer.wall_temperature) * y / layer.thickness


@elementwise
def number_density(pressure: Values, temperature: Values) -> Values:
    """Number density of an ideal gas [1/m³].

    Parameters
    ----------
    pressure, temperature : float or array
        [Pa, K]
    """
    return pressure / (c.k * temperature)


@elementwise
def ion_mobility(pressure: Values, temperature: Values) -> Values:
    """Mobility of an alkali ion [m²/(V s)].

    Parameters
    ----------
    pressure, temperature : float or array
        [Pa, K]
    """
    return ION_MOBILITY / number_density(pressure, temperature)


@elementwise
def ambipolar_diffusivity(pressure: Values, temperature: Values) -> Values:
    """Diffusivity of ions and electrons together at one temperature, D_a = 2 µ_i kT/e [m²/s].

    Parameters
    ----------
    pressure, temperature : float or array
        [Pa, K]
    """
    return 2.0 * ion_mobility(pressure, temperature) * c.k * temperature / c.e


@elementwise
def survival_length(layer: CoolLayer, temperature: Values) -> Values:
    """Depth ℓ = lag · √(6 D_a/(β n_c)) over which electrons from the core thin out fourfold [m].

    Parameters
    ----------
    temperature : float or array
        [K] at which D_a and β are taken.
    """
    density = number_density(layer.pressure, temperature)
    rate = recombination_rate(
        temperature,
        density,
        layer.alkali_share,
        layer.recombination_factor,
        layer.recombination_exponent,
    )
    diffusivity = ambipolar_diffusivity(layer.pressure, temperature)
    return (
        layer.electron_lag * np.sqrt(6.0 * diffusivity / ((rate + _NO_RATE) * layer.core_density))
        + _NO_LENGTH
    )


@elementwise
def surviving_density(layer: CoolLayer, y: Values) -> Values:
    """Electrons that outlive the cooling at a depth, n_c/(1 + y/ℓ)², the solution of D_a n″ = β n² [1/m³].

    ℓ is taken at the mean of core's and wall's temperature.

    Parameters
    ----------
    y : float or array
        [m] from the layer's edge toward the wall.
    """
    length = survival_length(layer, 0.5 * (layer.core_temperature + layer.wall_temperature))
    share = length / (length + y)
    return layer.core_density * share * share


@elementwise
def slice_resistance(thickness: Values, one_side: Values, other_side: Values) -> Values:
    """Resistance of a slice across which the logarithm of the conductivity is linear, ∫ dy/σ [ohm m²].

    Parameters
    ----------
    thickness : float or array
        [m]
    one_side, other_side : float or array
        [S/m] conductivity at the slice's faces.
    """
    fall = np.log(one_side / other_side)
    # sinh(x)/x over the geometric mean, which is smooth where both sides conduct alike
    half = np.maximum(np.abs(0.5 * fall), 1e-6)
    return thickness * np.sinh(half) / (half * np.sqrt(one_side) * np.sqrt(other_side))


def layer_depths(points: int) -> FloatArray:
    """Return depths y/s at which a layer is best looked at, 0 at the core and 1 at the wall [-], shape (points,).

    Closer toward both ends: electrons that outlive the cooling thin out fastest at the core, equilibrium's at the wall.

    Parameters
    ----------
    points : int
        [-] 13 give the resistance to 1 % or better.
    """
    return np.asarray(0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, points)))


def electron_density(layer: CoolLayer, depths: FloatArray, equilibrium: FloatArray) -> FloatArray:
    """Return the electrons across a layer, whichever is more of equilibrium's and the survivors [1/m³].

    Parameters
    ----------
    layer : CoolLayer
        Fields of shape (...).
    depths : NDArray
        [-] y/s, shape (K,).
    equilibrium : NDArray
        [1/m³] n_eq at `temperature_at` each depth (nozzle lag and all), shape (..., K).
    """
    spread = CoolLayer(*(np.asarray(field, dtype=np.float64)[..., None] for field in layer))
    return np.asarray(np.maximum(equilibrium, surviving_density(spread, depths * spread.thickness)))


def layer_resistance(
    layer: CoolLayer, depths: FloatArray, equilibrium: FloatArray, mobility: FloatArray
) -> FloatArray:
    """Return the resistance of one layer across, ∫ dy/(e n_e µ) [ohm m²], shape (...).

    Parameters
    ----------
    layer : CoolLayer
        Fields of shape (...).
    depths : NDArray
        [-] y/s from 0 to 1, rising, shape (K,); `layer_depths`.
    equilibrium : NDArray
        [1/m³] as in `electron_density`, shape (..., K).
    mobility : NDArray
        [m²/(V s)] of electrons at the same temperatures, shape (..., K).
    """
    sigma = c.e * electron_density(layer, depths, equilibrium) * mobility
    thickness = np.asarray(layer.thickness)[..., None] * np.diff(depths)
    return np.asarray(slice_resistance(thickness, sigma[..., :-1], sigma[..., 1:]).sum(axis=-1))


@elementwise
def density_distance(layer: CoolLayer) -> Values:
    """Distance at standard density that breaks down like the layer, ∫ N dy/N0 [m].

    Notes
    -----
    p s ln(T_c/T_w)/(k (T_c − T_w) N0), for a temperature that is linear.
    """
    share = layer.core_temperature / layer.wall_temperature
    step = np.log(share)
    return (
        layer.pressure
        * layer.thickness
        * step
        / (c.k * layer.wall_temperature * STANDARD_DENSITY * np.expm1(step))
    )
