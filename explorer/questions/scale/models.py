"""The way from one callable's values to another's: what firings on it teach about the second, as of studies.

A callable has no borders between regimes, no sizes and no surroundings: its steps are told from each other by their
cost alone, and the second end is read where it is fired.
"""

from __future__ import annotations  # so that help() shows short names

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from explorer import run
from explorer.analysis.scrambles import Estimate, estimate, root
from explorer.questions.scale.ladder.choice import choice
from explorer.questions.scale.ladder.judgement import WORTH, judged
from explorer.questions.scale.ladder.ladder import Climb, Plan
from explorer.questions.scale.ladder.readings import read_along
from explorer.questions.scale.model_path import Inputs, ModelDesign, model_designs, model_sample
from explorer.sampling import Purpose
from explorer.study.contrasts import Figures, cells, figures_of
from explorer.study.problem import Model
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import Amount, Instrument, StudyError, amount
from explorer.studyfile.reading import quantity_of

#: Share of the points by which steps are chosen, as of studies.
_CHOICE: Final[int] = 2


@dataclass(frozen=True, repr=False)
class ModelScaling(Shown):
    """The way from one callable's values to another's.

    Attributes
    ----------
    designs : tuple of ModelDesign
        Both ends among them.
    target : str
        The quantity of the last one that is to be learnt.
    now : Figures
        Of it in one firing, as it stands.
    after_first : Estimate
        Its standard uncertainty after ever more firings of the first design.
    never : Estimate
        The same if all that both ends share were known.
    fired : Estimate or None
        The same after a firing of the last design itself, beyond the first one's; None where it can't be read.
    plan : Plan or None
        The best set of steps, judged on points that had no part in its choice; None where none can be read.
    samples, scrambles, random_number : int
    """

    designs: tuple[ModelDesign, ...]
    target: str
    now: Figures
    after_first: Estimate
    never: Estimate
    fired: Estimate | None
    plan: Plan | None
    samples: int
    scrambles: int
    random_number: int

    @property
    def climb(self) -> Climb:
        """Whether a ladder is worth climbing."""
        return "not worth climbing" if self.plan is None else self.plan.climb

    @property
    def stages(self) -> pd.DataFrame:
        """What is left of the target's standard uncertainty, stage by stage, and what that costs beyond the first."""
        rows: dict[str, dict[str, Any]] = {
            "now": cells(left=self.now.standard_uncertainty, cost=math.nan),
            "after the first design's firings": cells(left=self.after_first, cost=0.0),
        }
        if self.plan is not None:
            steps = " and ".join(design.name for design in self.plan.designs)
            rows[f"and after {steps}"] = cells(left=self.plan.left, cost=self.plan.cost)
        rows["if all shared were known"] = cells(left=self.never, cost=math.nan)
        if self.fired is not None:
            rows["after the last design itself"] = cells(left=self.fired, cost=self.designs[-1].cost)
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis(index="known")

    def _summary(self) -> Summary:
        scale = scale_of(self.target)
        rows = tuple(
            (str(known), scale.difference(float(row["left"]), 3)) for known, row in self.stages.iterrows()
        )
        title = f"Scaling over {len(self.designs) - 2} designs: a ladder is {self.climb}"
        return Summary(title, ("", f"standard uncertainty of {self.target}"), rows)


def scale_models(
    models: tuple[Model, Model],
    inputs: Inputs | Sequence[Inputs],
    target: str,
    instruments: Sequence[Instrument | Mapping[str, Any]],
    number: int,
    samples: int,
    *,
    steps: int,
    cost: float,
    worth: Amount | None,
    jobs: int,
    progress: run.Progress | None,
) -> ModelScaling:
    """Look at the way from one callable's values to another's."""
    designs = model_designs(models, inputs, steps, cost)
    read = tuple(own if isinstance(own, Instrument) else _instrument(own) for own in instruments)
    if not read:
        raise StudyError("no instrument is given, so that no firing on the way would be read")
    judging = model_sample(
        designs, target, read, number, samples, Purpose.SCALING, jobs=jobs, progress=progress
    )
    choosing = model_sample(
        designs,
        target,
        read,
        number,
        max(samples // _CHOICE, 2_048),
        Purpose.LADDER_CHOICE,
        jobs=jobs,
        progress=None,
    )
    values, last = judging.found[-1].quantities[target], designs[-1].number
    with threadpool_limits(limits=1, user_api="blas"):
        known = read_along(judging, designs)
        least = (WORTH if worth is None else worth).at(float(np.sqrt(known.in_full(())[:, 0].mean())))
        picked = choice(read_along(choosing, designs), designs, (), least)
        return ModelScaling(
            designs=designs,
            target=target,
            now=figures_of((values, np.isfinite(values))),
            after_first=root(estimate(known.in_full((0,))[:, 0])),
            never=root(estimate([float(np.nanmean(own)) for own in 0.5 * (values - judging.again) ** 2])),
            fired=root(estimate(known.in_full((0, last))[:, 0])) if last in known.columns else None,
            plan=judged(known, designs, picked, least),
            samples=judging.plan.size,
            scrambles=judging.plan.scrambles,
            random_number=number,
        )


def _instrument(written: Mapping[str, Any]) -> Instrument:
    """An instrument as a study states one."""
    missing = [key for key in ("name", "reads") if key not in written]
    parts = {key: written.get(key) for key in ("random", "common")}
    if missing or not any(parts.values()):
        raise StudyError("an instrument has a name, what it reads, and random or common or both")
    name, reads = written["name"], written["reads"]
    texts = [text for part in parts.values() if part is not None for text in str(part).split(" + ")]
    quantity = quantity_of(reads, next((text for text in texts if "%" not in text), ""))
    own = {key: amount(f"instrument {name}: {key}", part, quantity) for key, part in parts.items()}
    return Instrument(name, reads, own["random"], own["common"])
