"""What readings would leave of a target's uncertainty, and what they would be worth for a verdict.

Readings are simulated once from the same sample that gave the target, and the target is regressed on them:
the posterior needs no further run of the model. What is left is √E[Var(Y|readings)]; what the uncertainty may
turn out to be follows from the squared residuals, whose mean is fitted over the readings with a logarithmic
link (a gamma regression: positive, and right for the mean whatever the residuals' shape).

The value of readings for a choice is what the choice gains, on rows that had no part in fitting it, over the
choice that would be made without them. It is never more than perfect knowledge of the outcome would gain.

Sources: M. Strong, J. E. Oakley, A. Brennan, P. Breeze, Med. Decis. Making 35 (2015) 570 (sample information
by regression); H. Raiffa and R. Schlaifer, Applied statistical decision theory (1961); gamma regression:
P. McCullagh and J. A. Nelder, Generalized linear models (2nd ed., 1989), chapter 8.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import expit

from explorer.analysis.regression import Regressors, cross_fitted, left_variance
from explorer.analysis.scrambles import Estimate, Floats, estimate

_SHRINKAGE: Final[float] = 0.005  #: ridge of the fitted spread, share of the rows; keeps noise out of it
_SMALL_SHRINKAGE: Final[float] = 1e-5  #: the same of the fitted chance, which may be steep
_STEPS: Final[int] = 50  #: scoring steps at most; some ten are usual
_QUICK: Final[float] = 0.05  #: of what a scoring step gains, the share by which the next one may gain at most
_LIMIT: Final[float] = 4.0  #: standard errors by which readings may seem to beat perfect knowledge


class MoreThanPerfect(AssertionError):
    """Readings seem to teach more than knowing the quantities exactly would: the calculation is wrong."""


@dataclass(frozen=True)
class Choice:
    """A choice that hangs on a requirement: to go by "met", or by "not met".

    As it stands it counts right verdicts: its value is E[max(p, 1 − p)] − max(p0, 1 − p0), the share of wrong
    verdicts avoided. With pay-offs, `on_met` is (gain_if_met, −loss_if_not) and `on_not_met` is (0, 0).
    """

    met: Sequence[Floats]  #: for each scramble 1 where the requirement is met, else 0, shape (rows,)
    on_met: tuple[float, float] = (1.0, 0.0)  #: what going by "met" brings if it is met, and if it is not
    on_not_met: tuple[float, float] = (0.0, 1.0)  #: the same of going by "not met"

    def benefits(self, chance: Floats) -> Floats:
        """Return what either verdict brings at a chance of meeting the requirement, shape (rows, 2)."""
        met, not_met = chance[:, None], 1.0 - chance[:, None]
        return np.asarray(
            met * np.array([self.on_met[0], self.on_not_met[0]])
            + not_met * np.array([self.on_met[1], self.on_not_met[1]])
        )


@dataclass(frozen=True)
class DecisionValue:
    """What readings are worth for a choice, in the unit of its benefits."""

    value: Estimate  #: gain over choosing without the readings
    change: Estimate  #: chance that the choice comes out different with the readings
    perfect: float  #: gain if the outcome itself were known


def reading_uncertainty(
    *, random: float, common: float = 0.0, scatter: float = 0.0, repeats: int = 1
) -> float:
    """Return the standard uncertainty of the mean of repeated readings as a reading of what doesn't scatter [any].

    Parameters
    ----------
    random : float
        Instrument's uncertainty that falls anew at each reading [any].
    common : float
        Instrument's uncertainty that all its readings share; repeats don't lessen it [any].
    scatter : float
        Standard deviation by which the quantity itself falls anew at each repeat [any].
    repeats : int
        Number of readings [-].
    """
    if repeats < 1 or min(random, common, scatter) < 0.0:
        raise ValueError("repeats must be at least one and uncertainties not negative")
    return float(np.sqrt(common**2 + (random**2 + scatter**2) / repeats))


def left_after(known: Regressors, quantities: Sequence[int], target: Sequence[Floats]) -> Estimate:
    """Return E[Var(Y|readings)] [target²]; its `root` is the standard uncertainty left.

    Parameters
    ----------
    known : Regressors
        Readings.
    quantities : sequence of int
        Columns of the readings taken; none for what stands now [-].
    target : sequence of ndarray
        For each scramble, centred (`regression.centred`), shape (rows, 1) [target].
    """
    return estimate(left_variance(known.moments(quantities, target))[:, 0])


def refuse_more_than_perfect(after: Estimate, perfect: Estimate, what: str) -> None:
    """Raise `MoreThanPerfect` if the variance left after readings lies clearly below what knowledge leaves.

    Parameters
    ----------
    after, perfect : Estimate
        Variances left after readings, and if what they read were known exactly [target²].
    what : str
        Name of the readings.
    """
    error = np.hypot(np.nan_to_num(after.standard_error), np.nan_to_num(perfect.standard_error))
    if after.value < perfect.value - _LIMIT * error - 1e-9 * abs(perfect.value):
        raise MoreThanPerfect(
            f"{what} would leave a variance of {after.value:.6g}, less than the {perfect.value:.6g} left "
            f"by exact knowledge (sampling error {error:.2g})"
        )


def left_range(known: Regressors, quantities: Sequence[int], target: Sequence[Floats]) -> tuple[float, float]:
    """Return the 5 % and 95 % points of what the standard uncertainty may turn out to be [target].

    Where the fitted spread predicts unseen residuals no better than one common spread does, both are √E[Var].

    Parameters
    ----------
    known, quantities, target
        As in `left_after`.
    """
    left = float(np.sqrt(left_after(known, quantities, target).value))
    if not quantities or left == 0.0:
        return left, left
    predicted = cross_fitted(known, quantities, target)
    squares = [(y - p)[:, 0] ** 2 for y, p in zip(target, predicted, strict=True)]
    parts = zip(*(known.features((quantity,)) for quantity in sorted(set(quantities))), strict=True)
    features = [np.column_stack([np.ones(len(block[0])), *block]) for block in parts]
    halves = [slice(0, None, 2), slice(1, None, 2)]
    better = 0.0
    for fit, judge in (halves, halves[::-1]):
        design, unseen = np.concatenate(features[fit]), np.concatenate(squares[judge])
        beta = _fitted_spread(design, np.concatenate(squares[fit]))
        log_mean = np.concatenate(features[judge]) @ beta
        common = np.log(np.mean(np.concatenate(squares[fit])))
        better += float(np.sum(common + unseen * np.exp(-common) - log_mean - unseen * np.exp(-log_mean)))
    if better <= 0.0:
        return left, left
    design, all_squares = np.concatenate(features), np.concatenate(squares)
    variance = np.exp(design @ _fitted_spread(design, all_squares))
    low, high = np.sqrt(np.quantile(variance, [0.05, 0.95]) / variance.mean()) * left
    return float(low), float(high)


def _fitted_spread(design: Floats, squares: Floats) -> Floats:
    """Return the coefficients of log E[squares] by Fisher scoring, whose matrix doesn't change here."""
    ridge = _SHRINKAGE * len(design) * np.eye(design.shape[1])
    ridge[0, 0] = 0.0
    information = design.T @ design + ridge
    beta = np.zeros(design.shape[1])
    beta[0] = np.log(squares.mean())
    for _ in range(_STEPS):
        slope = design.T @ (squares * np.exp(-(design @ beta)) - 1.0) - ridge @ beta
        step = np.linalg.solve(information, slope)
        longest = float(np.max(np.abs(design @ step)))
        beta = beta + step * min(1.0, 1.0 / max(longest, 1e-300))
        if longest < 1e-4:
            break
    return beta


