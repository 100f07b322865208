"""Speed and memory of the stage, printed as ratios measured in one run. No clock is asserted: machines differ.

Wanted: a point through `solve_many` at least 10 000 times faster per core than the slow reference at the same
number of steps, 25 000 points a second and core; two cores 1.8 times one; a million points under 1 GB at a cost per
point that doesn't rise; `solve` under 3 s in a fresh process.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import psutil
import pytest
from slow_reference.model import costed_point, reference_point
from stage.stages import BENCH, design_and_values, tables_over

from explorer.questions.solve.point import solve_many
from explorer.stage.evaluate import evaluate
from explorer.stage.outputs.points import Points
from explorer.stage.outputs.quantities import output
from explorer.study.engine import Stage
from explorer.studyfile import read_study

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
QUANTITIES = ("thrust_gain", "current", "exit_pressure_change")

REFERENCE_INPUTS = {**BENCH, "mode": "acceleration"}


@pytest.fixture(scope="module")
def bench():
    return read_study(ROOT / "tests/studies/bench.toml")


def samples_of(study, n):
    cube = np.random.default_rng(7).uniform(size=(n, study.space.dimension))
    return study.space.values(cube)


def quickest(action, repeats, clock=time.perf_counter):
    spent = []
    for _ in range(repeats):
        start = clock()
        action()
        spent.append(clock() - start)
    return min(spent)


def seconds_a_point(study, *, heater, points=4096, **steps):
    """Fast path on one core, in the study's own wide table."""
    stage = Stage(study, QUANTITIES)
    values = stage.values(samples_of(study, points))

    def run_chunk():
        evaluate(stage.design, values, stage.tables, heater=heater, **steps)

    run_chunk()
    return quickest(run_chunk, 5, time.thread_time) / points


def test_the_fast_path_against_the_slow_reference(bench, capsys):
    """At equal steps, and at equal accuracy of current and thrust gain against a converged solution.

    Processor time of one core; both with the open-circuit and the heater twin.
    """
    slow_steps = 24
    slow = quickest(lambda: reference_point(REFERENCE_INPUTS, steps=slow_steps), 3, time.thread_time)
    cost = costed_point(REFERENCE_INPUTS, steps=slow_steps)[1]
    equal = seconds_a_point(bench, heater=True, gap_steps=4, pair_steps=16)  # 24 steps as well
    default = seconds_a_point(bench, heater=True)
    usual = seconds_a_point(bench, heater=False)

    design, values = design_and_values(BENCH)
    tables = tables_over([BENCH])

    def fast(**steps):
        points = Points(design, values, evaluate(design, values, tables, heater=False, **steps))
        return np.array([output(points, name)[0] for name in ("current", "thrust_gain")])

    fast_error = np.max(np.abs(fast() / fast(gap_steps=32, pair_steps=96) - 1))

    def reference(steps):
        found = reference_point(REFERENCE_INPUTS, steps=steps)
        return np.array([found["current"], found["thrust_gain"]])

    # second order: the error of n steps is 4/3 of the change on halving them
    slow_error = np.max(np.abs(reference(slow_steps) / reference(2 * slow_steps) - 1)) * 4 / 3
    needed = slow_steps * np.sqrt(slow_error / fast_error)
    slow_needed = slow * needed / slow_steps
    with capsys.disabled():
        print(
            f"\na point on one core: slow reference {slow:.3f} s at {slow_steps} steps ({cost.equilibria} equilibria,"
            f" {cost.per_step:.1f} a step), fast path {1e6 * equal:.1f} µs at as many: {slow / equal:,.0f} times"
            f"\nat its default steps {1e6 * default:.1f} µs, steps' error {fast_error:.1e}; the slow reference has"
            f" {slow_error:.1e} at {slow_steps} and would need {needed:,.0f}, {slow_needed:.1f} s, for that:"
            f" {slow_needed / default:,.0f} times"
            f"\nwithout the heater twin {1e6 * usual:.1f} µs: {1 / usual:,.0f} points a second and core"
        )
    assert cost.per_step < 25.0
    assert fast_error < slow_error


