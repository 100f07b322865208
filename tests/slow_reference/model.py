"""The stage's slow reference: one operating point marched directly with Cantera equilibrium, no tables.

An implementation of the stage's equations written independently of the package: it imports nothing of it and
shares with it only the cross-section table. Method on purpose another one: implicit trapezoidal steps in
(T, p), analytic equilibrium derivatives, throat as a root of the equilibrium sound speed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import constants

from .channel import Choked, Duct, Station, heater, integral, march, open_circuit
from .circuit import Pair, Plasma, conducting, pairs_from
from .gas import EquilibriumGas, State
from .mixture import mixture_from
from .nozzle import Nozzle, nozzle, supersonic
from .operation import Operation, operation, profile

Inputs = Mapping[str, Any]
Outputs = dict[str, float | str]

SUMMED = (
    "current",
    "plasma_current",
    "electrical_power",
    "lorentz_force",
    "joule_heating",
    "electrode_drop_power",
)
LOWEST_WALL_TEMPERATURE = 500.0


@dataclass(frozen=True)
class Cost:
    """Equilibria spent on a point: nozzle and all, and those of marches per step of the grid."""

    equilibria: int
    per_step: float


def stretches(pairs: Sequence[Pair], length: float, steps: int) -> list[tuple[list[float], Pair | None]]:
    """Places of each stretch of the channel, its ends on electrode edges; about `steps` steps in all.

    An even number of steps in a pair, so that its middle is a place of the grid.
    """
    edges: list[tuple[float, float, Pair | None]] = []
    x = 0.0
    for pair in pairs:
        edges += [(x, pair.start, None), (pair.start, pair.start + pair.length, pair)]
        x = pair.start + pair.length
    edges.append((x, length, None))
    found: list[tuple[list[float], Pair | None]] = []
    for low, high, pair_here in edges:
        if high - low > 1e-9 * length:
            wanted = steps * (high - low) / length
            number = max(2 * round(wanted / 2.0), 2) if pair_here else max(round(wanted), 1)
            found.append((np.linspace(low, high, number + 1).tolist(), pair_here))
    return found


@dataclass(frozen=True)
class Exit:
    """Gas at the exit, after the expansion behind the channel."""

    state: State
    u: float
    thrust: float


def exit_of(gas: EquilibriumGas, duct: Duct, last: Station, area_ratio: float, ambient: float) -> Exit:
    """Isentropic expansion from the outlet, and the thrust there."""
    area = duct.area(duct.length) * area_ratio
    state, u = last.state, last.u
    if area_ratio != 1.0:
        try:
            state, u = supersonic(gas, state.h + 0.5 * u**2, duct.gas_flow / area, state)
        except ValueError as error:
            raise Choked from error
    return Exit(state, u, duct.gas_flow * u + (state.p - ambient) * area)


def pair_outputs(op: Operation, idle: Sequence[Station], duct: Duct, plasma: Plasma) -> dict[str, float]:
    """What a pair gives, from its operating point and the open-circuit march over it."""
    pair, B = op.pair, plasma.field
    frozen = profile(pair, idle, duct, plasma)
    first = op.path[0]
    _, sigma, _ = plasma.at(first.state, segmented=pair.segmented)
    j = [abs(s.discharge.j) for s in op.path]

    def joule(s: Station) -> float:
        here = s.discharge
        return here.j**2 / here.sigma_effective * duct.area(s.x) if here.j else 0.0

    def hall(s: Station) -> float:
        return abs(s.discharge.j) * B / (constants.e * s.discharge.n_e) if s.discharge.j else 0.0

    return {
        "back_emf": float(np.interp(pair.start + 0.5 * pair.length, frozen.x, frozen.back_emf)),
        "threshold_voltage": frozen.threshold,
        "current": op.current,
        "plasma_current": op.plasma_current,
        "terminal_voltage": op.V,
        "load_factor": (
            op.V * pair.length / integral(op.path, lambda s: s.u * B * duct.gap(s.x)) if B else float("nan")
        ),
        "electrical_power": op.V * op.current,
        "lorentz_force": integral(op.path, lambda s: s.force),
        "joule_heating": integral(op.path, joule),
        "electrode_drop_power": integral(
            op.path, lambda s: abs(s.discharge.j) * s.discharge.drop * duct.width(s.x)
        ),
        "max_current_density": max(j),
        "max_hall_field": max(hall(s) for s in op.path) if pair.segmented else 0.0,
        "interaction_parameter": sigma * B**2 * pair.electrode_length / (first.state.rho * first.u),
        "constricted": float(any(s.discharge.constricted for s in op.path)),
    }


def reference_point(inputs: Inputs, *, steps: int = 24) -> Outputs:
    """Operating point of a stage.

    Parameters
    ----------
    inputs
        Plain SI values (or words) by address; a `magnet.field` only, no blocks or profile.
    steps
        Steps along the channel, about.

    Returns
    -------
    Outputs in SI by address, and `status`: "ok", "no_contact" or "choked" (then no numbers).
    """
    return costed_point(inputs, steps=steps)[0]


def costed_point(inputs: Inputs, *, steps: int = 24) -> tuple[Outputs, Cost]:
    """The same, and what it cost."""
    mixture = mixture_from(inputs)
    gas = EquilibriumGas(mixture)
    efficiency = float(inputs["gas.combustion_efficiency"])
    hot = 1.0 - float(inputs.get("gas.heat_loss_share", 1.0)) * (1.0 - efficiency)
    flow = nozzle(
        gas,
        mixture,
        chamber_pressure=float(inputs["gas.chamber_pressure"]),
        efficiency=hot,
        throat_area=np.pi / 4.0 * float(inputs["nozzle.throat_diameter"]) ** 2,
        discharge_coefficient=float(inputs["nozzle.discharge_coefficient"]),
        inlet_area=float(inputs["channel.gap_in"]) * float(inputs["channel.width_in"]),
    )
    wall = max(float(inputs["channel.wall_temperature"]), LOWEST_WALL_TEMPERATURE)
    duct = Duct(
        length=float(inputs["channel.length"]),
        gap_in=float(inputs["channel.gap_in"]),
        gap_out=float(inputs["channel.gap_out"]),
        width_in=float(inputs["channel.width_in"]),
        width_out=float(inputs["channel.width_out"]),
        friction_coefficient=float(inputs["channel.friction_coefficient"]),
        heat_transfer_factor=float(inputs["channel.heat_transfer_factor"]),
        wall_enthalpy=gas.state(wall, flow.inlet.p).h,
        gas_flow=flow.gas_flow,
        field=float(inputs["magnet.field"]),
    )
    factor, lag = (float(inputs.get(f"gas.{name}", 1.0)) for name in ("conductivity_factor", "nozzle_lag"))
    plasma = Plasma(gas, factor, lag, duct.field)
    grid = stretches(conducting(pairs_from(inputs), duct, plasma, flow.inlet), duct.length, steps)
    before = gas.equilibria
    try:
        outputs = _solved(inputs, gas, duct, plasma, flow, grid)
        poorer = efficiency / hot  # c* of all that flows over that of the seeded streamtube
        outputs["mass_flow"] = flow.gas_flow / poorer / (1.0 - mixture.inert_fraction)
        outputs["characteristic_velocity"] = flow.characteristic_velocity * poorer
    except Choked:
        outputs = {"status": "choked"}
    taken = sum(len(places) - 1 for places, _ in grid)
    return outputs, Cost(gas.equilibria, (gas.equilibria - before) / taken)


def _solved(
    inputs: Inputs,
    gas: EquilibriumGas,
    duct: Duct,
    plasma: Plasma,
    flow: Nozzle,
    grid: Sequence[tuple[list[float], Pair | None]],
) -> Outputs:
    """Marches with all pairs open, on, and heated; outputs of the point."""
    idle: list[list[Station]] = []
    state, u = flow.inlet, flow.inlet_velocity
    for places, _ in grid:
        idle.append(march(gas, duct, state, u, places, open_circuit))
        state, u = idle[-1][-1].state, idle[-1][-1].u

    on: list[list[Station]] = []
    operations: list[tuple[Operation, list[Station]]] = []
    state, u = flow.inlet, flow.inlet_velocity
    for (places, pair), idle_here in zip(grid, idle, strict=True):
        if pair is None:
            on.append(march(gas, duct, state, u, places, open_circuit, like=idle_here))
        else:
            op = operation(gas, duct, plasma, pair, state, u, places)
            operations.append((op, idle_here))
            on.append(op.path)
        state, u = on[-1][-1].state, on[-1][-1].u

    area_ratio, ambient = float(inputs.get("exit.area_ratio", 1.0)), float(inputs["ambient.pressure"])
    exit_idle = exit_of(gas, duct, idle[-1][-1], area_ratio, ambient)
    exit_on = exit_of(gas, duct, on[-1][-1], area_ratio, ambient)
    n_e, sigma, _ = plasma.at(flow.inlet, segmented=True)
    contact = [op.in_contact for op, _ in operations]
    outputs: Outputs = {
        "status": "ok" if any(contact) else "no_contact",
        "flame_temperature": flow.T_adiabatic,
        "chamber_temperature": flow.chamber.T,
        "inlet_pressure": flow.inlet.p,
        "inlet_temperature": flow.inlet.T,
        "inlet_velocity": flow.inlet_velocity,
        "inlet_mach": flow.inlet_velocity / flow.inlet.sound_speed,
        "inlet_conductivity": sigma,
        "inlet_hall_parameter": sigma / (constants.e * n_e) * plasma.field,
        "inlet_electron_density": n_e,
        "wall_heat": sum(integral(path, lambda s: s.heat) for path in on),
        "exit_pressure": exit_on.state.p,
        "exit_temperature": exit_on.state.T,
        "exit_velocity": exit_on.u,
        "exit_mach": exit_on.u / exit_on.state.sound_speed,
        "exit_pressure_change": exit_on.state.p - exit_idle.state.p,
        "thrust_open_circuit": exit_idle.thrust,
        "thrust": exit_on.thrust,
        "thrust_gain": exit_on.thrust - exit_idle.thrust,
        "thrust_gain_heating": _heated_gain(gas, duct, flow, on, exit_idle, area_ratio, ambient),
    }
    found = {op.pair.name: pair_outputs(op, path, duct, plasma) for op, path in operations}
    if len(found) == 1:
        outputs.update(*found.values())
    else:
        outputs.update({key: sum(of_pair[key] for of_pair in found.values()) for key in SUMMED})
        for name, of_pair in found.items():
            outputs.update({f"electrodes.{name}.{key}": value for key, value in of_pair.items()})
    return outputs


def _heated_gain(
    gas: EquilibriumGas,
    duct: Duct,
    flow: Nozzle,
    on: Sequence[Sequence[Station]],
    exit_idle: Exit,
    area_ratio: float,
    ambient: float,
) -> float:
    """Thrust gained by a plain heater of the same power at each place; NaN where the heater chokes."""
    state, u = flow.inlet, flow.inlet_velocity
    try:
        for path in on:
            driver = heater({s.x: s.power for s in path})
            last = march(gas, duct, state, u, [s.x for s in path], driver, like=path)[-1]
            state, u = last.state, last.u
        return exit_of(gas, duct, last, area_ratio, ambient).thrust - exit_idle.thrust
    except Choked:
        return float("nan")
