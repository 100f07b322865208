"""What the inputs of a study must obey together, at central values."""

import math
from collections.abc import Mapping
from typing import Final

from explorer.physics import propellant
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inputs.substances import field_profile_of, fuel_of, oxidizer_of, seed_of

_CLEARANCE: Final[float] = 1e-9  #: by which edges may miss each other through rounding [m]


def check_plausible(choices: Mapping[str, str], central: Mapping[str, float], pairs: tuple[str, ...]) -> None:
    """Refuse a geometry, a circuit or a gas that cannot be; the pairs stand along the flow."""
    _check_inlet(central)
    _check_profile(choices, central["channel.length"])
    _check_pairs(central, pairs)
    _check_gas(choices, central)


def _check_inlet(central: Mapping[str, float]) -> None:
    throat = 0.25 * math.pi * central["nozzle.throat_diameter"] ** 2
    inlet = central["channel.gap_in"] * central["channel.width_in"]
    if inlet < throat:
        raise StudyError(
            f"the channel's inlet ({1e6 * inlet:.4g} mm²) is smaller than the throat"
            f" ({1e6 * throat:.4g} mm²): enlarge channel.gap_in or channel.width_in",
            "channel.gap_in",
        )


def _check_profile(choices: Mapping[str, str], length: float) -> None:
    profile = field_profile_of(choices)
    if profile is not None and not (profile.x[0] <= _CLEARANCE and profile.x[-1] >= length - _CLEARANCE):
        raise refusal(
            "magnet.profile.file",
            f"the field was measured from {_mm(profile.x[0])} to {_mm(profile.x[-1])}, the channel runs from 0 mm to"
            f" {_mm(length)}",
        )


def _check_pairs(central: Mapping[str, float], pairs: tuple[str, ...]) -> None:
    length, end_before, before = central["channel.length"], 0.0, ""
    for pair in pairs:
        head = f"electrodes.{pair}"
        start = central[f"{head}.start"]
        end = start + central[f"{head}.length"]
        if end > length + _CLEARANCE:
            raise StudyError(
                f"{head} ends at {_mm(end)}, outside the channel of {_mm(length)}", f"{head}.length"
            )
        if before and start < end_before - _CLEARANCE:
            raise StudyError(
                f"{head} overlaps electrodes.{before}: it begins at {_mm(start)}, before the other ends at"
                f" {_mm(end_before)}",
                f"{head}.start",
            )
        arc, drop = central[f"{head}.arc_voltage"], central[f"{head}.voltage_drop"]
        if arc < drop:
            raise StudyError(
                f"{head}.arc_voltage ({arc:g} V) lies below {head}.voltage_drop ({drop:g} V)",
                f"{head}.arc_voltage",
            )
        end_before, before = end, pair


def _check_gas(choices: Mapping[str, str], values: Mapping[str, float]) -> None:
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
        raise refusal(
            "gas.mixture_ratio",
            f"{ratio:g} leaves less oxygen than carbon, and the species data hold no soot: raise it",
        )


def _mm(length: float) -> str:
    return f"{1e3 * length:.4g} mm"
