"""Uncertain and varied inputs: unit cube to physical values. Knows no stage and no study."""

from explorer.space.cube import Correlation, CorrelationError, InputSpace, SharedError
from explorer.space.cutting import Cut
from explorer.space.distributions import (
    Distribution,
    Lognormal,
    Normal,
    Rectangular,
    StudentT,
    Triangular,
)
from explorer.space.empirical import Empirical
from explorer.space.uncertain import TAIL_ALLOWED, Part, Row, Uncertain

__all__ = [
    "TAIL_ALLOWED",
    "Correlation",
    "CorrelationError",
    "Cut",
    "Distribution",
    "Empirical",
    "InputSpace",
    "Lognormal",
    "Normal",
    "Part",
    "Rectangular",
    "Row",
    "SharedError",
    "StudentT",
    "Triangular",
    "Uncertain",
]
