"""Gas tables from the cache or built, whatever state the cache is in; chunks; compiled code that can't be kept."""

import os
import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from stage.stages import BENCH, design_and_values, ranges_over, tables_over

from explorer import run, store
from explorer.physics import gas as gas_model
from explorer.stage.gas import table as gas_table
from explorer.store import tables

ROOT = Path(__file__).parents[1]


@pytest.fixture
def fresh(monkeypatch):
    """Nothing remembered of tables used before."""
    monkeypatch.setattr(run, "_RECENT", {})


def bench_table(cache, **options):
    """The small table of the bench stage, asked for anew."""
    run._RECENT.clear()
    return run.table_for(design_and_values(BENCH)[0], ranges_over([BENCH]), cache=cache, **options)


def only_file(cache):
    files = sorted((cache / "tables").iterdir())
    assert len(files) == 1, files
    return files[0]


@pytest.fixture
def built(fresh, tmp_path):
    """A cache with one sound table."""
    return tmp_path, bench_table(tmp_path), only_file(tmp_path)


def forbidden(*_, **__):
    raise AssertionError("the table should have come from the cache")


def test_a_table_is_built_once_and_then_read(built, monkeypatch):
    cache, table, _ = built
    monkeypatch.setattr(gas_table, "gas_table", forbidden)
    again = bench_table(cache)
    assert np.array_equal(again.coefficients, table.coefficients)
    assert np.array_equal(again.axes, table.axes)


def test_a_table_used_just_now_is_not_read_again(built, monkeypatch):
    cache, _, _ = built
    bench_table(cache)
    monkeypatch.setattr(store, "read_table", forbidden)
    design = design_and_values(BENCH)[0]
    run.table_for(design, ranges_over([BENCH]), cache=cache)


def garbage(path, _table):
    path.write_bytes(b"not a table at all")


def empty(path, _table):
    path.write_bytes(b"")


def truncated(path, _table):
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def flipped(path, _table):
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 0xFF
    path.write_bytes(bytes(content))


def pickled(path, _table):
    with path.open("wb") as file:
        np.savez(file, coefficients=np.array([{"a": 1}], dtype=object), axes=np.zeros(3), digest=0)


def other_axes(path, table):
    assert tables.write_table(path.parents[1], path.stem, table.coefficients, table.axes + 1.0)


def other_shape(path, table):
    assert tables.write_table(path.parents[1], path.stem, table.coefficients[..., :-7], table.axes)


def without_digest(path, table):
    with path.open("wb") as file:
        np.savez(file, coefficients=table.coefficients, axes=table.axes)


def with_missing_numbers(path, table):
    coefficients = table.coefficients.copy()
    coefficients[0, 0, 0, 5] = np.nan
    assert tables.write_table(path.parents[1], path.stem, coefficients, table.axes)


def in_double_precision(path, table):
    assert tables.write_table(path.parents[1], path.stem, table.coefficients.astype(np.float64), table.axes)


def a_folder(path, _table):
    path.unlink()
    path.mkdir()


@pytest.mark.parametrize(
    "spoil",
    [
        garbage,
        empty,
        truncated,
        flipped,
        pickled,
        other_axes,
        other_shape,
        without_digest,
        with_missing_numbers,
        in_double_precision,
        a_folder,
    ],
)
def test_a_broken_truncated_or_foreign_file_is_discarded_and_rebuilt(built, spoil):
    cache, table, path = built
    spoil(path, table)
    again = bench_table(cache)
    assert np.array_equal(again.coefficients, table.coefficients)
    if spoil is not a_folder:
        kept = store.read_table(cache, path.stem, table.axes, table.coefficients.shape)
        assert np.array_equal(kept, table.coefficients)


def test_what_the_reader_refuses_is_removed(built):
    cache, table, path = built
    garbage(path, table)
    assert store.read_table(cache, path.stem, table.axes, table.coefficients.shape) is None
    assert not path.exists()