def test_two_threads_against_one(bench, capsys):
    samples = samples_of(bench, 8 * 4096)
    solve_many(bench, samples, quantities=QUANTITIES)

    def run_with(jobs):
        return quickest(lambda: solve_many(bench, samples, quantities=QUANTITIES, jobs=jobs), 3)

    one, two = run_with(1), run_with(2)
    with capsys.disabled():
        cores = os.cpu_count()
        print(
            f"\n32768 points: one thread {one:.2f} s, two {two:.2f} s: {one / two:.2f} times ({cores} cores here)"
        )
    assert two < 1.5 * one


def cost_at(study, n, capsys):
    samples = samples_of(study, n)
    process = psutil.Process()
    before = process.memory_info().rss
    start = time.perf_counter()
    found = solve_many(study, samples, quantities=QUANTITIES, jobs=2)
    spent = time.perf_counter() - start
    grown = process.memory_info().rss - before
    assert len(found) == n
    with capsys.disabled():
        print(
            f"\n{n:>9,} points, two threads: {1e6 * spent / n:6.1f} µs a point, memory grown by {grown / 1e6:,.0f} MB"
        )
    return spent / n, process.memory_info().rss


def test_the_cost_of_a_point_from_a_thousand_to_a_hundred_thousand(bench, capsys):
    solve_many(bench, samples_of(bench, 1000), quantities=QUANTITIES, jobs=2)
    costs = [cost_at(bench, n, capsys)[0] for n in (1_000, 10_000, 100_000)]
    assert costs[-1] < 3 * costs[0]


MILLION = """
import sys, threading, time
sys.path.insert(0, "tests")
import numpy as np, psutil
from benchmarks.test_stage import QUANTITIES, samples_of
from explorer.questions.solve.point import solve_many
from explorer.studyfile import read_study
study = read_study("tests/studies/bench.toml")
samples = samples_of(study, 1_000_000)
solve_many(study, {a: v[:10_000] for a, v in samples.items()}, quantities=QUANTITIES, jobs=2)
process, largest = psutil.Process(), [0]
def watch():
    while True:
        largest[0] = max(largest[0], process.memory_info().rss)
        time.sleep(0.02)
threading.Thread(target=watch, daemon=True).start()
start = time.perf_counter()
found = solve_many(study, samples, quantities=QUANTITIES, jobs=2)
print(len(found), time.perf_counter() - start, max(largest[0], process.memory_info().rss))
"""


def test_a_million_points_stay_under_a_gigabyte(capsys):
    """In a process of its own: the peak of everything in it, samples and results included."""
    done = subprocess.run(
        [sys.executable, "-c", MILLION], cwd=ROOT, capture_output=True, text=True, timeout=1800, check=False
    )
    assert done.returncode == 0, done.stderr
    n, spent, peak = (float(word) for word in done.stdout.split())
    with capsys.disabled():
        print(
            f"\n{n:,.0f} points, two threads: {1e6 * spent / n:.1f} µs a point, at most {peak / 1e6:,.0f} MB in use"
        )
    assert n == 1_000_000
    assert peak < 1e9


FRESH = """
import time
start = time.perf_counter()
from explorer.questions.solve.point import solve
from explorer.studyfile import read_study
imported = time.perf_counter()
status = solve(read_study("tests/studies/bench.toml")).status
print(status, imported - start, time.perf_counter() - start)
"""


def test_solve_in_a_fresh_process(capsys):
    """Second of two runs: compiled code and table are in the cache by then."""
    for _ in range(2):
        start = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-c", FRESH], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
        )
        whole = time.perf_counter() - start
        assert done.returncode == 0, done.stderr
    status, imported, solved = done.stdout.split()
    with capsys.disabled():
        print(
            f"\nsolve in a fresh process, warm: {whole:.2f} s in all,"
            f" {imported[:4]} s of them imports, {solved[:4]} s to the answer"
        )
    assert status == "ok"


def test_solve_on_a_first_run(tmp_path, capsys):
    """Nothing in the cache: compilation and table included."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", FRESH],
        cwd=ROOT,
        env={**os.environ, "MHDSTAGE_CACHE": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    with capsys.disabled():
        print(f"\nsolve on a first run, nothing in the cache: {time.perf_counter() - start:.1f} s")
