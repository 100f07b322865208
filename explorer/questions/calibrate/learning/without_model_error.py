"""The same firings if the model had no error of its own: the sample is led on while that error falls to nothing.

The model's error doesn't enter what the stage computes, so that the way begins at points that are computed already, and
what stood in for the model stands in again.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd

from explorer.analysis.calibration.chains import Mapper
from explorer.analysis.calibration.experiments import Experiments
from explorer.analysis.calibration.tempering import Impossible, Tempered, tempered
from explorer.questions.calibrate.learning.checked import diagnostics, refuse_untrusted
from explorer.questions.calibrate.learning.left_out import Known
from explorer.questions.calibrate.learning.predictions import Aim, prediction_of
from explorer.questions.calibrate.learning.stand import Stand
from explorer.questions.calibrate.learning.streams import WITHOUT, stream
from explorer.questions.calibrate.learning.unknowns import inputs_table, unknowns_of
from explorer.questions.calibrate.posterior import NoPosterior, WithoutModelError

#: Points that are led on at most [-].
_MOST: Final[int] = 1000

#: Computed moves of its last step at most: the way is short, and begins at a sample [-].
_MOVES: Final[int] = 8


def without_model_error(
    stand: Stand,
    experiments: Experiments,
    aim: Aim | None,
    found: Tempered,
    number: int,
    mapper: Mapper,
    advice: Callable[[], str],
) -> WithoutModelError:
    """Return what is known if the model has no error of its own, from the sample in which it has one."""
    rng = stream(number, WITHOUT)
    points = found.particles.taken(rng.permutation(found.particles.count)[:_MOST])
    start = np.ones(experiments.firings + 1)
    end = start.copy()
    end[-1] = 0.0
    try:
        led = tempered(
            experiments,
            points,
            rng,
            start=start,
            end=end,
            most_moves=_MOVES,
            mapper=mapper,
            chains=found.chains,
        )
        checked = diagnostics(led, pd.Series(dtype=float), len(stand.moments))
        refuse_untrusted(checked, advice)
    except (Impossible, NoPosterior) as error:
        return WithoutModelError(str(error).removeprefix("no posterior: "))
    known = Known(led.particles, np.zeros((led.particles.count, 0)))
    assert experiments.linear is not None
    errors = experiments.linear.drawn(led.particles, end, experiments.exact, stream(number, WITHOUT + 1))
    known = replace(known, errors=errors)
    return WithoutModelError(
        "",
        inputs_table(stand, unknowns_of(stand), led.particles.common),
        pd.Series(prediction_of(aim, known)[0]) if aim is not None else None,
        found.log_evidence + led.log_evidence,
        float(np.hypot(found.log_evidence_error, led.log_evidence_error)),
        checked,
    )
