"""One border, one figure: what lies past it is the same share in `compare` and `scale`, the calculation's own."""

from pathlib import Path

import numpy as np
import pytest

from explorer import compare, read_study, scale

STUDIES = Path(__file__).parents[1] / "studies"


@pytest.mark.slow
def test_a_border_has_one_share_wherever_it_is_told() -> None:
    # The current density's own error of 15 % moved scale's share of the flight stage from 60 to 49 %.
    bench, sounding = (read_study(STUDIES / f"{name}.toml") for name in ("bench", "sounding"))
    beside = compare([bench, sounding], samples=4096)
    along = scale(bench, sounding, steps=1, samples=4096)
    for one, other in zip(beside.designs, (along.designs[0], along.designs[-1]), strict=True):
        for name in ("current density", "voltage drop", "constriction", "wall heat"):
            first, second = one.sides[name].share, other.sides[name].share
            error = float(np.hypot(first.error, second.error))
            assert error < 0.02
            assert float(first) == pytest.approx(float(second), abs=5 * error + 1e-12)