def test_a_missing_file_is_no_error(tmp_path):
    assert store.read_table(tmp_path, "0" * 32, np.zeros((7, 3)), (1, 1, 1, 9)) is None


def test_a_file_in_place_of_the_cache_folder_is_no_reason_to_fail(fresh, tmp_path):
    place = tmp_path / "cache"
    place.write_text("a file")
    table = bench_table(place)
    assert np.isfinite(table.coefficients).all()
    assert place.read_text() == "a file"


def test_a_read_only_cache_folder_is_no_reason_to_fail(fresh, tmp_path, monkeypatch):
    """Rights don't bind the super-user, so the refusal is put into the call."""

    def refused(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refused)
    assert np.isfinite(bench_table(tmp_path / "cache").coefficients).all()


def test_a_full_disk_is_no_reason_to_fail_and_leaves_nothing_behind(fresh, tmp_path, monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(np, "savez", full)
    assert np.isfinite(bench_table(tmp_path).coefficients).all()
    assert list((tmp_path / "tables").iterdir()) == []


BUILD = """
import sys
from pathlib import Path
sys.path.insert(0, "tests")
from test_run import bench_table
import zlib
print(zlib.crc32(bench_table(Path(sys.argv[1])).coefficients.tobytes()))
"""


def test_two_processes_that_build_the_same_table_at_once_do_no_harm(built, tmp_path):
    _, table, path = built
    cache = tmp_path / "shared"
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", BUILD, str(cache)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    answers = [run.communicate(timeout=120) for run in runs]
    assert [process.returncode for process in runs] == [0, 0], answers
    assert len({out for out, _ in answers}) == 1
    assert only_file(cache).name == path.name
    kept = store.read_table(cache, path.stem, table.axes, table.coefficients.shape)
    assert np.array_equal(kept, table.coefficients)


def test_the_cache_keeps_to_its_size_and_drops_what_was_not_used_for_longest(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "LARGEST_CACHE", 5000)
    coefficients, axes = np.zeros((1, 1, 1, 300), dtype=np.float32), np.zeros((7, 3))
    for age, key in enumerate("abcd"):
        tables.write_table(tmp_path, key, coefficients, axes)
        os.utime(tmp_path / "tables" / f"{key}.npz", (1000 + age, 1000 + age))
    tables.write_table(tmp_path, "e", coefficients, axes)
    left = {path.stem for path in (tmp_path / "tables").iterdir()}
    assert "e" in left
    assert "a" not in left
    assert sum(path.stat().st_size for path in (tmp_path / "tables").iterdir()) <= 5000


def test_reading_a_table_counts_as_use(built):
    cache, table, path = built
    os.utime(path, (1000, 1000))
    store.read_table(cache, path.stem, table.axes, table.coefficients.shape)
    assert path.stat().st_mtime > 1e9


def test_a_table_too_large_for_its_own_cache_is_kept_all_the_same(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "LARGEST_CACHE", 10)
    tables.write_table(tmp_path, "a", np.zeros((1, 1, 1, 300), dtype=np.float32), np.zeros((7, 3)))
    assert (tmp_path / "tables/a.npz").exists()


def key_of(inputs):
    design = design_and_values(inputs)[0]
    axes = run.table_axes(design.propellants, ranges_over([inputs]))
    return gas_table.table_key(axes, design.propellants)


@pytest.mark.parametrize(
    ("change", "same"),
    [
        ({}, True),
        ({"electrodes.main.source.voltage": 90.0, "magnet.field": 0.7}, True),
        ({"gas.mixture_ratio": 1.96}, False),
        ({"gas.seed_fraction": 0.011}, False),
        ({"gas.seed": "potassium hydroxide"}, False),
        ({"gas.fuel": "methanol"}, False),
        ({"gas.chamber_pressure": 40e5}, False),
    ],
)
def test_a_table_s_key_follows_what_shapes_it(change, same):
    assert (key_of({**BENCH, **change}) == key_of(BENCH)) == same


def test_a_table_s_key_follows_the_species_data(monkeypatch):
    before = key_of(BENCH)
    monkeypatch.setattr(gas_model, "data_digest", lambda _: "another version of the data")
    assert key_of(BENCH) != before


def test_ranges_too_wide_for_one_table_are_refused_with_a_sentence(tmp_path):
    ranges = ranges_over([BENCH])
    ranges |= {
        "gas.mixture_ratio": (1.2, 8.0),
        "gas.seed_fraction": (1e-9, 0.02),
        "gas.seed_water": (0.0, 3.0),
        "gas.seed_vaporized": (0.1, 1.0),
    }
    with pytest.raises(ValueError, match="too wide for one gas table"):
        run.table_for(design_and_values(BENCH)[0], ranges, cache=tmp_path)


def test_a_table_built_in_processes_is_the_same_and_tells_its_progress(fresh, tmp_path, monkeypatch):
    monkeypatch.setattr(run, "FEWEST_FOR_PROCESSES", 0)
    ranges = ranges_over([BENCH]) | {"gas.mixture_ratio": (1.9, 2.0)}
    design = design_and_values(BENCH)[0]
    told = []
    one = run.table_for(design, ranges, cache=tmp_path / "one")
    run._RECENT.clear()
    two = run.table_for(
        design,
        ranges,
        cache=tmp_path / "two",
        jobs=2,
        progress=lambda done, total: told.append((done, total)),
    )
    assert np.array_equal(one.coefficients, two.coefficients)
    assert one.coefficients.shape[0] > 1
    assert [done for done, _ in told] == list(range(1, told[-1][1] + 1))


def test_results_of_threads_come_in_the_order_of_their_calls():
    def slow_first(n):
        return sum(range(200_000 if n == 0 else 10)) * 0 + n

    told = []
    found = run.in_threads(
        slow_first, [(n,) for n in range(20)], jobs=4, total=20, progress=lambda *step: told.append(step)
    )
    assert list(found) == list(range(20))
    assert told == [(n, 20) for n in range(1, 21)]


CHANGES = (
    {},
    {"gas.mixture_ratio": 2.05},
    {"electrodes.main.source.voltage": 200.0},
    {"gas.chamber_pressure": 13e5},
    {"gas.seed_fraction": 0.012, "channel.gap_in": 11.2e-3},
    {"channel.gap_in": 11.2e-3},
    {"gas.mixture_ratio": 2.05, "magnet.field": 0.6},
    {"gas.combustion_efficiency": 0.9},
    {"nozzle.throat_diameter": 8.8e-3},
    {"channel.gap_out": 13e-3},
    {"nozzle.throat_diameter": 11.5e-3},  # chokes
    {},
)


def test_points_that_share_a_mixture_or_a_nozzle_have_the_numbers_that_they_have_alone():
    """What is the same as for the point before is not computed again, whatever stands between the two."""
    stages = [{**BENCH, **change} for change in CHANGES]
    design, tables, outputs = design_and_values(BENCH)[0], tables_over(stages), ("thrust_gain", "current")

    def found(chosen):
        each = [design_and_values(stages[place])[1] for place in chosen]
        values = {address: np.array([own[address] for own in each]) for address in each[0]}
        points = run.chunk(design, values, tables, outputs, None)
        return np.column_stack([points.outcomes, *(points.quantities[name] for name in outputs)])

    order = np.random.default_rng(1).permutation(len(stages))
    alone = np.concatenate([found([place]) for place in range(len(stages))])
    np.testing.assert_array_equal(found(order), alone[order])
    assert len({row.tobytes() for row in alone}) == len(stages) - 1


def test_tables_go_to_a_worker_elsewhere_and_make_others_there():
    tables = tables_over([BENCH])
    there = pickle.loads(pickle.dumps(tables))
    assert np.array_equal(there(0, True).coefficients, tables(0, True).coefficients)
    assert there(1, True) is not None
