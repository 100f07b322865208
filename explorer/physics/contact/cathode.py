"""What a cathode can give: electrons that it emits, and ions that reach it through the cool layer.

Ions come from where electrons that outlive the cooling still recombine: a quasi-neutral part of the layer that ends in
an absorbing edge, the sheath's, and beyond it Child's law with collisions. Both must carry one current; that sets the
edge y_s. Voltage, field and both currents are explicit in y_s and fall as it moves toward the wall, so that each
question (current of a voltage, voltage of a current, current behind a gas) is one root in ln(y_s/(s − y_s)), by Newton
with a bracket, which is halved where a step is not half of the last but one: Newton alone leaps between two flats.
CONTACT.md, section 3.

Formulas take numbers or arrays that broadcast, and are built into compiled code.
"""

from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numba.extending import overload

from explorer import constants as c
from explorer.physics.compiled import Values, elementwise
from explorer.physics.contact.cool_layer import (
    CoolLayer,
    ambipolar_diffusivity,
    ion_mobility,
    survival_length,
)

#: Richardson's constant of a metal [A/(m² K²)]; handbooks give 60 A/(cm² K²) for tungsten.
RICHARDSON: Final[float] = 6e5

#: Absorbing edge of a recombining layer: flux = D n_c/y · [1 + (S/S_0)^a]^(−b). a b = 2 and S_0 follow from the limit
#: S → ∞, where n_c no longer counts (n″ = n² between infinity and zero: flux 33.09 D²/(β y³)).
_ABSORBED: Final = (2.35, 1.43, 1.4)

_STEPS: Final[int] = 48  # of Newton with a bracket at most; most cases need 6, the farthest some 30
_SETTLED: Final[float] = 1e-11  # change of the edge's coordinate
_FARTHEST: Final[float] = 90.0  # ln(y_s/(s − y_s)) of the bracket's ends
_LEAST: Final[float] = 1e-30  # [V, A/m²] in place of zero, under a logarithm


class Cathode(NamedTuple):
    """A cathode behind its cool layer; each field one number, or an array of them."""

    layer: CoolLayer
    work_function: Values  #: [J]
    ion_factor: Values  #: [-] multiplies the ions' current


class CathodeState(NamedTuple):
    """What stands at a cathode at one place of the sheath's edge."""

    voltage: Values  #: [V] V_s across the sheath
    field: Values  #: [V/m] at the surface, 1.5 V_s/(s − y_s)
    ion_current: Values  #: [A/m²]
    emission: Values  #: [A/m²]
    sheath_share: Values  #: [-] of the layer's thickness, (s − y_s)/s
    voltage_slope: Values  #: [-] d ln V_s by the edge's coordinate
    current_slope: Values  #: [A/m²] of ions and emission together by the edge's coordinate


class _Edge(NamedTuple):
    """Where the sheath's edge is looked for."""

    w: Values  #: [-]
    low: Values  #: [-] ends of the bracket
    high: Values
    moved: Values  #: [-] by the last step
    moved_before: Values  #: [-] by the one before


def _settled(change: Values) -> bool:
    """Whether a root needs no more steps: compiled code asks point by point, arrays take them all.

    So that a point's number does not depend on which others stand beside it.
    """
    return False


def _settled_compiled(change: Values) -> Callable[[Values], bool]:
    def settled(change: Values) -> bool:
        return bool(abs(change) < _SETTLED)

    return settled


overload(_settled)(_settled_compiled)


@elementwise
def richardson_emission(temperature: Values, work_function: Values, field: Values) -> Values:
    """Current density that a hot surface emits, lifted by its field (Schottky) [A/m²].

    Parameters
    ----------
    temperature : float or array
        [K] of the surface.
    work_function : float or array
        [J]
    field : float or array
        [V/m] that draws electrons out, not negative; it takes away the whole work function at most.
    """
    barrier = np.maximum(work_function - np.sqrt(c.e**3 * field / (4.0 * np.pi * c.epsilon_0)), 0.0)
    return RICHARDSON * temperature * temperature * np.exp(-barrier / (c.k * temperature))


@elementwise
def state_at(cathode: Cathode, w: Values) -> CathodeState:
    """What stands at a cathode whose sheath begins at y_s = s/(1 + e^(−w)).

    Parameters
    ----------
    w : float or array
        [-] ln(y_s/(s − y_s)), the edge's coordinate.
    """
    layer, (S_0, a, b) = cathode.layer, _ABSORBED
    s, T_w, fall = layer.thickness, layer.wall_temperature, layer.core_temperature - layer.wall_temperature
    t, r = 1.0 / (1.0 + np.exp(-w)), 1.0 / (1.0 + np.exp(w))  # shares of plasma and sheath
    T_plasma, T_sheath = layer.core_temperature - 0.5 * fall * t, T_w + 0.5 * fall * r
    z = (s * t / survival_length(layer, T_plasma) / S_0) ** a
    diffusivity = ambipolar_diffusivity(layer.pressure, T_plasma)
    ions = c.e * diffusivity * layer.core_density / (s * t) * (1.0 + z) ** (-b)
    mobility = ion_mobility(layer.pressure, T_sheath)
    voltage = np.sqrt(8.0 / 9.0 * ions * (s * r) ** 3 / (c.epsilon_0 * mobility))
    field = 1.5 * voltage / (s * r)
    emission = richardson_emission(T_w, cathode.work_function, field)
    # slopes by w, recombination's temperature taken as three-body's: near enough for Newton
    ion_slope = -r * (1.0 + fall * t / T_plasma) * (1.0 + a * b * z / (1.0 + z))
    voltage_slope = 0.5 * (ion_slope - 3.0 * t + 0.5 * fall * t * r / T_sheath)
    lifted = np.sqrt(c.e**3 * field / (4.0 * np.pi * c.epsilon_0))
    lift = (lifted < cathode.work_function) * lifted / (c.k * T_w)
    current = cathode.ion_factor * ions
    slope = current * ion_slope + emission * 0.5 * lift * (voltage_slope + t)
    return CathodeState(voltage, field, current, emission, r, voltage_slope, slope)


