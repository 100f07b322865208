"""What carries a prediction's uncertainty: first-order and total shares of every uncertain row of a study."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.analysis.sensitivity import SensitivityIndices, complete_rows, sensitivity_indices
from explorer.sampling import Plan, Purpose
from explorer.study.engine import Stage, quantities_of
from explorer.studyfile import Study, StudyError

#: Share of base rows that may be lost to points without numbers before shares of variance are refused.
MOST_LOST: Final[float] = 0.01

#: Name of the row that stands for the model itself.
MODEL_ROW: Final[str] = "the model itself"


class TooManyFailures(RuntimeError):
    """Too many points carry no number for shares of variance to mean anything."""


@dataclass(frozen=True)
class Ranking:
    """What makes a target unsure, most important first.

    Attributes
    ----------
    study : Study
    target : str
        Address of the output.
    inputs : DataFrame
        Indexed by row (``address`` or ``address (scatter)``): part, first, first_low, first_high, total,
        total_low, total_high [-], standard_uncertainty [SI of the input].
    indices : SensitivityIndices
        Everything that the estimators gave.
    points : Mapping
        How many points had each status.
    lost : float
        Share of base rows left out because a point had no number [-].
    base : int
        Rows of the design, over all scrambles.
    scrambles : int
        Independent repeats.
    random_number : int
    """

    study: Study
    target: str
    inputs: pd.DataFrame
    indices: SensitivityIndices
    points: Mapping[str, int]
    lost: float
    base: int
    scrambles: int
    random_number: int

    @property
    def mean(self) -> tuple[float, float]:
        """Mean of the target and its standard error [SI]."""
        return float(self.indices.mean.value), float(self.indices.mean.standard_error)

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the target in one firing [SI]."""
        return float(np.sqrt(self.indices.variance.value))


def rank(
    model: Study,
    *,
    target: str | None = None,
    rng: int | np.random.Generator | None = None,
    base: int = 8192,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Ranking:
    """Rank a study's uncertain rows by the share of the target's variance behind each.

    Parameters
    ----------
    model : Study
        With at least one uncertain input, and no correlation between inputs.
    target : str, optional
        Address of an output; the study's own target if left out.
    rng : int or Generator, optional
        Random number; the study's own if left out.
    base : int
        [-] rows over all scrambles, rounded up to scrambles · 2^k.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (chunks done, chunks).

    Returns
    -------
    Ranking

    Raises
    ------
    StudyError
        If nothing is uncertain, inputs are correlated, or the target isn't an output.
    TooManyFailures
        If more than 1 % of the rows hold a point without a number.
    explorer.analysis.sensitivity.ConstantOutput
        If the target is the same everywhere.
    """
    study = model
    address = quantities_of(study, [target or study.target.quantity])[0]
    if not study.space.rows:
        raise StudyError("nothing in this study is uncertain: give at least one input as, say, \"0.48 ± 0.02 T\"")
    if study.space.correlated:
        raise StudyError("shares for correlated inputs are not available yet: take the [[correlation]] tables out")
    number = sampling.random_number(study.run.random_number if rng is None else rng)
    error = study.model_error.of(address).relative
    names = [row.label for row in study.space.rows] + ([MODEL_ROW] if error else [])
    plan = sampling.pick_freeze_plan(number, len(names), base, purpose=Purpose.RANKING)
    outputs, counts = _outputs(study, address, plan, error, jobs=jobs, progress=progress)
    kept, lost = complete_rows(outputs)
    if lost > MOST_LOST:
        raise TooManyFailures(_failure_words(counts, lost))
    indices = sensitivity_indices(kept, names)
    return Ranking(
        study=study,
        target=address,
        inputs=_table(study, indices, names),
        indices=indices,
        points=counts,
        lost=lost,
        base=plan.rows * plan.scrambles,
        scrambles=plan.scrambles,
        random_number=number,
    )


def _outputs(
    study: Study,
    target: str,
    plan: Plan,
    error: float,
    *,
    jobs: int,
    progress: run.Progress | None,
) -> tuple[NDArray[np.float64], dict[str, int]]:
    """The target at every point of the plan, arranged by scramble and block, and how many points had each status."""
    stage = Stage(study, [target], jobs=jobs)
    rows = study.space.dimension

    def chunk(scramble: int, number: int) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        cube = plan.points(scramble, number)
        found = stage.chunk(study.space.values(cube[:, :rows]))
        values = found.quantities[target]
        if error:
            values = values * model_factor(cube[:, rows], error)
        return values, np.bincount(found.outcomes, minlength=len(registry.STATUSES))

    chunks = list(plan.chunks())
    done = list(run.in_threads(chunk, chunks, jobs=jobs, total=len(chunks), progress=progress))
    counts = np.sum([count for _, count in done], axis=0)
    flat = np.concatenate([values for values, _ in done])
    statuses = {s.name: int(n) for s, n in zip(registry.STATUSES, counts, strict=True)}
    return np.asarray(plan.arranged(flat)), statuses


def model_factor(u: NDArray[np.float64], relative: float) -> NDArray[np.float64]:
    """Factor by which the model itself may be off: lognormal, median 1.

    Parameters
    ----------
    u : NDArray
        [-] in (0, 1).
    relative : float
        [-] standard uncertainty of the model over its value.

    Returns
    -------
    NDArray
        [-]
    """
    from scipy.special import ndtri

    return np.asarray(np.exp(np.sqrt(np.log1p(relative**2)) * ndtri(u)))


def _table(study: Study, indices: SensitivityIndices, names: Sequence[str]) -> pd.DataFrame:
    table = indices.table.copy()
    spreads = [*study.space.standard_uncertainties().tolist(), np.nan][: len(names)]
    rows = study.space.rows
    table.insert(0, "address", [rows[i].address if i < len(rows) else MODEL_ROW for i in range(len(names))])
    table.insert(1, "part", [rows[i].part if i < len(rows) else "unknown" for i in range(len(names))])
    table["standard_uncertainty"] = spreads
    return table.sort_values("total", ascending=False, kind="stable")


def _failure_words(counts: Mapping[str, int], lost: float) -> str:
    share = {name: count / max(sum(counts.values()), 1) for name, count in counts.items()}
    failed = {name: s for name, s in share.items() if name not in ("ok", "no_contact") and s > 0}
    parts = ", ".join(f"{s:.1%} {name.replace('_', ' ')}" for name, s in failed.items())
    return (
        f"{lost:.1%} of the sample's rows hold a point without a number ({parts} of all points), more than the"
        f" {MOST_LOST:.0%} up to which shares of variance mean something. Narrow the ranges or move the design away"
        " from where it fails; nothing was filled in."
    )
