"""`mhdstage gap`: a spark's voltage from its length in air, or its length from a voltage: how a gap measures a coil."""

import argparse
from dataclasses import dataclass
from typing import Any, Final

from explorer import units
from explorer.cli.terminal import Terminal
from explorer.page.cautions import STORED
from explorer.page.document import Paragraph, Section, Table
from explorer.page.text import text_of
from explorer.page.usage import UsageError
from explorer.physics.contact import breakdown
from explorer.physics.contact.spark_gap import Uncertain, length_of_voltage, voltage_of_length
from explorer.store import json_text
from explorer.store.provenance import FORMAT, commit, version

_NO_ANSWER: Final = 1

_CAUTION: Final = f"High voltage kills. Local codes and licensed practice come first. {STORED}"
_SOURCES: Final = (
    "Uniform field in air, 24.22 δd + 6.08 √(δd) kV with d in cm; measured gaps lie within 6 %. Factors for the"
    " electrodes and the rule of thumb are common practice, without a source. Moist, dusty or ionised air and rough or"
    " oily electrodes break down earlier."
)
_WORDS: Final = {"plates": "plates", "rounded": "rounded electrodes", "points": "points"}


@dataclass(frozen=True)
class _Side:
    """Voltage or distance: its key in JSON, SI unit and shown unit."""

    name: str
    unit: str
    shown_unit: str
    example: str

    def read(self, option: str, text: str) -> float:
        try:
            value = units.si_text(text, self.unit)
        except units.UnitError as error:
            raise UsageError(f'{option}: {error}; write it as "{self.example}"') from error
        if not value > 0.0:
            raise UsageError(f"{option}: must be above 0; got {text}")
        return value

    def shown(self, value: float) -> str:
        return units.shown(value, self.unit, self.shown_unit, 3)

    def with_uncertainty(self, found: Uncertain) -> str:
        """Both to the uncertainty's second digit."""
        value, step = (units.from_si(v, self.unit, self.shown_unit) for v in (found.value, found.uncertainty))
        places = max(0, 1 - int(f"{step:e}".partition("e")[2]))
        return f"{value:.{places}f} ± {step:.{places}f} {self.shown_unit}"


_VOLTAGE: Final = _Side("voltage", "V", "kV", "42 kV")
_DISTANCE: Final = _Side("distance", "m", "mm", "14 mm")
_PRESSURE: Final = _Side("pressure", "Pa", "bar", "1.013 bar")
_TEMPERATURE: Final = _Side("temperature", "K", "°C", "20 °C")


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
    per_length = breakdown.RULE_OF_THUMB * breakdown.relative_density(**air)
    thumb = given * per_length if by_distance else given / per_length
    if arguments.json:
        inputs = {
            "electrodes": arguments.electrodes,
            "pressure": {"value": air["pressure"], "unit": "Pa"},
            "temperature": {"value": air["temperature"], "unit": "K"},
            "relative_density": breakdown.relative_density(**air),
            asked.name: {"value": given, "unit": asked.unit},
        }
        content = {**_envelope(), **inputs, answered.name: _figure(found, thumb, answered.unit)}
        terminal.out(json_text(content, ascii_only=not terminal.shows_unicode))
        return 0
    where = f"air at {_PRESSURE.shown(air['pressure'])} and {_TEMPERATURE.shown(air['temperature'])}"
    sentence = (
        f"{asked.shown(given)} between {_WORDS[arguments.electrodes]} in {where}"
        f" {'breaks down at' if by_distance else 'jumps'} {answered.with_uncertainty(found)} (one standard"
        f" uncertainty), 19 times in 20 between {_ends(answered, found)}."
    )
    rows = (
        ("rule of thumb, 30 kV per cm at room air's density", answered.shown(thumb)),
        ("the air's density over that of room air", units.number_text(breakdown.relative_density(**air), 3)),
        ("factor on the voltage for the electrodes", _factor(arguments.electrodes)),
    )
    sections = (
        Section("Spark gap", (Paragraph(sentence), Table(rows), Paragraph(_SOURCES))),
        Section("Caution", (Paragraph(_CAUTION),)),
    )
    terminal.out(text_of(sections))
    return 0


def _ends(side: _Side, found: Uncertain) -> str:
    return units.Scale(side.unit, side.shown_unit).span(found.low, found.high, 3)


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
