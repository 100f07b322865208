"""From one design to a larger one: the path between them, where its regime changes, and which firings on it teach most.

How far the first design's number may be trusted for the second's: the interval of the second's target now, after ever
more firings of the first, after a firing of the second itself, with a ladder of firings between if one is worth
climbing, and what no firing of the first can ever teach, since the two designs don't share it.
"""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.questions.scale.ladder.ladder import Ladder
from explorer.questions.scale.ladder.remedies import ladder_of
from explorer.questions.scale.path.borders import Border, borders_of
from explorer.questions.scale.path.crossings import Change, changes_along
from explorer.questions.scale.path.designs import Sampling, Waypoint, designs_tried
from explorer.questions.scale.path.path import Path, path_between
from explorer.questions.scale.path.trust import Trust, trust
from explorer.study.contrasts import Cells, by_design
from explorer.study.joint import common_share
from explorer.study.shown import Summary, scale_of
from explorer.study.stated import alike_but_apart
from explorer.study.together import Together
from explorer.studyfile import Study, StudyError, amount

FloatArray = NDArray[np.float64]

#: Points at which the designs of a path are tried, and steps between its ends, where nothing else is asked for.
SAMPLES: Final[int] = 16_384
STEPS: Final[int] = 9

#: Power of the size with which the cost of a firing grows; assumed. Thrust and propellant go with the square of it,
#: and the chemical industry's six-tenths rule (cost with capacity to the 0.6, from memory) gives 1.8 for a volume.
COST_EXPONENT: Final[float] = 2.0


class Stage(NamedTuple):
    """What is known of the target at a stage."""

    words: str  #: What has been learnt
    left: Estimate  #: The target's standard uncertainty then [SI]
    cost: float  #: In firings of the first design, beyond its own; NaN where nothing is fired [-]
    design: Waypoint | None  #: The design that was fired last; None before any, and where none tells


@dataclass(frozen=True, repr=False)
class Scaling(Together):
    """The way from one design to another.

    Attributes
    ----------
    designs : tuple of Waypoint
        Of its path, both ends among them.
    shared : Mapping
        By shared name, who among the ends carries it: (design, address).
    apart : tuple of str
        Uncertain inputs that both ends state alike and yet don't share.
    model_share : float
        Share of the variance of the model's own error that is common to all designs [-].
    samples, scrambles, random_number : int
    path : Path
    cost_exponent : float
        [-]
    target : str
        The second design's.
    borders : tuple of Border
    changes : tuple of Change
        Borders crossed, in the order of the path.
    trust : Trust
    ladder : Ladder or None
        None where the first design lists no instrument.
    """

    designs: tuple[Waypoint, ...]
    path: Path
    cost_exponent: float
    target: str
    borders: tuple[Border, ...]
    changes: tuple[Change, ...]
    trust: Trust
    ladder: Ladder | None

    @property
    def first(self) -> Waypoint:
        """The design that is fired now."""
        return self.designs[0]

    @property
    def last(self) -> Waypoint:
        """The design that it shall lead to."""
        return self.designs[-1]

    @property
    def places(self) -> FloatArray:
        """Where the designs lie along the path [-]."""
        return np.array([design.place for design in self.designs])

    @property
    def sizes(self) -> FloatArray:
        """Cube roots of the channels' volumes over the first's [-]."""
        return np.array([design.size for design in self.designs])

    @property
    def costs(self) -> FloatArray:
        """Firings of the first design that one firing of each costs [-]."""
        return np.array([design.cost for design in self.designs])

    @property
    def border_shares(self) -> pd.DataFrame:
        """How many firings of each design lie past each border, and from which share on it counts as past it [-]."""
        return by_design({own.name: self.border_rows(own) for own in self.designs}, dict, "border")

    def border_rows(self, design: Waypoint) -> dict[str, Cells]:
        """Of each border, how many firings of a design lie past it, as a row of a table."""
        return {border.name: border.row(design.sides[border.name], design.place) for border in self.borders}

    def told_rows(self, wanted: Sequence[str]) -> list[str]:
        """The quantities of these bare names that some design has."""
        return [
            row
            for row in self.first.figures
            if row.rpartition(".")[2] in wanted and any(own.figures[row].is_told for own in self.designs)
        ]

    def narrowed(self, left: Estimate) -> tuple[float, float]:
        """The target's 95 % interval drawn in about its mean as far as its standard uncertainty falls [SI]."""
        now = self.trust.now
        mean, ratio = float(now.mean), float(left) / float(now.standard_uncertainty)
        return mean + ratio * (float(now.low) - mean), mean + ratio * (float(now.high) - mean)

    @property
    def stages(self) -> tuple[Stage, ...]:
        """How the target's standard uncertainty falls."""
        first, found = self.first, self.ladder
        stages = [Stage("now", self.trust.now.standard_uncertainty, np.nan, None)]
        if found is not None:
            stages.append(Stage(f"after {first.name}'s firings", found.after_first, 0.0, first))
            costs = np.cumsum([rung.design.cost for rung in found.rungs])
            for rung, cost in zip(found.rungs, costs, strict=True):
                stages.append(Stage(f"and after {rung.design.name}", rung.left, float(cost), rung.design))
        stages.append(Stage("if all shared were known", self.trust.never, np.nan, None))
        if found is not None and found.fired is not None:
            words = f"after {self.last.name} itself"
            stages.append(Stage(words, found.fired.left, self.last.cost, self.last))
        return tuple(stages)

    def _summary(self) -> Summary:
        scale, now = scale_of(self.target), self.trust.now
        return Summary(
            f"Scaling from {self.first.name} to {self.last.name} over {len(self.designs) - 2} designs:"
            f" {self.target} of {self.last.name} {scale.text(float(now.mean), 3)}",
            ("", "standard uncertainty", "19 times in 20 between"),
            tuple(
                (
                    stage.words,
                    scale.difference(float(stage.left), 3),
                    scale.span(*self.narrowed(stage.left), 3),
                )
                for stage in self.stages
            ),
        )


def scale_studies(
    first: Study,
    second: Study,
    *,
    steps: int = STEPS,
    cost_exponent: float = COST_EXPONENT,
    worth: str | None = None,
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Scaling:
    """Look at the way from one study to another; see `entry.scale`."""
    if not np.isfinite(cost_exponent) or cost_exponent < 0:
        raise StudyError(f"the exponent of the cost must be zero or more; got {cost_exponent:g}")
    number = sampling.random_number(first.run.random_number if rng is None else rng)
    least = None if worth is None else amount("worth", worth, registry.quantity(second.target.quantity))
    path, borders = path_between(first, second, steps), borders_of(first, second)
    how = Sampling(number, samples, jobs, progress)
    path, sample, designs = designs_tried(path, borders, how, cost_exponent=cost_exponent)
    changes = changes_along(borders, designs)
    names = sample.names[0], sample.names[-1]
    return Scaling(
        designs=designs,
        shared={
            name: tuple(who for who in every if who[0] in names)
            for name, every in sample.joint.shared.items()
            if set(names) <= {holder for holder, _ in every}
        },
        apart=alike_but_apart([first, second]),
        model_share=common_share([first, second]),
        samples=sample.plan.size,
        scrambles=sample.plan.scrambles,
        random_number=number,
        path=path,
        cost_exponent=cost_exponent,
        target=second.target.quantity,
        borders=borders,
        changes=changes,
        trust=trust(sample),
        ladder=ladder_of(path, borders, how, sample, designs, changes, least) if first.instruments else None,
    )
