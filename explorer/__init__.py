"""Design-space explorer for a seeded rocket exhaust fired through a magnetic channel: the public names.

They are imported when first used, so that `mhdstage --help` doesn't wait for a compiler.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from explorer.study import (
        Comparison,
        Flight,
        Point,
        Propagation,
        Proposal,
        Ranking,
        Scaling,
        compare,
        fly,
        optimize,
        propagate,
        rank,
        scale,
        solve,
        solve_many,
    )
    from explorer.studyfile import Study, StudyError, parse_study, read_study

__all__ = [
    "Comparison",
    "Flight",
    "Point",
    "Propagation",
    "Proposal",
    "Ranking",
    "Scaling",
    "Study",
    "StudyError",
    "compare",
    "fly",
    "optimize",
    "parse_study",
    "propagate",
    "rank",
    "read_study",
    "scale",
    "solve",
    "solve_many",
]

_FROM_STUDYFILE = {"Study", "StudyError", "parse_study", "read_study"}


def __getattr__(name: str) -> Any:
    """A public name, imported now."""
    if name not in __all__:
        raise AttributeError(f"module 'explorer' has no attribute {name!r}")
    module = "explorer.studyfile" if name in _FROM_STUDYFILE else "explorer.study"
    return getattr(import_module(module), name)
