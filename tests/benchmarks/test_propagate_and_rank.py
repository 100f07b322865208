"""Seconds that `propagate` and `rank` take on the bench study, printed. No clock is asserted: machines differ.

Wanted on two cores with a warm cache: 131 072 points propagated under 8 s; 20 uncertain rows ranked at base 8192,
measurements and page included, under 15 s.
"""

import os
import time
from pathlib import Path

import pytest

from explorer.page.pictures.style import images
from explorer.questions.propagate.propagation import propagate
from explorer.questions.rank.pictures import ranking_pictures
from explorer.questions.rank.plain_words import plain_words
from explorer.questions.rank.rank import rank
from explorer.studyfile import read_study

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def bench():
    study = read_study(ROOT / "tests/studies/bench.toml")
    propagate(study, samples=8192, jobs=2)  # gas table and compiled code come from the cache from here on
    rank(study, base=256, jobs=2)
    return study


def timed(action):
    start = time.perf_counter()
    result = action()
    return time.perf_counter() - start, result


def test_propagate_at_131072_points_by_one_thread_and_by_two(bench, capsys):
    one, found = timed(lambda: propagate(bench, samples=131_072, jobs=1))
    two, again = timed(lambda: propagate(bench, samples=131_072, jobs=2))
    with capsys.disabled():
        print(
            f"\npropagate, {found.samples:,} points: one thread {one:.1f} s, two {two:.1f} s:"
            f" {one / two:.2f} times ({os.cpu_count()} cores here)"
        )
    assert again.quantities.equals(found.quantities)


def test_rank_at_base_8192_with_its_measurements_guesses_and_pictures(bench, capsys):
    one, _ = timed(lambda: rank(bench, base=8192, jobs=1, test_guesses=False))
    two, _ = timed(lambda: rank(bench, base=8192, jobs=2, test_guesses=False))
    whole, found = timed(lambda: rank(bench, base=8192, jobs=2))
    shown, _ = timed(
        lambda: (plain_words(found, bench), [images(f, ["svg"]) for f in ranking_pictures(found).values()])
    )
    with capsys.disabled():
        points = sum(found.points.values())
        print(
            f"\nrank, base {found.base:,}, {len(found.inputs)} rows, {points:,} points in the design: one thread"
            f" {one:.1f} s, two {two:.1f} s: {one / two:.2f} times; with the guesses {whole:.1f} s; words and pictures"
            f" {shown:.1f} s more"
        )
    assert found.lost < 0.01
