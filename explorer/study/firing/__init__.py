"""Firings held against a study: as they were written down, and as the stage would run them."""
