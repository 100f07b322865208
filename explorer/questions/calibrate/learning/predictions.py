"""What readings and the target should be, told from a sample, and how far what was read lies from it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtr

from explorer import registry
from explorer.questions.calibrate.learning.instruments import Instruments
from explorer.questions.calibrate.learning.left_out import Known, LeftOut
from explorer.questions.calibrate.learning.settings import Moment
from explorer.questions.calibrate.learning.sides import StudySide
from explorer.study.model_error import off
from explorer.studyfile import Study

Floats = NDArray[np.float64]

#: Points beyond a reading from which on a tail is told by counting [-].
_COUNTED: Final[int] = 10

#: Fewest points with numbers from which anything is told [-].
_FEWEST: Final[int] = 32


@dataclass(frozen=True)
class Aim:
    """The target in one future firing of the study as it stands."""

    instruments: Instruments
    quantity: str
    moment: Moment
    #: latents of that firing's scatter and of errors that no reading is about, the same for all samples
    scatter: Floats

    def values(self, common: Floats, errors: Floats) -> tuple[Floats, Floats]:
        """The target without and with what the model itself may be off by, shape (points,) [SI]."""
        stand = self.instruments.stand
        fresh = self.scatter[np.arange(len(common)) % len(self.scatter)]
        own = np.zeros((len(common), stand.own))
        own[:, : len(stand.scatter)] = fresh[:, 1:]
        inputs = stand.inputs(self.moment, common, own, stand.drawn(common, own))
        plain = stand.computed([self.moment], [inputs])[0][self.quantity]
        return plain, self._off(
            plain, self.factor(self.quantity, common, errors, fresh[:, 0]), inputs, common, errors
        )

    def factor(self, quantity: str, common: Floats, errors: Floats, fresh: Floats) -> Floats:
        """Factor that the model may be off by on a quantity, at the study as it stands [-]."""
        instruments = self.instruments
        study = instruments.stand.study
        learnt = instruments.factor(quantity, len(instruments.stand.moments), common, errors)
        if not isinstance(learnt, float):
            return learnt
        relative = 0.0 if study is None else study.model_error.of(quantity).relative
        return np.asarray(np.exp(np.sqrt(np.log1p(relative**2)) * fresh))

    def _off(
        self,
        plain: Floats,
        factor: Floats,
        inputs: Mapping[str, Floats],
        common: Floats,
        errors: Floats,
    ) -> Floats:
        side = self.instruments.stand.sides[0]
        study: Study | None = side.side.study if isinstance(side, StudySide) else None
        true = plain * factor if study is None else off(study, self.quantity, plain, factor, inputs)
        offset = self.instruments.offset(self.quantity, common, errors)
        return np.asarray(true + np.where(plain == 0.0, 0.0, offset))


def aim_of(instruments: Instruments, quantity: str, points: int, rng: np.random.Generator) -> Aim:
    """The target, with the scatter of the firings in which it is looked at."""
    moment = Moment(-1, "", 0, {}, {}, {}, (quantity,))
    return Aim(
        instruments, quantity, moment, rng.standard_normal((points, 1 + len(instruments.stand.scatter)))
    )


@dataclass(frozen=True)
class Foreseen:
    """Readings of one firing as a sample foresees them."""

    mean: Floats  #: shape (readings,) [SI]
    low: Floats  #: ends of the 95 % interval
    high: Floats
    p: Floats  #: two-sided, of each reading [-]
    together: float  #: of all readings [-]


def foreseen(instruments: Instruments, firing: int, expected: Floats, rng: np.random.Generator) -> Foreseen:
    """What a sample foresees of a firing's readings, from what instruments should read but for their noise."""
    replicas = instruments.replicas(expected, firing, rng)
    read = np.array([own.reading.value for own in instruments.of(firing)])
    none = np.isnan(read)
    whole = replicas[np.isfinite(replicas).all(axis=1)]
    if none.any():
        share = 1.0 - len(whole) / len(replicas)
        blank = np.full(read.size, np.nan)
        return Foreseen(blank, blank, blank, np.full(read.size, share), share)
    if len(whole) < _FEWEST:
        blank = np.full(read.size, np.nan)
        return Foreseen(blank, blank, blank, np.zeros(read.size), 0.0)
    low, high = np.quantile(whole, [0.025, 0.975], axis=0)
    each = np.array([_two_sided(column, own) for column, own in zip(whole.T, read, strict=True)])
    return Foreseen(whole.mean(axis=0), low, high, each, together(whole, read))


