import itertools

import numpy as np
import pytest
from scipy.stats import qmc

from explorer.sampling import (
    CHUNK_POINTS,
    Plan,
    Purpose,
    generator,
    off_zero,
    pick_freeze_plan,
    random_number,
    rows_rounded_up,
    sample_plan,
    twin_plan,
)


def whole(plan: Plan) -> np.ndarray:
    return plan.arranged(np.concatenate([plan.points(*chunk) for chunk in plan.chunks()]))


def test_sizes_are_rounded_up_to_scrambles_times_a_power_of_two() -> None:
    assert [8 * rows_rounded_up(n) for n in (1, 8, 9, 8192, 8193, 100_000)] == [
        8,
        8,
        16,
        8192,
        16384,
        131_072,
    ]
    assert rows_rounded_up(8193) == 2048
    assert rows_rounded_up(100, scrambles=1) == 128
    with pytest.raises(ValueError, match="positive"):
        rows_rounded_up(0)


def test_random_number_zero_is_seeded_like_any_other() -> None:
    draws = [generator(0, Purpose.RANKING).random(4) for _ in range(2)]
    assert np.array_equal(*draws)
    assert not np.array_equal(draws[0], generator(1, Purpose.RANKING).random(4))
    assert np.array_equal(whole(sample_plan(0, 3, 64)), whole(sample_plan(0, 3, 64)))


def test_streams_differ_by_purpose_scramble_and_chunk() -> None:
    places = itertools.product((Purpose.RANKING, Purpose.FOLDS), (0, 1), (0, 1))
    draws = [generator(7, purpose, scramble=s, chunk=c).random() for purpose, s, c in places]
    assert len(set(draws)) == 8


def test_purpose_numbers_are_fixed() -> None:
    # A changed number would change every result made with it.
    assert [int(p) for p in Purpose] == list(range(1, 17))
    assert (Purpose.PROPAGATION, Purpose.RANKING, Purpose.READINGS) == (1, 2, 3)


def test_a_generator_gives_one_number_and_a_negative_number_is_refused() -> None:
    numbers = [random_number(np.random.default_rng(0)) for _ in range(2)]
    assert numbers[0] == numbers[1] > 0
    assert random_number(5) == 5
    with pytest.raises(ValueError, match="zero or positive; got -1"):
        random_number(-1)


@pytest.mark.parametrize("kind", ["sobol", "random"])
def test_chunks_made_in_any_order_are_the_same(kind: str) -> None:
    plan = pick_freeze_plan(3, 5, 8 * 4096, kind=kind)  # type: ignore[arg-type]
    chunks = list(plan.chunks())
    assert len(chunks) == 8 * 4096 // plan.chunk_rows
    forward = {c: plan.points(*c) for c in chunks[:6]}
    for chunk in reversed(chunks[:6]):
        assert np.array_equal(plan.points(*chunk), forward[chunk])


def test_streamed_chunks_are_the_sequence_drawn_at_once() -> None:
    # SciPy's own engine, drawn in one piece, is the outside reference.
    plan = sample_plan(11, 3, 8 * 16384)
    assert plan.chunk_rows < plan.rows
    for scramble, block in enumerate(whole(plan)[:2, 0]):
        engine = qmc.Sobol(3, rng=generator(11, Purpose.PROPAGATION, scramble=scramble))
        assert np.array_equal(block, engine.random(16384))


def test_chunk_size_follows_from_the_plan_alone() -> None:
    assert sample_plan(1, 4, 10**6).chunk_rows == CHUNK_POINTS
    plan = pick_freeze_plan(1, 20, 16384)
    assert plan.chunk_rows == 128
    assert plan.chunk_size == 128 * 22
    assert plan.size == 16384 * 22


