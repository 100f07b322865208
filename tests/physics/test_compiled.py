"""Compiled functions leave the arrays that they are given alone, and one that makes arrays must say so."""

import sys

import numpy as np
import pytest
from numba.core.errors import NumbaError

from explorer.physics.compiled import allocating, compiled


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("MHDSTAGE_CACHE", str(tmp_path / "cache"))


def last(values):
    return values[1:][values.size - 2]


def twice(values):
    return 2.0 * values


def test_an_array_is_counted_after_a_call_as_often_as_before():
    values, function = np.arange(5.0), compiled(last)
    before = sys.getrefcount(values)
    assert [function(values) for _ in range(100)] == [4.0] * 100
    assert sys.getrefcount(values) == before


def test_what_makes_an_array_is_refused_unless_it_says_so():
    with pytest.raises(NumbaError):
        compiled(twice)(np.arange(3.0))
    assert allocating(twice)(np.arange(3.0)).tolist() == [0.0, 2.0, 4.0]
