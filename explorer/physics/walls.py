"""What a turbulent channel flow leaves at its walls: friction, and heat by the Reynolds analogy. Compiled.

Rough by nature: the friction coefficient is stated, not worked out, and one factor stands for all by which the heat
differs from the analogy.
"""

from typing import Final

from explorer.physics.compiled import compiled

#: Recovery factor of a turbulent boundary layer [-], near Pr^(1/3) of a hot gas; common practice.
RECOVERY: Final[float] = 0.9


@compiled
def wall_shear(friction_coefficient: float, mass_flux: float, velocity: float) -> float:
    """Shear at the wall, τ = ½ C_f ρ u² [Pa].

    Parameters
    ----------
    friction_coefficient : float
        [-] C_f, Fanning's.
    mass_flux : float
        [kg/(m² s)] ρ u.
    velocity : float
        [m/s]
    """
    return 0.5 * friction_coefficient * mass_flux * velocity


@compiled
def wall_heat_flux(
    heat_transfer_factor: float,
    friction_coefficient: float,
    mass_flux: float,
    velocity: float,
    enthalpy: float,
    wall_enthalpy: float,
) -> float:
    """Heat into the wall, q = factor · ½ C_f ρ u (h + r u²/2 − h_w) [W/m²], with the recovery factor r.

    Parameters
    ----------
    heat_transfer_factor : float
        [-] 1 by the Reynolds analogy.
    friction_coefficient : float
        [-] C_f, Fanning's.
    mass_flux : float
        [kg/(m² s)] ρ u.
    velocity : float
        [m/s]
    enthalpy, wall_enthalpy : float
        [J/kg] of the gas in the flow, h, and at the wall's temperature, h_w.
    """
    stanton_flux = heat_transfer_factor * 0.5 * friction_coefficient * mass_flux
    return stanton_flux * (enthalpy + 0.5 * RECOVERY * velocity * velocity - wall_enthalpy)
