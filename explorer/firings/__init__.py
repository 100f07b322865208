"""Firings: what was set and what was read, as plain data, and as teams write it down."""

from explorer.firings.firing import Difference, Firing, FiringError, Reading, Step, firing_of, reading_of
from explorer.firings.written import WrittenReading, WrittenRow, read_rows

__all__ = [
    "Difference",
    "Firing",
    "FiringError",
    "Reading",
    "Step",
    "WrittenReading",
    "WrittenRow",
    "firing_of",
    "read_rows",
    "reading_of",
]
