"""The march through the channel: conservative fluxes, classical Runge-Kutta of fourth order, compiled.

Unknowns along x are the momentum flux ṁu + pA and the total enthalpy h0 (model, section 3); at every stage the
supersonic gas state is a root of the fluxes, so choking is the absence of that root and not a division by zero.
Kutta's classical scheme of order 4 (`ORDER`); integrals are summed with the scheme's own weights, so that the
balances close to rounding.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.physics.electrodes import current_density, effective_conductivity
from explorer.stage.flow_state import field_at, supersonic_state
from explorer.stage.lookup import Gas, electrical
from explorer.stage.stations import (
    CONDUCTIVITY,
    CONSTRICTED,
    CURRENT_DENSITY,
    DROP,
    DROP_POWER,
    ELECTRIC_FIELD,
    EMF,
    EMF_WORK,
    FIELD,
    FIELD_AT,
    FRICTION,
    FRICTION_AT,
    GAP,
    GAS_POWER,
    HEATER,
    INTEGRALS,
    JOULE,
    LORENTZ,
    MOBILITY,
    MOMENTUM_FLUX,
    OK,
    PLASMA_CURRENT,
    POWERED,
    TOTAL_ENTHALPY,
    VELOCITY,
    WALL_HEAT,
    WALL_HEAT_AT,
    WALL_PRESSURE,
    WIDTH,
    XI,
    Channel,
    Electrodes,
    FlowState,
    X,
    Z,
)

#: Declared order of the scheme.
ORDER: Final[int] = 4


@compiled
def sources(
    gas: Gas,
    channel: Channel,
    electrodes: Electrodes,
    field: NDArray[np.float64],
    x: float,
    mode: int,
    voltage: float,
    heater_power: float,
    within_pair: bool,
    state: FlowState,
    rate: NDArray[np.float64],
    stations: NDArray[np.float64],
    row: int,
) -> tuple[int, float, float, float, float]:
    """Sources of momentum and energy at one place, with the integrands of all integrals.

    Parameters
    ----------
    gas, channel, electrodes, field
        The point's gas, channel, pair and magnetic field [T].
    x : float
        [m]
    mode : int
        OPEN, POWERED or HEATER.
    voltage : float
        [V] at the pair's terminals, where powered.
    heater_power : float
        [W/m] where the mode is HEATER.
    within_pair : bool
        Whether x lies between this pair's electrodes.
    state : FlowState
        Fluxes here and a first guess of the gas state.
    rate : NDArray
        Receives the integrands, shape (INTEGRALS,).
    stations : NDArray
        Receives the local values in one row, shape (…, COLUMNS).
    row : int
        [-] which.

    Returns
    -------
    tuple
        Outcome, d(ṁu + pA)/dx [N/m], dh0/dx [J/(kg m)], ξ, z.
    """
    per_length = 1.0 / channel.length
    gap_slope = (channel.gap_out - channel.gap_in) * per_length
    width_slope = (channel.width_out - channel.width_in) * per_length
    gap, width = channel.gap_in + gap_slope * x, channel.width_in + width_slope * x
    area = gap * width
    mass_flux = channel.mass_flow / area
    outcome, xi, z, p, u, h = supersonic_state(
        gas, mass_flux, state.momentum_flux / area, state.total_enthalpy, state.xi, state.z
    )
    if outcome != OK:
        return outcome, 0.0, 0.0, xi, z
    perimeter = 2.0 * (gap + width)
    shear = 0.5 * channel.friction_coefficient * mass_flux * u
    friction = shear * perimeter
    recovered = h + 0.45 * u * u - channel.wall_enthalpy
    heat = (
        channel.heat_transfer_factor * 0.5 * channel.friction_coefficient * mass_flux * recovered * perimeter
    )
    pressure_force = p * (gap_slope * width + gap * width_slope)
    rate[:] = 0.0
    rate[FRICTION], rate[WALL_PRESSURE], rate[WALL_HEAT] = friction, pressure_force, heat
    stations[row, X], stations[row, XI], stations[row, Z], stations[row, VELOCITY] = x, xi, z, u
    stations[row, GAP], stations[row, WIDTH] = gap, width
    stations[row, FRICTION_AT], stations[row, WALL_HEAT_AT] = friction, heat
    stations[row, MOMENTUM_FLUX], stations[row, TOTAL_ENTHALPY] = state.momentum_flux, state.total_enthalpy
    force, power = 0.0, 0.0
    j, drop, E, constricted = 0.0, 0.0, 0.0, False
    B = field_at(field, x * per_length)
    stations[row, FIELD_AT] = B
    if within_pair:
        emf = u * B * gap
        E = emf / gap  # open circuit: the field that the moving gas makes
        rate[EMF], rate[FIELD] = emf, B
        if mode == HEATER:
            power = heater_power
            rate[GAS_POWER] = power
        else:
            sigma, mobility = electrical(gas, xi, z, p)
            sigma *= channel.conductivity_factor
            mobility *= channel.conductivity_factor
            stations[row, CONDUCTIVITY], stations[row, MOBILITY] = sigma, mobility
            if mode == POWERED:
                sigma_e = effective_conductivity(sigma, mobility * B, electrodes.segmented)
                j, drop, _, constricted = current_density(
                    voltage - emf,
                    gap / sigma_e,
                    electrodes.voltage_drop,
                    electrodes.drop_resistance,
                    electrodes.arc_voltage,
                )
                E = (voltage - drop) / gap if j > 0.0 else ((voltage + drop) / gap if j < 0.0 else u * B)
                force, power = j * B * area, j * E * area
                rate[LORENTZ], rate[GAS_POWER] = force, power
                rate[JOULE] = j * j / sigma_e * area
                rate[DROP_POWER] = abs(j) * drop * width
                rate[PLASMA_CURRENT] = j * width
                rate[EMF_WORK] = force * u
    stations[row, CURRENT_DENSITY], stations[row, DROP], stations[row, ELECTRIC_FIELD] = j, drop, E
    stations[row, CONSTRICTED] = 1.0 if constricted else 0.0
    return OK, pressure_force + force - friction, (power - heat) / channel.mass_flow, xi, z


@compiled
def march(
    gas: Gas,
    channel: Channel,
    electrodes: Electrodes,
    field: NDArray[np.float64],
    start: float,
    end: float,
    steps: int,
    mode: int,
    voltage: float,
    within_pair: bool,
    state: FlowState,
    integrals: NDArray[np.float64],
    heater: NDArray[np.float64],
    stations: NDArray[np.float64],
    rate: NDArray[np.float64],
) -> tuple[int, FlowState]:
    """March one segment, from edge to edge.

    Parameters
    ----------
    gas, channel, electrodes, field
        The point's gas, channel, pair and magnetic field [T].
    start, end : float
        [m] the segment's edges.
    steps : int
        [-] how many steps.
    mode, voltage, within_pair
        As in `sources`.
    state : FlowState
        At the start.
    integrals : NDArray
        Integrals of the sources are added here, shape (INTEGRALS,).
    heater : NDArray
        [W/m] gas-side power at every stage, shape (≥ 4 steps,): written where POWERED, read where HEATER.
    stations : NDArray
        Receives 2 steps + 1 stations (start, middle of each step, end), shape (≥ 2 steps + 1, COLUMNS).
    rate : NDArray
        Work space, shape (INTEGRALS,).

    Returns
    -------
    tuple
        Outcome and the state at the end.
    """
    h = (end - start) / steps
    F, H, xi, z = state.momentum_flux, state.total_enthalpy, state.xi, state.z
    outcome = OK
    xi_slope, z_slope = 0.0, 0.0  # per step, from the step before: Newton's first guesses are extrapolated
    for n in range(steps):
        xi_start, z_start = xi, z
        F_sum, H_sum, dF, dH = 0.0, 0.0, 0.0, 0.0
        for stage in range(4):
            ahead = 0.0 if stage == 0 else (1.0 if stage == 3 else 0.5)
            weight = h / 6.0 if (stage == 0 or stage == 3) else h / 3.0
            row = 2 * n + (0 if stage == 0 else (2 if stage == 3 else 1))
            if stage == 1:
                xi_start, z_start = xi, z
                xi, z = xi + 0.5 * xi_slope, z + 0.5 * z_slope
            elif stage == 3:
                xi, z = 2.0 * xi - xi_start, 2.0 * z - z_start
            outcome, dF, dH, xi, z = sources(
                gas,
                channel,
                electrodes,
                field,
                x=start + (n + ahead) * h,
                mode=mode,
                voltage=voltage,
                heater_power=heater[4 * n + stage] if mode == HEATER else 0.0,
                within_pair=within_pair,
                state=FlowState(F + ahead * h * dF, H + ahead * h * dH, xi, z),
                rate=rate,
                stations=stations,
                row=row,
            )
            if outcome != OK:
                return outcome, FlowState(F, H, xi, z)
            if mode == POWERED:
                heater[4 * n + stage] = rate[GAS_POWER]
            F_sum += weight * dF
            H_sum += weight * dH
            for i in range(INTEGRALS):
                integrals[i] += weight * rate[i]
        F += F_sum
        H += H_sum
        xi_slope, z_slope = xi - xi_start, z - z_start
    outcome, _, _, xi, z = sources(
        gas,
        channel,
        electrodes,
        field,
        x=end,
        mode=mode,
        voltage=voltage,
        heater_power=heater[4 * steps - 1] if mode == HEATER else 0.0,
        within_pair=within_pair,
        state=FlowState(F, H, xi, z),
        rate=rate,
        stations=stations,
        row=2 * steps,
    )
    return outcome, FlowState(F, H, xi, z)