def decision_value(known: Regressors, quantities: Sequence[int], benefits: Sequence[Floats]) -> DecisionValue:
    """Return what the readings are worth for the choice between several actions.

    Parameters
    ----------
    known : Regressors
        Readings.
    quantities : sequence of int
        Columns of the readings taken [-].
    benefits : sequence of ndarray
        For each scramble what each action would bring on each row, shape (rows, actions) [benefit].
    """
    means = np.concatenate(list(benefits)).mean(axis=0)
    predicted = cross_fitted(known, quantities, [b - means for b in benefits])
    return _gain(benefits, [p + means for p in predicted])


def verdict_value(known: Regressors, quantities: Sequence[int], choice: Choice) -> DecisionValue:
    """Return what the readings are worth for the verdict on a requirement.

    The chance that it is met, given the readings, is fitted with a logistic link, which may be as steep as
    the readings are sharp.

    Parameters
    ----------
    known : Regressors
        Readings.
    quantities : sequence of int
        Columns of the readings taken [-].
    choice : Choice
        Where the requirement is met, and what acting on either verdict brings.
    """
    design, met = known.design(quantities), list(choice.met)
    start = _fitted_logit(np.concatenate(design), np.concatenate(met), np.zeros(design[0].shape[1]))
    information = np.stack([_information(block, expit(block @ start)) for block in design])
    chances = []
    for place, block in enumerate(design):
        others = [i for i in range(len(design)) if i != place]
        unseen = np.concatenate([design[i] for i in others]), np.concatenate([met[i] for i in others])
        chances.append(expit(block @ _fitted_logit(*unseen, start, information[others].sum(axis=0))))
    return _gain([choice.benefits(m) for m in choice.met], [choice.benefits(p) for p in chances])


