"""Composition: a study is sampled, evaluated and analysed here; here too it is decided what failed points mean."""

from explorer.study.engine import Stage, design_of
from explorer.study.point import Point, solve, solve_many
from explorer.study.propagation import NoNumbers, Propagation, propagate
from explorer.study.ranking import Ranking, rank
from explorer.study.shares import TooManyFailures

__all__ = [
    "NoNumbers",
    "Point",
    "Propagation",
    "Ranking",
    "Stage",
    "TooManyFailures",
    "design_of",
    "propagate",
    "rank",
    "solve",
    "solve_many",
]
