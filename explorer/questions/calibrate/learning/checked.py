"""Whether a sample can be trusted."""

from collections.abc import Callable
from typing import Final

import pandas as pd

from explorer.analysis.calibration.tempering import Tempered
from explorer.questions.calibrate.posterior import Diagnostics, NoPosterior

#: What a sample must reach to be shown at all: acceptance, share of distinct points, correlation left [-].
_LEAST_ACCEPTANCE, _LEAST_UNIQUE, _MOST_LEFT = 0.02, 0.5, 0.3

#: Fewest independent draws [-].
_FEWEST_DRAWS: Final[float] = 100.0


def diagnostics(found: Tempered, impossible: "pd.Series[float]", steps: int) -> Diagnostics:
    """How a sample came about; each of its points is so many steps of burns."""
    names = {"progress": "exponent", "correlation": "correlation_left"}
    path = pd.DataFrame([vars(step) for step in found.steps]).rename(columns=names)
    last = found.steps[-1]
    return Diagnostics(
        temperatures=len(found.steps),
        path=path,
        acceptance=last.acceptance,
        unique=last.unique,
        correlation_left=last.correlation,
        effective_size=last.unique * max(1.0 - last.correlation**2, 0.0),
        evaluations=(found.evaluations + found.particles.count) * steps,
        impossible=impossible,
    )


def refuse_untrusted(found: Diagnostics, advice: Callable[[], str]) -> None:
    """Refuse a sample that hardly moved."""
    faults = []
    if found.acceptance < _LEAST_ACCEPTANCE:
        faults.append(f"only {found.acceptance:.1%} of the moves were accepted")
    points = found.path["unique"].max()
    if found.unique < _LEAST_UNIQUE * points:
        faults.append(f"only {found.unique} of {points} points are distinct")
    if found.correlation_left > _MOST_LEFT:
        faults.append(f"the sample still remembers where it began (correlation {found.correlation_left:.2f})")
    if found.effective_size < _FEWEST_DRAWS:
        faults.append(f"it is worth {found.effective_size:.0f} independent draws")
    if faults:
        raise NoPosterior(f"no posterior: {'; '.join(faults)}. {advice()}")
