"""How the inputs of several studies hang together in one space: what each states, and what follows between them."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Protocol

import numpy as np

from explorer.space import Correlation, Part
from explorer.studyfile import Study, StudyError

#: Correlations of normal scores by the names of two inputs [-].
Scores = Mapping[frozenset[str], float]


class Side(Protocol):
    """One study among several, as far as its inputs go."""

    @property
    def study(self) -> Study:
        """The study."""

    @property
    def terms(self) -> Mapping[str, tuple[str, ...]]:
        """By address, the names in the joint space: what is fixed first, what scatters last."""


def correlations_in_common(sides: Sequence[Side]) -> tuple[Correlation, ...]:
    """The studies' correlations under the names of the joint space; of what is one thing each once.

    Two inputs of different studies that both hang together with what is one thing hang together through it, and in no
    other way: given that thing, they are independent.
    """
    found: dict[tuple[frozenset[str], str], Correlation] = {}
    for side in sides:
        for stated in side.study.space.correlations:
            one, two = (_name(side, address, stated.part) for address in stated.between)
            joint = Correlation((one, two), stated.rank, stated.part)
            before = found.setdefault((frozenset((one, two)), stated.part), joint)
            if before.rank != stated.rank:
                raise StudyError(f"the correlation of {one} and {two} is stated differently in two studies")
    parts: tuple[Part, ...] = ("unknown", "scatter")
    through = [each for part in parts for each in _through(sides, [*found.values()], part)]
    return (*found.values(), *through)


def _name(side: Side, address: str, part: Part) -> str:
    return side.terms[address][0 if part == "unknown" else -1]


def _through(sides: Sequence[Side], stated: Sequence[Correlation], part: Part) -> Iterator[Correlation]:
    """Correlations between inputs of different studies that follow from what both hang together with."""
    of_part = [each for each in stated if each.part == part]
    scores = {frozenset(each.between): each.copula_parameter for each in of_part}
    tied = sorted({name for each in of_part for name in each.between})
    held = [{_name(side, address, part) for address in side.terms} & set(tied) for side in sides]
    who = {name: {place for place, names in enumerate(held) if name in names} for name in tied}
    for one, two in combinations(tied, 2):
        if who[one] & who[two]:
            continue
        beside = [name for name in tied if who[name] & who[one] and who[name] & who[two]]
        score = _score(scores, one, two, beside)
        if score:
            yield Correlation((one, two), 6 / math.pi * math.asin(score / 2), part)


def _score(scores: Scores, one: str, two: str, beside: Sequence[str]) -> float:
    """Correlation of two normal scores that are independent given others beside them."""
    if not beside:
        return 0.0
    among = np.array(
        [[1.0 if a == b else scores.get(frozenset((a, b)), 0.0) for b in beside] for a in beside]
    )
    left, right = (np.array([scores.get(frozenset((name, b)), 0.0) for b in beside]) for name in (one, two))
    return float(left @ np.linalg.solve(among, right))
