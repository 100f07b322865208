"""Work in chunks: gas tables in processes, operating points in threads, progress told.

A chunk is one call of a compiled kernel that holds no interpreter lock, so threads are enough; its size is fixed,
so results don't depend on how many there are.
"""

import contextlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from threading import Lock
from typing import Any, Final, Literal, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from explorer import store
from explorer.physics.kept_code import cache_folder
from explorer.stage.design import Design, Values, points_in
from explorer.stage.evaluate import Tables as TableSource
from explorer.stage.evaluate import evaluate, refuse_unfed
from explorer.stage.gas import table as gas_table
from explorer.stage.gas.extent import ROOMS, SHAPING_INPUTS, Ranges, Room, table_axes
from explorer.stage.gas.propellants import Substances, least_alkali
from explorer.stage.gas.table import GasTable, TableAxes
from explorer.stage.outputs.limits import warning_bits
from explorer.stage.outputs.points import Points
from explorer.stage.outputs.quantities import needs_heater, output
from explorer.stage.stated_gas import gas_ranges, gas_values

Progress = Callable[[int, int], None]
Result = TypeVar("Result")

CHUNK_POINTS: Final[int] = 4096  #: points of a chunk
FEWEST_FOR_PROCESSES: Final[int] = 12_000  #: fewest equilibria for which starting processes pays
MOST_EQUILIBRIA: Final[int] = 4_000_000  #: of a table: some minutes of work

#: Tables used last in this process, so that small series in a loop don't read theirs again.
_RECENT: Final[dict[tuple[Path, str], GasTable]] = {}
_MOST_RECENT: Final[int] = 4


@lru_cache(maxsize=64)
def _axes(
    propellants: Substances, ranges: tuple[tuple[str, tuple[float, float]], ...], room: Room, layers: bool
) -> TableAxes:
    """Return the axes for these ranges of what shapes them; laying them out takes some dozens of milliseconds."""
    return table_axes(propellants, dict(ranges), room, layers=layers)


class Evaluated(NamedTuple):
    """Operating points of a series: outputs by address [SI], outcomes, warning bits."""

    quantities: dict[str, NDArray[np.float64]]
    outcomes: NDArray[np.int8]
    warnings: NDArray[np.uint32]


def in_threads(
    function: Callable[..., Result],
    calls: Iterable[tuple[Any, ...]],
    *,
    jobs: int,
    total: int,
    progress: Progress | None = None,
    prefer: Literal["threads", "processes"] = "threads",
) -> Iterator[Result]:
    """Yield the results of the calls in their order, as they come; on a cluster's workers within `on_cluster`.

    A function run in threads releases the interpreter lock for most of its time. `progress` is told (done, total).
    """
    if jobs == 1:
        results: Iterable[Result] = (function(*call) for call in calls)
    else:
        from joblib import Parallel, delayed  # loads slowly, and one point needs no pool

        pool = Parallel(n_jobs=jobs, prefer=prefer, return_as="generator", pre_dispatch="2*n_jobs")
        results = pool(delayed(function)(*call) for call in calls)
    for done, result in enumerate(results, start=1):
        if progress:
            progress(done, total)
        yield result


@contextlib.contextmanager
def on_cluster(scheduler: str) -> Iterator[None]:
    """Within it chunks run on the workers of a Dask cluster; the numbers are those of a local run.

    `scheduler` is the address of one that runs, such as "tcp://10.0.0.5:8786"; the workers need this package. An
    ImportError says that the optional extra isn't installed, an OSError that the scheduler doesn't answer.
    """
    from distributed import Client
    from joblib import parallel_config

    with Client(scheduler, timeout=20), parallel_config(backend="dask"):
        yield


class Tables:
    """The gas tables of a design over ranges of its inputs [SI], each made when it is first asked for.

    The first is made at once. Of inputs whose whole distribution lies within their range, `spread` tells the standard
    uncertainty [SI], so that what flows come to need not be as wide as if all were off at once. A ValueError says that
    the ranges are too wide for a table, or a mixture has less oxygen than carbon; an ArithmeticError that an
    equilibrium isn't found, or a flame lies outside the species data.
    """

    def __init__(
        self,
        design: Design,
        ranges: Ranges,
        *,
        spread: Mapping[str, float] | None = None,
        jobs: int = 1,
        progress: Progress | None = None,
    ) -> None:
        ranges = gas_ranges(design, ranges, spread)
        self._design, self._ranges, self._jobs, self._progress = design, ranges, jobs, progress
        self._made: dict[tuple[int, bool], GasTable | None] = {}
        self._making = Lock()
        most = ranges["gas.seed_fraction"][1] * ranges["gas.seed_vaporized"][1]
        if design.propellants.trace:
            most = ranges["gas.trace_alkali"][1]
        seeded = design.propellants.seed is None or most >= least_alkali(design.propellants)
        self._made[0, seeded] = self._table(0, seeded)

    def __call__(self, room: int, seeded: bool) -> GasTable | None:
        """The table of a room, for seeded or unseeded gas; None for a wider one that can't be had."""
        with self._making:
            if (room, seeded) not in self._made:
                try:
                    self._made[room, seeded] = self._table(room, seeded)
                except (ArithmeticError, ValueError):
                    if room == 0:
                        raise
                    self._made[room, seeded] = None
            return self._made[room, seeded]

    def __getstate__(self) -> dict[str, Any]:
        """A worker elsewhere gets the tables that are made, makes others itself and has no one to tell of progress."""
        return self.__dict__ | {"_making": None, "_progress": None}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__ |= state | {"_making": Lock()}

    def _table(self, room: int, seeded: bool) -> GasTable:
        ranges = dict(self._ranges)
        if not seeded:  # nothing is fed, or nothing vaporizes, where only the seed's water is left
            most = ranges["gas.seed_fraction"][1] if ranges["gas.seed_vaporized"][0] == 0.0 else 0.0
            ranges |= {"gas.seed_fraction": (0.0, most), "gas.seed_vaporized": (0.0, 0.0)}
        return table_for(self._design, ranges, room=ROOMS[room], jobs=self._jobs, progress=self._progress)


