"""Lists of entries to choose from, with or without continuous variables, and samples for two wishes.

Tree-structured Parzen estimation (J. Bergstra et al., NeurIPS 2011; limits after S. Watanabe and F. Hutter,
IJCAI 2023, both as Optuna has them) asks for designs in batches, in one process and in memory, and is told of
them in the order asked, so that its generator alone decides what it asks for. From the best combinations of
entries found the lists are searched by steps and the continuous variables by polish, until no neighbouring
combination, polished, is better.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import product
from typing import Final

import numpy as np
import optuna
from optuna.distributions import (
    BaseDistribution,
    CategoricalDistribution,
    FloatDistribution,
    IntDistribution,
)

from explorer.analysis.scrambles import Floats
from explorer.analysis.search.design_space import DesignSpace, Record, Tried, best
from explorer.analysis.search.polish import STEPS, fewest, polished

ASKED_SHARE: Final[float] = 0.3  #: of the budget, for the sampler
MOST_ASKED: Final[int] = 300  #: the sampler's own time grows with the square of this
BATCH: Final[int] = 25  #: designs asked for together
FEW: Final[int] = 3  #: combinations polished before the neighbours of the best
LANDING: Final[int] = 10  #: iterates kept for the last polish


@contextmanager
def _quiet() -> Iterator[None]:
    before = optuna.logging.get_verbosity()
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    try:
        yield
    finally:
        optuna.logging.set_verbosity(before)


def ask_and_tell(
    space: DesignSpace, record: Record, *, budget: int, rng: np.random.Generator, wishes: int = 1
) -> None:
    """Let the record assess designs that a sampler asks for, each batch chosen from what it was told before.

    Parameters
    ----------
    budget : int
        Designs to ask for [-]; among lists some may be asked for again, which costs nothing.
    rng : numpy.random.Generator
        Seeds the sampler.
    wishes : int
        Wishes that the designs are judged by [-].
    """
    distributions = {f"{i:04d}": _distribution(space, i) for i in range(len(space.variables))}
    with _quiet():
        sampler = optuna.samplers.TPESampler(seed=int(rng.integers(2**32)), multivariate=False)
        study = optuna.create_study(directions=["minimize"] * wishes, sampler=sampler)
        for asked in range(0, budget, BATCH):
            trials = [study.ask(distributions) for _ in range(min(BATCH, budget - asked))]
            designs = np.array([[float(t.params[name]) for name in distributions] for t in trials])
            found = record(designs)
            # Of a design that misses limits the sampler looks at the sum of its shortfalls alone.
            for trial, wish, missing in zip(trials, found.wishes, found.missing, strict=True):
                trial.set_constraint("missing", float(missing))
                study.tell(trial, [float(w) if np.isfinite(w) else np.inf for w in wish])


def _distribution(space: DesignSpace, column: int) -> BaseDistribution:
    v = space.variables[column]
    if not v.entries:
        return FloatDistribution(v.low, v.high)
    return IntDistribution(0, v.entries - 1) if v.ordered else CategoricalDistribution(range(v.entries))


def stock_search(space: DesignSpace, record: Record, *, budget: int, rng: np.random.Generator) -> Tried:
    """Return the best design found within a budget; the record holds all that were tried.

    Lists alone with no more combinations than the budget are tried completely.

    Parameters
    ----------
    space : DesignSpace
        With at least one list.
    record : Record
        What assesses the designs; may hold some already, which count.
    budget : int
        Designs that the record may hold in the end [-].
    rng : numpy.random.Generator
        Its state alone decides which designs are tried.
    """
    if not space.listed.size:
        raise ValueError("a space without lists is for the continuous search")
    if not space.continuous.size and space.combinations <= budget:
        entries = [range(space.variables[i].entries) for i in space.listed]
        record(np.array(list(product(*entries)), dtype=np.float64))
        return record.best()
    ask_and_tell(space, record, budget=min(int(ASKED_SHARE * budget), MOST_ASKED), rng=rng)
    _settle(space, record, budget)
    return record.best()


def _settle(space: DesignSpace, record: Record, budget: int) -> None:
    """Polish the best few combinations, then neighbours of the best one until none is better, then others.

    One coarse step tells most combinations apart; the best few are landed in the end, the very best first.
    """
    settled: set[bytes] = set()
    places = space.continuous.size
    rough = budget - min(budget // 5, LANDING * (places + 1)) if places else budget

    def polish_from(start: Floats) -> None:
        settled.add(start[space.listed].tobytes())
        polished(space, record, start, budget=rough - record.tried, steps=STEPS[:1])

    while record.tried + fewest(space) <= rough:
        here = record.best()
        near = _unsettled(space, settled, neighbours(space, here.values)) if len(settled) >= FEW else []
        if near and record.tried + len(near) <= rough:
            designs = np.stack(near)
            for start in designs[record(designs).best_first()]:
                polish_from(start)
                if record.best().rank < here.rank or record.tried + fewest(space) > rough:
                    break
            continue
        others = _unsettled(space, settled, record.designs[record.assessed.best_first()])
        if not others:
            break
        ahead = _hopped(space, record, others[0], rough)
        settled.add(others[0][space.listed].tobytes())
        if len(_unsettled(space, settled, ahead[None])) or np.array_equal(ahead, others[0]):
            polish_from(ahead)
    landed: set[bytes] = set()
    for start in record.designs[record.assessed.best_first()]:
        if record.tried + fewest(space) > budget or len(landed) == FEW:
            return
        if _unsettled(space, landed, start[None]):
            landed.add(start[space.listed].tobytes())
            polished(space, record, start, budget=budget - record.tried)


def _unsettled(space: DesignSpace, settled: set[bytes], designs: Floats) -> list[Floats]:
    return [d for d in designs if d[space.listed].tobytes() not in settled]


def neighbours(space: DesignSpace, design: Floats, *, strides: tuple[int, ...] = (1,)) -> Floats:
    """Return copies of a design with another entry in one list: so many up or down, or any other word.

    Parameters
    ----------
    space : DesignSpace
        With at least one list.
    design : ndarray
        Shape (variables,) [any].
    strides : tuple of int
        Entries to go up or down in an ordered list [-].
    """
    found = []
    for i in space.listed:
        v, here = space.variables[i], int(design[i])
        jumps = [here + way * s for s in strides for way in (1, -1)] if v.ordered else range(v.entries)
        entries = [float(entry) for entry in jumps if 0 <= entry < v.entries and entry != here]
        found += [np.where(np.arange(design.size) == i, entry, design) for entry in entries]
    return np.array(found).reshape(-1, design.size)


def _hopped(space: DesignSpace, record: Record, start: Floats, budget: int) -> Floats:
    """Return where steps through the lists lead, one list at a time, with the continuous variables kept."""
    here = start
    while True:
        around = neighbours(space, here, strides=(1, 2, 4, 8, 16))
        if not len(around) or record.tried + len(around) > budget:
            return here
        designs = np.vstack([here, around])
        ahead = best(designs, record(designs)).values
        if np.array_equal(ahead, here):
            return here
        here = ahead
