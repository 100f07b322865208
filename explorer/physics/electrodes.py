"""The electrode pair: how voltage drop and gas resistance share the driving voltage at one place. Compiled."""

import numpy as np

from explorer import constants as c
from explorer.physics.compiled import compiled


@compiled
def current_density(
    driving_voltage: float,
    gap_resistance: float,
    voltage_drop: float,
    drop_resistance: float,
    arc_voltage: float,
) -> tuple[float, float, float, bool]:
    """Current density through gas and electrode layers driven by d = V − u B g.

    The drop of both electrodes is V_d(j) = min(V_0 + r_d|j|, V_arc); below V_0 nothing flows.

    Parameters
    ----------
    driving_voltage : float
        [V] d, either sign.
    gap_resistance : float
        [ohm m²] g/σ_e, the gas's share.
    voltage_drop : float
        [V] V_0.
    drop_resistance : float
        [ohm m²] r_d.
    arc_voltage : float
        [V] V_arc, infinite if there is none; not below V_0.

    Returns
    -------
    tuple
        j [A/m²] with the sign of d, V_d [V], dj/dd [A/(V m²)], whether the discharge is constricted.
    """
    magnitude = abs(driving_voltage)
    if not magnitude > voltage_drop:
        return 0.0, voltage_drop, 0.0, False
    sign = 1.0 if driving_voltage > 0.0 else -1.0
    resistance = gap_resistance + drop_resistance
    j = (magnitude - voltage_drop) / resistance
    drop = voltage_drop + drop_resistance * j
    plateau = max(arc_voltage, voltage_drop)
    if drop > plateau:
        return sign * (magnitude - plateau) / gap_resistance, plateau, 1.0 / gap_resistance, True
    return sign * j, drop, 1.0 / resistance, False


@compiled
def effective_conductivity(conductivity: float, hall_parameter: float, segmented: bool) -> float:
    """σ/(1+β²) for continuous electrodes, which short the Hall field; σ for segmented ones [S/m].

    Parameters
    ----------
    conductivity : float
        [S/m] σ.
    hall_parameter : float
        [-] β = µB.
    """
    if segmented:
        return conductivity
    return conductivity / (1.0 + hall_parameter * hall_parameter)


@compiled
def hall_field(current_density: float, field: float, electron_density: float, segmented: bool) -> float:
    """Axial Hall field |j| B/(e n_e) of segmented electrodes; continuous ones short it [V/m].

    Parameters
    ----------
    current_density : float
        [A/m²]
    field : float
        [T]
    electron_density : float
        [1/m³]
    """
    if not segmented:
        return 0.0
    return float(np.abs(current_density * field) / (c.e * electron_density))