def table_for(
    design: Design,
    ranges: Ranges,
    *,
    room: Room = ROOMS[0],
    cache: Path | None = None,
    jobs: int = 1,
    progress: Progress | None = None,
) -> GasTable:
    """Return the gas table that serves these ranges [SI] of every input, from the cache or built in processes.

    The cache folder is the user's own by default; errors are those of `Tables`.
    """
    folder = cache or cache_folder()
    own = [f"electrodes.{pair.name}.wall_temperature" for pair in design.pairs if pair.computed]
    shaping = tuple((address, ranges[address]) for address in (*SHAPING_INPUTS, *own) if address in ranges)
    axes = _axes(design.propellants, shaping, room, design.layers)
    if axes.equilibria > MOST_EQUILIBRIA:
        raise ValueError(
            f"the ranges of mixture ratio, seed and pressure are too wide for one gas table ({axes.equilibria:.1e}"
            " equilibria): narrow them"
        )
    key = gas_table.table_key(axes, design.propellants)
    if (folder, key) in _RECENT:
        return _RECENT[folder, key]
    kept = store.read_table(folder, key, axes.as_array(), axes.coefficient_shape)
    if kept is not None:
        return _remembered(folder, key, GasTable(kept, axes.as_array()))
    workers = jobs if axes.equilibria >= FEWEST_FOR_PROCESSES else 1

    def mapper(function: Callable[..., Any], calls: list[tuple[Any, ...]]) -> list[Any]:
        total = len(calls)
        return [
            *in_threads(function, calls, jobs=workers, total=total, progress=progress, prefer="processes")
        ]

    built = gas_table.gas_table(axes, design.propellants, mapper=mapper)
    store.write_table(folder, key, built.coefficients, built.axes)
    return _remembered(folder, key, built)


def _remembered(folder: Path, key: str, table: GasTable) -> GasTable:
    while len(_RECENT) >= _MOST_RECENT:
        _RECENT.pop(next(iter(_RECENT)))
    _RECENT[folder, key] = table
    return table


def chunk(
    design: Design, values: Values, tables: TableSource, quantities: tuple[str, ...], grade: str | None
) -> Evaluated:
    """Return the operating points of one chunk of values [SI]; a magnet's grade is for its warning."""
    values, unfed = gas_values(design, values, tables)
    given = evaluate(design, values, tables, heater=needs_heater(quantities))
    if unfed is not None:
        refuse_unfed(given, unfed)
    points = Points(design, values, given)
    found = {address: output(points, address) for address in quantities}
    return Evaluated(found, given.outcomes, warning_bits(points, grade))


def points(
    design: Design,
    values: Values,
    tables: TableSource,
    quantities: tuple[str, ...],
    *,
    grade: str | None = None,
    jobs: int = 1,
    progress: Progress | None = None,
) -> Evaluated:
    """Return the operating points of a whole series of values [SI], worked out chunk by chunk in threads."""
    n = points_in(values)
    starts = range(0, n, CHUNK_POINTS)
    arrays = {address: np.asarray(value, dtype=np.float64) for address, value in values.items()}

    def part(start: int) -> Mapping[str, NDArray[np.float64]]:
        return {a: x if x.size == 1 else x[start : start + CHUNK_POINTS] for a, x in arrays.items()}

    found = {address: np.empty(n) for address in quantities}
    outcomes, warnings = np.empty(n, dtype=np.int8), np.empty(n, dtype=np.uint32)
    calls = ((design, part(start), tables, quantities, grade) for start in starts)
    done = in_threads(chunk, calls, jobs=jobs, total=len(starts), progress=progress)
    for start, result in zip(starts, done, strict=True):
        here = slice(start, start + CHUNK_POINTS)
        for address in quantities:
            found[address][here] = result.quantities[address]
        outcomes[here], warnings[here] = result.outcomes, result.warnings
    return Evaluated(found, outcomes, warnings)
