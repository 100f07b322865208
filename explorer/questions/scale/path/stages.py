"""The stages of a path's designs: all that burn the same look into one gas table, which is built once.

A table depends on sizes by their ratios to the throat alone, so that designs of every size find room in one that is
hardly wider than each design's own. How far it reaches hangs on a path's ends and middle, not on its number of steps.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from numpy.typing import ArrayLike

from explorer import run
from explorer.stage.design import Design
from explorer.stage.table import GasTable
from explorer.study.engine import Calculated, design_of, ranges_of
from explorer.studyfile import Study, StudyError

Ranges = Mapping[str, tuple[float, float]]

_THROAT: Final = "nozzle.throat_diameter"

#: What a gas table is laid out by; lengths among it.
_LENGTHS: Final = frozenset(
    {_THROAT, "channel.gap_in", "channel.gap_out", "channel.width_in", "channel.width_out"}
)


@dataclass(frozen=True)
class PathStage:
    """A design as something to evaluate, on a table that it has in common with others."""

    study: Study
    design: Design
    table: GasTable
    quantities: tuple[str, ...]

    def chunk(self, samples: Mapping[str, ArrayLike]) -> run.Evaluated:
        """One chunk of points, in this thread."""
        values = {**self.study.central(), **samples}
        grade = self.study.choices.get("magnet.blocks.grade")
        return run.chunk(self.design, values, self.table, self.quantities, grade)


def stages_of(
    studies: Sequence[Study],
    quantities: Sequence[str],
    *,
    cover: Sequence[Study] = (),
    jobs: int,
    progress: run.Progress | None = None,
) -> list[PathStage | Calculated]:
    """The designs' stages."""
    designs = [design_of(study) for study in studies]
    every = [(design_of(study).propellants, _by_throat(study)) for study in (*studies, *cover)]
    found: list[PathStage | Calculated] = []
    for study, design in zip(studies, designs, strict=True):
        currents = [f"electrodes.{pair}.current" for pair in study.pairs]
        wanted = tuple(dict.fromkeys((*quantities, *currents)))
        if study.calculation is not None:
            found.append(Calculated(study, study.calculation, wanted))
            continue
        reach = _union([ranges for propellants, ranges in every if propellants == design.propellants])
        try:
            table = run.table_for(design, reach, jobs=jobs, progress=progress)
        except (ArithmeticError, ValueError) as error:
            raise StudyError(f"the gas can't be modelled: {error}") from error
        found.append(PathStage(study, design, table, wanted))
    return found


def _by_throat(study: Study) -> dict[str, tuple[float, float]]:
    """A design's ranges [SI], sizes as multiples of its throat's diameter [-]."""
    throat = study.central()[_THROAT]
    return {
        address: (low / throat, high / throat) if address in _LENGTHS else (low, high)
        for address, (low, high) in ranges_of(study, {}).items()
    }


def _union(ranges: Sequence[Ranges]) -> dict[str, tuple[float, float]]:
    """The widest of what all have."""
    common = set.intersection(*(set(own) for own in ranges))
    return {
        address: (min(own[address][0] for own in ranges), max(own[address][1] for own in ranges))
        for address in sorted(common)
    }
