"""The substances and the measured field that a study names, as the physics wants them."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, cast

from explorer.physics.compounds import (
    FUELS,
    METAL_SEEDS,
    OXIDIZERS,
    SEEDS,
    Compound,
    Phase,
    custom_compound,
    hydrogen_peroxide,
)
from explorer.physics.feed.heated_gas import carrier, shares_of_text
from explorer.stage.gas.feeding import Feed, Stream
from explorer.stage.gas.propellants import HeatedGas, Propellants, Substances
from explorer.studyfile.document import STREAMS
from explorer.studyfile.error import refusal
from explorer.studyfile.files import bytes_of_file
from explorer.studyfile.inputs.stated_gas import is_fed, is_heated, phase_of

#: What a trace of alkali in a gas without seed is counted as.
TRACE: Final = METAL_SEEDS["K"]

if TYPE_CHECKING:
    from explorer.physics.field_profile import FieldProfile


def fuel_of(choices: Mapping[str, str], values: Mapping[str, float]) -> Compound:
    """Return the fuel that the study chose."""
    custom = choices["gas.fuel"] == "custom"
    fuel = _custom("fuel", choices, values) if custom else FUELS[choices["gas.fuel"]]
    return replace(fuel, density=values.get("gas.flows.fuel_orifice.density", fuel.density))


def oxidizer_of(choices: Mapping[str, str], values: Mapping[str, float]) -> Compound:
    """Return the oxidiser that the study chose."""
    if choices["gas.oxidizer"] == "custom":
        oxidizer = _custom("oxidizer", choices, values)
    elif choices["gas.oxidizer"] == "hydrogen peroxide":
        oxidizer = hydrogen_peroxide(values["gas.oxidizer_concentration"])
    else:
        oxidizer = OXIDIZERS[choices["gas.oxidizer"]]
    return replace(oxidizer, density=values.get("gas.flows.oxidizer_orifice.density", oxidizer.density))


def seed_of(choices: Mapping[str, str]) -> Compound | None:
    """Return the seed compound that the study chose, None for none."""
    return SEEDS[choices["gas.seed"]]


def propellants_of(choices: Mapping[str, str], values: Mapping[str, float]) -> Substances:
    """Return what the study burns or only heats, with its seed."""
    trace = "gas.trace_alkali" in values
    seed = SEEDS[TRACE] if trace else seed_of(choices)
    if not is_heated(choices):
        return Propellants(fuel_of(choices, values), oxidizer_of(choices, values), seed, trace)
    shares = shares_of_text(choices["gas.components"])
    return HeatedGas(carrier(shares, choices["gas.components_by"]), seed, trace)


def feed_of(choices: Mapping[str, str], values: Mapping[str, float]) -> Feed | None:
    """Return how the streams come to their flows, None where the study states the mixture."""
    if not is_fed(choices):
        return None
    compounds = {"fuel": fuel_of(choices, values), "oxidizer": oxidizer_of(choices, values)}
    return Feed(*(_stream(name, choices, values, compounds.get(name)) for name in STREAMS))


def _stream(
    name: str, choices: Mapping[str, str], values: Mapping[str, float], compound: Compound | None
) -> Stream:
    if f"gas.flows.{name}_orifice.diameter" not in values:
        return Stream(name, "stated", compound)
    return Stream(name, "gas" if phase_of(name, choices) == "gas" else "liquid", compound)


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
