"""What points without numbers, or without contact, mean for a figure."""

from typing import Final

#: Shares of points in contact between which a distribution is shown as a mixture of two.
MIXTURE: Final[tuple[float, float]] = (0.01, 0.99)


class NoNumbers(RuntimeError):
    """Hardly any point carries a number: there is nothing to tell a distribution from."""


class TooManyFailures(RuntimeError):
    """Hardly any point carries a number: nothing can be ranked."""
