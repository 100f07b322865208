"""The gas of a point: its table, the look-ups in it, and the flow states that follow from it."""
