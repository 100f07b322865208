"""Slow reference of the stage: model.py marches a point directly with Cantera; see README.md."""
