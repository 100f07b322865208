"""Puts tests/ on the path, for the parts that several folders share, and seeds hypothesis."""

from hypothesis import settings

settings.register_profile("seeded", derandomize=True, deadline=None, database=None)
settings.load_profile("seeded")
