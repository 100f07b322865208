"""Composition: a study is sampled, evaluated and analysed here; here too it is decided what failed points mean.

Names are imported when first used: one operating point needs no statistics.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from explorer.study.comparison import Comparison, compare
    from explorer.study.elementary import FirstLook, first_look
    from explorer.study.engine import Stage, design_of
    from explorer.study.flight import Flight, NoFlight, fly
    from explorer.study.optimisation import optimize
    from explorer.study.point import Point, solve, solve_many
    from explorer.study.propagation import NoNumbers, Propagation, propagate
    from explorer.study.proposal import Proposal
    from explorer.study.ranking import Ranking, rank
    from explorer.study.scaling import Scaling, scale
    from explorer.study.shares import TooManyFailures

__all__ = [
    "Comparison",
    "FirstLook",
    "Flight",
    "NoFlight",
    "NoNumbers",
    "Point",
    "Propagation",
    "Proposal",
    "Ranking",
    "Scaling",
    "Stage",
    "TooManyFailures",
    "compare",
    "design_of",
    "first_look",
    "fly",
    "optimize",
    "propagate",
    "rank",
    "scale",
    "solve",
    "solve_many",
]

_HOMES = {
    "comparison": ("Comparison", "compare"),
    "elementary": ("FirstLook", "first_look"),
    "engine": ("Stage", "design_of"),
    "flight": ("Flight", "NoFlight", "fly"),
    "optimisation": ("optimize",),
    "point": ("Point", "solve", "solve_many"),
    "proposal": ("Proposal",),
    "propagation": ("NoNumbers", "Propagation", "propagate"),
    "ranking": ("Ranking", "rank"),
    "scaling": ("Scaling", "scale"),
    "shares": ("TooManyFailures",),
}


def __getattr__(name: str) -> Any:
    """A name of this package, imported now."""
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"explorer.study.{home}"), name)
    raise AttributeError(f"module 'explorer.study' has no attribute {name!r}")
