"""One operating point at central values, or many at given ones."""