def test_pick_freeze_blocks_take_just_their_columns_from_b() -> None:
    plan = pick_freeze_plan(2, 4, 8 * 64, groups=[(0,), (1, 3), (2,)])
    a, b, first, pair, last = np.moveaxis(whole(plan), 1, 0)
    assert not np.any(a == b)
    for block, columns in ((first, [0]), (pair, [1, 3]), (last, [2])):
        kept = [i for i in range(4) if i not in columns]
        assert np.array_equal(block[..., columns], b[..., columns])
        assert np.array_equal(block[..., kept], a[..., kept])


def test_a_and_b_are_one_sequence_of_twice_the_dimensions() -> None:
    plan = pick_freeze_plan(5, 3, 8 * 128)
    a, b = whole(plan)[4, :2]
    engine = qmc.Sobol(6, rng=generator(5, Purpose.RANKING, scramble=4))
    assert np.array_equal(np.hstack([a, b]), engine.random(128))


def test_each_scramble_of_a_and_b_together_is_balanced() -> None:
    # A scrambled net puts one of 2^m points into each of 2^m slices of every coordinate (Owen 1998).
    for block in np.moveaxis(whole(pick_freeze_plan(1, 6, 8 * 256)), 1, 0)[:2]:
        slices = np.sort((block * 256).astype(int), axis=1)
        assert np.array_equal(slices, np.broadcast_to(np.arange(256)[None, :, None], slices.shape))


def test_twins_differ_in_the_redrawn_columns_alone() -> None:
    plan = twin_plan(1, 4, 1000, redrawn=[1, 2])
    assert plan.size == 1024
    assert plan.coordinates == 6
    point, twin = np.moveaxis(whole(plan), 1, 0)
    assert np.array_equal(point[..., [0, 3]], twin[..., [0, 3]])
    assert not np.any(point[..., [1, 2]] == twin[..., [1, 2]])
    with pytest.raises(ValueError, match="redrawn"):
        twin_plan(1, 4, 1000, redrawn=[])


def test_scrambles_are_independent_of_how_many_there_are() -> None:
    few, many = sample_plan(1, 2, 3 * 64, scrambles=3), sample_plan(1, 2, 8 * 64, scrambles=8)
    assert np.array_equal(whole(few), whole(many)[:3])


def test_a_coordinate_of_exactly_zero_moves_half_a_cell() -> None:
    moved = off_zero(np.array([0.0, 2.0**-30, 0.5]), cell=2.0**-30)
    assert moved.tolist() == [2.0**-31, 2.0**-30, 0.5]
    # The unscrambled sequence starts at the origin, so the case is real.
    assert qmc.Sobol(2, scramble=False).random(1).tolist() == [[0.0, 0.0]]


def test_arranged_keeps_columns_and_refuses_a_wrong_length() -> None:
    plan = pick_freeze_plan(1, 3, 8 * 4096)
    values = np.concatenate([plan.points(*chunk) for chunk in plan.chunks()])
    assert plan.arranged(values).shape == (8, 5, 4096, 3)
    assert np.array_equal(plan.arranged(values[:, 0]), plan.arranged(values)[..., 0])
    with pytest.raises(ValueError, match="163840 points; got 7"):
        plan.arranged(values[:7])


def test_too_many_dimensions_are_refused_in_words() -> None:
    most = qmc.Sobol.MAXDIM
    sample_plan(1, most, 8)
    with pytest.raises(ValueError, match=f"{most + 1} coordinates .* at most {most}"):
        sample_plan(1, most + 1, 8)
    with pytest.raises(ValueError, match="let fewer inputs be uncertain"):
        pick_freeze_plan(1, most // 2 + 1, 8)


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        (lambda: sample_plan(1, 0, 8), "at least one dimension"),
        (lambda: Plan(1, Purpose.RANKING, 2, ((), (2,)), 8), "outside 0 … 1"),
        (lambda: Plan(1, Purpose.RANKING, 2, ((),), 12), "power of two"),
        (lambda: pick_freeze_plan(1, 2, 8, groups=[(0,), ()]), "without columns"),
        (lambda: sample_plan(1, 2, 8).points(8, 0), "no chunk 0 of scramble 8"),
    ],
)
def test_impossible_plans_are_refused(plan, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        plan()
