"""How points may end, and what points without numbers or without contact mean for a figure."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.studyfile import StudyError

FloatArray = NDArray[np.float64]

OK, NO_CONTACT, NOT_CONVERGED = (registry.STATUS_CODES[s] for s in ("ok", "no_contact", "not_converged"))

#: Fewest points of a repeat from which an interval is told.
FEWEST: Final[int] = 32

#: Shares of points in contact between which a distribution is shown as a mixture of two.
MIXTURE: Final[tuple[float, float]] = (0.01, 0.99)


class NoNumbers(RuntimeError):
    """Hardly any point carries a number: there is nothing to tell a distribution from."""


class TooManyFailures(RuntimeError):
    """Hardly any point carries a number: nothing can be ranked."""


def fewest(marked: NDArray[np.bool_]) -> int:
    """Marked points of the repeat that has fewest [-]."""
    return int(marked.reshape(marked.shape[0], -1).sum(axis=1).min())


def refuse_numberless(outcomes: NDArray[np.int8], *, what: str = "", advice: str) -> None:
    """Refuse a sample too small for an interval, and one that hardly ever carries numbers; shape (repeats, …)."""
    if outcomes[0].size < FEWEST:
        raise StudyError(
            f"{outcomes.size} samples are too few for an interval: ask for {FEWEST * len(outcomes)} or more"
        )
    if fewest(outcomes <= NO_CONTACT) < FEWEST:
        raise NoNumbers(f"{what}hardly any point carries a number ({endings(outcomes)}): {advice}")


def endings(outcomes: NDArray[np.int8], decimals: int = 1) -> str:
    """How points end, in per cent to so many decimals: "97.2% choked, 2.8% ok"."""
    counts = np.bincount(outcomes.ravel(), minlength=len(registry.STATUSES))
    return ", ".join(
        f"{count / outcomes.size:.{decimals}%} {status.name.replace('_', ' ')}"
        for status, count in zip(registry.STATUSES, counts, strict=True)
        if count
    )


def refuse_missing(outputs: Sequence[str], given: Iterable[str]) -> None:
    """Raise if an output isn't among what a callable gives."""
    for output in outputs:
        if output not in given:
            hint = registry.did_you_mean(output, given)
            raise StudyError(f'"{output}" is not among what the callable gives{hint}')


def outcomes_of(
    found: Mapping[str, FloatArray], numbers: Mapping[str, FloatArray], points: tuple[int, ...]
) -> NDArray[np.int8]:
    """Outcomes that a callable states, by name or code; without any, whether all its numbers are finite."""
    whole = np.all([np.isfinite(values) for values in numbers.values()], axis=0)
    if "status" not in found:
        return np.where(whole, OK, NOT_CONVERGED).astype(np.int8)
    stated = np.broadcast_to(np.asarray(found["status"]), points)
    if stated.dtype.kind in "iu":
        return stated.astype(np.int8)
    return np.array([registry.STATUS_CODES[str(name)] for name in stated], dtype=np.int8)
