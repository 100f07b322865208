"""What a pair without a spark is to a pulsed source: a voltage and a resistance, with the leak beside it. Compiled."""

from typing import Final, NamedTuple

import numpy as np

from explorer.physics.compiled import compiled
from explorer.stage.pair_current import MOST_VOLTAGE, Picture, current_through, frozen_current

_HALVINGS: Final[int] = 100


class Diffuse(NamedTuple):
    """A pair that conducts diffusely, linear between no current and one current of its source."""

    resistance: float  #: [ohm] of gas, layers and leak together; infinite where nothing conducts
    gas_share: float  #: [-] of the heat in that resistance, the core's
    plasma_share: float  #: [-] of the current, the rest leaks
    constricted: bool  #: whether the drop has reached its plateau at that current


@compiled
def drawn_at(picture: Picture, leak_conductance: float, voltage: float) -> tuple[float, float]:
    """Current [A] of a frozen pair and its leak at a terminal voltage [V], and the plasma's own."""
    plasma = max(frozen_current(picture, voltage)[0], 0.0)
    return plasma + leak_conductance * voltage, plasma


@compiled
def diffuse_at(
    picture: Picture, leak_conductance: float, voltage: float, resistance: float, current_limit: float
) -> Diffuse:
    """The pair at the current that a source of this voltage [V] and resistance [ohm] drives through it.

    Parameters
    ----------
    leak_conductance : float
        [S]
    current_limit : float
        [A] that the source gives at most.
    """
    frozen, electrodes, curve = picture
    middle = frozen[frozen.size // 2]
    low, high = 0.0, voltage
    for _ in range(_HALVINGS):
        at = 0.5 * (low + high)
        drawn, _ = drawn_at(picture, leak_conductance, at)
        if drawn > current_limit or at + resistance * drawn > voltage:
            high = at
        else:
            low = at
    drawn, plasma = drawn_at(picture, leak_conductance, high)
    if not drawn > 0.0:
        return Diffuse(np.inf, 1.0, 1.0, False)
    whole = max(high - middle.back_emf - electrodes.voltage_drop, 0.0) / drawn
    core = 0.0
    for n in range(frozen.size):
        core += frozen[n].weight / frozen[n].gap_resistance
    of_gas = min(plasma / drawn / core / whole, 1.0) if whole > 0.0 else 1.0
    driving = high - middle.back_emf
    _, _, _, constricted = current_through(driving, middle.gap_resistance, electrodes, curve)
    return Diffuse(whole, of_gas, plasma / drawn, constricted)


#: A source of which only the current is known, as `diffuse_at` takes it [V].
ANY_VOLTAGE: Final[float] = MOST_VOLTAGE
