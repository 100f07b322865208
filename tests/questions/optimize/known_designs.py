"""Designs whose stages are replaced by known functions of their inputs, for comparisons worked out by hand."""

from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
import pytest
from numpy.typing import NDArray
from study.known_models import Floats, Values, replace_stage

VOLT: Final = "electrodes.main.source.voltage"
WALL: Final = "channel.wall_temperature"
FACTOR: Final = "gas.conductivity_factor"


class _Functions(dict[str, Callable[[Values], Floats]]):
    """Known functions of a stage's inputs; whatever else is asked for is zero."""

    def __missing__(self, _: str) -> Callable[[Values], Floats]:
        return lambda v: 0.0 * v[VOLT]


def known(
    monkeypatch: pytest.MonkeyPatch,
    functions: Mapping[str, Callable[[Values], Floats]],
    outcomes: Callable[[Values], NDArray[np.int8]] | None = None,
) -> None:
    """Let designs be computed by known functions of their inputs [SI], outcomes too (all ok if left out)."""
    replace_stage(monkeypatch, _Functions(functions), outcomes)
