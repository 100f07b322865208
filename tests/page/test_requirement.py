"""The chance of meeting any requirement: against the normal law, and the page's script against its table."""

import json
import shutil
import subprocess

import numpy as np
import pytest
from scipy.stats import norm

from explorer.page.document import Requirement, Section
from explorer.page.html import page
from explorer.page.requirement import PLACES, chance, rows
from explorer.page.sheet import SCRIPT

STEPS = np.linspace(0.0, 1.0, 201)


def normal() -> tuple[float, ...]:
    """Quantiles of the normal law with mean 5 and standard deviation 2, its ends at four of them."""
    return tuple(map(float, norm.ppf(np.clip(STEPS, norm.cdf(-4.0), norm.cdf(4.0)), 5.0, 2.0)))


@pytest.mark.parametrize("value", [1.5, 4.0, 5.0, 6.3, 8.5])
def test_chances_are_those_of_the_normal_law(value: float) -> None:
    assert chance(normal(), value, at_least=True) == pytest.approx(norm.sf(value, 5.0, 2.0), abs=1e-3)
    assert chance(normal(), value, at_least=False) == pytest.approx(norm.cdf(value, 5.0, 2.0), abs=1e-3)


def test_a_heap_at_zero_meets_a_requirement_of_zero_and_none_above() -> None:
    heap = tuple(map(float, np.where(STEPS < 0.4, 0.0, 1.0 + STEPS)))
    assert chance(heap, 0.0, at_least=True) == 1.0
    assert chance(heap, 0.5, at_least=True) == pytest.approx(0.6, abs=0.006)
    assert chance(heap, 0.0, at_least=False) == pytest.approx(0.4, abs=0.006)


@pytest.mark.skipif(shutil.which("node") is None, reason="no engine for the page's script")
@pytest.mark.parametrize("at_least", [True, False])
def test_the_slider_says_what_the_table_says(at_least: bool) -> None:
    of = Requirement("thrust", "N", normal(), at_least, 2000)
    script = SCRIPT[: SCRIPT.index("for (const part of document")]
    given = json.dumps({"quantiles": of.quantiles, "atLeast": at_least, "unit": "N", "places": PLACES})
    ask = f"console.log(JSON.stringify([0,25,50,75,100,125,150,175,200].map(place => said({given}, place))));"
    ran = subprocess.run(["node", "-e", script + ask], capture_output=True, text=True, check=True)
    assert [tuple(row) for row in json.loads(ran.stdout)] == rows(of)


def test_without_a_script_the_table_stands_on_the_page() -> None:
    text = page([Section("t", ()), Section("s", (Requirement("a<b", "N", normal(), True, 2000),))], {})
    assert "<td" in text
    assert "a&lt;b at least" in text
    assert "a<b" not in text


def test_a_requirement_half_way_between_two_figures_is_rounded_as_the_script_does() -> None:
    assert rows(Requirement("thrust", "N", tuple(map(float, range(201))), True, 2000))[3][0] == "75.3 N"
