"""Seconds that designs over 512 scenarios take on the bench study, and a whole search, printed.

No clock is asserted: machines differ.
"""

import os
import time
from pathlib import Path

import numpy as np
import pytest

from explorer.questions.optimize.search.candidates import Scenarios
from explorer.questions.optimize.search.optimisation import optimize
from explorer.questions.optimize.search.question import quantities_asked
from explorer.questions.optimize.search.study_designs import study_designs
from explorer.studyfile import parse_study

pytestmark = pytest.mark.slow

STUDIES = Path(__file__).parents[1] / "studies"

SEARCHED = """
like = "bench.toml"

[vary]
"channel.gap_in" = "9 .. 14 mm"
"channel.gap_out" = "11 .. 18 mm"
"magnet.field" = "0.3 .. 0.8 T"
"electrodes.main.source.voltage" = "100 .. 250 V"

[wanted]
quantity = "thrust_gain"
make = "largest"

[[limit]]
quantity = "current"
at_most = "50 A"
chance = 0.9

[[limit]]
quantity = "max_current_density"
at_most = "1 A/cm^2"
chance = 0.8
"""


@pytest.fixture(scope="module")
def searched():
    study = parse_study(SEARCHED, STUDIES)
    optimize(
        study, budget=50, central=True, jobs=2
    )  # gas table and compiled code come from the cache from here on
    return study


def timed(action):
    start = time.perf_counter()
    result = action()
    return time.perf_counter() - start, result


def test_300_designs_over_512_scenarios_by_one_thread_and_by_two(searched, capsys):
    quantities = quantities_asked(searched.wishes, searched.limits, searched.pairs)
    low, high = np.array([[item.low, item.high] for item in searched.vary]).T
    designs = low + (high - low) * np.random.default_rng(3).random((300, len(low)))
    spent, found = {}, {}
    for jobs in (1, 2):
        candidates = study_designs(searched, searched.vary, quantities, jobs=jobs)
        scenarios = Scenarios("512", np.random.default_rng(1).random((512, candidates.dimension)))
        candidates.evaluate(designs[:2], scenarios)
        spent[jobs], found[jobs] = timed(lambda c=candidates, s=scenarios: c.evaluate(designs, s))
    with capsys.disabled():
        print(
            f"\n300 designs over 512 scenarios: one thread {spent[1]:.1f} s ({300 / spent[1]:.0f} designs/s), two"
            f" {spent[2]:.1f} s ({300 / spent[2]:.0f} designs/s): {spent[1] / spent[2]:.2f} times ({os.cpu_count()}"
            " cores here)"
        )
    for quantity in quantities:
        np.testing.assert_array_equal(found[1].quantities[quantity], found[2].quantities[quantity])


def test_a_whole_search_of_300_designs(searched, capsys):
    spent, found = timed(lambda: optimize(searched, budget=300, jobs=2))
    with capsys.disabled():
        print(
            f"\noptimize, {len(found.designs)} designs tried at {found.search.scenarios} scenarios, then"
            f" {found.search.rounds} rounds of refinement at {found.search.fine_scenarios}, nearly equal designs and"
            f" what limits cost: {spent:.1f} s with two threads"
        )
    assert found.best is not None
