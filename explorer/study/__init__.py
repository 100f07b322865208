"""Composition: a study is sampled, evaluated and analysed here; here too it is decided what failed points mean."""

from explorer.study.engine import Stage, design_of
from explorer.study.point import Point, solve, solve_many
from explorer.study.ranking import Ranking, TooManyFailures, rank

__all__ = ["Point", "Ranking", "Stage", "TooManyFailures", "design_of", "rank", "solve", "solve_many"]
