"""Whether the stage pays in flight, with and without it."""
