"""The substances and the measured field that a study names, as the physics wants them."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, cast

from explorer.physics.compounds import (
    FUELS,
    OXIDIZERS,
    SEEDS,
    Compound,
    Phase,
    custom_compound,
    hydrogen_peroxide,
)
from explorer.studyfile.error import refusal
from explorer.studyfile.files import bytes_of_file

if TYPE_CHECKING:
    from explorer.physics.field_profile import FieldProfile


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
    try:
        compound = custom_compound(
            f"custom {what}",
            choices[f"{head}.formula"],
            enthalpy_of_formation=values[f"{head}.enthalpy_of_formation"],
            phase=cast(Phase, choices[f"{head}.phase"]),
        )
    except ValueError as error:
        raise refusal(f"{head}.formula", error) from error
    return replace(compound, density=values.get(f"{head}.density"))


def field_profile_of(choices: Mapping[str, str]) -> "FieldProfile | None":
    """Return the measured field that the study names, None where its magnet is of another kind."""
    if choices["magnet.kind"] != "profile":
        return None
    from explorer.physics.field_profile import profile_from_text  # with SciPy's interpolation, slow to load

    address, file = "magnet.profile.file", Path(choices["magnet.profile.file"])
    try:
        return profile_from_text(bytes_of_file(file).decode("utf-8"), name=file.name)
    except FileNotFoundError:
        raise refusal(address, f"no such file {file}") from None
    except OSError as error:
        raise refusal(address, f"{file} cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise refusal(address, f"{file} is not UTF-8") from error
    except ValueError as error:
        raise refusal(address, error) from error
