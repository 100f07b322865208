"""What is not known of the last design of a path, and what of it no firing of the first can ever teach."""

from dataclasses import dataclass

import numpy as np

from explorer.analysis import statistics
from explorer.analysis.scrambles import Estimate, estimate, root
from explorer.questions.scale.path.along import Along


@dataclass(frozen=True)
class Trust:
    """How far the first design's number may be trusted for the second's target."""

    now: statistics.Distribution  #: Of the second's target in one firing, as it stands [SI]
    chance_met: Estimate | None  #: That its requirement is met now, where there is one [-]
    #: Standard uncertainty left if everything that the two designs share were known exactly [SI].
    never: Estimate
    #: Standard uncertainty that the part of the model's error which both designs have in common, and the
    #: last one's own, make by themselves, relative to the value [-].
    model_common: float
    #: Standard uncertainty that the part of the model's error which both designs have in common, and the
    #: last one's own, make by themselves, relative to the value [-].
    model_alone: float


def trust(along: Along) -> Trust:
    """How far the first design's number may be trusted for the second's target."""
    last = along.joint.sides[-1]
    target = last.study.target
    values = along.found[-1].quantities[target.quantity]
    kept = [block[np.isfinite(block)] for block in values]
    half = 0.5 * (values - along.again) ** 2
    never = estimate([float(np.nanmean(block)) for block in half])
    factors = set(along.joint.model.get((last.name, target.quantity), ()))
    return Trust(
        now=statistics.distribution(kept),
        chance_met=statistics.chance(kept, at_least=target.at_least, at_most=target.at_most)
        if target.has_requirement
        else None,
        never=root(never),
        model_common=_relative(along, factors & set(along.factors)),
        model_alone=_relative(along, factors - set(along.factors)),
    )


def _relative(along: Along, names: set[str]) -> float:
    """Relative standard uncertainty of a factor that the model may be off by; zero without one."""
    parts = [item.unknown for item in along.joint.space.inputs if item.address in names]
    return max((part.standard_uncertainty / part.mean for part in parts if part is not None), default=0.0)
