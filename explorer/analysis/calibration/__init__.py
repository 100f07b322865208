"""Posteriors by tempered sequential Monte Carlo, from arrays and callables."""
