"""What the inputs of a study must obey together, at central values."""

import math
from collections.abc import Mapping
from typing import Final

from explorer.physics import propellant
from explorer.physics.compounds import METAL_SEEDS
from explorer.physics.feed.orifices import vapour_pressure
from explorer.stage.design import magnet_temperature
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inputs.stated_gas import is_fed, is_heated
from explorer.studyfile.inputs.substances import field_profile_of, fuel_of, oxidizer_of, seed_of

_CURIE: Final[float] = 585.0  #: temperature above which neodymium magnets are none [K] (312 °C, from memory)
_CLEARANCE: Final[float] = 1e-9  #: by which edges may miss each other through rounding [m]


def check_plausible(choices: Mapping[str, str], central: Mapping[str, float], pairs: tuple[str, ...]) -> None:
    """Refuse a geometry, a circuit or a gas that cannot be; the pairs stand along the flow."""
    _check_inlet(central)
    _check_profile(choices, central["channel.length"])
    _check_pairs(central, pairs)
    _check_arcs(choices, central, pairs)
    _check_pulses(choices, central, pairs)
    _check_preionizer(central, pairs)
    _check_magnet(central)
    if is_heated(choices) or is_fed(choices):
        _check_stated_gas(choices, central)
    else:
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


def _check_magnet(central: Mapping[str, float]) -> None:
    """Refuse blocks that are no magnets any more when the firing ends."""
    if "magnet.blocks.heat_leak" not in central:
        return
    warmest = float(magnet_temperature(central))
    if warmest > _CURIE:
        raise refusal(
            "magnet.blocks.heat_leak",
            f"the blocks end at {warmest - 273.15:.3g} °C, above the {_CURIE - 273.15:.3g} °C at which neodymium"
            " magnets cease to be any: lower it, or gas.burn_time",
        )


def _check_preionizer(central: Mapping[str, float], pairs: tuple[str, ...]) -> None:
    """Refuse a pre-ioniser outside the channel, between electrodes, or one that no pair lies behind."""
    if "preionizer.start" not in central:
        return
    start = central["preionizer.start"]
    end, length = start + central["preionizer.length"], central["channel.length"]
    if end > length + _CLEARANCE:
        raise refusal("preionizer.length", f"it ends at {_mm(end)}, outside the channel of {_mm(length)}")
    last = f"electrodes.{pairs[-1]}"
    behind = central[f"{last}.start"] + central[f"{last}.length"]
    if start > behind - _CLEARANCE:
        raise refusal(
            "preionizer.start",
            f"it begins at {_mm(start)}, downstream of all pairs, which end at {_mm(behind)}: its electrons would meet"
            " no electrode",
        )
    for pair in pairs:
        upstream = central[f"electrodes.{pair}.start"]
        downstream = upstream + central[f"electrodes.{pair}.length"]
        if start < downstream and end > upstream:
            raise refusal(
                "preionizer.length",
                f"it ends at {_mm(end)}, between the electrodes of {pair} ({_mm(upstream)} to {_mm(downstream)}), where"
                " what falls off behind it is not resolved: end it before them",
            )


def _check_arcs(choices: Mapping[str, str], central: Mapping[str, float], pairs: tuple[str, ...]) -> None:
    """Refuse a supply without any limit behind computed layers: an arc through them would draw whatever there is."""
    for pair in pairs:
        source = f"electrodes.{pair}.source"
        computed = choices[f"electrodes.{pair}.layer"] == "computed" and choices[f"{source}.kind"] == "supply"
        held = central.get(f"{source}.resistance", 0.0) > 0.0 or math.isfinite(
            central.get(f"{source}.current_limit", math.inf)
        )
        if computed and not held:
            raise refusal(
                f"{source}.current_limit",
                "an arc through computed layers draws what the supply lets through: state that, or the supply's"
                " resistance",
            )


def _check_pulses(choices: Mapping[str, str], central: Mapping[str, float], pairs: tuple[str, ...]) -> None:
    """Refuse a capacitor whose time or charger isn't told with its rate."""
    for pair in pairs:
        source = f"electrodes.{pair}.source"
        if choices[f"{source}.kind"] != "capacitor":
            continue
        rate, charger = central.get(f"{source}.rate"), central.get(f"{source}.charger_power")
        if rate is None and "gas.burn_time" not in central:
            raise StudyError(
                f'missing key "gas.burn_time" (or "{source}.rate"): a capacitor without a rate discharges once, as long'
                " as the firing",
                "gas.burn_time",
            )
        if rate is None and charger is not None:
            raise StudyError(
                f'"{source}.charger_power" does not fit: a capacitor without a rate is not charged again',
                f"{source}.charger_power",
            )
        if rate is not None and charger is None:
            raise StudyError(
                f'missing key "{source}.charger_power": a capacitor with a rate is charged again between pulses',
                f"{source}.charger_power",
            )


def _check_gas(
    choices: Mapping[str, str], values: Mapping[str, float], *, said: str = "gas.mixture_ratio"
) -> None:
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
        what = f"{ratio:g}" if said == "gas.mixture_ratio" else f"the flows' mixture ratio of {ratio:.4g}"
        raise refusal(
            said, f"{what} leaves less oxygen than carbon, and the species data hold no soot: raise it"
        )


def _check_stated_gas(choices: Mapping[str, str], values: Mapping[str, float]) -> None:
    """Refuse a metal in water, a gas that would be liquid in its feed, and stated flows that leave soot."""
    name = choices["gas.seed"]
    if name in METAL_SEEDS.values() and values["gas.seed_water"] > 0.0:
        raise refusal("gas.seed_water", f"{name} reacts violently with water: state 0")
    orifice = "gas.flows.seed_solution_orifice"
    if f"{orifice}.diameter" in values and not values["gas.seed_water"] > 0.0:
        raise refusal(
            orifice,
            f"{name} without water is solid and flows through no orifice: state gas.flows.seed_solution, or"
            " gas.seed_water above 0",
        )
    for stream in ("fuel", "oxidizer"):
        head = f"gas.flows.{stream}_orifice"
        temperature = values.get(f"{head}.upstream_temperature")
        if temperature is None:
            continue
        most = vapour_pressure(choices[f"gas.{stream}"], temperature)
        if values[f"{head}.upstream_pressure"] > most:
            raise refusal(
                f"{head}.upstream_pressure",
                f"{choices[f'gas.{stream}']} is a liquid above {most / 1e5:.3g} bar at {temperature:.4g} K, and boils"
                f" on its way through an orifice: state gas.flows.{stream}",
            )
    fuel, oxidizer = (values.get(f"gas.flows.{stream}") for stream in ("fuel", "oxidizer"))
    solution = values.get("gas.flows.seed_solution", 0.0)
    if fuel is not None and oxidizer is not None:
        compound = solution / (1.0 + values["gas.seed_water"])
        seed = seed_of(choices)
        alkali = compound * (propellant.alkali_mass_fraction(seed) if seed else 0.0)
        made = {
            "gas.mixture_ratio": oxidizer / fuel,
            "gas.seed_fraction": alkali / (fuel + oxidizer + solution),
        }
        _check_gas(choices, {**values, **made}, said="gas.flows.oxidizer")


def _mm(length: float) -> str:
    return f"{1e3 * length:.4g} mm"
