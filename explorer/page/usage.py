"""What a command line may ask for, and what is wrong with one; by itself, so that help needs nothing else."""

from collections.abc import Sequence
from typing import Final

#: Format in which a sample itself can be had; it is no picture's.
SAMPLE_FORMAT: Final = "parquet"


class UsageError(ValueError):
    """A command line that can't be read, or asks for what can't be done; the message is one sentence."""


def assigned(option: str, given: Sequence[str], *, example: str) -> dict[str, str]:
    """Return what an option gives by address, "address=value" each."""
    found = {}
    for text in given:
        address, equals, value = text.partition("=")
        if not equals or not address.strip() or not value.strip():
            raise UsageError(f"{option} {text}: expected ADDRESS=VALUE, such as {example}")
        found[address.strip()] = value.strip()
    return found
