"""The march through the channel: conservative fluxes, classical Runge-Kutta of fourth order, compiled.

Unknowns along x are the momentum flux ṁu + pA and the total enthalpy h0 (`equations`); at every stage of a step the
supersonic gas state is a root of the fluxes, so choking is the absence of that root and not a division by zero.
Kutta's classical scheme of order 4 (`ORDER`); integrals are summed with the scheme's own weights, so that the
balances close to rounding.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.physics.walls import wall_heat_flux, wall_shear
from explorer.stage.channel import Channel, Passage, field_at, section_at
from explorer.stage.columns import OK, OUTSIDE_TABLE, Row, Rows
from explorer.stage.equations import Terms, energy, momentum, terms_at
from explorer.stage.gas.flow import Flow, FlowState, supersonic_flow
from explorer.stage.gas.lookup import Gas, electrical, inside, temperature
from explorer.stage.gas.relaxation import (
    NO_SOURCES,
    NO_SURROUNDINGS,
    Drift,
    Sources,
    Surroundings,
    behind_pair,
    drifted,
    only_felt,
    share_preionized,
    surroundings_at,
    to_end,
    to_middle,
)
from explorer.stage.pair_current import (
    COLUMN,
    HEATER,
    NO_CURRENT,
    NO_PLASMA,
    POWERED,
    Drive,
    Plasma,
    current_at,
)
from explorer.stage.stations import Segment, record, step_edge

#: Declared order of the scheme.
ORDER: Final[int] = 4

#: Kutta's classical scheme: how far ahead in the step a stage stands, its weight, and its row among the stations.
_AHEAD: Final = (0.0, 0.5, 0.5, 1.0)
_WEIGHT: Final = (1.0 / 6.0, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0)
_ROW: Final = (0, 1, 1, 2)

NOTHING: Final = Terms(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


class Track(NamedTuple):
    """The arrays that a march along a segment writes and reads."""

    #: Power into the gas at every stage of every step, shape (≥ 4 steps,): written where the drive is POWERED or
    #: COLUMN, read where HEATER.
    gas_power: NDArray[np.float64]  #: [W/m]
    curve: NDArray[np.float64]  #: [V, A/m²] what the cathode gives, as in `current_at`
    stations: Rows  #: start, middle of each step and end, shape (≥ 2 steps + 1,); written


class Marched(NamedTuple):
    """What a march came to."""

    outcome: int
    state: FlowState  #: at the end
    integrals: Terms  #: of all terms along x


@compiled
def with_added(total: Terms, share: float, term: Terms) -> Terms:
    """The total and a share of further terms."""
    return Terms(
        wall_pressure=total.wall_pressure + share * term.wall_pressure,
        lorentz_force=total.lorentz_force + share * term.lorentz_force,
        friction=total.friction + share * term.friction,
        gas_power=total.gas_power + share * term.gas_power,
        preionizer_power=total.preionizer_power + share * term.preionizer_power,
        wall_heat=total.wall_heat + share * term.wall_heat,
        joule_heating=total.joule_heating + share * term.joule_heating,
        force_work=total.force_work + share * term.force_work,
        electrode_drop_power=total.electrode_drop_power + share * term.electrode_drop_power,
        plasma_current=total.plasma_current + share * term.plasma_current,
        back_emf=total.back_emf + share * term.back_emf,
        field=total.field + share * term.field,
    )


@compiled
def joined(before: Marched, after: Marched) -> Marched:
    """Two marches, one behind the other, as one."""
    return Marched(after.outcome, after.state, with_added(before.integrals, 1.0, after.integrals))


@compiled
def plasma_of(
    gas: Gas, channel: Channel, flow: Flow, arriving: Drift, reach: float, sources: Sources
) -> tuple[Plasma, Surroundings, Drift]:
    """What the gas conducts, and its electrons: in equilibrium, or after the last stretch of their drift.

    Parameters
    ----------
    arriving : Drift
        [1/kg] electrons a stretch before.
    reach : float
        [m] of that stretch.
    """
    sigma, mobility = electrical(gas, flow.xi, flow.z, flow.pressure)
    relaxation = channel.relaxation
    if not relaxation.on:
        sigma *= channel.conductivity_factor * channel.nozzle_lag
        return Plasma(sigma, mobility * channel.conductivity_factor), NO_SURROUNDINGS, arriving
    equilibrium = sigma / (c.e * mobility) * channel.nozzle_lag
    mobility *= channel.conductivity_factor
    density = flow.mass_flux / flow.velocity
    T = temperature(flow.xi, flow.z)
    here = surroundings_at(relaxation, flow.pressure, T, density, flow.velocity, equilibrium)
    electrons = drifted(arriving, here, reach, sources)
    return Plasma(c.e * electrons.felt * density * mobility, mobility), here, electrons


@compiled
def terms_and_flow(
    passage: Passage,
    segment: Segment,
    drive: Drive,
    x: float,
    state: FlowState,
    reach: float,
    sources: Sources,
    heater_power: float,
    power_density: float,
    curve: NDArray[np.float64],
    station: Row,
) -> tuple[int, Terms, Flow, Surroundings, Drift]:
    """Outcome, the equations' terms, flow and electrons at x [m], which is written down as a station.

    Parameters
    ----------
    state : FlowState
        The fluxes there, a first guess of the gas state, and the electrons as they arrive.
    reach : float
        [m] over which those have still to drift in what surrounds them here.
    heater_power : float
        [W/m] where the drive is HEATER.
    power_density : float
        [W/m³] of a pre-ioniser.
    curve : NDArray
        [V, A/m²] what the cathode gives, as in `current_at`.
    """
    gas, channel, field = passage
    section = section_at(channel, x)
    outcome, flow = supersonic_flow(gas, state, channel.mass_flow, section.area)
    if outcome != OK:
        return outcome, NOTHING, flow, NO_SURROUNDINGS, state.electrons
    B = field_at(field, x / channel.length)
    plasma, here, electrons, current = NO_PLASMA, NO_SURROUNDINGS, state.electrons, NO_CURRENT
    if drive.mode != HEATER and (segment.within_pair or channel.relaxation.on):
        plasma, here, electrons = plasma_of(gas, channel, flow, state.electrons, reach, sources)
    if segment.within_pair:
        current = current_at(
            segment.electrodes, drive, section, flow.velocity, plasma, B, heater_power, curve
        )
    shear = wall_shear(channel.friction_coefficient, flow.mass_flux, flow.velocity)
    heat_flux = wall_heat_flux(
        channel.heat_transfer_factor,
        channel.friction_coefficient,
        flow.mass_flux,
        flow.velocity,
        flow.enthalpy,
        channel.wall_enthalpy,
    )
    term = terms_at(section, flow, current, shear, heat_flux, power_density)
    record(station, x, section, flow, state, B, plasma, current, term, electrons, here)
    return OK, term, flow, here, electrons


@compiled
def march(passage: Passage, segment: Segment, drive: Drive, state: FlowState, track: Track) -> Marched:
    """March one segment.

    Parameters
    ----------
    state : FlowState
        At the start.
    """
    gas, channel, _ = passage
    gas_power, curve, stations = track
    F, H, xi, z = state.momentum_flux, state.total_enthalpy, state.xi, state.z
    xi_slope, z_slope = 0.0, 0.0  # per length, from the step before: Newton's first guesses are extrapolated
    heater_power, power_density, preionized, discharge = 0.0, 0.0, 0.0, 0.0
    integrals = NOTHING
    relaxing = channel.relaxation.on and drive.mode != HEATER
    electrons = pending = arriving = state.electrons
    reach = 0.0
    first = here = NO_SURROUNDINGS
    sources = first_sources = NO_SOURCES
    x_end = segment.start
    for n in range(segment.steps):
        x_start, x_end = x_end, step_edge(segment, n + 1)
        h = x_end - x_start
        xi_start, z_start = xi, z
        F_sum, H_sum, dF, dH = 0.0, 0.0, 0.0, 0.0
        if channel.relaxation.on:
            share = share_preionized(channel.relaxation, x_start, x_end)
            preionized, power_density = (
                share * channel.relaxation.source,
                share * channel.relaxation.power_density,
            )
        for stage in range(4):
            ahead, weight = _AHEAD[stage] * h, _WEIGHT[stage] * h
            if stage == 1:
                xi_start, z_start = xi, z
                xi, z = xi + 0.5 * h * xi_slope, z + 0.5 * h * z_slope
            elif stage == 3:
                xi, z = 2.0 * xi - xi_start, 2.0 * z - z_start
            if drive.mode == HEATER:
                heater_power = gas_power[4 * n + stage]
            if relaxing and stage == 1:
                first_sources = sources
                arriving, reach = to_middle(electrons, first, sources, h)
            elif relaxing and stage == 3:
                pending, reach = to_end(electrons, first, here, first_sources, sources, h)
                arriving = only_felt(pending)
            elif relaxing and stage == 0:
                arriving = pending
            trial = FlowState(F + ahead * dF, H + ahead * dH, xi, z, arriving)
            x, station = x_start + ahead, stations[2 * n + _ROW[stage]]
            outcome, term, flow, here, drift = terms_and_flow(
                passage,
                segment,
                drive,
                x,
                trial,
                reach,
                sources,
                heater_power,
                power_density,
                curve,
                station,
            )
            if outcome != OK:
                return Marched(outcome, FlowState(F, H, flow.xi, flow.z, electrons), integrals)
            if drive.mode == POWERED or drive.mode == COLUMN:
                gas_power[4 * n + stage] = term.gas_power
            if relaxing:
                if stage == 0:
                    electrons, first = drift, here
                discharge = term.joule_heating * flow.mass_flux / channel.mass_flow
                sources = Sources(preionized, discharge / segment.pair_energy)
            xi, z = flow.xi, flow.z
            dF, dH = momentum(term), energy(term, channel.mass_flow)
            F_sum += weight * dF
            H_sum += weight * dH
            integrals = with_added(integrals, weight, term)
        F += F_sum
        H += H_sum
        xi_slope, z_slope = (xi - xi_start) / h, (z - z_start) / h
        if not inside(gas, xi, z):
            return Marched(OUTSIDE_TABLE, FlowState(F, H, xi, z, electrons), integrals)
    last, station = FlowState(F, H, xi, z, pending), stations[2 * segment.steps]
    outcome, _, flow, _, electrons = terms_and_flow(
        passage,
        segment,
        drive,
        segment.end,
        last,
        reach,
        sources,
        heater_power,
        power_density,
        curve,
        station,
    )
    if segment.within_pair and drive.mode != HEATER:
        electrons = behind_pair(electrons)
    return Marched(outcome, FlowState(F, H, flow.xi, flow.z, electrons), integrals)