@elementwise
def _bracketed(begin: Values) -> _Edge:
    """The sheath's edge anywhere, at first guess here."""
    return _Edge(begin, -_FARTHEST, _FARTHEST, 2.0 * _FARTHEST, 2.0 * _FARTHEST)


@elementwise
def _nearer(edge: _Edge, excess: Values, newton: Values) -> _Edge:
    """One step toward where an excess, which falls with w, is zero: Newton's w − newton, or half the bracket."""
    low = edge.low + (excess > 0.0) * (edge.w - edge.low)
    high = edge.high + (excess <= 0.0) * (edge.w - edge.high)
    step, middle = edge.w - newton, 0.5 * (low + high)
    trusted = (step >= low) * (step <= high) * (abs(step - edge.w) <= 0.5 * edge.moved_before)
    w = middle + trusted * (step - middle)
    return _Edge(w, low, high, abs(w - edge.w), edge.moved)


@elementwise
def state_of_voltage(cathode: Cathode, voltage: Values) -> CathodeState:
    """What stands at a cathode with a voltage across its sheath.

    Parameters
    ----------
    voltage : float or array
        [V] V_s, not negative.
    """
    wanted = np.log(np.maximum(voltage, _LEAST))
    edge = _bracketed(0.0 * wanted)
    for _ in range(_STEPS):
        state = state_at(cathode, edge.w)
        excess = np.log(np.maximum(state.voltage, _LEAST)) - wanted
        edge = _nearer(edge, excess, excess / state.voltage_slope)
        if _settled(edge.moved):
            break
    return state_at(cathode, edge.w)


@elementwise
def cathode_current(cathode: Cathode, voltage: Values) -> Values:
    """Most that a cathode gives at a voltage across its sheath, j_em + j_ion(V_s) [A/m²].

    Parameters
    ----------
    voltage : float or array
        [V] V_s, the cathode's share of the drop, not negative.
    """
    state = state_of_voltage(cathode, voltage)
    return state.emission + state.ion_current


@elementwise
def cathode_voltage(cathode: Cathode, current: Values) -> Values:
    """Voltage across the sheath that a current density needs [V]; 0 where the cathode gives it without.

    Parameters
    ----------
    current : float or array
        [A/m²] not negative.
    """
    wanted = np.log(np.maximum(current, _LEAST))
    edge = _bracketed(0.0 * wanted)
    for _ in range(_STEPS):
        state = state_at(cathode, edge.w)
        total = state.emission + state.ion_current
        excess = np.log(total) - wanted
        edge = _nearer(edge, excess, excess * total / state.current_slope)
        if _settled(edge.moved):
            break
    return state_at(cathode, edge.w).voltage


@elementwise
def limited_current(
    cathode: Cathode, driving_voltage: Values, gap_resistance: Values, cathode_share: Values
) -> tuple[Values, Values]:
    """Current density and drop where the cathode limits: |d| = V_d + j g/σ_e, j = j_em + j_ion(share · V_d).

    Parameters
    ----------
    driving_voltage : float or array
        [V] |d|, not negative.
    gap_resistance : float or array
        [ohm m²] g/σ_e of the gas.
    cathode_share : float or array
        [-] of the drop V_d that lies across the cathode's sheath, above zero.

    Returns
    -------
    tuple
        j [A/m²] and V_d [V]; where the cathode gives more than the gas lets through, the gas's j and no drop.
    """
    wanted = np.log(np.maximum(driving_voltage, _LEAST))
    edge = _bracketed(0.0 * (wanted + gap_resistance))
    for _ in range(_STEPS):
        state = state_at(cathode, edge.w)
        drop, total = state.voltage / cathode_share, state.emission + state.ion_current
        whole = drop + total * gap_resistance
        excess = np.log(whole) - wanted
        slope = (drop * state.voltage_slope + state.current_slope * gap_resistance) / whole
        edge = _nearer(edge, excess, excess / slope)
        if _settled(edge.moved):
            break
    last = state_at(cathode, edge.w)
    j = np.minimum(last.emission + last.ion_current, driving_voltage / gap_resistance)
    return j, driving_voltage - j * gap_resistance
