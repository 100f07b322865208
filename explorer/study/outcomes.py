"""What points without numbers, or without contact, mean for a figure."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.study.contrasts import FEWEST, fewest
from explorer.study.problem import NO_CONTACT
from explorer.studyfile import StudyError

#: Shares of points in contact between which a distribution is shown as a mixture of two.
MIXTURE: Final[tuple[float, float]] = (0.01, 0.99)


class NoNumbers(RuntimeError):
    """Hardly any point carries a number: there is nothing to tell a distribution from."""


class TooManyFailures(RuntimeError):
    """Hardly any point carries a number: nothing can be ranked."""


def refuse_numberless(outcomes: NDArray[np.int8], *, what: str = "", advice: str) -> None:
    """Refuse a sample too small for an interval, and one that hardly ever carries numbers; shape (repeats, …)."""
    if outcomes[0].size < FEWEST:
        raise StudyError(
            f"{outcomes.size} samples are too few for an interval: ask for {FEWEST * len(outcomes)} or more"
        )
    if fewest(outcomes <= NO_CONTACT) >= FEWEST:
        return
    counts = np.bincount(outcomes.ravel(), minlength=len(registry.STATUSES))
    shares = ", ".join(
        f"{count / outcomes.size:.1%} {status.name.replace('_', ' ')}"
        for status, count in zip(registry.STATUSES, counts, strict=True)
        if count
    )
    raise NoNumbers(f"{what}hardly any point carries a number ({shares}): {advice}")
