import time
import warnings

import numpy as np
import pytest
from SALib.analyze import sobol as salib_sobol

from explorer.analysis.sensitivity import sensitivity_indices

pytestmark = pytest.mark.slow


def seconds(action, repeats: int) -> float:
    spent = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        spent.append(time.perf_counter() - start)
    return min(spent)


def test_estimators_with_intervals_against_salib_with_a_bootstrap(capsys) -> None:
    # Wanted: 50 times. The ratio is printed, not asserted: a wall clock is no test on a busy machine.
    names = [f"x{i}" for i in range(20)]
    outputs = np.random.default_rng(0).normal(size=(8, 22, 2048))
    theirs = np.concatenate([np.column_stack([b[0], *b[2:], b[1]]).ravel() for b in outputs])
    problem = {"num_vars": 20, "names": names, "bounds": [[0.0, 1.0]] * 20}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        slow = seconds(
            lambda: salib_sobol.analyze(problem, theirs, calc_second_order=False, num_resamples=100), 1
        )
    fast = seconds(lambda: sensitivity_indices(outputs), 5)
    with capsys.disabled():
        print(
            f"\n20 inputs, base 16384: indices and intervals in {1e3 * fast:.1f} ms, "
            f"SALib with 100 resamples in {slow:.2f} s: {slow / fast:.0f} times"
        )
    assert np.isfinite(slow / fast)
