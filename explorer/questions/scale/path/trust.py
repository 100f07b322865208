"""What is not known of the last design of a path, and what of it no firing of the first can ever teach."""

from dataclasses import dataclass

import numpy as np

from explorer.analysis import statistics
from explorer.analysis.scrambles import Estimate, estimate, root
from explorer.questions.scale.path.sample import Sample


@dataclass(frozen=True)
class Trust:
    """How far the first design's number may be trusted for the second's target."""

    now: statistics.Distribution  #: Of the second's target in one firing, as it stands [SI]
    chance_met: Estimate | None  #: That its requirement is met now, where there is one [-]
    #: Standard uncertainty left if everything that the two designs share were known exactly [SI].
    never: Estimate
    #: Standard uncertainty that the part of the model's error which both designs have in common makes by itself,
    #: relative to the value, and the same of the last one's own part [-].
    model_common: float
    model_alone: float


def trust(sample: Sample) -> Trust:
    """How far the first design's number may be trusted for the second's target."""
    last = sample.joint.sides[-1]
    target = last.study.target
    values = sample.found[-1].quantities[target.quantity]
    kept = [block[np.isfinite(block)] for block in values]
    half = 0.5 * (values - sample.again) ** 2
    never = estimate([float(np.nanmean(block)) for block in half])
    factors = set(sample.joint.model.get((last.name, target.quantity), ()))
    return Trust(
        now=statistics.distribution(kept),
        chance_met=statistics.chance(kept, at_least=target.at_least, at_most=target.at_most)
        if target.has_requirement
        else None,
        never=root(never),
        model_common=_relative(sample, factors & set(sample.factors)),
        model_alone=_relative(sample, factors - set(sample.factors)),
    )


def _relative(sample: Sample, names: set[str]) -> float:
    """Relative standard uncertainty of a factor that the model may be off by; zero without one."""
    parts = [item.unknown for item in sample.joint.space.inputs if item.address in names]
    return max((part.standard_uncertainty / part.mean for part in parts if part is not None), default=0.0)
