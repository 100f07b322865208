"""Seconds that `compare` takes on two demo studies, printed. No clock is asserted: machines differ.

Wanted on two cores with a warm cache: two designs on 16 384 shared points, page included, under 15 s.
"""

import os
import time
from pathlib import Path

import pytest

from explorer.cli import main
from explorer.questions.compare.entry import compare
from explorer.studyfile import read_study

pytestmark = pytest.mark.slow

STUDIES = Path(__file__).parents[1] / "studies"


def test_compare_two_designs_with_the_page_and_without(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    files = [STUDIES / f"{name}.toml" for name in ("bench", "sounding")]
    studies = [read_study(file) for file in files]
    compare(studies, samples=256, jobs=2)  # gas tables and compiled code come from the cache from here on
    seconds = {}
    for jobs in (1, 2):
        start = time.perf_counter()
        found = compare(studies, jobs=jobs)
        seconds[jobs] = time.perf_counter() - start
    start = time.perf_counter()
    assert main(["compare", *map(str, files), "--jobs", "2"]) == 0
    whole = time.perf_counter() - start
    with capsys.disabled():
        print(
            f"\ncompare, two designs on {found.samples:,} points: one thread {seconds[1]:.1f} s, two {seconds[2]:.1f}"
            f" s; words, page and pictures included {whole:.1f} s ({os.cpu_count()} cores here)"
        )
    assert found.samples == 16_384