def together(replicas: Floats, read: Floats) -> float:
    """Share of replicas that lie at least as far from their middle as what was read [-]."""
    middle, covariance = replicas.mean(axis=0), np.atleast_2d(np.cov(replicas, rowvar=False))
    inverse = np.linalg.pinv(covariance)
    deviations, own = replicas - middle, read - middle
    squares = np.einsum("ni,ij,nj->n", deviations, inverse, deviations)
    farther = int(np.count_nonzero(squares >= own @ inverse @ own))
    if farther >= _COUNTED:
        return farther / len(replicas)
    return float(min(chdtrc(read.size, float(own @ inverse @ own)), _COUNTED / len(replicas)))


def _two_sided(replicas: Floats, read: float) -> float:
    beyond = min(np.count_nonzero(replicas >= read), np.count_nonzero(replicas <= read))
    if beyond >= _COUNTED:
        return min(2.0 * float(beyond) / replicas.size, 1.0)
    score = abs(read - replicas.mean()) / replicas.std()
    return float(min(2.0 * ndtr(-score), 2.0 * _COUNTED / replicas.size))


def variance(aim: Aim | None, sample: Known | LeftOut) -> float:
    """Variance of the target [SI²]; not a number without a target."""
    if aim is None:
        return float("nan")
    values = aim.values(sample.particles.common, sample.errors)[1]
    return float(np.nanvar(values)) if np.isfinite(values).any() else float("nan")


def prediction_of(aim: Aim, sample: Known) -> tuple[dict[str, float], dict[str, float]]:
    """The target in one future firing, without and with the model's own error put on."""
    still = replace(aim, scatter=np.column_stack([aim.scatter[:, :1], 0.0 * aim.scatter[:, 1:]]))
    latents = sample.particles.common, sample.errors
    study = aim.instruments.stand.study
    plain, put_on = (
        _figures(values, fixed, study, aim.quantity)
        for values, fixed in zip(aim.values(*latents), still.values(*latents), strict=True)
    )
    return plain, put_on


def prediction_table(aim: Aim | None, prior: Known, sample: Known) -> pd.DataFrame:
    """The target before and after, without and with the model's own error put on."""
    rows: dict[tuple[str, bool], dict[str, float]] = {}
    if aim is not None:
        for when, own in (("before", prior), ("after", sample)):
            rows[when, False], rows[when, True] = prediction_of(aim, own)
    index = pd.MultiIndex.from_tuples([*rows], names=["when", "model_error"]) if rows else None
    return pd.DataFrame([*rows.values()], index=index)


def _figures(values: Floats, fixed: Floats, study: Study | None, quantity: str) -> dict[str, float]:
    whole = values[np.isfinite(values)]
    if not whole.size:
        return dict.fromkeys(
            ("mean", "standard_uncertainty", "low", "high", "without_scatter", "chance_met"), np.nan
        )
    low, high = np.quantile(whole, [0.025, 0.975])
    chance = np.nan
    if study is not None and quantity == study.target.quantity and study.target.has_requirement:
        least = -np.inf if study.target.at_least is None else study.target.at_least
        most = np.inf if study.target.at_most is None else study.target.at_most
        chance = float(np.mean((whole >= least) & (whole <= most)))
    return {
        "mean": float(whole.mean()),
        "standard_uncertainty": float(whole.std()),
        "low": float(low),
        "high": float(high),
        "without_scatter": float(np.nanstd(fixed)),
        "chance_met": chance,
        "no_number": 1.0 - whole.size / values.size,
    }


def known_to_study(study: Study | None, quantity: str) -> bool:
    """Whether a study has such an output."""
    return study is not None and quantity in registry.outputs_of(study.pairs)
