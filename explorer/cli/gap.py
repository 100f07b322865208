"""`mhdstage gap`: a spark's voltage from its length in air, or its length from a voltage: how a gap measures a coil."""

import argparse
from dataclasses import dataclass
from typing import Any, Final

from explorer import units
from explorer.cli.terminal import Terminal
from explorer.page.document import Paragraph, Section, Table
from explorer.page.text import text_of
from explorer.page.usage import UsageError
from explorer.physics.contact import breakdown
from explorer.physics.contact.spark_gap import Uncertain, length_of_voltage, voltage_of_length
from explorer.store import json_text
from explorer.store.provenance import FORMAT, commit, version

_NO_ANSWER: Final = 1

_CAUTION: Final = (
    "High voltage kills. Local codes and licensed practice come first. Discharge what is stored and short it before"
    " anybody comes near; keep the distance, with interlocks. Above about 15 kV a gap in vacuum makes X-rays. Sparks"
    " disturb ignition and data lines."
)
_SOURCES: Final = (
    "Uniform field in air, 24.22 δd + 6.08 √(δd) kV with d in cm; measured gaps lie within 6 %. Factors for the"
    " electrodes and the rule of thumb are common practice, without a source. Moist, dusty or ionised air and rough or"
    " oily electrodes break down earlier."
)
_WORDS: Final = {"plates": "plates", "rounded": "rounded electrodes", "points": "points"}


@dataclass(frozen=True)
class _Side:
    """Voltage, distance, or what the air is: its key in JSON, its SI unit, and units for small and for large values."""

    name: str
    unit: str
    example: str
    shown_units: tuple[str, ...]  #: from small to large; a value takes the largest in which it is 1 or more

    def read(self, option: str, text: str) -> float:
        try:
            value = units.si_text(text, self.unit)
        except units.UnitError as error:
            raise UsageError(f'{option}: {error}; write it as "{self.example}"') from error
        if not value > 0.0:
            least = "absolute zero" if self.unit == "K" else "0"
            raise UsageError(f"{option}: must be above {least}; got {text}")
        return value

    def scale(self, value: float) -> units.Scale:
        fitting = [unit for unit in self.shown_units if units.from_si(value, self.unit, unit) >= 1.0]
        return units.Scale(self.unit, fitting[-1] if fitting else self.shown_units[0])

    def shown(self, value: float) -> str:
        return self.scale(value).text(value, 3)

    def ends(self, found: Uncertain) -> str:
        return self.scale(found.value).span(found.low, found.high, 3)

    def with_uncertainty(self, found: Uncertain) -> str:
        """Both to the uncertainty's second digit."""
        unit = self.scale(found.value).shown_unit
        value, step = (units.from_si(v, self.unit, unit) for v in (found.value, found.uncertainty))
        places = 1 - int(f"{step:.1e}".partition("e")[2])
        value, step = round(value, places), round(step, places)
        return f"{value:.{max(places, 0)}f} ± {step:.{max(places, 0)}f} {unit}"


_VOLTAGE: Final = _Side("voltage", "V", "42 kV", ("V", "kV"))
_DISTANCE: Final = _Side("distance", "m", "14 mm", ("µm", "mm", "m"))
_PRESSURE: Final = _Side("pressure", "Pa", "1.013 bar", ("Pa", "mbar", "bar"))
_TEMPERATURE: Final = _Side("temperature", "K", "20 °C", ("°C",))


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    air = {
        side.name: side.read(f"--{side.name}", getattr(arguments, side.name))
        for side in (_PRESSURE, _TEMPERATURE)
    }
    by_distance = arguments.distance is not None
    asked, answered = (_DISTANCE, _VOLTAGE) if by_distance else (_VOLTAGE, _DISTANCE)
    given = asked.read(f"--{asked.name}", getattr(arguments, asked.name))
    question = voltage_of_length if by_distance else length_of_voltage
    try:
        found = question(given, electrodes=arguments.electrodes, **air)
    except breakdown.OutsideLaw as error:
        terminal.complain(f"no number for {asked.shown(given)}: {error}")
        return _NO_ANSWER
    density = breakdown.relative_density(**air)
    per_length = breakdown.RULE_OF_THUMB * density
    thumb = given * per_length if by_distance else given / per_length
    if arguments.json:
        inputs = {
            "electrodes": arguments.electrodes,
            "pressure": {"value": air["pressure"], "unit": "Pa"},
            "temperature": {"value": air["temperature"], "unit": "K"},
            "relative_density": density,
            asked.name: {"value": given, "unit": asked.unit},
        }
        content = {**_envelope(), **inputs, answered.name: _figure(found, thumb, answered.unit)}
        terminal.out(json_text(content, ascii_only=not terminal.shows_unicode))
        return 0
    where = f"air at {_PRESSURE.shown(air['pressure'])} and {_TEMPERATURE.shown(air['temperature'])}"
    sentence = (
        f"{asked.shown(given)} between {_WORDS[arguments.electrodes]} in {where}"
        f" {'breaks down at' if by_distance else 'jumps'} {answered.with_uncertainty(found)} (one standard"
        f" uncertainty), 19 times in 20 between {answered.ends(found)}."
    )
    rows = (
        ("rule of thumb, 30 kV per cm at room air's density", answered.shown(thumb)),
        ("the air's density over that of room air", units.number_text(density, 3)),
        ("factor on the voltage for the electrodes", _factor(arguments.electrodes)),
    )
    terminal.out(text_of(_sections(sentence, rows)))
    return 0


def _sections(sentence: str, rows: tuple[tuple[str, str], ...]) -> tuple[Section, ...]:
    return (
        Section("Spark gap", (Paragraph(sentence), Table(rows), Paragraph(_SOURCES))),
        Section("Caution", (Paragraph(_CAUTION),)),
    )


def _factor(electrodes: str) -> str:
    low, high = breakdown.ELECTRODE_SHAPES[electrodes]
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _envelope() -> dict[str, Any]:
    """What every JSON begins with; there is no study and nothing random."""
    return {
        "format": FORMAT,
        "command": "gap",
        "study": None,
        "study_hash": None,
        "version": version(),
        "commit": commit(),
        "random_number": None,
        "warnings": [_CAUTION],
    }


def _figure(found: Uncertain, thumb: float, unit: str) -> dict[str, Any]:
    return {
        "value": found.value,
        "standard_uncertainty": found.uncertainty,
        "interval_95": [found.low, found.high],
        "rule_of_thumb": thumb,
        "unit": unit,
    }
