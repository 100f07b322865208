"""The first-order law of propagation of uncertainty, as an engineer would do it by hand.

Each input is moved up and down by one standard uncertainty; half the difference is what it contributes (JCGM
100:2008 (GUM), 5.1.3 note 2). Contributions of correlated inputs add with their product-moment correlation
(5.2.2). Effective degrees of freedom follow Welch and Satterthwaite (G.4.1), for independent inputs.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy import stats
from scipy.special import ndtr

from explorer.analysis.scrambles import COVERAGE, Floats, finite

#: A contribution below this share of the largest is what rounding leaves of one that isn't there.
ROUNDING: Final[float] = 1e-9


@dataclass(frozen=True)
class FirstOrder:
    """Result of the first-order law, outputs in the order in which they came."""

    values: Floats  #: outputs at the central values, shape (outputs,) [output]
    standard_uncertainties: Floats  #: shape (outputs,) [output]
    contributions: pd.DataFrame  #: of each input (rows) to each output, signed [output]
    correlation: Floats  #: between the outputs, shape (outputs, outputs) [-]
    degrees_of_freedom: Floats  #: effective, shape (outputs,); infinite where not asked for [-]

    def interval(self, output: int = 0, *, coverage: float = COVERAGE) -> tuple[float, float]:
        """Return the ends of the interval, Gaussian or Student's with the effective degrees [output]."""
        expanded = self.expanded_uncertainty(output, coverage=coverage)
        return float(self.values[output] - expanded), float(self.values[output] + expanded)

    def expanded_uncertainty(self, output: int = 0, *, coverage: float = COVERAGE) -> float:
        """Return the interval's half-width, degrees of freedom cut to an integer (GUM G.4.1) [output]."""
        degrees = np.floor(self.degrees_of_freedom[output])
        factor = stats.t.ppf(0.5 + 0.5 * coverage, degrees)
        return float(factor * self.standard_uncertainties[output])


def difference_points(central: ArrayLike, standard_uncertainties: ArrayLike) -> Floats:
    """Return the points to compute: the central one, each input up, each input down.

    Parameters
    ----------
    central, standard_uncertainties : array_like
        Expectation and standard uncertainty of each input, shape (inputs,) [any].

    Returns
    -------
    ndarray
        Shape (1 + 2 · inputs, inputs) [any].
    """
    middle, step = finite(central, "central values"), finite(standard_uncertainties, "uncertainties")
    return np.vstack([middle, middle + np.diag(step), middle - np.diag(step)])


def first_order_law(
    outputs: ArrayLike,
    names: Sequence[str],
    *,
    correlation: ArrayLike | None = None,
    degrees_of_freedom: ArrayLike | None = None,
) -> FirstOrder:
    """Return what the first-order law makes of the outputs at the `difference_points`.

    Parameters
    ----------
    outputs : array_like
        Shape (1 + 2 · inputs,) or (1 + 2 · inputs, outputs) [output].
    names : sequence of str
        One name an input.
    correlation : array_like, optional
        Product-moment correlation of the inputs, shape (inputs, inputs) [-]; none if left out.
    degrees_of_freedom : array_like, optional
        Of each input's standard uncertainty, shape (inputs,) [-]; infinite if left out.

    Raises
    ------
    ValueError
        If an output isn't finite: the law doesn't apply where a point within one standard uncertainty has no
        number. If degrees of freedom are given for correlated inputs.
    """
    y = finite(outputs, "outputs of the first-order law")
    y = y[:, None] if y.ndim == 1 else y
    count = len(names)
    if y.shape[0] != 1 + 2 * count:
        raise ValueError(f"{count} inputs need {1 + 2 * count} points; got {y.shape[0]}")
    contributions = 0.5 * (y[1 : 1 + count] - y[1 + count :])
    contributions[np.abs(contributions) < ROUNDING * np.abs(contributions).max(axis=0, initial=0.0)] = 0.0
    related = np.eye(count) if correlation is None else finite(correlation, "correlations")
    covariance = contributions.T @ related @ contributions
    uncertainties = np.sqrt(np.diag(covariance))
    with np.errstate(invalid="ignore"):
        correlated_outputs = covariance / np.outer(uncertainties, uncertainties)
    degrees = np.full(y.shape[1], np.inf)
    if degrees_of_freedom is not None:
        if not np.array_equal(related, np.eye(count)):
            raise ValueError("Welch and Satterthwaite's formula holds for independent inputs only")
        degrees = welch_satterthwaite(contributions, degrees_of_freedom)
    return FirstOrder(
        y[0], uncertainties, pd.DataFrame(contributions, index=list(names)), correlated_outputs, degrees
    )


def welch_satterthwaite(contributions: ArrayLike, degrees_of_freedom: ArrayLike) -> Floats:
    """Return the effective degrees of freedom, ν = u⁴/Σ(u_i⁴/ν_i) [-].

    Source: JCGM 100:2008, equation (G.2b).

    Parameters
    ----------
    contributions : array_like
        Of each input to each output, shape (inputs, outputs) [output].
    degrees_of_freedom : array_like
        Of each input, infinite where its uncertainty is known exactly, shape (inputs,) [-].
    """
    parts = np.asarray(contributions, dtype=np.float64) ** 2
    degrees = np.asarray(degrees_of_freedom, dtype=np.float64)
    if not np.all(degrees > 0.0):
        raise ValueError("degrees of freedom must be positive")
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(parts.sum(axis=0) ** 2 / np.sum(parts**2 / degrees[:, None], axis=0))


def product_moment_correlation(
    first: Callable[[Floats], Floats], second: Callable[[Floats], Floats], copula_correlation: float
) -> float:
    """Return the product-moment correlation of two inputs joined by a Gaussian copula [-].

    Quadrature over the two normal scores with 64 Gauss–Hermite nodes each.

    Parameters
    ----------
    first, second : callable
        Quantile functions: unit coordinate to value [any].
    copula_correlation : float
        Correlation of the normal scores [-].
    """
    if not -1.0 <= copula_correlation <= 1.0:
        raise ValueError(f"a correlation must lie in [-1, 1]; got {copula_correlation}")
    nodes, weights = np.polynomial.hermite_e.hermegauss(64)
    weights = weights / weights.sum()
    own = np.sqrt(1.0 - copula_correlation**2)
    second_scores = copula_correlation * nodes[:, None] + own * nodes[None, :]
    # The farthest nodes lie beyond what a coordinate near 1 can tell apart; their weight is below 1e-20.
    tiny = np.finfo(np.float64).eps / 2.0
    x = first(np.clip(ndtr(nodes), tiny, 1.0 - tiny))
    y = second(np.clip(ndtr(second_scores), tiny, 1.0 - tiny))
    alone = second(np.clip(ndtr(nodes), tiny, 1.0 - tiny))
    x, mean = x - weights @ x, float(weights @ alone)
    covariance = float(np.einsum("i,j,i,ij->", weights, weights, x, y - mean))
    spread = np.sqrt((weights @ x**2) * (weights @ (alone - mean) ** 2))
    return float(covariance / spread)
