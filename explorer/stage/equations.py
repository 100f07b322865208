"""The equations of motion of the gas in the channel, quasi-one-dimensional and steady (MODEL.md, section 3).

    mass       ρ u A = ṁ
    momentum   d(ṁu + pA)/dx = p dA/dx + j B A − τ P
    energy         ṁ dh0/dx  = j E A + Q + H − q P         with h0 = h + u²/2

x runs with the flow, E across the gap, B across the width; a positive current density j pushes the gas forward.
Beside the equations stand the section A(x) and its perimeter P (`channel`), j and E of an electrode pair
(`pair_current`, both zero outside one), the shear τ and heat flux q at the walls (`physics.walls`) and the march
along x (`march`). Q is the plain heater's power per length, in place of a current, H that of a pre-ioniser.
"""

from typing import NamedTuple

from explorer.physics.compiled import compiled
from explorer.stage.channel import Section
from explorer.stage.gas.flow import Flow
from explorer.stage.pair_current import Current


class Terms(NamedTuple):
    """The terms of both equations and of the circuit's account, per length of channel; or integrated along it."""

    wall_pressure: float  #: [N/m] p dA/dx: walls that widen push
    lorentz_force: float  #: [N/m] j B A
    friction: float  #: [N/m] τ P
    gas_power: float  #: [W/m] j E A: electrical power into the gas, or the plain heater's
    preionizer_power: float  #: [W/m] of a pre-ioniser
    wall_heat: float  #: [W/m] q P
    joule_heating: float  #: [W/m] j²/σ_e A: what of the power becomes heat at once
    force_work: float  #: [W/m] j B A u: what of it becomes work
    electrode_drop_power: float  #: [W/m] |j| V_d w: heats the electrodes, not the gas
    plasma_current: float  #: [A/m] j w
    back_emf: float  #: [V] u B g
    field: float  #: [T] B, within a pair


@compiled
def terms_at(
    section: Section, flow: Flow, current: Current, shear: float, heat_flux: float, power_density: float
) -> Terms:
    """All terms at one place.

    Parameters
    ----------
    shear : float
        [Pa] τ at the walls.
    heat_flux : float
        [W/m²] q into the walls.
    power_density : float
        [W/m³] of a pre-ioniser.
    """
    A, P = section.area, section.perimeter
    p, u = flow.pressure, flow.velocity
    j, E, B = current.density, current.electric_field, current.field
    lorentz_force = j * B * A
    return Terms(
        wall_pressure=p * section.area_slope,
        lorentz_force=lorentz_force,
        friction=shear * P,
        gas_power=j * E * A + current.heater_power,
        preionizer_power=power_density * A,
        wall_heat=heat_flux * P,
        joule_heating=j * j * current.resistivity * A,
        force_work=lorentz_force * u,
        electrode_drop_power=abs(j) * current.drop * section.width,
        plasma_current=j * section.width,
        back_emf=u * B * section.gap,
        field=B,
    )


@compiled
def momentum(term: Terms) -> float:
    """d(ṁu + pA)/dx [N/m]."""
    return term.wall_pressure + term.lorentz_force - term.friction


@compiled
def energy(term: Terms, mass_flow: float) -> float:
    """dh0/dx [J/(kg m)] at a mass flow ṁ [kg/s]."""
    return (term.gas_power + term.preionizer_power - term.wall_heat) / mass_flow
