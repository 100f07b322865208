"""Inputs of a study that concern the gas: mixture, seed, chamber and corrections to the conductivity.

Bounds are physical: a value outside cannot exist or leaves the model. Defaults say whether they are a neutral
choice ("default": no correction) or a guess about the hardware ("assumed").
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity

_input = partial(Quantity, kind="input", may_be_uncertain=True)
_factor = partial(_input, unit="1", shown_unit="1", low=0.0, low_open=False)  # multiplies; zero switches off
_share = partial(_input, unit="1", shown_unit="1", low=0.0, low_open=False, high=1.0, high_open=False)

_CHAMBER: Final = "explorer.stage.expansion"
_PROPELLANT: Final = "explorer.physics.propellant"
_CONDUCTIVITY: Final = "explorer.physics.conductivity"

GAS_INPUTS: Final[tuple[Quantity, ...]] = (
    # the gas
    _share(
        address="gas.oxidizer_concentration",
        symbol="c_ox",
        shown_unit="%",
        low_open=True,
        sentence="Mass of hydrogen peroxide in the oxidizer over the mass of the oxidizer, the rest being "
        "water.",
        may_be_uncertain=False,
        formula=_PROPELLANT,
    ),
    _input(
        address="gas.custom_fuel.enthalpy_of_formation",
        unit="J/mol",
        shown_unit="kJ/mol",
        symbol="Δ_f H",
        sentence="Enthalpy of formation of a fuel that the registry doesn't know, at 298.15 K in the phase "
        "injected.",
        sign="negative where forming it from the elements releases heat",
        may_be_uncertain=False,
        formula=_PROPELLANT,
    ),
    _input(
        address="gas.custom_fuel.density",
        unit="kg/m^3",
        shown_unit="kg/m^3",
        symbol="ρ_f",
        sentence="Density of the custom fuel as injected, for its volume flow; no volume flow is given "
        "without it.",
        low=0.0,
        may_be_uncertain=False,
        formula=_PROPELLANT,
    ),
    _input(
        address="gas.custom_oxidizer.enthalpy_of_formation",
        unit="J/mol",
        shown_unit="kJ/mol",
        symbol="Δ_f H",
        sentence="Enthalpy of formation of an oxidizer that the registry doesn't know, at 298.15 K as "
        "injected.",
        sign="negative where forming it from the elements releases heat",
        may_be_uncertain=False,
        formula=_PROPELLANT,
    ),
    _input(
        address="gas.custom_oxidizer.density",
        unit="kg/m^3",
        shown_unit="kg/m^3",
        symbol="ρ_ox",
        sentence="Density of the custom oxidizer as injected, for its volume flow.",
        low=0.0,
        may_be_uncertain=False,
        formula=_PROPELLANT,
    ),
    _input(
        address="gas.mixture_ratio",
        unit="1",
        shown_unit="1",
        symbol="O/F",
        sentence="Oxidizer mass flow over fuel mass flow, the seed and its carrier water in neither.",
        low=0.0,
        shapes_gas_table=True,
        formula=_PROPELLANT,
    ),
    _share(
        address="gas.seed_fraction",
        symbol="y_s",
        shown_unit="%",
        sentence="Mass of alkali metal injected over the mass of everything injected.",
        high_open=True,
        shapes_gas_table=True,
        formula=_PROPELLANT,
    ),
    _factor(
        address="gas.seed_water",
        symbol="w_s",
        sentence="Mass of carrier water over mass of seed compound; 0 where the seed is dissolved in the "
        "fuel.",
        shapes_gas_table=True,
        default=0.0,
        default_origin="default",
        formula=_PROPELLANT,
    ),
    _share(
        address="gas.seed_vaporized",
        symbol="η_s",
        sentence="Share of the seed compound that vaporises in time; the rest leaves as inert grains.",
        shapes_gas_table=True,
        formula=_PROPELLANT,
    ),
    _input(
        address="gas.chamber_pressure",
        unit="Pa",
        shown_unit="bar",
        symbol="p_c",
        sentence="Absolute stagnation pressure in the chamber.",
        low=0.0,
        formula=_CHAMBER,
    ),
    _share(
        address="gas.combustion_efficiency",
        symbol="η_c*",
        sentence="Characteristic velocity reached over that of complete, adiabatic equilibrium combustion.",
        low_open=True,
        formula=_CHAMBER,
    ),
    _factor(
        address="gas.conductivity_factor",
        symbol="f_σ",
        sentence="Multiplies the electrical conductivity, for what is not known of the electrons' cross "
        "sections.",
        default=1.0,
        default_origin="default",
        formula=_CONDUCTIVITY,
    ),
    _share(
        address="gas.nozzle_lag",
        symbol="f_lag",
        sentence="Multiplies the electrical conductivity, for what late recombination in this nozzle "
        "leaves cold.",
        default=1.0,
        default_origin="assumed",
        formula=_CONDUCTIVITY,
    ),
)
