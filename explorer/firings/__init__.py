"""Firings: what was set and what was read, as plain data."""

from explorer.firings.firing import Difference, Firing, FiringError, Reading, Step, firing_of, reading_of

__all__ = ["Difference", "Firing", "FiringError", "Reading", "Step", "firing_of", "reading_of"]
