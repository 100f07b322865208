"""From one design to a larger one: the path between them, where its regime changes, and which firings on it teach most.

How far the first design's number may be trusted for the second's: the interval of the second's target now, after ever
more firings of the first, with a ladder of firings between, and what no firing of the first can ever teach, since the
two designs don't share it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry, run, sampling
from explorer.questions.scale.path.along import Along, tried_along
from explorer.questions.scale.path.borders import Border, border_table, borders_of
from explorer.questions.scale.path.crossings import Change, changes_along
from explorer.questions.scale.path.ladder import Ladder, ladder
from explorer.questions.scale.path.path import Path, path_between
from explorer.questions.scale.path.table import event_table, quantities_of_path
from explorer.questions.scale.path.trust import Trust, trust
from explorer.study.contrasts import FEWEST, fewest, quantity_table
from explorer.study.joint import common_share, study_names
from explorer.study.outcomes import NoNumbers
from explorer.study.stated import alike_but_apart
from explorer.studyfile import CHANCE, Study, StudyError

FloatArray = NDArray[np.float64]

#: Points at which the designs of a path are tried, and steps between its ends, where nothing else is asked for.
SAMPLES: Final[int] = 16_384
POINTS: Final[int] = 9

#: Power of the size with which the cost of a firing grows; assumed. Thrust and propellant go with the square of it,
#: and the chemical industry's six-tenths rule (cost with capacity to the 0.6, from memory) gives 1.8 for a volume.
COST_EXPONENT: Final[float] = 2.0


@dataclass(frozen=True)
class Scaling:
    """The way from one design to another.

    Attributes
    ----------
    path : Path
    names : tuple of str
        Of its designs, both ends among them.
    places, sizes, costs : NDArray
        [-] of the designs: along the path; cube root of the channel's volume over the first's; firings of the first
        that one firing costs.
    cost_exponent : float
        [-]
    target : str
        The second design's.
    quantities : DataFrame
        Indexed by quantity; columns (design, figure) [SI], see `contrasts.quantity_table`.
    statuses, warnings : DataFrame
        Indexed by status or by a warning's code; columns (design, "share" or "standard_error") [-].
    borders : tuple of Border
    border_shares : DataFrame
        See `borders.border_table`.
    changes : tuple of Change
        Borders crossed, in the order of the path.
    trust : Trust
    ladder : Ladder or None
        None where the first design lists no instrument.
    shared : Mapping
        By shared name, who among the ends carries it: (design, address).
    apart : tuple of str
        Uncertain inputs that both ends state alike and yet don't share.
    model_share : float
        Share of the variance of the model's own error that is common to all designs [-].
    samples, scrambles, random_number : int
    """

    path: Path
    names: tuple[str, ...]
    places: FloatArray
    sizes: FloatArray
    costs: FloatArray
    cost_exponent: float
    target: str
    quantities: pd.DataFrame
    statuses: pd.DataFrame
    warnings: pd.DataFrame
    borders: tuple[Border, ...]
    border_shares: pd.DataFrame
    changes: tuple[Change, ...]
    trust: Trust
    ladder: Ladder | None
    shared: Mapping[str, tuple[tuple[str, str], ...]]
    apart: tuple[str, ...]
    model_share: float
    samples: int
    scrambles: int
    random_number: int


def scale(
    first: Study,
    second: Study,
    *,
    points: int = POINTS,
    cost_exponent: float = COST_EXPONENT,
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Scaling:
    """Look at the way from one design to another.

    Parameters
    ----------
    first, second : Study
        The design that is fired now, with its instruments, and the one that it shall lead to, with its target.
    points : int
        [-] steps between them.
    cost_exponent : float
        [-] power of the size with which a firing's cost grows.
    rng : int or Generator, optional
        Random number; the first study's own if left out.
    samples : int
        [-] points at which all designs are tried, rounded up to 8 · 2^k.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (done, total): of gas tables, then of chunks.

    Raises
    ------
    StudyError
        If the designs can't be joined, nothing is uncertain, or what is shared is stated differently.
    NoNumbers
        If hardly any point of an end carries a number.
    """
    if not np.isfinite(cost_exponent) or cost_exponent < 0:
        raise StudyError(f"the exponent of the cost must be zero or more; got {cost_exponent:g}")
    number = sampling.random_number(first.run.random_number if rng is None else rng)
    names = study_names(first, second)
    path = path_between(first, second, points)
    ends = [replace(end, path=None, title=name) for end, name in zip((first, second), names, strict=True)]
    rows, needed, reads = quantities_of_path(path)
    while True:
        studies = [ends[0], *(step.study for step in path.steps), ends[1]]
        along = tried_along(
            studies, needed, number, samples, reads=reads, cover=path.middle, jobs=jobs, progress=progress
        )
        idle = _without_numbers(along)
        if not idle:
            break
        path = _left_out(path, along, idle)
    names = along.names
    places = np.array([0.0, *(step.place for step in path.steps), 1.0])
    sizes = np.array([size_of(study) for study in studies]) / size_of(first)
    costs = sizes**cost_exponent
    borders = borders_of(first, second)
    border_shares = border_table(borders, along, places)
    changes = changes_along(borders, border_shares, names, places)
    return Scaling(
        path=path,
        names=names,
        places=places,
        sizes=sizes,
        costs=costs,
        cost_exponent=cost_exponent,
        target=second.target.quantity,
        quantities=quantity_table(names, rows, along.values, {}),
        statuses=event_table(along, [f"{CHANCE}{status.name}" for status in registry.STATUSES]),
        warnings=event_table(along, [f"{CHANCE}{warning.code}" for warning in registry.WARNINGS]),
        borders=borders,
        border_shares=border_shares,
        changes=changes,
        trust=trust(along),
        ladder=ladder(along, places, costs, changes) if first.instruments else None,
        shared={
            name: tuple(who for who in every if who[0] in (names[0], names[-1]))
            for name, every in along.joint.shared.items()
            if {names[0], names[-1]} <= {holder for holder, _ in every}
        },
        apart=alike_but_apart([first, second]),
        model_share=common_share([first, second]),
        samples=along.plan.size,
        scrambles=along.plan.scrambles,
        random_number=number,
    )


def size_of(study: Study) -> float:
    """Cube root of the channel's volume [m]."""
    v = study.central()
    g0, g1, w0, w1 = (v[f"channel.{name}"] for name in ("gap_in", "gap_out", "width_in", "width_out"))
    return float(np.cbrt(v["channel.length"] * (2 * g0 * w0 + 2 * g1 * w1 + g0 * w1 + g1 * w0) / 6))


def _without_numbers(along: Along) -> dict[int, str]:
    """Designs that hardly ever carry a number, by their place, with how their points end."""
    found = {}
    for place in range(len(along.names)):
        if fewest(along.numbered(place)) < FEWEST:
            outcomes = along.found[place].outcomes
            counts = np.bincount(outcomes.ravel(), minlength=len(registry.STATUSES))
            shares = [
                f"{count / outcomes.size:.0%} {status.name.replace('_', ' ')}"
                for status, count in zip(registry.STATUSES, counts, strict=True)
                if count
            ]
            found[place] = ", ".join(shares)
    return found


def _left_out(path: Path, along: Along, idle: Mapping[int, str]) -> Path:
    """The path without steps that don't run; an end that doesn't is refused."""
    for place in (0, len(along.names) - 1):
        if place in idle:
            raise NoNumbers(
                f"{along.names[place]}: hardly any point carries a number ({idle[place]}), so there is nothing to scale"
                " from or to: move this design or narrow its ranges"
            )
    return path.without(
        {
            path.steps[place - 1].number: f"hardly any point carries a number ({why})"
            for place, why in idle.items()
        }
    )
