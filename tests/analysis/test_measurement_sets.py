from itertools import combinations

import numpy as np
import pytest
from analysis.known_functions import points_of
from scipy.special import ndtri

from explorer.analysis.measurement import Choice, MoreThanPerfect, left_after
from explorer.analysis.measurement_sets import Measurement, MeasurementRanking, rank_measurements
from explorer.analysis.regression import centred, regressors
from explorer.sampling import sample_plan

WEIGHTS = np.array([1.0, 0.8, 0.6, 0.4, 0.2])
NOISE = 0.5


def normal(points: int, dimensions: int) -> np.ndarray:
    plan = sample_plan(1, dimensions, points)
    return ndtri(plan.arranged(points_of(plan))[:, 0])


@pytest.fixture(scope="module")
def bench() -> tuple[np.ndarray, np.ndarray]:
    """Five independent inputs that add up, and a reading of each with noise 0.5."""
    z = normal(16384, 10)
    return z[..., :5] + NOISE * z[..., 5:], z[..., :5] @ WEIGHTS


def left_exactly(chosen: tuple[int, ...]) -> float:
    known = np.isin(np.arange(5), chosen)
    return float(np.sqrt(np.sum(WEIGHTS**2 * np.where(known, NOISE**2 / (1.0 + NOISE**2), 1.0))))


def steps(found: MeasurementRanking) -> list[str]:
    return [step.names[-1] for step in found.best]


PLAIN = [Measurement(f"m{i}", (i,), 1.0 + i) for i in range(5)]


def test_every_set_of_up_to_three_leaves_its_closed_form(bench) -> None:
    found = rank_measurements(*bench, PLAIN, setup_hours={})
    assert found.method == "all sets"
    # The empty set, 5 singles, 10 pairs, 10 triples.
    assert len(found.sets) == 26
    for judged in found.sets:
        chosen = tuple(int(name[1]) for name in judged.names)
        assert float(judged.left) == pytest.approx(left_exactly(chosen), rel=0.02)
        assert judged.hours == sum(1.0 + i for i in chosen)
    assert [own.name for own in found.each] == ["m0", "m1", "m2", "m3", "m4"]
    first = found.each[0]
    assert first.fall_per_hour == pytest.approx(left_exactly(()) - left_exactly((0,)), rel=0.02)
    assert first.left_range[0] == pytest.approx(float(first.left), rel=0.05)
    assert float(found.now.value) == pytest.approx(left_exactly(()), rel=0.01)


@pytest.mark.parametrize("hours", [0.5, 1.0, 3.5, 6.0, 100.0])
def test_best_set_within_the_hours_is_that_of_a_search_by_hand(bench, hours: float) -> None:
    found = rank_measurements(*bench, PLAIN, setup_hours={}, hours_given=hours)
    every = [c for size in range(4) for c in combinations(range(5), size) if sum(1.0 + i for i in c) <= hours]
    by_hand = min(every, key=left_exactly)
    assert set(steps(found)) == {f"m{i}" for i in by_hand}
    if by_hand:
        assert found.best[-1].hours <= hours
        left = [float(step.left) for step in found.best]
        assert sorted(left, reverse=True) == left


def test_set_up_hours_count_once_a_set(bench) -> None:
    measurements = [
        Measurement("m0", (0,), 1.0, "cold flow"),
        Measurement("m1", (1,), 1.0, "cold flow"),
        Measurement("m2", (2,), 1.0, "hot firing"),
        Measurement("m3", (3,), 1.0),
    ]
    found = rank_measurements(*bench, measurements, setup_hours={"cold flow": 4.0, "hot firing": 9.0})
    hours = {judged.names: judged.hours for judged in found.sets}
    assert hours[("m0",)] == 5.0
    assert hours[("m0", "m1")] == 6.0
    assert hours[("m0", "m1", "m3")] == 7.0
    assert hours[("m0", "m2")] == 15.0
    within = rank_measurements(
        *bench, measurements, setup_hours={"cold flow": 4.0, "hot firing": 9.0}, hours_given=7.0
    )
    assert steps(within)[-1] in ("m0", "m1", "m3")
    assert within.best[-1].hours == 7.0


def test_order_takes_the_largest_fall_per_hour_first(bench) -> None:
    measurements = [
        Measurement("slow", (0,), 10.0),
        Measurement("quick", (2,), 0.5),
        Measurement("mid", (1,), 2.0),
    ]
    found = rank_measurements(*bench, measurements, setup_hours={})
    assert steps(found) == ["quick", "mid", "slow"]
    assert [step.hours for step in found.best] == [0.5, 2.5, 12.5]


def test_a_measurement_that_adds_nothing_is_left_out_of_the_best_set() -> None:
    z = normal(16384, 4)
    readings = np.stack([z[..., 0] + 0.3 * z[..., 1], z[..., 2], z[..., 3]], axis=-1)
    measurements = [Measurement(n, (i,), 1.0) for i, n in enumerate(["useful", "idle", "vain"])]
    found = rank_measurements(readings, z[..., 0], measurements, setup_hours={})
    assert steps(found) == ["useful"]


def test_greedy_search_sees_two_steps_ahead() -> None:
    # x0 · x1 is worth nothing by halves; a search one step at a time would take the small ones first.
    z = normal(8192, 14)
    target = z[..., 0] * z[..., 1] + 0.3 * z[..., 2] + 0.2 * z[..., 3]
    measurements = [Measurement(f"m{i}", (i,), 1.0) for i in range(14)]
    found = rank_measurements(z, target, measurements, setup_hours={})
    assert found.method == "greedy with a look-ahead of two"
    assert set(steps(found)) == {"m0", "m1", "m2"}
    assert float(found.best[-1].left) == pytest.approx(0.2, rel=0.05)
    # Far fewer than the 470 sets there are.
    assert len(found.sets) < 300
    twelve = rank_measurements(z, target, measurements[:12], setup_hours={})
    assert twelve.method == "all sets"
    assert set(steps(twelve)) == {"m0", "m1", "m2"}


def test_requirement_gives_each_measurement_a_value(bench) -> None:
    readings, target = bench
    met = [(block > 0.5).astype(float) for block in target]
    found = rank_measurements(readings, target, PLAIN, setup_hours={}, choice=Choice(met))
    values = {own.name: float(own.worth.value) for own in found.each}
    assert max(values, key=values.__getitem__) == "m0"
    assert found.best_value is not None
    assert max(values.values()) < float(found.best_value.value) <= found.best_value.perfect
    assert all(float(own.worth.change) <= 1.0 for own in found.each)
    without = rank_measurements(readings, target, PLAIN, setup_hours={})
    assert without.best_value is None
    assert all(own.worth is None for own in without.each)


def test_no_set_may_teach_more_than_knowing_everything(bench) -> None:
    readings, target = bench
    z = normal(16384, 10)
    values, _ = centred(target)
    floor = left_after(regressors(z[..., :1]), [0], values)
    with pytest.raises(MoreThanPerfect, match="m0"):
        rank_measurements(readings, target, PLAIN, setup_hours={}, left_if_all_known=floor)


@pytest.mark.parametrize(
    ("measurements", "message"),
    [
        ([], "at least one measurement"),
        ([Measurement("m", (0,), 0.0)], "hours must be positive"),
        ([Measurement("m", (0,), 1.0, "rig")], "set-up rig"),
        ([Measurement("m", (), 1.0)], "must bring some"),
        ([Measurement("m", (7,), 1.0)], "must bring some"),
    ],
)
def test_impossible_measurements_are_refused(bench, measurements: list[Measurement], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        rank_measurements(*bench, measurements, setup_hours={})
