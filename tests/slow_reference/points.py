"""Random operating points for the comparison with the slow reference; the ranges stand here.

From bench-like (throat 8 mm) to sounding-rocket-like (45 mm), both modes, both layouts. Everything is drawn
independently except where a comment says otherwise. Uniform unless said. SI.
"""

from __future__ import annotations

from typing import Any

import numpy as np

# fuel, oxidizer, seed, mixture ratios (around or below the stoichiometric one), how often out of 100
GASES: tuple[tuple[str, str, str, tuple[float, float], int], ...] = (
    ("ethanol", "oxygen", "potassium carbonate", (1.5, 2.4), 64),
    ("ethanol", "oxygen", "potassium hydroxide", (1.5, 2.4), 8),
    ("ethanol", "oxygen", "sodium carbonate", (1.7, 2.2), 4),
    ("ethanol", "nitrous oxide", "potassium carbonate", (4.5, 6.0), 5),
    ("methane", "oxygen", "potassium carbonate", (2.8, 3.8), 6),
    ("propane", "nitrous oxide", "potassium hydroxide", (7.5, 9.5), 5),
    ("hydrogen", "oxygen", "cesium carbonate", (5.0, 7.5), 5),
    ("ethanol", "air", "potassium carbonate", (8.0, 9.5), 3),
)


