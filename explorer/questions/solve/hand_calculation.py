"""The hand calculation that an engineer would do on paper to believe the rest.

Each line is worked out here from a few printed numbers, by the formula that stands beside it, and set against
what the march along the channel gave. Small differences are the march's: the flow with the circuit open, the
field's course along the pair.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from explorer import constants, registry, units
from explorer.page.document import Table
from explorer.physics import hand_bounds
from explorer.questions.solve.point import Point
from explorer.stage.outputs.limits import DIFFUSE_LIMIT

_GAP: Final = units.Scale("m", "mm")
_VOLUME: Final = units.Scale("m^3", "cm^3")
_FLUX: Final = units.Scale("kg/(m^2 s)", "kg/(m^2 s)")
_MOBILITY: Final = units.Scale("m^2/(V s)", "m^2/(V s)")


@dataclass(frozen=True)
class HandLine:
    """One quantity by hand and by the march, and the formula with its numbers."""

    title: str
    by_hand: float  #: [SI]
    address: str  #: of the output beside it
    formula: str


def hand_table(point: Point) -> Table:
    """Return the hand calculation beside what the program gives."""
    rows = tuple(
        (
            line.title,
            _shown(line.address, line.by_hand),
            _shown(line.address, point.quantities[line.address]),
            line.formula,
        )
        for line in hand_lines(point)
    )
    return Table(rows, ("", "by hand", "program", "formula"))


def hand_lines(point: Point) -> Iterator[HandLine]:
    """Yield the lines of the hand calculation."""
    for pair in point.study.pairs:
        where = "" if len(point.study.pairs) == 1 else f"{pair}: "
        here = _pair(point, pair)
        for line in (*_voltages(here), *_forces(here), *_numbers(here)):
            yield replace(line, title=f"{where}{line.title}", address=f"electrodes.{pair}.{line.address}")
    yield from _of_stage(point)


def _shown(address: str, value: float) -> str:
    return registry.quantity(address).shown(value)


@dataclass(frozen=True)
class _Pair:
    """What the lines of a pair are made of [SI]; from the profile at its middle, where nothing else is said."""

    velocity: float
    local_field: float
    gap: float
    width: float
    largest_field_gap: float  #: anywhere along it
    smallest_emf: float  #: anywhere along it
    conductivity: float  #: at its start
    mass_flux: float  #: at its start
    length: float
    drop: float
    field: float  #: mean along it
    voltage: float
    current: float  #: through the gas
    mobility: float  #: at the channel's inlet; NaN where there are no electrons
    middle_emf: float
    discharge_voltage: float  #: of pulses; NaN where the source is always on


def _pair(point: Point, pair: str) -> _Pair:
    if point.along is None:
        raise ValueError("a point without numbers has no profile")
    values, found, along = point.study.central(), point.quantities, point.along
    head = f"electrodes.{pair}"
    start, length = values[f"{head}.start"], values[f"{head}.length"]
    x = along["x"]
    middle = {name: float(np.interp(start + 0.5 * length, x, column)) for name, column in along.items()}
    inside = np.flatnonzero((x >= start * (1 - 1e-9)) & (x <= (start + length) * (1 + 1e-9)))
    first = {name: float(column[inside[0]]) for name, column in along.items()}
    electrons = found["inlet_electron_density"]
    return _Pair(
        velocity=middle["velocity"],
        local_field=middle["magnetic_field"],
        gap=middle["gap"],
        width=middle["width"],
        largest_field_gap=float(np.abs(along["magnetic_field"] * along["gap"])[inside].max()),
        smallest_emf=float((along["velocity"] * along["magnetic_field"] * along["gap"])[inside].min()),
        conductivity=first["conductivity"],
        mass_flux=found["channel_flow"] / (first["gap"] * first["width"]),
        length=length,
        drop=values[f"{head}.voltage_drop"],
        field=found[f"{head}.field"],
        voltage=abs(found[f"{head}.terminal_voltage"]),
        current=abs(found[f"{head}.plasma_current"]),
        mobility=found["inlet_conductivity"] / (constants.e * electrons) if electrons > 0.0 else np.nan,
        middle_emf=found[f"{head}.back_emf"],
        discharge_voltage=found[f"{head}.discharge_voltage"],
    )


def _voltages(here: _Pair) -> Iterator[HandLine]:
    u, B, g = _shown("inlet_velocity", here.velocity), _shown("field", here.local_field), _GAP.text(here.gap)
    yield HandLine(
        "back EMF",
        here.velocity * here.local_field * here.gap,
        "back_emf",
        f"u·B·g = {u} × {B} × {g}, at the pair's middle",
    )
    emf, drop = _shown("back_emf", here.smallest_emf), _shown("back_emf", here.drop)
    yield HandLine(
        "threshold voltage",
        here.smallest_emf + here.drop,
        "threshold_voltage",
        f"smallest u·B·g + V_0 = {emf} + {drop}",
    )


def _forces(here: _Pair) -> Iterator[HandLine]:
    B, g, volume = _shown("field", here.field), _GAP.text(here.gap), here.length * here.gap * here.width
    field_gap = f"{1e3 * here.largest_field_gap:.3g} T mm"
    yield HandLine(
        "force of this current, at most",
        float(hand_bounds.force_from_current(current=here.current, field_gap=here.largest_field_gap)),
        "lorentz_force",
        f"I·B·g = {_shown('current', here.current)} × {field_gap}, current through the gas and the largest B·g",
    )
    most = hand_bounds.force_from_current_density(
        current_density=DIFFUSE_LIMIT, field=here.field, volume=volume
    )
    density = _shown("max_current_density", DIFFUSE_LIMIT)
    yield HandLine(
        "most force if diffuse",
        float(most),
        "force_from_diffuse_limit",
        f"j·B·volume = {density} × {B} × {_VOLUME.text(volume)} between the electrodes",
    )
    if here.voltage:
        yield HandLine(
            "force per power",
            float(hand_bounds.force_per_power(field=here.field, gap=here.gap, voltage=here.voltage)),
            "force_per_power",
            f"B·g/V = {B} × {g} / {_shown('back_emf', here.voltage)}, at most",
        )
    if here.discharge_voltage > 0.0:
        against = here.discharge_voltage + here.middle_emf
        yield HandLine(
            "force per power of pulses, at most",
            float(hand_bounds.force_per_power(field=here.field, gap=here.gap, voltage=against)),
            "force_per_source_power",
            f"B·g/(V_a + u·B·g) = {B} × {g} / ({_shown('discharge_voltage', here.discharge_voltage)} +"
            f" {_shown('back_emf', here.middle_emf)}), whatever the source",
        )


def _numbers(here: _Pair) -> Iterator[HandLine]:
    sigma, B = _shown("inlet_conductivity", here.conductivity), _shown("field", here.field)
    yield HandLine(
        "interaction parameter",
        here.conductivity * here.field**2 * here.length / here.mass_flux,
        "interaction_parameter",
        f"σ·B²·L/(ρ·u) = {sigma} × ({B})² × {_GAP.text(here.length)} / {_FLUX.text(here.mass_flux)}, at the pair's"
        " start",
    )
    if not np.isnan(here.mobility):
        yield HandLine(
            "Hall parameter",
            here.mobility * here.field,
            "inlet_hall_parameter",
            f"µ·B = {_MOBILITY.text(here.mobility)} × {B}, with µ = σ/(e·n_e) at the inlet",
        )


def _of_stage(point: Point) -> Iterator[HandLine]:
    found = point.quantities
    flow, velocity, power = found["channel_flow"], found["exit_velocity"], found["gas_power"]
    m, u = _shown("channel_flow", flow), _shown("exit_velocity", velocity)
    if power > 0.0:
        yield HandLine(
            "plain heater, at most",
            power / velocity,
            "thrust_gain_heating",
            f"P/u = {_shown('gas_power', power)} / {u}, were all of the gas-side power jet power",
        )
    yield HandLine(
        "jet power",
        float(hand_bounds.jet_power(mass_flow=flow, velocity=velocity)),
        "jet_power",
        f"½·ṁ·u² = ½ × {m} × ({u})²",
    )
