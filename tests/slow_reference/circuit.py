"""Electrode pairs: their circuits and the local current density."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import constants

from .channel import Discharge, Driver, Duct
from .gas import EquilibriumGas, State


@dataclass(frozen=True)
class Pair:
    """One pair of electrodes and its circuit."""

    name: str
    start: float
    length: float
    segmented: bool
    voltage_drop: float
    drop_resistance: float
    arc_voltage: float  #: infinite where there is none
    leak_conductance: float
    supply: bool
    source_voltage: float
    current_limit: float
    source_resistance: float
    end_spread: float
    electrode_length: float  #: as stated; start and length are those of the conducting stretch

    @property
    def no_load_voltage(self) -> float:
        """Terminal voltage of the supply with no plasma current: only the leak draws."""
        R, G = self.source_resistance, self.leak_conductance
        return min(self.source_voltage / (1.0 + R * G), self.current_limit / G if G > 0.0 else np.inf)

    def shortage(self, V: float, plasma_current: float) -> float:
        """Falls through zero, as V rises, at the circuit's operating point [V]."""
        current = plasma_current + self.leak_conductance * V
        if not self.supply:
            return -(V + self.source_resistance * current)
        by_voltage = self.source_voltage - V - self.source_resistance * current
        by_limit = (self.current_limit - current) * self.source_voltage / self.current_limit
        return min(by_voltage, by_limit)


def pairs_from(inputs: Mapping[str, Any]) -> list[Pair]:
    """The pairs of a point in order along the flow."""
    names = {key.split(".")[1] for key in inputs if key.startswith("electrodes.")}
    pairs = []
    for name in names:
        own = {k.split(".", 2)[2]: v for k, v in inputs.items() if k.startswith(f"electrodes.{name}.")}
        arc = own.get("arc_voltage")
        limit = own.get("source.current_limit")
        pairs.append(
            Pair(
                name=name,
                start=float(own["start"]),
                length=float(own["length"]),
                segmented=own["layout"] == "segmented",
                voltage_drop=float(own["voltage_drop"]),
                drop_resistance=float(own.get("drop_resistance", 0.0)),
                arc_voltage=np.inf if arc is None else float(arc),
                leak_conductance=float(own.get("leak_conductance", 0.0)),
                supply=own["source.kind"] == "supply",
                source_voltage=float(own.get("source.voltage", 0.0)),
                current_limit=np.inf if limit is None else float(limit),
                source_resistance=float(own.get("source.resistance", 0.0)),
                end_spread=float(own.get("end_spread", 0.0)),
                electrode_length=float(own["length"]),
            )
        )
    return sorted(pairs, key=lambda pair: pair.start)


@dataclass(frozen=True)
class Plasma:
    """The gas's conductivity with the stage's own factors."""

    gas: EquilibriumGas
    factor: float  #: conductivity_factor, of the mobility
    lag: float  #: nozzle_lag, of the electron density
    field: float

    def at(self, state: State, *, segmented: bool) -> tuple[float, float, float]:
        """Electron density, σ and σ_e [1/m³, S/m, S/m]."""
        n_e, mobility = self.gas.plasma(state)
        n_e *= self.lag
        mobility *= self.factor
        sigma = constants.e * n_e * mobility
        hall = mobility * self.field
        return n_e, sigma, sigma if segmented else sigma / (1.0 + hall**2)


def conducting(pairs: list[Pair], duct: Duct, plasma: Plasma, inlet: State) -> list[Pair]:
    """The pairs as long as their current reaches: it spreads beyond their ends, by layers less."""
    found = []
    for n, pair in enumerate(pairs):
        end = pair.start + pair.length
        gap = duct.gap((pair.start + end) / 2.0)
        _, _, sigma = plasma.at(inlet, segmented=pair.segmented)
        growth = pair.end_spread * 2.0 * np.log(2.0) / np.pi * gap
        growth /= 1.0 + 1.85 * pair.drop_resistance * sigma / gap
        floor = (pairs[n - 1].start + pairs[n - 1].length + pair.start) / 2.0 if n else 0.0
        ceiling = (end + pairs[n + 1].start) / 2.0 if n + 1 < len(pairs) else duct.length
        low, high = max(pair.start - growth / 2.0, floor), min(end + growth / 2.0, ceiling)
        found.append(replace(pair, start=low, length=high - low) if pair.end_spread else pair)
    return found


def current_density(
    pair: Pair,
    V: float,
    back_emf: NDArray[np.float64] | float,
    conductance: NDArray[np.float64] | float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """j [A/m²], drop [V] and whether constricted, from uBg [V] and σ_e/g [S/m²]."""
    d = V - np.asarray(back_emf, dtype=float)
    c = np.asarray(conductance, dtype=float)
    sign, size = np.sign(d), np.abs(d)
    j = np.maximum(size - pair.voltage_drop, 0.0) * c / (1.0 + pair.drop_resistance * c)
    drop = pair.voltage_drop + pair.drop_resistance * j
    constricted = drop > pair.arc_voltage
    j = np.where(constricted, c * (size - np.minimum(pair.arc_voltage, 1e30)), j)
    drop = np.where(j > 0.0, np.minimum(drop, pair.arc_voltage), 0.0)
    return sign * j, drop, constricted


def powered(pair: Pair, V: float, duct: Duct, plasma: Plasma) -> Driver:
    """The discharge between the pair's electrodes at terminal voltage V."""

    def driver(x: float, state: State, u: float) -> tuple[Discharge, float, float]:
        n_e, sigma, sigma_effective = plasma.at(state, segmented=pair.segmented)
        gap, area = duct.gap(x), duct.area(x)
        found = current_density(pair, V, u * plasma.field * gap, sigma_effective / gap)
        j, drop, constricted = float(found[0]), float(found[1]), bool(found[2])
        E = (V - np.sign(j) * drop) / gap
        discharge = Discharge(j, drop, E, sigma, sigma_effective, n_e, constricted)
        return discharge, j * plasma.field * area, j * E * area

    return driver
