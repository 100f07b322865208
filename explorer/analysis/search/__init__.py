"""Searches for designs, on any function: the best one, those nearly as good, trade-offs, what a miss lacks."""
