"""What a command line may ask for, and what is wrong with one; by itself, so that help needs nothing else."""

from typing import Final

#: Format in which a sample itself can be had; it is no picture's.
SAMPLE_FORMAT: Final = "parquet"


class UsageError(ValueError):
    """A command line that can't be read, or asks for what can't be done; the message is one sentence."""
