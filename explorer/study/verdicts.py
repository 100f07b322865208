"""Whether something asked for is met: one way to judge it, for requirements and limits alike."""

from typing import Final, Literal

Verdict = Literal["met", "not met", "not decided"]

MET: Final = "met"
NOT_MET: Final = "not met"
NOT_DECIDED: Final = "not decided"


def verdict(interval: tuple[float, float], wanted: float) -> Verdict:
    """Whether a chance, known to lie in an interval, reaches what is wanted, beyond what sampling could feign."""
    low, high = interval
    if low >= wanted:
        return MET
    return NOT_MET if high < wanted else NOT_DECIDED
