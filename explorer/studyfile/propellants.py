"""The substances and the measured field that a study names, as the physics wants them."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from explorer.physics import propellant
from explorer.physics.compounds import (
    FUELS,
    OXIDIZERS,
    SEEDS,
    Compound,
    Phase,
    custom_compound,
    hydrogen_peroxide,
)
from explorer.physics.field_profile import FieldProfile, profile_from_text
from explorer.studyfile.error import StudyError


def fuel_of(choices: Mapping[str, str], values: Mapping[str, float]) -> Compound:
    """Return the fuel that the study chose."""
    if choices["gas.fuel"] == "custom":
        return _custom("fuel", choices, values)
    return FUELS[choices["gas.fuel"]]


def oxidizer_of(choices: Mapping[str, str], values: Mapping[str, float]) -> Compound:
    """Return the oxidizer that the study chose."""
    if choices["gas.oxidizer"] == "custom":
        return _custom("oxidizer", choices, values)
    if choices["gas.oxidizer"] == "hydrogen peroxide":
        return hydrogen_peroxide(values["gas.oxidizer_concentration"])
    return OXIDIZERS[choices["gas.oxidizer"]]


def seed_of(choices: Mapping[str, str]) -> Compound | None:
    """Return the seed compound that the study chose, None for none."""
    return SEEDS[choices["gas.seed"]]


def _custom(what: str, choices: Mapping[str, str], values: Mapping[str, float]) -> Compound:
    head = f"gas.custom_{what}"
    phases: dict[str, Phase] = {"gas": "gas", "liquid": "liquid", "solid": "solid"}
    try:
        compound = custom_compound(
            f"custom {what}",
            choices[f"{head}.formula"],
            enthalpy_of_formation=values[f"{head}.enthalpy_of_formation"],
            phase=phases[choices[f"{head}.phase"]],
        )
    except ValueError as error:
        raise StudyError(f"{head}.formula: {error}", f"{head}.formula") from error
    return replace(compound, density=values.get(f"{head}.density"))


def field_profile_of(choices: Mapping[str, str]) -> FieldProfile | None:
    """Return the measured field that the study names, None where its magnet is of another kind."""
    if choices["magnet.kind"] != "profile":
        return None
    address, file = "magnet.profile.file", Path(choices["magnet.profile.file"])
    try:
        return profile_from_text(file.read_text(encoding="utf-8"), name=file.name)
    except FileNotFoundError:
        raise StudyError(f"{address}: no such file {file}", address) from None
    except OSError as error:
        raise StudyError(f"{address}: {file} cannot be read ({error.strerror})", address) from error
    except UnicodeDecodeError as error:
        raise StudyError(f"{address}: {file} is not UTF-8", address) from error
    except ValueError as error:
        raise StudyError(f"{address}: {error}", address) from error


def check_gas(choices: Mapping[str, str], values: Mapping[str, float]) -> None:
    """Refuse propellants that cannot burn to a gas of the species data, at central values."""
    ratio = values["gas.mixture_ratio"]
    gas = propellant.gas_composition(
        mixture_ratio=ratio,
        seed_fraction=values["gas.seed_fraction"],
        seed_water=values["gas.seed_water"],
        seed_vaporized=values["gas.seed_vaporized"],
        seed=seed_of(choices),
    )
    if not float(gas.fuel_fraction) > 0:
        raise StudyError(
            "seed and carrier water leave no room for propellants: lower gas.seed_fraction or gas.seed_water",
            "gas.seed_fraction",
        )
    elements = propellant.elements_per_kg(
        mixture_ratio=ratio,
        alkali_fraction=gas.alkali_fraction,
        carrier_water_fraction=gas.carrier_water_fraction,
        fuel=fuel_of(choices, values),
        oxidizer=oxidizer_of(choices, values),
        seed=seed_of(choices),
    )
    if float(propellant.oxygen_to_carbon(elements)) < 1:
        raise StudyError(
            f"gas.mixture_ratio: {ratio:g} leaves less oxygen than carbon, and the species data hold no soot:"
            " raise it",
            "gas.mixture_ratio",
        )
