"""A gas table of a perfect gas with constant γ, σ and µ, for the solver to be held against closed forms.

Laid out as `explorer.stage.gas.table.gas_table` lays out its own, so the solver can't tell the difference.
"""

from dataclasses import dataclass

import numpy as np

from explorer.stage import columns
from explorer.stage.channel import Channel, Passage
from explorer.stage.gas.flow import FlowState
from explorer.stage.gas.lookup import HEADER, gas_space
from explorer.stage.gas.spline import prefiltered
from explorer.stage.gas.table import SHEAR, Axis, GasTable, TableAxes
from explorer.stage.kernel import operating_points
from explorer.stage.march import Track, march
from explorer.stage.pair_current import Drive, Electrodes
from explorer.stage.segments import Setting
from explorer.stage.stations import STATION, Segment

#: Of one pair's setting: layers stated, nothing that strikes an arc beside its source, no alkali.
STATED = np.array([False]), np.array([False]), np.array([False]), np.array([0], dtype=np.int8), False


@dataclass(frozen=True)
class PerfectGas:
    """γ [-], R [J/(kg K)], σ [S/m] and µ [m²/(V s)]; the table spans the temperatures [K] and pressures [Pa]."""

    gamma: float
    gas_constant: float
    conductivity: float = 10.0
    mobility: float = 1e-6
    temperatures: tuple[float, float] = (1500.0, 6500.0)
    pressures: tuple[float, float] = (1e4, 1e7)

    @property
    def heat_capacity(self):
        return self.gas_constant * self.gamma / (self.gamma - 1.0)

    def sound_speed(self, temperature):
        return np.sqrt(self.gamma * self.gas_constant * temperature)

    def axes(self):
        z = np.log(self.pressures)
        xi = np.log(self.temperatures) - SHEAR * z[::-1]
        one = Axis.over(0.0, 0.0, 1.0)
        wall = Axis.over(np.log(300.0), np.log(3000.0), 0.1)
        return TableAxes(
            one, one, one, Axis.over(*xi, 0.02), Axis.over(*z, 0.1), wall, Axis.over(z[0], z[1], 1.0)
        )

    def row(self):
        """Coefficients, flattened, in double precision."""
        axes = self.axes()
        xi, z = np.meshgrid(axes.xi.values, axes.ln_pressure.values, indexing="ij")
        T = np.exp(xi + SHEAR * z)
        wall = np.exp(axes.ln_wall_temperature.values)[:, None] + 0.0 * axes.ln_wall_pressure.values
        blocks = [
            np.stack([self.heat_capacity * T, self.gas_constant * T], axis=-1),
            self.heat_capacity * np.log(T) - self.gas_constant * z,
            np.stack([np.full_like(T, np.log(self.conductivity)), self.mobility * np.exp(z)], axis=-1),
            self.heat_capacity * wall,
        ]
        loss = np.full(axes.xi.nodes + 2, np.log(1e4))
        return np.concatenate([*(prefiltered(prefiltered(block, 0), 1).ravel() for block in blocks), loss])

    def table(self):
        row = self.row()[None, None, None, :]
        return GasTable(np.ascontiguousarray(row, dtype=np.float32), self.axes().as_array())

    def gas(self):
        """As the march reads it."""
        row = self.row()
        gas = gas_space(self.axes().as_array(), row.size)
        gas[HEADER:] = row
        return gas


@dataclass(frozen=True)
class Marched:
    """Where a march ended: outcome, u [m/s], p [Pa], T [K]."""

    outcome: int
    velocity: float
    pressure: float
    temperature: float


def marched(
    perfect,
    *,
    velocity,
    pressure,
    temperature,
    length,
    area_growth=0.0,
    friction_coefficient=0.0,
    mode,
    electric_field=0.0,
    field=0.0,
    power=0.0,
    steps=64,
):
    """March a square channel of 0.1 m: the width grows by `area_growth` of itself, heat only as `power` [W/m]."""
    side = 0.1
    mass_flow = pressure / (perfect.gas_constant * temperature) * velocity * side**2
    channel = Channel(
        length=length,
        gap_in=side,
        gap_out=side,
        width_in=side,
        width_out=side * (1.0 + area_growth),
        friction_coefficient=friction_coefficient,
        heat_transfer_factor=0.0,
        wall_enthalpy=0.0,
        mass_flow=mass_flow,
        conductivity_factor=1.0,
        nozzle_lag=1.0,
    )
    z = float(np.log(pressure))
    start = FlowState(
        float(mass_flow * velocity + pressure * side**2),
        float(perfect.heat_capacity * temperature + 0.5 * velocity**2),
        float(np.log(temperature) - SHEAR * z),
        z,
    )
    outcome, end, _ = march(
        Passage(perfect.gas(), channel, np.array([field])),
        Segment(0.0, length, steps, True, Electrodes(0.0, 0.0, np.inf, True, 0.0)),
        Drive(mode, electric_field * side, 0.0, 0.0, 0.0),
        start,
        Track(np.full(4 * steps, power), np.zeros((2, 2)), np.zeros(2 * steps + 1, dtype=STATION)),
    )
    p = np.exp(end.z)
    u = (end.momentum_flux - p * side * channel.width_out) / mass_flow
    return Marched(outcome, u, p, np.exp(end.xi + SHEAR * end.z))


def operated(perfect, point, pair, *, field, segmented, supplies, pair_steps=8):
    """One complete operating point through the kernel: its outputs and its pair's by name, and the outcome."""
    points = np.array([[point[name] for name in columns.INPUTS]])
    pairs = np.array([[[pair[name] for name in columns.PAIR_INPUTS]]])
    results = np.empty((1, len(columns.OUTPUTS)))
    pair_results = np.empty((1, 1, len(columns.PAIR_OUTPUTS)))
    outcomes = np.empty(1, dtype=np.int8)
    table = perfect.table()
    operating_points(
        table.coefficients,
        table.axes,
        points,
        pairs,
        np.array([[field]]),
        Setting(np.array([segmented]), np.array([supplies]), *STATED, 1, pair_steps, True),
        results,
        pair_results,
        outcomes,
    )
    found = dict(zip(columns.OUTPUTS, results[0].tolist(), strict=True))
    return {**found, **dict(zip(columns.PAIR_OUTPUTS, pair_results[0, 0].tolist(), strict=True))}, int(
        outcomes[0]
    )
