"""What stands in for a model: closed forms it must find again, and a kink that a parabola can't follow."""

import numpy as np
import pytest

from explorer.analysis.calibration.expansion import expansion
from explorer.analysis.calibration.experiments import (
    ExpandedLikelihood,
    Experiments,
    Floats,
    Linear,
    Particles,
)
from explorer.analysis.calibration.network import trained

RNG = np.random.default_rng(11)


def never(*given: object) -> Floats:
    raise AssertionError("a fit asks for no likelihood")


def experiments_of(kink: float) -> Experiments:
    """Two firings of x₀ + x₁² + kink·max(x₀ + x₁, 0) + (2 + x₁)·own, each read to ± 0.05."""

    def simulate(common: Floats, own: Floats) -> Floats:
        x, y = common.T
        bent = x + y**2 + kink * np.maximum(x + y, 0.0)
        return np.stack([bent[:, None] + (2.0 + y)[:, None] * own[:, f] + 0.5 * f for f in range(2)], axis=1)

    linear = Linear(never, never, ExpandedLikelihood(never, never, never))
    return Experiments(2, 1, 2, 1, simulate, never, linear=linear, noise=np.full((2, 1), 0.05))


def known(experiments: Experiments, points: int) -> Particles:
    return experiments.drawn(points, np.random.default_rng(2))


def test_a_parabola_with_slopes_is_found_as_it_is() -> None:
    experiments = experiments_of(0.0)
    found = expansion(experiments, known(experiments, 2000), RNG)
    assert found is not None
    common, none = RNG.standard_normal((5, 2)), np.zeros((5, 2, 0))
    shown = found(common, none)
    x, y = common.T
    assert shown[:, :, 0] == pytest.approx(np.column_stack([x + y**2, x + y**2 + 0.5]), abs=2e-4)
    assert shown[:, :, 1] == pytest.approx(np.column_stack([2.0 + y, 2.0 + y]), abs=2e-4)


def test_a_kink_is_followed_by_the_hidden_layer_and_what_both_firings_miss_by_is_told_as_one() -> None:
    experiments = experiments_of(4.0)
    points = known(experiments, 6000)
    found = expansion(experiments, points, np.random.default_rng(5))
    assert found is not None
    assert found.hidden is not None
    fresh = np.random.default_rng(9).standard_normal((2000, 2))
    off = (
        found(fresh, np.zeros((2000, 2, 0)))[:, :, 0]
        - experiments.simulate(fresh, np.zeros((2000, 2, 1)))[:, :, 0]
    )
    features = np.column_stack([np.ones(2000), fresh, fresh**2])
    true = experiments.simulate(fresh, np.zeros((2000, 2, 1)))[:, 0, 0]
    plain = true - features @ np.linalg.lstsq(features, true, rcond=None)[0]
    assert off.std() < 0.25 * plain.std()
    # the same in both firings: told apart from what each misses by alone
    assert np.sqrt((found.misfit[1:] ** 2).sum(axis=0)).min() > 3.0 * found.misfit[0].max()


def test_a_hidden_layer_goes_on_from_where_it_was() -> None:
    x = RNG.standard_normal((3000, 3))
    y = np.abs(x @ np.array([[1.0], [0.5], [-0.5]]))
    y = (y - y.mean()) / y.std()
    first = trained(x, y, np.random.default_rng(1))
    again = trained(x, y, np.random.default_rng(1), first)

    def left(layer) -> float:
        features = np.hstack([np.ones((3000, 1)), layer(x)])
        return float((y - features @ np.linalg.lstsq(features, y, rcond=None)[0]).std())

    assert left(first) < 0.1
    assert left(again) < 1.2 * left(first)
