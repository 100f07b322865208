"""How near an operating point comes to what the model, the discharge and the hardware bear."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from explorer import registry, units
from explorer.page.document import Section, Table
from explorer.physics.magnet import GRADES
from explorer.questions.solve.point import Point
from explorer.stage import outputs as limit
from explorer.stage.design import ambient_pressure

_WITHIN: Final = "within"
_BEYOND: Final = "BEYOND"

#: Limit [SI] of a pair's finding, and where it comes from.
_OF_PAIR: Final[dict[str, tuple[float, str]]] = {
    "max_current_density": (limit.DIFFUSE_LIMIT, "diffuse on cold metal, common practice"),
    "overheating_number": (limit.OVERHEATING_LIMIT, "above it the discharge tends to constrict"),
    "max_hall_field": (limit.WALL_FIELD_LIMIT, "breakdown along the wall, DTIC ADA025949, 1975"),
    "max_reduced_field": (limit.REDUCED_FIELD_LIMIT, "above it electrons run hotter than the gas"),
}


def limits(point: Point) -> Section:
    """Return the block of limits."""
    head = ("", "value", "limit", "", "what it is")
    return Section("Limits", (Table(tuple(_rows(point)), head),))


def _rows(point: Point) -> Iterator[tuple[str, ...]]:
    pairs = point.study.pairs
    for name, (most, why) in _OF_PAIR.items():
        quantity = registry.quantity(name)
        for pair in pairs:
            value = point.quantities[f"electrodes.{pair}.{name}"]
            label = name if len(pairs) == 1 else f"{pair}: {name}"
            verdict = _BEYOND if value > most else _WITHIN
            yield label, quantity.shown(value), quantity.shown(most), verdict, why
    values = point.study.central()
    along_wall = registry.quantity("max_hall_field")
    for one, two in pairwise(pairs):
        behind = values[f"electrodes.{one}.start"] + values[f"electrodes.{one}.length"]
        first, second = (point.quantities[f"electrodes.{pair}.terminal_voltage"] for pair in (one, two))
        step, wall = abs(second - first), values[f"electrodes.{two}.start"] - behind
        verdict = _BEYOND if step > limit.WALL_FIELD_LIMIT * wall else _WITHIN
        shown = along_wall.shown(step / wall) if wall > 0.0 else "they touch"
        most_shown = along_wall.shown(limit.WALL_FIELD_LIMIT)
        yield f"{one} to {two}", shown, most_shown, verdict, "voltage over the wall between them"
    ambient = float(ambient_pressure(values))
    if ambient > 0.0:
        ratio = point.quantities["exit_pressure"] / ambient
        verdict = _BEYOND if ratio < limit.SEPARATION_RATIO else _WITHIN
        least = f"{limit.SEPARATION_RATIO:g} or more"
        yield (
            "exit over ambient pressure",
            units.number_text(ratio),
            least,
            verdict,
            "separation, common practice",
        )
    grade = point.study.choices.get("magnet.blocks.grade")
    if grade is not None:
        temperature, quantity = (
            values["magnet.blocks.temperature"],
            registry.quantity("magnet.blocks.temperature"),
        )
        most = GRADES[grade].limit_temperature
        verdict = _BEYOND if temperature > most else _WITHIN
        yield "magnet blocks", quantity.shown(temperature), quantity.shown(most), verdict, f"grade {grade}"