def _gain(benefits: Sequence[Floats], expected: Sequence[Floats]) -> DecisionValue:
    """Return what choosing by the expected benefits gains over choosing the same action everywhere."""
    means = np.concatenate(list(benefits)).mean(axis=0)
    without = int(np.argmax(means))
    perfect = float(np.concatenate([b.max(axis=1) for b in benefits]).mean() - means[without])
    gains, changes = [], []
    for benefit, fitted in zip(benefits, expected, strict=True):
        chosen = np.argmax(fitted, axis=1)
        gains.append(float(np.mean(benefit[np.arange(len(benefit)), chosen] - benefit[:, without])))
        changes.append(float(np.mean(chosen != without)))
    value = estimate(gains)
    if float(value.value) > perfect + 1e-9 * max(float(np.max(np.abs(means))), perfect):
        raise MoreThanPerfect(f"readings gain {value.value:.6g}, knowing the outcome {perfect:.6g}")
    return DecisionValue(value, estimate(changes), perfect)


def _fitted_logit(design: Floats, met: Floats, start: Floats, information: Floats | None = None) -> Floats:
    """Return the coefficients of logit P(met) by Newton's steps; the ridge keeps a clear cut finite.

    The information at the start may be given; it is made anew where steps don't shrink as quickly as they should.
    """
    ridge = _SMALL_SHRINKAGE * len(design) * np.eye(design.shape[1])
    ridge[0, 0] = _SMALL_SHRINKAGE
    beta, before = start, np.inf
    for _ in range(_STEPS):
        chance = expit(design @ beta)
        if information is None:
            information = _information(design, chance)
        slope = design.T @ (met - chance) - ridge @ beta
        step = np.linalg.solve(information + ridge, slope)
        beta = beta + step * min(1.0, 4.0 / max(float(np.max(np.abs(design @ step))), 1e-300))
        gained = float(slope @ step)
        if gained < 1e-6 * len(design) * _SMALL_SHRINKAGE:
            break
        if gained > _QUICK * before:
            information = None
        before = gained
    return beta


def _information(design: Floats, chance: Floats) -> Floats:
    weight = np.maximum(chance * (1.0 - chance), 1e-6)
    return np.asarray(design.T @ (design * weight[:, None]))
