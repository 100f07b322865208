"""Inputs of a study that concern the gas: mixture, seed, chamber and corrections to the conductivity.

Bounds are physical: a value outside cannot exist or leaves the model. Defaults say whether they are a neutral
choice ("default": no correction) or a guess about the hardware ("assumed").
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity, factor, length, named, not_negative, positive, share

_PROPELLANTS: Final = {
    "gas.oxidizer_concentration": share(
        "c_ox",
        "Mass of hydrogen peroxide in the oxidiser over the mass of the oxidiser, the rest being water.",
        shown_unit="%",
        low_open=True,
        may_be_uncertain=False,
    ),
    "gas.custom_fuel.enthalpy_of_formation": Quantity(
        "Δ_f H",
        "Enthalpy of formation of a fuel that the registry doesn't know, at 298.15 K in the phase injected.",
        "J/mol",
        "kJ/mol",
        sign="negative where forming it from the elements releases heat",
    ),
    "gas.custom_fuel.density": positive(
        "ρ_f",
        "Density of the custom fuel as injected, for its volume flow; no volume flow is given without it.",
        "kg/m^3",
        may_be_uncertain=False,
    ),
    "gas.custom_oxidizer.enthalpy_of_formation": Quantity(
        "Δ_f H",
        "Enthalpy of formation of an oxidiser that the registry doesn't know, at 298.15 K as injected.",
        "J/mol",
        "kJ/mol",
        sign="negative where forming it from the elements releases heat",
    ),
    "gas.custom_oxidizer.density": positive(
        "ρ_ox",
        "Density of the custom oxidiser as injected, for its volume flow.",
        "kg/m^3",
        may_be_uncertain=False,
    ),
    "gas.mixture_ratio": positive(
        "O/F",
        "Oxidiser mass flow over fuel mass flow, the seed and its carrier water in neither.",
        shapes_gas_table=True,
    ),
    "gas.seed_fraction": not_negative(
        "y_s",
        "Mass of alkali metal injected over the mass of everything injected.",
        shown_unit="%",
        high=1.0,
        shapes_gas_table=True,
    ),
    "gas.seed_water": not_negative(
        "w_s",
        "Mass of carrier water over mass of seed compound; 0 where the seed is dissolved in the fuel.",
        default=0.0,
        default_origin="default",
        shapes_gas_table=True,
    ),
    "gas.seed_vaporized": share(
        "η_s",
        "Share of the seed compound that vaporises in time; the rest leaves as inert grains.",
        shapes_gas_table=True,
    ),
}

_TRACE: Final = {
    "gas.trace_alkali": positive(
        "y_t",
        "Mass of potassium over mass of gas where no seed is fed: no unseeded gas is clean (0.1 to 10 ppm, assumed).",
        shown_unit="ppm",
        low=1e-8,
        low_open=False,
        high=1e-4,
        high_open=False,
        shapes_gas_table=True,
    ),
}

_CHAMBER: Final = {
    "gas.chamber_pressure": positive("p_c", "Absolute stagnation pressure in the chamber.", "Pa", "bar"),
    "gas.combustion_efficiency": share(
        "η_c*",
        "Characteristic velocity reached over that of complete, adiabatic equilibrium combustion.",
        low_open=True,
    ),
    "gas.heat_loss_share": share(
        "s_h",
        "Share of the characteristic velocity's deficit that is lost heat; the rest is poor mixing, which leaves the"
        " seeded gas hot.",
        default=1.0,
        default_origin="assumed",
    ),
}

_HEATED: Final = {
    "gas.stagnation_temperature": positive(
        "T_0",
        "Temperature to which a gas stated by its components is heated without a flame, before it expands.",
        "K",
        low=300.0,
        low_open=False,
        high=6000.0,
        high_open=False,
    ),
}

_flow = partial(positive, unit="kg/s", shown_unit="g/s")

_FLOWS: Final = {
    "gas.flows.fuel": _flow("ṁ_f", "Mass flow of fuel, as set at the stand."),
    "gas.flows.oxidizer": _flow("ṁ_ox", "Mass flow of oxidiser, as set at the stand."),
    "gas.flows.seed_solution": _flow(
        "ṁ_s", "Mass flow of the seed compound with its carrier water, as set at the stand."
    ),
}


def _orifice(stream: str, what: str) -> dict[str, Quantity]:
    """Return what describes the orifice of a stream."""
    head = f"gas.flows.{stream}_orifice"
    return {
        f"{head}.diameter": length("d", f"Diameter of the orifice of the {what}."),
        f"{head}.discharge_coefficient": share(
            "C_d", f"Flow through the orifice of the {what} over that without losses.", low_open=True
        ),
        f"{head}.upstream_pressure": positive(
            "p_up", f"Absolute pressure before the orifice of the {what}.", "Pa", "bar"
        ),
        f"{head}.density": positive(
            "ρ", f"Density of the {what} in its orifice; left out where it is known here.", "kg/m^3"
        ),
    }


def _of_gas(stream: str, what: str) -> dict[str, Quantity]:
    """Return what describes the orifice of a stream that may be a gas."""
    temperature = positive("T_up", f"Temperature before the orifice of the {what}, where it is a gas.", "K")
    return {**_orifice(stream, what), f"gas.flows.{stream}_orifice.upstream_temperature": temperature}


_ORIFICES: Final = {
    **_of_gas("fuel", "fuel"),
    **_of_gas("oxidizer", "oxidiser"),
    **_orifice("seed_solution", "seed solution"),
}

_CONDUCTIVITY: Final = {
    "gas.conductivity_factor": factor(
        "f_σ",
        "Multiplies the electrons' mobility, for what is not known of their cross sections.",
    ),
    "gas.burn_time": positive("t_b", "How long a firing lasts, gas and current on.", "s"),
    "gas.recombination_factor": factor(
        "f_β", "Multiplies the rate at which electrons and ions recombine (known to a factor 2)."
    ),
    "gas.nozzle_lag": share(
        "f_lag",
        "Multiplies the electron density, for what late recombination in this nozzle leaves cold.",
        constant=True,
        default=1.0,
        default_origin="assumed",
    ),
}

GAS_INPUTS: Final[tuple[Quantity, ...]] = (
    *named(_PROPELLANTS, formula="explorer.physics.propellant"),
    *named(_TRACE, formula="explorer.stage.gas.propellants"),
    *named(_CHAMBER, formula="explorer.stage.gas.expansion"),
    *named(_HEATED, formula="explorer.stage.gas.expansion"),
    *named(_FLOWS, formula="explorer.stage.gas.feeding"),
    *named(_ORIFICES, formula="explorer.physics.feed.orifices"),
    *named(_CONDUCTIVITY, formula="explorer.physics.conductivity"),
)