def _logarithmic(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def _gas(rng: np.random.Generator) -> dict[str, Any]:
    weights = np.array([gas[-1] for gas in GASES], dtype=float)
    fuel, oxidizer, seed, ratios, _ = GASES[rng.choice(len(GASES), p=weights / weights.sum())]
    water = rng.uniform(0.95, 1.3)
    if seed == "potassium hydroxide" and rng.random() < 0.5:
        water = 0.0  # dissolved in the fuel
    cold = oxidizer == "air"  # little seed solution and a good chamber, or it hardly conducts
    return {
        "gas.fuel": fuel,
        "gas.oxidizer": oxidizer,
        "gas.mixture_ratio": rng.uniform(*ratios),
        "gas.seed": seed,
        "gas.seed_fraction": _logarithmic(rng, 0.002, 0.005 if cold else 0.02),
        "gas.seed_water": water,
        "gas.seed_vaporized": rng.uniform(0.5, 1.0),
        "gas.chamber_pressure": _logarithmic(rng, 6e5, 30e5),
        "gas.combustion_efficiency": 1.0
        if rng.random() < 0.05
        else rng.uniform(0.96 if cold else 0.9, 0.995),
        "gas.conductivity_factor": _logarithmic(rng, 0.5, 2.0),
        "gas.nozzle_lag": rng.uniform(0.6, 1.0),
    }


def _channel(rng: np.random.Generator, throat_diameter: float, *, cold: bool) -> dict[str, Any]:
    narrow = rng.random() < 0.25  # small and nearly straight: some of these choke, more of them nearly
    largest = 1.4 if cold else 2.4  # gas below 1500 K hardly conducts
    area = (
        np.pi / 4.0 * throat_diameter**2 * (rng.uniform(1.0, 1.15) if narrow else rng.uniform(1.3, largest))
    )
    aspect = rng.uniform(0.8, 1.5)
    gap, width = float(np.sqrt(area * aspect)), float(np.sqrt(area / aspect))
    widening = 0.03 if narrow else 0.25
    return {
        "channel.length": gap * rng.uniform(5.0, 12.0),
        "channel.gap_in": gap,
        "channel.gap_out": gap * (1.0 + rng.uniform(0.0, widening)),
        "channel.width_in": width,
        "channel.width_out": width * (1.0 + rng.uniform(0.0, 0.6 * widening)),
        "channel.wall_temperature": rng.uniform(400.0, 1600.0),
        "channel.friction_coefficient": _logarithmic(rng, 0.002, 0.007),
        "channel.heat_transfer_factor": rng.uniform(0.8, 1.4),
    }


def _pair(rng: np.random.Generator, mode: str, gap: float, field: float) -> dict[str, Any]:
    """Circuit of one pair; voltages lean on the back EMF to expect at 2000 m/s, so that all kinds occur."""
    back_emf = 2000.0 * field * gap
    accelerating = mode == "acceleration"
    drop = rng.uniform(2.0, 20.0) if accelerating else rng.uniform(0.0, min(15.0, 0.7 * back_emf + 1.0))
    pair: dict[str, Any] = {
        "layout": "segmented" if rng.random() < 0.4 else "continuous",
        "voltage_drop": drop,
        "leak_conductance": 0.0 if rng.random() < 0.3 else rng.uniform(0.0, 0.05),
    }
    if rng.random() < 0.85:
        pair["drop_resistance"] = _logarithmic(rng, 0.0005, 0.02)
    if rng.random() < 0.6:
        # in extraction the circuit leaves little above the back EMF, so a reachable plateau lies low
        pair["arc_voltage"] = drop + (
            rng.uniform(5.0, 120.0) if accelerating else 0.3 * rng.random() * back_emf
        )
    if accelerating:
        low = rng.random() < 0.12  # near the threshold, either side of it
        excess = (
            rng.uniform(0.7, 1.2) * (back_emf + drop) if low else back_emf + drop + rng.uniform(20.0, 400.0)
        )
        pair["source.kind"] = "supply"
        pair["source.voltage"] = max(excess, 5.0)
        pair["source.current_limit"] = _logarithmic(rng, 5.0, 300.0)
        pair["source.resistance"] = _logarithmic(rng, 0.02, 2.0)
    else:
        pair["source.kind"] = "load"
        pair["source.resistance"] = _logarithmic(rng, 0.05, 50.0)
    return pair


def _electrodes(rng: np.random.Generator, mode: str, channel: dict[str, Any], field: float) -> dict[str, Any]:
    length, gap = channel["channel.length"], channel["channel.gap_in"]
    if rng.random() < 0.12:
        first, between, second = rng.uniform(0.25, 0.38), rng.uniform(0.03, 0.1), rng.uniform(0.25, 0.38)
        start = rng.uniform(0.05, 0.12)
        places = {"front": (start, first), "back": (start + first + between, second)}
    else:
        start = rng.uniform(0.05, 0.25)
        places = {"main": (start, rng.uniform(0.4, 0.7))}
    found: dict[str, Any] = {}
    for name, (begin, share) in places.items():
        pair = {"start": begin * length, "length": share * length, **_pair(rng, mode, gap, field)}
        found.update({f"electrodes.{name}.{key}": value for key, value in pair.items()})
    return found


def _rounded(value: Any) -> Any:
    """Six significant digits: what the frozen file shows is what was computed."""
    return float(f"{value:.6g}") if isinstance(value, float) else value


def random_point(rng: np.random.Generator) -> dict[str, Any]:
    """Inputs of one random point, by address."""
    mode = "acceleration" if rng.random() < 0.6 else "extraction"
    throat_diameter = _logarithmic(rng, 0.008, 0.045)
    gas = _gas(rng)
    cold = gas["gas.oxidizer"] == "air"
    channel = _channel(rng, throat_diameter, cold=cold)
    field = 0.0 if rng.random() < 0.03 else float(rng.uniform(0.05, 1.5))
    ambient = _logarithmic(rng, 1e3, 101325.0)
    largest_ratio = 2.0 if cold or ambient > 30e3 else 4.0  # no thrust near zero
    own = rng.spawn(1)[0]  # beside the stream, so that what came before stays as it was
    gas["gas.heat_loss_share"] = 1.0 if own.random() < 0.3 else own.uniform(0.0, 1.0)
    point = {
        "mode": mode,
        **gas,
        "nozzle.throat_diameter": throat_diameter,
        "nozzle.discharge_coefficient": rng.uniform(0.95, 0.99),
        **channel,
        "magnet.field": field,
        **_electrodes(rng, mode, channel, field),
        "exit.area_ratio": 1.0 if rng.random() < 0.15 else rng.uniform(1.0, largest_ratio),
        "ambient.pressure": ambient,
    }
    for name in {address.split(".")[1] for address in point if address.startswith("electrodes.")}:
        point[f"electrodes.{name}.end_spread"] = 0.0 if own.random() < 0.3 else own.uniform(0.0, 1.0)
    return {address: _rounded(value) for address, value in point.items()}
