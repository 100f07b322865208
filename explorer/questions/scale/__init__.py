"""The way to a larger design: where its regime changes and what to fire on it."""
