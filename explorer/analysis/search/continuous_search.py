"""One wish, continuous variables alone: a population that roams, then polishes from its best places.

Differential evolution (R. Storn and K. Price, J. Global Optim. 11 (1997) 341, limits after J. Lampinen, CEC 2002,
as SciPy has it) assesses a whole generation in one call. It takes the smaller share of the designs: in trials on
published design problems, and on limits that hold with a chance over 512 scenarios, several polishes from good
places far apart found more than more generations did.
"""

from typing import Final

import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, differential_evolution
from scipy.stats import qmc

from explorer.analysis.scrambles import Floats
from explorer.analysis.search.design_space import DesignSpace, Record, Tried
from explorer.analysis.search.polish import fewest, polished

ROAMING_SHARE: Final[float] = 0.3  #: of the budget, for the population
SMALLEST_POPULATION: Final[int] = 16
LARGEST_POPULATION: Final[int] = 128
GENERATIONS: Final[int] = 10  #: wanted before the population is made larger
FAR_APART: Final[float] = 0.1  #: in unit coordinates, least distance of a start from those polished before


def continuous_search(space: DesignSpace, record: Record, *, budget: int, rng: np.random.Generator) -> Tried:
    """Return the best design found within a budget; the record holds all that were tried.

    Parameters
    ----------
    space : DesignSpace
        Without lists.
    record : Record
        What assesses the designs; may hold some already, which count.
    budget : int
        Designs that the record may hold in the end [-], at least 32.
    rng : numpy.random.Generator
        Its state alone decides which designs are tried.
    """
    if space.listed.size:
        raise ValueError("a space with lists is for the stock search")
    if budget < 2 * SMALLEST_POPULATION:
        raise ValueError(f"a search needs at least {2 * SMALLEST_POPULATION} designs; got {budget}")
    _roam(space, record, int(ROAMING_SHARE * budget), rng)
    polish_apart(space, record, budget)
    return record.best()


def _roam(space: DesignSpace, record: Record, budget: int, rng: np.random.Generator) -> None:
    size = 1 << max(budget // GENERATIONS, 1).bit_length() - 1
    size = min(max(size, SMALLEST_POPULATION), LARGEST_POPULATION)
    corner = np.array([v.low for v in space.variables])
    # Coordinates of 30 bits stay exact through the solver's own scaling, so that the record knows them again.
    first = qmc.Sobol(len(corner), bits=30, rng=rng).random(size)
    limits = record(space.moved(corner, first)).margins.shape[1]

    def wishes(places: Floats) -> Floats:
        if not places.shape[1]:  # no design of the generation meets the limits
            return np.empty(0)
        found = record(space.moved(corner, places.T)).wishes[:, 0]
        return np.where(np.isfinite(found), found, np.inf)

    def margins(places: Floats) -> Floats:
        found = record(space.moved(corner, np.atleast_2d(places.T))).margins.T
        return found[:, 0] if places.ndim == 1 else found

    differential_evolution(
        wishes,  # type: ignore[arg-type]  # the stubs know no vectorised function
        Bounds(np.zeros(len(corner)), np.ones(len(corner))),
        init=first,
        maxiter=max(budget // size - 1, 0),
        vectorized=True,
        updating="deferred",
        constraints=NonlinearConstraint(margins, 0.0, np.inf) if limits else (),
        polish=False,
        rng=rng,
    )


def polish_apart(space: DesignSpace, record: Record, budget: int) -> None:
    """Polish from the best design tried, then from the best of those far from all places polished before.

    Parameters
    ----------
    space : DesignSpace
        Without lists.
    record : Record
        Holds designs to start from.
    budget : int
        Designs that the record may hold in the end [-].
    """
    polished_before: list[Floats] = []
    while record.tried + fewest(space) <= budget:
        designs = record.designs[record.assessed.best_first()]
        if polished_before:
            designs = designs[space.distances(designs, np.stack(polished_before)).min(axis=1) > FAR_APART]
        if not len(designs):
            return
        end = polished(space, record, designs[0], budget=budget - record.tried)
        polished_before += [designs[0], end.values]
