"""How fast electrons vanish in a hot gas, and their density as it relaxes: u d(n_e/ρ)/dx = [β(n_eq² − n_e²) + S]/ρ.

With an alkali, an electron recombines with its ion where a third body takes the energy. Without, the ion of a flame
is H3O+, which breaks up as it takes an electron. Attachment to OH is left out: in the core of the bench there are 0.16
negative ions an electron. Formulas take numbers or arrays that broadcast, and are built into compiled code.
"""

from typing import Final

import numpy as np

from explorer import constants as c
from explorer.physics.compiled import Values, elementwise

#: Three-body recombination e + A⁺ + M: 4.1e-24/T cm⁶/s, ± 27 %; Combustion and Flame 21 (1973) 69 (read).
THREE_BODY: Final[float] = 4.1e-36  # [m⁶ K/s]
THREE_BODY_UNCERTAINTY: Final[float] = 1.1 / 4.1  #: relative standard uncertainty [-], the same source

#: Its reverse, ionisation by collision: 9.9e-9 √T e^(−I/kT) cm³/s, the same source.
COLLISIONAL: Final[float] = 9.9e-15  # [m³/(s K^0.5)]

#: Dissociative recombination of H3O+ at the temperature below; known to a factor 2 (from memory).
DISSOCIATIVE: Final[float] = 2.4e-13  # [m³/s]
DISSOCIATIVE_TEMPERATURE: Final[float] = 2200.0  # [K]
#: Exponent of its fall with temperature, 0.5 to 1.4 (from memory): the middle.
DISSOCIATIVE_EXPONENT: Final[float] = 0.95

_TINY: Final[float] = 1e-150


@elementwise
def three_body_rate(temperature: Values, number_density: Values) -> Values:
    """Coefficient β = k₃ N of recombination with alkali ions [m³/s].

    Parameters
    ----------
    temperature : float or array
        [K]
    number_density : float or array
        [1/m³] N of the gas, every molecule a third body.
    """
    return THREE_BODY / temperature * number_density


@elementwise
def collisional_ionisation_rate(temperature: Values, ionisation_energy: Values) -> Values:
    """Coefficient of ionisation of an alkali atom by a molecule, the reverse of the above [m³/s].

    Parameters
    ----------
    temperature : float or array
        [K]
    ionisation_energy : float or array
        [J]
    """
    return COLLISIONAL * np.sqrt(temperature) * np.exp(-ionisation_energy / (c.k * temperature))


@elementwise
def dissociative_rate(temperature: Values, exponent: Values) -> Values:
    """Coefficient of recombination with H3O+ [m³/s], within a factor 2.

    Parameters
    ----------
    temperature : float or array
        [K]
    exponent : float or array
        [-] of the fall with temperature, 0.5 to 1.4.
    """
    return DISSOCIATIVE * np.exp(exponent * np.log(DISSOCIATIVE_TEMPERATURE / temperature))


@elementwise
def recombination_rate(
    temperature: Values, number_density: Values, alkali_share: Values, factor: Values, exponent: Values
) -> Values:
    """Coefficient β of recombination with a gas's ions [m³/s], weighted by their shares in equilibrium.

    Parameters
    ----------
    temperature : float or array
        [K]
    number_density : float or array
        [1/m³] N of the gas.
    alkali_share : float or array
        [-] alkali's share of the positive ions; the rest counts as H3O+.
    factor : float or array
        [-] `recombination_factor`: what both rates may be off by.
    exponent : float or array
        [-] as in `dissociative_rate`.
    """
    alkali = alkali_share * three_body_rate(temperature, number_density)
    flame = (1.0 - alkali_share) * dissociative_rate(temperature, exponent)
    return factor * (alkali + flame)


@elementwise
def density_after(time: Values, initial: Values, equilibrium: Values, rate: Values, source: Values) -> Values:
    """Electron density after a time at constant conditions, dn/dt = β(n_eq² − n²) + S [1/m³].

    Parameters
    ----------
    time : float or array
        [s]
    initial : float or array
        [1/m³] n at the start.
    equilibrium : float or array
        [1/m³] n_eq.
    rate : float or array
        [m³/s] β; zero is frozen.
    source : float or array
        [1/(m³ s)] S, not negative.

    Notes
    -----
    Riccati's equation in closed form, n_s (n_0 + n_s tanh βn_s t)/(n_s + n_0 tanh βn_s t) with n_s² = n_eq² + S/β,
    written so that β = 0 (n_0 + S t) and n_s = 0 (n_0/(1 + β n_0 t)) need no case of their own.
    """
    gain = rate * equilibrium * equilibrium + source
    turns = np.maximum(time * np.sqrt(rate * gain), _TINY)  # β n_s t
    effective_time = time * np.tanh(turns) / turns
    return (initial + gain * effective_time) / (1.0 + rate * initial * effective_time)


@elementwise
def decay_length(velocity: Values, rate: Values, initial: Values, equilibrium: Values) -> Values:
    """Length in which an excess of electrons falls by e at first, u/(β(n_0 + n_eq)) [m]; infinite if β is zero.

    Parameters
    ----------
    velocity : float or array
        [m/s]
    rate : float or array
        [m³/s] β.
    initial, equilibrium : float or array
        [1/m³] n_0 and n_eq.
    """
    return velocity / (rate * (initial + equilibrium))
