"""What a study requires of its target and its limits, judged on its own points."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from explorer.analysis.scrambles import Estimate
from explorer.run import Evaluated
from explorer.study.contrasts import Cells, share_of
from explorer.study.limits import Verdict, holds, one_sided, stated_level, verdict
from explorer.studyfile import Limit, Study

#: Columns of a table of limits.
COLUMNS: Final = (
    "source",
    "quantity",
    "at_least",
    "at_most",
    "wanted",
    "chance",
    "standard_error",
    "verdict",
)


@dataclass(frozen=True)
class Judged:
    """What a study requires, judged on its points; one without a number meets nothing."""

    source: Literal["target", "limit"]
    limit: Limit
    #: That it holds [-]; of a "chance.…" limit the chance of the status or warning itself.
    chance: Estimate
    verdict: Verdict

    def row(self) -> Cells:
        """As a row of a table."""
        return {
            "source": self.source,
            "quantity": self.limit.quantity,
            "at_least": self.limit.at_least,
            "at_most": self.limit.at_most,
            "wanted": self.limit.chance,
            "chance": float(self.chance),
            "standard_error": self.chance.error,
            "verdict": self.verdict,
        }


def limits_judged(study: Study, found: Evaluated) -> Iterator[Judged]:
    """What a study requires of its target and its limits; said twice, judged once."""
    target = study.target
    asked = Limit(target.quantity, target.at_least, target.at_most, target.chance)
    if target.has_requirement:
        yield _judgement("target", asked, found)
    for limit in one_sided(study.limits):
        if not (target.has_requirement and limit == asked):
            yield _judgement("limit", limit, found)


def _judgement(source: Literal["target", "limit"], limit: Limit, found: Evaluated) -> Judged:
    held = holds(found, limit)
    chance = share_of(held, np.ones_like(held))
    met = verdict(chance.interval, stated_level(limit))
    absent = limit.event is not None and limit.at_least is None  # then it is its absence that holds
    return Judged(source, limit, share_of(~held, np.ones_like(held)) if absent else chance, met)
