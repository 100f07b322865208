"""The stages of a path's designs: all that burn the same look into one gas table, which is built once.

A table depends on sizes by their ratios to the throat alone, so that designs of every size find room in one that is
hardly wider than each design's own. How far it reaches hangs on a path's ends and middle, not on its number of steps.
"""

from collections.abc import Mapping, Sequence
from typing import Final

from explorer import run
from explorer.study.engine import Evaluator, design_of, ranges_of, stage_of
from explorer.study.model_error import with_parts
from explorer.studyfile import Study

Ranges = Mapping[str, tuple[float, float]]

_THROAT: Final = "nozzle.throat_diameter"

#: What a gas table is laid out by; lengths among it.
_LENGTHS: Final = frozenset(
    {_THROAT, "channel.gap_in", "channel.gap_out", "channel.width_in", "channel.width_out"}
)


def stages_of(
    studies: Sequence[Study],
    quantities: Sequence[str],
    *,
    cover: Sequence[Study] = (),
    jobs: int,
    progress: run.Progress | None = None,
) -> list[Evaluator]:
    """The designs' stages, which give their pairs' currents too."""
    every = [(design_of(study).propellants, _by_throat(study)) for study in (*studies, *cover)]
    found = []
    for study in studies:
        burnt = design_of(study).propellants
        reach = _union([ranges for propellants, ranges in every if propellants == burnt])
        currents = [f"electrodes.{pair}.current" for pair in study.pairs]
        wanted = with_parts(study, (*quantities, *currents))
        found.append(stage_of(study, wanted, ranges=reach, jobs=jobs, progress=progress))
    return found


def _by_throat(study: Study) -> Ranges:
    """A design's ranges [SI], sizes as multiples of its throat's diameter [-]."""
    throat = study.central()[_THROAT]
    return {
        address: (low / throat, high / throat) if address in _LENGTHS else (low, high)
        for address, (low, high) in ranges_of(study, {}).items()
    }


def _union(ranges: Sequence[Ranges]) -> Ranges:
    """The widest of what all have."""
    common = set.intersection(*(set(own) for own in ranges))
    return {
        address: (min(own[address][0] for own in ranges), max(own[address][1] for own in ranges))
        for address in sorted(common)
    }
