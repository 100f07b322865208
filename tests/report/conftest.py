"""Points and a ranking that the reports are tested on."""

from pathlib import Path

import pytest

from explorer.study import Point, Ranking, rank, solve
from explorer.studyfile import Study, read_study

STUDIES = Path(__file__).parents[2] / "studies"


@pytest.fixture(scope="session")
def bench() -> Study:
    return read_study(STUDIES / "bench.toml")


@pytest.fixture(scope="session")
def bench_point(bench: Study) -> Point:
    return solve(bench)


@pytest.fixture(scope="session")
def two_pair_point() -> Point:
    return solve(read_study(STUDIES / "two-pair.toml"))


@pytest.fixture(scope="session")
def extraction_point() -> Point:
    return solve(read_study(STUDIES / "bench-extraction.toml"))


@pytest.fixture(scope="session")
def bench_ranking(bench: Study) -> Ranking:
    return rank(bench, base=512, rng=1, test_guesses=False)
