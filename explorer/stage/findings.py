"""What a marched pair shows: its account, and the extremes along it from which warnings follow. Compiled."""

import numpy as np

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.physics.contact.recombination import decay_length
from explorer.physics.electrodes import effective_conductivity, hall_field
from explorer.stage.channel import Channel, Passage
from explorer.stage.columns import ARC, DIFFUSE, Row, Rows
from explorer.stage.contact import Contact
from explorer.stage.gas.lookup import Gas, conductivity_slope, energy_loss_rate, temperature, thermo
from explorer.stage.march import Marched
from explorer.stage.segments import Setting, Workspace, segment_at
from explorer.stage.stations import Segment


@compiled
def write_pair(
    passage: Passage,
    segment: Segment,
    stations: Rows,
    marched: Marched,
    contact: Contact,
    result: Row,
) -> None:
    """Write down what a pair came to, in a row of `columns.PAIR_OUTPUTS`."""
    gas, channel, integrals = passage.gas, passage.channel, marched.integrals
    result.plasma_current, result.terminal_voltage = integrals.plasma_current, contact.voltage
    result.threshold_voltage, result.striking_voltage = contact.threshold, contact.striking
    result.contact_margin = contact.margin
    length = segment.end - segment.start
    result.mean_back_emf = integrals.back_emf / length
    result.field = integrals.field / length
    result.lorentz_force, result.gas_power = integrals.lorentz_force, integrals.gas_power
    result.joule_heating = integrals.joule_heating
    result.electrode_drop_power = integrals.electrode_drop_power
    write_extremes(gas, channel, segment, stations, result)
    write_start(stations, channel, result)
    result.cathode_limited = 0.0
    if contact.column:  # which the core's conductivity doesn't carry, so that these say nothing of it
        result.electron_excess, result.electron_excess_share = 0.0, 0.0
        result.overheating_number, result.max_reduced_field = 0.0, 0.0
        result.constricted = 1.0 if contact.form == ARC else 0.0
    if contact.form != ARC and not contact.column:
        for n in range(2 * segment.steps + 1):
            here = stations[n]
            layers = segment.electrodes.voltage_drop + result.layer_resistance * abs(here.current_density)
            if here.current_density != 0.0 and here.electrode_drop > layers * (1.0 + 1e-9):
                result.cathode_limited = 1.0
    arc = contact.form == DIFFUSE and result.constricted > 0.0  # with stated layers
    result.contact = ARC if arc else contact.form


@compiled
def write_start(stations: Rows, channel: Channel, result: Row) -> None:
    """Write down what electrons reach a pair, where they are followed."""
    here = stations[0]
    result.start_conductivity, result.start_unaided_conductivity = np.nan, np.nan
    result.start_electron_density, result.start_unaided_density = np.nan, np.nan
    if channel.relaxation.on:
        result.start_conductivity = here.conductivity
        result.start_unaided_conductivity = c.e * here.unaided_density * here.mobility
        result.start_electron_density = here.electron_density
        result.start_unaided_density = here.unaided_density


@compiled
def write_preionizer(
    channel: Channel, point: Row, pairs: Rows, setting: Setting, work: Workspace, result: Row
) -> None:
    """Write down the electrons at a pre-ioniser's exit, and how far from there an excess lives."""
    relaxation = channel.relaxation
    result.preionizer_electron_density, result.preionizer_unaided_density = np.nan, np.nan
    result.preionizer_conductivity, result.preionizer_unaided_conductivity = np.nan, np.nan
    result.decay_length = np.nan
    if not (relaxation.on and relaxation.preionizer_end > relaxation.preionizer_start):
        return
    for number in range(2 * pairs.size + 1):
        segment = segment_at(point, pairs, setting, number)
        if segment.end <= segment.start:
            continue
        stations = work.open_stations[number] if number == 0 else work.stations[number]
        for n in range(0, 2 * segment.steps + 1, 2):
            here = stations[n]
            if here.x < relaxation.preionizer_end * (1.0 - 1e-9):
                continue
            result.preionizer_electron_density = here.electron_density
            result.preionizer_unaided_density = here.unaided_density
            result.preionizer_conductivity = here.conductivity
            result.preionizer_unaided_conductivity = c.e * here.unaided_density * here.mobility
            result.decay_length = decay_length(
                here.velocity, here.recombination_rate, here.electron_density, here.equilibrium_density
            )
            return


@compiled
def write_extremes(gas: Gas, channel: Channel, segment: Segment, stations: Rows, result: Row) -> None:
    """Write down a pair's extremes, and its interaction parameter (MODEL.md, sections 7 and 8)."""
    length = segment.end - segment.start
    largest_j, largest_hall, largest_field, overheating, constricted = 0.0, 0.0, 0.0, 0.0, 0.0
    excess, excess_share, field_gap = 0.0, 0.0, 0.0
    for n in range(2 * segment.steps + 1):
        here = stations[n]
        j, sigma, B = abs(here.current_density), here.conductivity, here.magnetic_field
        n_e = sigma / (c.e * here.mobility)
        largest_j = max(largest_j, j)
        field_gap = max(field_gap, abs(B) * here.gap)
        largest_hall = max(largest_hall, hall_field(j, B, n_e, segment.electrodes.segmented))
        if j > 0.0:
            T, p = temperature(here.xi, here.z), np.exp(here.z)
            number_density = p / (c.k * T)
            driving = abs(here.electric_field - here.velocity * B)
            largest_field = max(largest_field, driving / number_density)
            _, h_xi, _, _, _, _ = thermo(gas, here.xi, here.z)
            mass_flux = channel.mass_flow / (here.gap * here.width)
            sigma_e = effective_conductivity(sigma, here.mobility * B, segment.electrodes.segmented)
            loss = energy_loss_rate(gas, here.xi, here.z, p) / channel.conductivity_factor
            hotter = j * j / sigma_e / (1.5 * c.k * n_e * loss)
            excess, excess_share = max(excess, hotter), max(excess_share, hotter / T)
            rise = j * j / sigma * conductivity_slope(gas, here.xi, here.z) * length / (mass_flux * h_xi)
            overheating = max(overheating, rise)
            constricted = max(constricted, here.constricted)
    first = stations[0]
    mass_flux = channel.mass_flow / (first.gap * first.width)
    result.max_current_density, result.max_hall_field = largest_j, largest_hall
    result.interaction_per_length = first.conductivity * first.magnetic_field**2 / mass_flux
    result.overheating_number, result.max_reduced_field = overheating, largest_field
    result.electron_excess, result.electron_excess_share = excess, excess_share
    result.constricted, result.largest_field_gap = constricted, field_gap
