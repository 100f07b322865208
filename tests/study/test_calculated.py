"""Every question takes a study that a callable computes in place of its stage."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

import explorer

STUDIES = Path(__file__).parents[1] / "studies"
FIELD = "magnet.field"
Floats = NDArray[np.float64]


class Outputs(dict[str, Floats]):
    """What the callable gives; whatever else is asked for is one."""

    def __missing__(self, _: str) -> Floats:
        return np.ones_like(self["thrust_gain"])


def linear(values: Mapping[str, Floats]) -> Outputs:
    """A thrust gain of 0.1 N for each tesla, a current of 20 A for each."""
    return Outputs(thrust_gain=0.1 * values[FIELD], current=20.0 * values[FIELD])


def bench(field: str = "0.48 ± 0.02 T") -> explorer.Study:
    return explorer.read_study(STUDIES / "bench.toml", {FIELD: field}).calculated_by(linear)


def test_a_point_is_the_callables() -> None:
    point = explorer.solve(bench(), {FIELD: "0.5 T"})
    assert point.status == "ok"
    assert point.quantities["thrust_gain"] == pytest.approx(0.05, rel=1e-12)
    assert point.profile is None


def test_settings_and_replaced_values_keep_it_and_none_is_the_stage_again() -> None:
    assert bench().replaced({FIELD: "0.6 T"}).calculation is linear
    assert bench().calculated_by(None).calculation is None
    assert bench().study_hash == bench().calculated_by(None).study_hash


def test_its_spread_is_that_of_what_it_hangs_on() -> None:
    found = explorer.propagate(bench(), rng=1, samples=8192).quantities.loc["thrust_gain"]
    # A linear function of a normal field, times a lognormal model error of 10 % (the demo's).
    exact = np.sqrt((0.1 * 0.02) ** 2 * (1 + 0.1**2) + 0.048**2 * 0.1**2) * np.sqrt(1 + 0.1**2)
    assert found["standard_uncertainty"] == pytest.approx(exact, rel=0.01)


def test_its_shares_are_those_of_a_product() -> None:
    found = explorer.rank(bench(), rng=1, base=8192, measurements=(), test_guesses=False).shares.indices
    # Of a product of independents, means (0.48, m), relative spreads (0.02/0.48, 0.1), by Goodman 1960.
    field, model = (0.02 / 0.48) ** 2, 0.1**2
    whole = field + model + field * model
    assert sorted(found.first.value)[-2:] == pytest.approx([field / whole, model / whole], abs=0.005)


def test_designs_are_held_against_each_other() -> None:
    found = explorer.compare([bench(), bench("0.6 ± 0.02 T")], rng=1, samples=2048)
    difference = found.differences.loc["thrust_gain"]
    mean = float(difference.xs("mean", level="figure").iloc[0])
    # The mean of a lognormal factor of median 1 and relative standard uncertainty u is √(1 + u²).
    assert mean == pytest.approx(0.012 * np.sqrt(1 + 0.1**2), rel=0.01)


def test_a_search_and_a_way_to_another_size_ask_it() -> None:
    proposal = explorer.optimize(bench(), rng=1, budget=60, central=True)
    tried = proposal.tried
    np.testing.assert_allclose(tried["electrical_power"], 1.0)  # what the callable says, whatever the design
    sounding = explorer.read_study(STUDIES / "sounding.toml").calculated_by(linear)
    found = explorer.scale(bench(), sounding, rng=1, steps=3, samples=1024)
    assert found.target == "thrust_gain"
