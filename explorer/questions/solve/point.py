"""One operating point at central values, or many at given ones."""

from __future__ import annotations  # so that help() shows short names

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer import registry, run
from explorer.stage.outputs.limits import warnings_in
from explorer.study.engine import Setting, Stage, quantities_of, refuse_bad_samples, stage_of, with_settings
from explorer.study.shown import Shown, Summary
from explorer.studyfile import Study

if TYPE_CHECKING:  # one point is solved in less time than pandas takes to be loaded
    import pandas as pd

FloatArray = NDArray[np.float64]

#: What a point shows of itself.
_MAIN: Final = (
    "thrust",
    "thrust_gain",
    "thrust_gain_heating",
    "current",
    "terminal_voltage",
    "electrical_power",
    "back_emf",
    "inlet_conductivity",
    "exit_velocity",
)


@dataclass(frozen=True, repr=False)
class Point(Shown):
    """One operating point.

    Attributes
    ----------
    study : Study
        As solved, settings included.
    status : str
        One of `registry.STATUSES`.
    quantities : Mapping
        Outputs by address [SI]; NaN where there is no number.
    warnings : Mapping
        Sentence by title.
    along : Mapping or None
        Arrays of values along the channel by name [SI], two values where a pair begins or ends; None where the point
        carries no numbers.
    """

    study: Study
    status: str
    quantities: Mapping[str, float]
    warnings: Mapping[str, str]
    along: Mapping[str, FloatArray] | None

    @property
    def profile(self) -> pd.DataFrame | None:
        """Values along the channel [SI] as a table; None where the point carries no numbers."""
        import pandas as pd  # see above

        return None if self.along is None else pd.DataFrame(self.along)

    def contact(self, pair: str) -> bool:
        """Whether current flows through a pair's gas."""
        return self.quantities[f"electrodes.{pair}.plasma_current"] != 0.0

    def _summary(self) -> Summary:
        quantities = {address: registry.quantity(address) for address in _MAIN}
        rows = [
            (address, quantity.shown(self.quantities[address]), quantity.sentence)
            for address, quantity in quantities.items()
        ]
        status = self.status.replace("_", " ")
        return Summary(
            f'Operating point of "{self.study.title}": {status}', ("at central values", "", ""), tuple(rows)
        )


def solve(
    study: Study, settings: Mapping[str, Setting] | None = None, *, progress: run.Progress | None = None
) -> Point:
    """The operating point at central values.

    Parameters
    ----------
    study : Study
    settings : mapping, optional
        Values to replace, by address: a number in SI, or a text with its unit.
    progress : callable, optional
        Told (done, total) while a gas table is built.

    Returns
    -------
    Point

    Raises
    ------
    StudyError
        If an address or a value is wrong, or the gas can't be modelled.
    """
    wanted = with_settings(study, settings or {})
    central = wanted.central()
    stage = stage_of(
        wanted, quantities_of(wanted, None), samples=central, at_samples_only=True, progress=progress
    )
    found = stage.points({})
    along = stage.profile() if isinstance(stage, Stage) else None
    return Point(
        study=wanted,
        status=registry.STATUSES[int(found.outcomes[0])].name,
        quantities={address: float(values[0]) for address, values in found.quantities.items()},
        warnings=warnings_in(int(found.warnings[0])),
        along=None if along is None else along.values,
    )


def solve_many(
    study: Study,
    samples: Mapping[str, ArrayLike] | pd.DataFrame,
    *,
    quantities: Sequence[str] | None = None,
    inputs: bool = False,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> pd.DataFrame:
    """Operating points at given values; what isn't given stays at its central value.

    Parameters
    ----------
    study : Study
    samples : mapping or DataFrame
        [SI] columns by address; scalars hold for all points.
    quantities : sequence of str, optional
        Outputs wanted. If None all of them; a single pair's stand at the top level alone, not twice.
    inputs : bool
        [-] whether the columns given come first, as they were given.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (chunks done, chunks).

    Returns
    -------
    DataFrame
        A column for each quantity [SI], then ``status`` and ``warnings`` (bits of `registry.WARNING_BITS`);
        ``.attrs["units"]`` has the units.

    Raises
    ------
    StudyError
        If a column isn't an input of the study, with the nearest, or holds values that it can't have.
    """
    import pandas as pd  # see above

    given = {str(address): np.asarray(values, dtype=np.float64) for address, values in samples.items()}
    refuse_bad_samples(study, given)
    wanted = quantities_of(study, quantities)
    if quantities is None and len(study.pairs) == 1:
        wanted = tuple(address for address in wanted if not address.startswith("electrodes."))
    stage = stage_of(study, wanted, samples=given, jobs=jobs)
    found = stage.points(given, progress=progress)
    names = pd.Index([status.name for status in registry.STATUSES])
    kept = {a: np.broadcast_to(v, found.outcomes.shape) for a, v in given.items()} if inputs else {}
    told = {"status": pd.Categorical.from_codes(found.outcomes, categories=names), "warnings": found.warnings}
    frame = pd.DataFrame({**kept, **found.quantities, **told}, copy=False)
    frame.attrs["units"] = {address: registry.quantity(address).unit for address in (*kept, *wanted)}
    return frame
