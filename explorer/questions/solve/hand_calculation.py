"""The hand calculation that an engineer would do on paper to believe the rest.

Each line is worked out here from a few printed numbers, by the formula that stands beside it, and set against
what the march along the channel gave. Small differences are the march's: the flow with the circuit open, the
field's course along the pair.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from explorer import constants, registry, units
from explorer.page.document import Paragraph, Section, Table
from explorer.physics import hand_bounds
from explorer.questions.solve.point import Point
from explorer.stage.outputs import DIFFUSE_LIMIT

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


def hand_calculation(point: Point) -> Section:
    """Return the hand calculation as a section."""
    lines = list(hand_lines(point))
    rows = []
    for line in lines:
        quantity = registry.quantity(line.address)
        marched = quantity.shown(point.quantities[line.address])
        rows.append((line.title, quantity.shown(line.by_hand), marched, line.formula))
    intro = (
        "Redo these on paper before believing the rest. The field's force must come out near I·B·g; beyond j·B·volume"
        " the discharge is no longer diffuse. Gap and width are those at the pair's middle."
    )
    return Section("By hand", (Paragraph(intro), Table(tuple(rows), ("", "by hand", "program", "formula"))))


def hand_lines(point: Point) -> Iterator[HandLine]:
    """Yield the lines of the hand calculation."""
    for pair in point.study.pairs:
        yield from _of_pair(point, pair, "" if len(point.study.pairs) == 1 else f"{pair}: ")
    yield from _of_stage(point)


@dataclass(frozen=True)
class _Middle:
    """What stands at a pair's edges and middle, from the profile [SI]."""

    velocity: float
    field: float
    gap: float
    width: float
    smallest_emf: float
    conductivity: float  #: at the pair's start
    mass_flux: float  #: at the pair's start


def _middle(point: Point, pair: str) -> _Middle:
    if point.profile is None:
        raise ValueError("a point without numbers has no profile")
    values, along = point.study.central(), point.profile
    start, length = (values[f"electrodes.{pair}.{key}"] for key in ("start", "length"))
    x = along["x"].to_numpy()
    inside = along[(x >= start * (1 - 1e-9)) & (x <= (start + length) * (1 + 1e-9))]
    columns = {
        name: float(np.interp(start + 0.5 * length, x, along[name].to_numpy()))
        for name in ("velocity", "magnetic_field", "gap", "width")
    }
    first = inside.iloc[0]
    emf = inside["velocity"] * inside["magnetic_field"] * inside["gap"]
    return _Middle(
        velocity=columns["velocity"],
        field=columns["magnetic_field"],
        gap=columns["gap"],
        width=columns["width"],
        smallest_emf=float(emf.min()),
        conductivity=float(first["conductivity"]),
        mass_flux=point.quantities["gas_flow"] / float(first["gap"] * first["width"]),
    )


def _of_pair(point: Point, pair: str, where: str) -> Iterator[HandLine]:
    values, found = point.study.central(), point.quantities
    head = f"electrodes.{pair}"
    here = _middle(point, pair)
    length, drop = values[f"{head}.length"], values[f"{head}.voltage_drop"]
    field, voltage = found[f"{head}.field"], found[f"{head}.terminal_voltage"]
    current = abs(found[f"{head}.plasma_current"])
    B, g = registry.quantity("field").shown(field), _GAP.text(here.gap)

    u = registry.quantity("inlet_velocity").shown(here.velocity)
    yield HandLine(
        f"{where}back EMF",
        here.velocity * here.field * here.gap,
        f"{head}.back_emf",
        f"u·B·g = {u} × {registry.quantity('field').shown(here.field)} × {g}, at the pair's middle",
    )
    volts = registry.quantity("back_emf")
    yield HandLine(
        f"{where}threshold voltage",
        here.smallest_emf + drop,
        f"{head}.threshold_voltage",
        f"smallest u·B·g + V_0 = {volts.shown(here.smallest_emf)} + {volts.shown(drop)}",
    )
    yield HandLine(
        f"{where}force of this current",
        float(hand_bounds.force_from_current(current=current, field=field, gap=here.gap)),
        f"{head}.lorentz_force",
        f"I·B·g = {registry.quantity('current').shown(current)} × {B} × {g}, current through the gas",
    )
    volume = length * here.gap * here.width
    density = registry.quantity("max_current_density").shown(DIFFUSE_LIMIT)
    yield HandLine(
        f"{where}most force if diffuse",
        float(
            hand_bounds.force_from_current_density(current_density=DIFFUSE_LIMIT, field=field, volume=volume)
        ),
        f"{head}.force_from_diffuse_limit",
        f"j·B·volume = {density} × {B} × {_VOLUME.text(volume)} between the electrodes",
    )
    if voltage:
        yield HandLine(
            f"{where}force per power",
            float(hand_bounds.force_per_power(field=field, gap=here.gap, voltage=abs(voltage))),
            f"{head}.force_per_power",
            f"B·g/V = {B} × {g} / {volts.shown(abs(voltage))}, at most",
        )
    sigma = registry.quantity("inlet_conductivity").shown(here.conductivity)
    yield HandLine(
        f"{where}interaction parameter",
        here.conductivity * field**2 * length / here.mass_flux,
        f"{head}.interaction_parameter",
        f"σ·B²·L/(ρ·u) = {sigma} × ({B})² × {_GAP.text(length)} / {_FLUX.text(here.mass_flux)}, at the pair's start",
    )
    if found["inlet_electron_density"] > 0.0:
        mobility = found["inlet_conductivity"] / (constants.e * found["inlet_electron_density"])
        yield HandLine(
            f"{where}Hall parameter",
            mobility * field,
            f"{head}.inlet_hall_parameter",
            f"µ·B = {_MOBILITY.text(mobility)} × {B}, with µ = σ/(e·n_e) at the inlet",
        )


def _of_stage(point: Point) -> Iterator[HandLine]:
    found = point.quantities
    flow, velocity, power = found["gas_flow"], found["exit_velocity"], found["gas_power"]
    m, u = registry.quantity("gas_flow").shown(flow), registry.quantity("exit_velocity").shown(velocity)
    if power > 0.0:
        yield HandLine(
            "plain heater, at most",
            power / velocity,
            "thrust_gain_heating",
            f"P/u = {registry.quantity('gas_power').shown(power)} / {u}, were all of the gas-side power jet power",
        )
    yield HandLine(
        "jet power",
        float(hand_bounds.jet_power(mass_flow=flow, velocity=velocity)),
        "jet_power",
        f"½·ṁ·u² = ½ × {m} × ({u})²",
    )
