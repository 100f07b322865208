"""Designs beside each other: what each will show in one firing, and which of their differences are real.

All designs are tried on the same points: what they share is drawn once for all, the rest apart for each, so that a
difference carries its own interval.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from explorer import registry, run, sampling
from explorer.analysis.scrambles import Estimate
from explorer.questions.compare.regime_sides import regime_table
from explorer.run import Evaluated
from explorer.study.compared import compared_quantities, of_study
from explorer.study.contrasts import by_design, difference_table, quantity_table, share_of
from explorer.study.drawn import Drawn, drawn
from explorer.study.joint import common_share
from explorer.study.limits import event, holds, one_sided, stated_level
from explorer.study.outcomes import MIXTURE
from explorer.study.problem import OK
from explorer.study.regimes import bordered
from explorer.study.stated import alike_but_apart, stated_table
from explorer.study.verdicts import verdict
from explorer.studyfile import CHANCE, Limit, Study, StudyError

#: Points at which designs are compared, where nothing else is asked for.
SAMPLES: Final[int] = 16_384


@dataclass(frozen=True)
class Comparison:
    """Designs beside each other, the first being the one that the others are held against.

    Attributes
    ----------
    studies : tuple of Study
    names : tuple of str
        What they are called.
    quantities : DataFrame
        Indexed by quantity; columns (design, figure) [SI], see `contrasts.quantity_table`.
    differences : DataFrame
        The same of each other design less the first, see `contrasts.difference_table`.
    given_contact, differences_given_contact : DataFrame
        Both again from the firings that make contact (of a difference: in both designs); without rows where contact
        is nearly sure or nearly excluded in every design.
    contact : Mapping
        By design, the chance of contact among points with numbers [-].
    limits : DataFrame
        A row each: design, source ("target" or "limit"), quantity, at_least, at_most [SI], wanted, chance,
        standard_error [-], verdict ("met", "not met", "not decided"). Of a "chance.…" limit the chance is that of the
        status or warning itself.
    statuses, warnings : DataFrame
        Indexed by status or by a warning's code; columns (design, "share" or "standard_error") [-], of all points.
    regimes : DataFrame
        Indexed by border; columns (design, figure), see `regime_sides.regime_table`.
    inputs : DataFrame
        Indexed by input or choice; columns (design, "value" or "standard_uncertainty") [SI or words], and
        ("", "alike"), whether all designs state it alike.
    shared : Mapping
        By shared name, who carries it: (design, address).
    apart : tuple of str
        Uncertain inputs that all designs state alike and yet don't share.
    model_share : float
        Share of the variance of the model's own error that is common to all [-].
    samples : int
        Points in all.
    scrambles : int
        Independent repeats.
    random_number : int
    """

    studies: tuple[Study, ...]
    names: tuple[str, ...]
    quantities: pd.DataFrame
    differences: pd.DataFrame
    given_contact: pd.DataFrame
    differences_given_contact: pd.DataFrame
    contact: Mapping[str, Estimate]
    limits: pd.DataFrame
    statuses: pd.DataFrame
    warnings: pd.DataFrame
    regimes: pd.DataFrame
    inputs: pd.DataFrame
    shared: Mapping[str, tuple[tuple[str, str], ...]]
    apart: tuple[str, ...]
    model_share: float
    samples: int
    scrambles: int
    random_number: int


def compare(
    studies: Sequence[Study],
    *,
    quantities: Sequence[str] = (),
    rng: int | np.random.Generator | None = None,
    samples: int = SAMPLES,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> Comparison:
    """Hold designs against the first of them.

    Parameters
    ----------
    studies : sequence of Study
        Two or more; the first is the one that the others are held against.
    quantities : sequence of str
        Outputs wanted besides the targets and the usual ones.
    rng : int or Generator, optional
        Random number; the first study's own if left out.
    samples : int
        [-] points, rounded up to 8 · 2^k.
    jobs : int
        [-] threads.
    progress : callable, optional
        Told (done, total): of gas tables, then of chunks.

    Returns
    -------
    Comparison

    Raises
    ------
    StudyError
        If there are fewer than two studies, nothing is uncertain in any, a quantity is unknown, or what is shared is
        stated differently.
    NoNumbers
        If hardly any point of a design carries a number.
    """
    if len(studies) < 2:
        raise StudyError(f"a comparison takes two studies or more; got {len(studies)}")
    number = sampling.random_number(studies[0].run.random_number if rng is None else rng)
    rows = compared_quantities(studies, quantities)
    sample = drawn(
        studies,
        [_needed(study, rows, quantities) for study in studies],
        number,
        samples,
        calculated=[bordered(study.pairs) for study in studies],
        jobs=jobs,
        progress=progress,
    )
    names, places = sample.names, range(len(studies))
    contact = {names[k]: share_of(sample.found[k].outcomes == OK, sample.numbered(k)) for k in places}
    mixed = any(MIXTURE[0] < float(chance.value) < MIXTURE[1] for chance in contact.values())
    in_contact = rows if mixed else ()
    return Comparison(
        studies=tuple(studies),
        names=names,
        quantities=quantity_table(names, rows, sample.values, sample.centres),
        differences=difference_table(names, rows, sample.values),
        given_contact=quantity_table(names, in_contact, sample.in_contact, {}),
        differences_given_contact=difference_table(names, in_contact, sample.in_contact),
        contact=contact,
        limits=_limits(sample),
        statuses=_shares(sample, [f"{CHANCE}{status.name}" for status in registry.STATUSES]),
        warnings=_shares(sample, [f"{CHANCE}{warning.code}" for warning in registry.WARNINGS]),
        regimes=regime_table(names, [study.pairs for study in studies], sample.calculated),
        inputs=stated_table(studies, names),
        shared=sample.joint.shared,
        apart=alike_but_apart(studies),
        model_share=common_share(studies),
        samples=sample.plan.size,
        scrambles=sample.plan.scrambles,
        random_number=number,
    )


def _needed(study: Study, rows: Sequence[str], wanted: Sequence[str]) -> tuple[str, ...]:
    """Outputs of a study for the rows and its limits."""
    limited = [limit.quantity for limit in study.limits if not limit.quantity.startswith(CHANCE)]
    return tuple(dict.fromkeys((*of_study(study, rows, wanted), study.target.quantity, *limited)))


def _shares(sample: Drawn, events: Sequence[str]) -> pd.DataFrame:
    """Share of each status or warning that some design has, of all its points."""
    table: dict[str, dict[tuple[str, str], float]] = {}
    for quantity in events:
        shares = [
            share_of(marked, np.ones_like(marked))
            for found in sample.found
            for marked in (event(found, quantity),)
        ]
        if any(share.value > 0 for share in shares):
            table[quantity.removeprefix(CHANCE)] = {
                (name, figure): float(value)
                for name, share in zip(sample.names, shares, strict=True)
                for figure, value in (("share", share.value), ("standard_error", share.standard_error))
            }
    return by_design(table, "event")


def _limits(sample: Drawn) -> pd.DataFrame:
    """What each study requires of its target and limits, judged on its points; one without a number meets nothing."""
    rows = []
    for side, found in zip(sample.joint.sides, sample.found, strict=True):
        target = side.study.target
        stated = [("limit", limit) for limit in one_sided(side.study.limits)]
        if target.has_requirement:
            asked = Limit(target.quantity, target.at_least, target.at_most, target.chance)
            stated = [
                ("target", asked),
                *(item for item in stated if item[1] != asked),
            ]  # said twice, judged once
        rows += [{"design": side.name, "source": source, **_judged(limit, found)} for source, limit in stated]
    columns = ("design", "source", "quantity", "at_least", "at_most", "wanted", *_JUDGED)
    return pd.DataFrame(rows, columns=list(columns))


_JUDGED: Final = ("chance", "standard_error", "verdict")


def _judged(limit: Limit, found: Evaluated) -> dict[str, Any]:
    held = holds(found, limit)
    chance, level = share_of(held, np.ones_like(held)), stated_level(limit)
    absent = limit.quantity.startswith(CHANCE) and limit.at_least is None  # then it is its absence that holds
    return {
        "quantity": limit.quantity,
        "at_least": limit.at_least,
        "at_most": limit.at_most,
        "wanted": limit.chance,
        "chance": float(1.0 - chance.value if absent else chance.value),
        "standard_error": float(chance.standard_error),
        "verdict": verdict(chance.interval, level),
    }
