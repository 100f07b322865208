"""Seconds that `scale` takes from the demo's bench to its rocket stage, printed. No clock is asserted: machines differ.

Wanted on two cores with a warm cache: 8 points, page and pictures included, under 60 s.
"""

import time
from pathlib import Path

import pytest

from explorer.cli import main

pytestmark = pytest.mark.slow

STUDIES = Path(__file__).parents[1] / "studies"


def test_scale_from_the_bench_to_the_rocket_with_its_page(tmp_path, capsys):
    seconds = {}
    for label, points, samples in (("warming up", "2", "512"), ("8 points", "8", "16384")):
        start = time.perf_counter()
        arguments = ["--steps", points, "--samples", samples, "--jobs", "2", "--out", str(tmp_path / points)]
        code = main(
            [
                "scale",
                "--all",
                str(STUDIES / "bench.toml"),
                "--toward",
                str(STUDIES / "sounding.toml"),
                *arguments,
            ]
        )
        seconds[label] = time.perf_counter() - start
        assert code == 0
    said = capsys.readouterr().out
    with capsys.disabled():
        print(
            "\nscale, bench to sounding: "
            + ", ".join(f"{label} {time:.1f} s" for label, time in seconds.items())
        )
    assert "What no firing of bench can teach" in said
    assert (tmp_path / "8" / "report.html").exists()
