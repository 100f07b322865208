"""Points and a ranking that the reports are tested on."""

from pathlib import Path

import pytest

from explorer.questions.rank.rank import rank
from explorer.questions.rank.ranking import Ranking
from explorer.questions.solve.point import Point, solve
from explorer.studyfile import Study, parse_study, read_study

STUDIES = Path(__file__).parents[1] / "studies"


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


@pytest.fixture(scope="session")
def failing_ranking() -> Ranking:
    """A channel so narrow at its end that a fifth of the points choke."""
    study = read_study(STUDIES / "bench.toml", {"channel.gap_out": "7 mm"})
    return rank(study, base=512, rng=1, test_guesses=False)


@pytest.fixture(scope="session")
def correlated_ranking() -> Ranking:
    text = (STUDIES / "bench.toml").read_text(encoding="utf-8")
    tied = '\n[[correlation]]\nbetween = ["gas.seed_vaporized", "gas.conductivity_factor"]\nrank = 0.7\n'
    return rank(parse_study(text + tied), base=256, rng=1, measurements=(), test_guesses=False)


@pytest.fixture(scope="session")
def paid_ranking() -> Ranking:
    """With pay-offs and hours, two groups and guesses left out."""
    text = (STUDIES / "bench.toml").read_text(encoding="utf-8")
    pays = "gain_if_met = 100\nloss_if_not = 60\ncost_per_hour = 0.5\nunit = 'kEUR'\nhours = 12\n"
    groups = {
        "gaps": ("channel.gap_in", "channel.gap_out"),
        "drops": ("electrodes.main.arc_voltage", "electrodes.main.drop_resistance"),
    }
    study = parse_study(f"{text}\n[decision]\n{pays}")
    return rank(study, base=512, rng=1, groups=groups, test_guesses=False)


@pytest.fixture(scope="session")
def compared_ranking(bench: Study) -> Ranking:
    other = read_study(STUDIES / "two-pair.toml")
    return rank(bench, base=512, rng=1, against=other, measurements=(), test_guesses=False)


@pytest.fixture(scope="session")
def demo_rankings(bench_ranking: Ranking) -> dict[str, Ranking]:
    others = ("two-pair", "bench-extraction", "sounding")
    found = {
        name: rank(read_study(STUDIES / f"{name}.toml"), base=512, rng=1, test_guesses=False)
        for name in others
    }
    return {"bench": bench_ranking, **found}


@pytest.fixture(scope="session")
def every_ranking(
    demo_rankings: dict[str, Ranking],
    failing_ranking: Ranking,
    correlated_ranking: Ranking,
    paid_ranking: Ranking,
    compared_ranking: Ranking,
) -> dict[str, Ranking]:
    return {
        **demo_rankings,
        "failing": failing_ranking,
        "correlated": correlated_ranking,
        "paid": paid_ranking,
        "compared": compared_ranking,
    }
