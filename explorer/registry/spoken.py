"""How sentences call inputs and outputs: "thrust gain" for thrust_gain."""

from typing import Final

#: Where the words of an address don't say it as the trade does.
_OTHERS: Final = {
    "channel.gap_in": "gap at the inlet",
    "channel.gap_out": "gap at the outlet",
    "channel.width_in": "width at the inlet",
    "channel.width_out": "width at the outlet",
    "gas.seed_water": "water of the seed solution",
    "gas.seed_vaporized": "share of seed vaporised",
    "gas.heat_loss_share": "heat's share of the combustion loss",
    "magnet.field": "magnetic field",
    "magnet.profile.scale": "scale of the field profile",
    "exit.area_ratio": "exit area ratio",
    "ambient.pressure": "ambient pressure",
    "ambient.altitude": "altitude",
    "electrodes.*.start": "start",
    "electrodes.*.length": "length",
    "electrodes.*.source.kind": "source",
    "electrodes.*.layout": "electrode layout",
    "electrodes.*.layer": "cool layers",
    "electrodes.*.struck": "igniter",
    "electrodes.*.material": "electrode material",
    "electrodes.*.shape": "electrode shape",
    "electrodes.*.pair_energy": "energy for an electron of the discharge",
    "gas.ionization": "ionisation",
    "nozzle.length": "nozzle length",
    "preionizer.power": "pre-ioniser's power",
    "preionizer.coupling": "pre-ioniser's coupling",
    "preionizer.pair_energy": "energy for an electron of the pre-ioniser",
    "preionizer.start": "pre-ioniser's start",
    "preionizer.length": "pre-ioniser's length",
    "freezing": "inlet's electrons over equilibrium",
    "preionizer_electron_density": "electron density behind the pre-ioniser",
    "preionizer_unaided_density": "electron density there without it",
    "preionizer_conductivity": "conductivity behind the pre-ioniser",
    "preionizer_unaided_conductivity": "conductivity there without it",
    "decay_length": "decay length of the pre-ioniser's electrons",
    "start_electron_density": "electron density at the start",
    "start_unaided_density": "unaided electron density at the start",
    "start_conductivity": "conductivity at the start",
    "start_unaided_conductivity": "unaided conductivity at the start",
    "electrodes.*.discharge_carried": "share of the flow's way",
    "electrodes.*.source.inductance": "source inductance",
    "electrodes.*.source.energy": "coil's energy",
    "electrodes.*.source.peak_voltage": "coil's peak voltage",
    "electrodes.*.source.rate": "pulse rate",
    "electrodes.*.source.pulse_length": "pulse length",
    "electrodes.*.source.charger_power": "charger's power",
    "charger_use": "use of the charger",
    "pulses_in_passage": "pulses in the gas's passage",
    "discharge_voltage": "discharge's voltage",
    "end_voltage": "capacitor's voltage after a pulse",
    "force_per_source_power": "pulses' force per power",
    "pulsed_force_per_power": "most force per power of pulses",
    "firings_lasted": "firings that an electrode lasts",
    "contact": "form of contact",
    "contact_margin": "margin to the next form of contact",
    "electrodes.*.source.voltage": "source voltage",
    "electrodes.*.source.resistance": "source resistance",
    "mass.magnet": "mass of the magnet",
    "field": "magnetic field",
    "back_emf": "back EMF",
    "inlet_mach": "Mach number at the inlet",
    "outlet_mach": "Mach number at the outlet",
    "exit_mach": "Mach number at the exit",
    "lorentz_force": "Lorentz force",
    "joule_heating": "Joule heating",
    "max_current_density": "largest current density",
    "max_hall_field": "largest Hall field",
    "max_reduced_field": "largest reduced field",
    "electron_excess": "electrons' excess temperature",
    "electron_excess_share": "relative electron excess",
    "inlet_hall_parameter": "Hall parameter at the inlet",
    "reynolds_number": "Reynolds number",
    "magnetic_reynolds_number": "magnetic Reynolds number",
    "thrust_open_circuit": "thrust with all pairs open",
    "thrust_gain_heating": "plain heater's thrust gain",
    "burnout_velocity": "burn-out velocity",
    "break_even_specific_power": "break-even specific power",
    "break_even_specific_energy": "break-even specific energy",
    "break_even_gain": "break-even gain factor",
    "burnout_altitude": "burn-out altitude",
}

#: Tables that tell what a single word belongs to.
_OWNERS: Final = {
    "channel": "channel",
    "blocks": "magnet block",
    "custom_fuel": "fuel",
    "custom_oxidizer": "oxidiser",
}


def spoken(address: str) -> str:
    """Return the words of an address, a pair left out, in the spelling of all prose here: "oxidiser"."""
    if address in _OTHERS:
        return _OTHERS[address]
    *tables, name = address.split(".")
    plain = _plain(name)
    if tables and tables[-1].endswith("_orifice"):
        return f"{plain} of the {_plain(tables[-1])}"
    if tables and tables[-1] == "flows":
        return f"flow of {plain}"
    owner = _OWNERS.get(tables[-1]) if tables else None
    return f"{owner} {plain}" if owner and " " not in plain else plain


def _plain(name: str) -> str:
    return name.replace("_", " ").replace("oxidizer", "oxidiser")
