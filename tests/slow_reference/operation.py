"""Operating point of a pair: its terminal voltage as a bracketed root over marches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from .channel import Choked, Duct, Station, integral, march, open_circuit
from .circuit import Pair, Plasma, current_density, powered
from .gas import EquilibriumGas, State


@dataclass(frozen=True)
class Profile:
    """A pair's stretch of a given march, frozen: currents on it cost no equilibrium."""

    pair: Pair
    x: NDArray[np.float64]
    width: NDArray[np.float64]
    back_emf: NDArray[np.float64]
    conductance: NDArray[np.float64]

    def plasma_current(self, V: float) -> float:
        j = current_density(self.pair, V, self.back_emf, self.conductance)[0]
        return float(np.trapezoid(j * self.width, self.x))

    @property
    def threshold(self) -> float:
        """Terminal voltage at which the net plasma current becomes positive."""
        low, high, V_0 = self.back_emf.min(), self.back_emf.max(), self.pair.voltage_drop
        if 0.5 * (high - low) <= V_0:
            return float(low + V_0)
        return float(brentq(self.plasma_current, low - V_0, high + V_0, xtol=1e-12 * (1.0 + high)))


def profile(pair: Pair, path: Sequence[Station], duct: Duct, plasma: Plasma) -> Profile:
    """Freeze a march over the pair."""
    gap = np.array([duct.gap(s.x) for s in path])
    sigma = np.array([plasma.at(s.state, segmented=pair.segmented)[2] for s in path])
    return Profile(
        pair=pair,
        x=np.array([s.x for s in path]),
        width=np.array([duct.width(s.x) for s in path]),
        back_emf=np.array([s.u for s in path]) * plasma.field * gap,
        conductance=sigma / gap,
    )


@dataclass(frozen=True)
class Operation:
    """A pair at its operating point."""

    pair: Pair
    in_contact: bool
    V: float
    plasma_current: float
    path: list[Station]

    @property
    def current(self) -> float:
        return self.plasma_current + self.pair.leak_conductance * self.V


def operation(
    gas: EquilibriumGas,
    duct: Duct,
    plasma: Plasma,
    pair: Pair,
    state: State,
    u: float,
    places: Sequence[float],
) -> Operation:
    """Operating point of a pair that a given flow enters.

    Raises
    ------
    Choked
        If the open pair, or the operating point itself, chokes.
    """
    idle = march(gas, duct, state, u, places, open_circuit)
    frozen = profile(pair, idle, duct, plasma)
    threshold = frozen.threshold
    marches: dict[float, list[Station] | None] = {}

    def path_at(V: float) -> list[Station] | None:
        if V not in marches:
            near = [v for v, path in marches.items() if path is not None]
            like = marches[min(near, key=lambda v: abs(v - V))] if near else idle
            try:
                marches[V] = march(gas, duct, state, u, places, powered(pair, V, duct, plasma), like)
            except Choked:
                marches[V] = None
        return marches[V]

    def plasma_current(V: float) -> float | None:
        path = path_at(V)
        return None if path is None else integral(path, lambda s: s.discharge.j * duct.width(s.x))

    def missing(V: float) -> tuple[float, bool]:
        """The circuit's shortage at V, and whether that trial choked: then only its sign means something."""
        current = plasma_current(V)
        if current is None:
            return (1.0 if threshold >= V else -1.0), True
        return pair.shortage(V, current), False

    if pair.supply:
        low, high = 0.0, pair.no_load_voltage
        contact = high > frozen.back_emf.max() + pair.voltage_drop
        if not contact and high > min(threshold, frozen.back_emf.min() + pair.voltage_drop):
            current = plasma_current(high)
            contact = high > threshold if current is None else current > 0.0
        V_idle = high
    else:
        low, high = 0.0, float(frozen.back_emf.max())
        contact = high > pair.voltage_drop
        V_idle = 0.0
    if not contact:
        return Operation(pair, False, V_idle, 0.0, idle)

    V = _root(pair, frozen, low, high, missing, plasma_current)
    path = path_at(V)
    current = plasma_current(V)
    assert path is not None
    assert current is not None
    return Operation(pair, True, V, current, path)


def _root(
    pair: Pair,
    frozen: Profile,
    low: float,
    high: float,
    missing: Any,
    plasma_current: Any,
) -> float:
    """Voltage where `missing` vanishes: first from the frozen profile, then by safeguarded secants."""
    scale = max(high, float(frozen.back_emf.max()))
    known: list[tuple[float, float]] = []
    low_choked = high_choked = False
    ratio = 1.0

    def frozen_root() -> float:
        def shortage(V: float) -> float:
            return pair.shortage(V, ratio * frozen.plasma_current(V))

        if shortage(high) >= 0.0:
            return high
        return float(brentq(shortage, low, high, xtol=1e-13 * scale)) if shortage(low) > 0.0 else low

    V = frozen_root()
    for trial in range(80):
        value, choked = missing(V)
        if value == 0.0:
            return V
        if value > 0.0:
            low, low_choked = V, choked
        else:
            high, high_choked = V, choked
        if choked and high - low < 1e-7 * scale:
            raise Choked
        if not choked:
            known.append((V, value))
        if trial == 0 and not choked and frozen.plasma_current(V) != 0.0:
            ratio = plasma_current(V) / frozen.plasma_current(V)
            following = frozen_root() if ratio > 0.0 else 0.5 * (low + high)
        elif len(known) > 1 and not choked:
            (V_a, a), (V_b, b) = known[-2:]
            following = V_b - b * (V_b - V_a) / (b - a) if b != a else 0.5 * (low + high)
        else:
            following = 0.5 * (low + high)
        if not choked and abs(following - V) < 1e-9 * scale:
            return V
        if not low < following < high or (trial > 4 and trial % 3 == 0):
            following = 0.5 * (low + high)
        if high - low < 1e-10 * scale:
            if low_choked or high_choked:
                raise Choked
            return V
        V = following
    raise RuntimeError("no terminal voltage found")
