"""How the points of a sample ended: the share of each status, and the rows of the inputs that drive it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry, sampling
from explorer.analysis.given_data import given_data_first_order
from explorer.analysis.scrambles import Estimate
from explorer.sampling import Plan
from explorer.space import Row
from explorer.study.contrasts import share_of
from explorer.study.problem import Problem

Mask = NDArray[np.bool_]

#: Share of a status below which what drives it is not looked for.
_RARE: Final[float] = 0.002

#: Most rows of a scramble from which it is told, and most rows of the inputs that are named.
_ROWS_FOR_DRIVERS: Final[int] = 8_192
_MOST_DRIVERS: Final[int] = 3

#: Share of the variance of a yes/no that a row must carry beyond its sampling error to be named.
_DRIVES: Final[float] = 0.02


@dataclass(frozen=True)
class Driver:
    """A row on which a status depends."""

    row: Row
    share: float  #: Of the variance of the status's yes/no that the row carries alone [-]


@dataclass(frozen=True)
class StatusShare:
    """How often a status occurs, and why."""

    share: Estimate  #: [-]
    drivers: tuple[Driver, ...]  #: Largest first; none where it is too rare, or too common, to tell

    def row(self) -> dict[str, float | str]:
        """As a row of a table."""
        drivers = ", ".join(f"{driver.row.name} ({driver.share:.0%})" for driver in self.drivers)
        return {"share": float(self.share), "standard_error": self.share.error, "drivers": drivers}


def status_shares(problem: Problem, plan: Plan, outcomes: NDArray[np.int8]) -> Mapping[str, StatusShare]:
    """Each status that occurs."""
    found = {}
    everywhere = np.ones_like(outcomes, dtype=np.bool_)
    for code, status in enumerate(registry.STATUSES):
        share = share_of(outcomes == code, everywhere)
        if float(share) > 0:
            mixed = _RARE < float(share) < 1 - _RARE
            drivers = _drivers(problem, plan, outcomes[:, 0] == code) if mixed else ()
            found[status.name] = StatusShare(share, drivers)
    return found


def _drivers(problem: Problem, plan: Plan, marked: Mask) -> tuple[Driver, ...]:
    """The rows that the yes/no of a status depends on most, largest first; none where it is too rare to tell."""
    chunks = max(1, min(plan.rows, _ROWS_FOR_DRIVERS) // plan.chunk_rows)
    looked_at = marked[: sampling.SCRAMBLES, : chunks * plan.chunk_rows]
    if not (looked_at.any(axis=1) & ~looked_at.all(axis=1)).all():
        return ()
    cubes = [
        problem.dependent(
            np.concatenate([plan.points(scramble, chunk)[: plan.chunk_rows] for chunk in range(chunks)])
        )
        for scramble in range(looked_at.shape[0])
    ]
    share = given_data_first_order(cubes, list(looked_at.astype(np.float64))).first
    leading = [place for place in np.argsort(-share.value, kind="stable") if share.low[place] > _DRIVES]
    return tuple(Driver(problem.rows[place], float(share.value[place])) for place in leading[:_MOST_DRIVERS])
