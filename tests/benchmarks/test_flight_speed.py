"""Seconds that a flight takes on the sounding rocket's study, printed. No clock is asserted: machines differ.

Wanted on two cores with a warm cache: 4096 scenarios, pictures and page included, under 60 s.
"""

import os
import time
from pathlib import Path

import pytest
from questions.pages import envelope_of, page

from explorer.questions.flight.answer import told
from explorer.questions.flight.flight import flight
from explorer.studyfile import read_study

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]


def timed(action):
    start = time.perf_counter()
    result = action()
    return time.perf_counter() - start, result


def test_a_flight_of_4096_scenarios_with_its_page(capsys):
    study = read_study(ROOT / "tests/studies/sounding.toml")
    flight(study, samples=512, jobs=2)  # gas table and compiled code come from the cache from here on
    one, found = timed(lambda: flight(study, samples=4096, jobs=1))
    two, again = timed(lambda: flight(study, samples=4096, jobs=2))

    drawn, _ = timed(lambda: page(told(again, envelope_of("flight")).sections))
    with capsys.disabled():
        print(
            f"\nflight, {found.samples:,} scenarios: one thread {one:.1f} s, two {two:.1f} s ({os.cpu_count()} cores"
            f" here); pictures and page {drawn:.1f} s more"
        )
    assert again.compared.equals(found.compared)
