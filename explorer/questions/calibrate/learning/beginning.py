"""The sample before any firing, and what firings are held against it with."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from explorer.analysis.calibration.experiments import ExpandedLikelihood, Experiments, Linear, Particles
from explorer.firings import Firing
from explorer.questions.calibrate.learning.discrepancy import Discrepancy, discrepancy
from explorer.questions.calibrate.learning.instruments import Instruments, instruments_of
from explorer.questions.calibrate.learning.likelihood import Likelihood
from explorer.questions.calibrate.learning.stand import Stand


@dataclass(frozen=True)
class Begun:
    """The prior sample, and what firings are held against it with."""

    instruments: Instruments
    experiments: Experiments
    prior: Particles


def begun(
    stand: Stand,
    firings: Sequence[Firing],
    relative: Mapping[str, float],
    points: int,
    rng: np.random.Generator,
) -> Begun:
    """Draw the sample before any firing; `relative` is what the model may be off by, by quantity [-]."""
    draft = instruments_of(stand, firings, _errors(stand, relative, {}))
    common = rng.standard_normal((points, draft.common))
    own = rng.standard_normal((points, len(firings), draft.own))
    simulated = draft.simulate(common, own)
    typical: dict[str, float] = {}
    for each in draft.shown:
        column = simulated[:, each.firing, each.column]
        if np.isfinite(column).any():
            typical[each.quantity] = max(typical.get(each.quantity, 0.0), float(np.nanmedian(np.abs(column))))
    instruments = replace(draft, discrepancy=_errors(stand, relative, typical))
    likelihood = Likelihood(instruments)
    experiments = Experiments(
        instruments.common,
        instruments.own,
        len(firings),
        instruments.columns,
        instruments.simulate,
        likelihood.log_likelihood,
        tuple(range(stand.common, instruments.common)),
        Linear(
            likelihood.drawn,
            likelihood.given,
            ExpandedLikelihood(likelihood.averaged, likelihood.own_drawn, likelihood.joint),
        ),
        stand.own,
        stand.coordinates(),
        likelihood.noise,
    )
    return Begun(instruments, experiments, Particles(common, own, simulated))


def _errors(stand: Stand, relative: Mapping[str, float], typical: Mapping[str, float]) -> Discrepancy:
    """What the model may be off by at the firings' settings and, last, at the study as it stands."""
    moments = stand.moments
    settings = [*(moment.settings for moment in moments), {}]
    words = [*(moment.words for moment in moments), {}]
    if stand.study is not None:
        own = {**stand.study.choices, "mode": stand.study.mode}
        words = [{a: each.get(a, own.get(a, "")) for w in words for a in w} for each in words]
    return discrepancy(relative, typical, settings, words, stand.sides[0].central)
