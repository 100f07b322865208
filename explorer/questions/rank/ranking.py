"""The whole answer to "what should the next test pin down"."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from explorer.analysis.scrambles import Estimate, root
from explorer.analysis.statistics import Distribution, Tail
from explorer.questions.rank.guesses import Guesses
from explorer.questions.rank.learning.learning import Learning
from explorer.questions.rank.shares import Shares, Subject
from explorer.study.joint import difference_name
from explorer.study.limits import Events
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import Decision, Study
from explorer.units import Scale

#: Decimals by which shares are put in order: what is beyond is rounding, and falls as the processor has it.
SHARE_DECIMALS: Final[int] = 9

#: Rows that a ranking shows of itself.
_ROWS_SHOWN: Final[int] = 8


@dataclass(frozen=True)
class RankedRow(Subject):
    """What a row, or a group, carries of the target's uncertainty, and what would be left if it were known."""

    first: Estimate  #: share of the squared standard uncertainty that it carries by itself [-]
    total: Estimate | None  #: with the others too [-]; None where there are no totals
    left: (
        Estimate | None
    )  #: standard uncertainty left if known exactly [SI of the target]; None for scatter, groups
    level: bool  #: whether its order against the row above does not stand out of the sampling error
    standard_uncertainty: float  #: of its own quantity [SI]; of the model's own error [-]; NaN for a group
    scale: Scale | None  #: how its own quantity is shown; None for a group, the model, a callable's own

    @property
    def leading(self) -> Estimate:
        """The share by which rows are ordered."""
        return self.first if self.total is None else self.total

    @property
    def called(self) -> str:
        """Its words, told apart from those of the same input's unknown part."""
        return f"{self.words} (scatter)" if self.part == "scatter" else self.words


@dataclass(frozen=True, repr=False)
class Ranking(Shown):
    """What makes a target unsure, and what would help.

    Attributes
    ----------
    study : Study or None
        None for a plain callable.
    target : str
        The output ranked.
    unit : str
        SI unit of the target; empty for a callable's own.
    rows : tuple of RankedRow
        What carries the uncertainty, most important first.
    shares : Shares
        Everything that the estimators gave.
    learning : Learning
        What tests could teach.
    instruments : DataFrame
        See `visibility`.
    guesses : Guesses or None
        Whether the first choice survives other ranges; None where not asked for.
    chance_met : Estimate or None
        Chance that the target's requirement is met, where there is one [-].
    distribution : Distribution
        Of the target in one firing, from the plain sample [SI].
    tail : Tail
        How much the rarest points of the plain sample carry.
    events : Events or None
        Warnings and limits of the study's firings; None of a callable.
    picture : DataFrame
        Up to 2000 points of the sample: the target [SI] under its name, the leading inputs [SI] under theirs.
    against : Study or None
        The study whose quantity was taken off.
    points : Mapping
        How many points of the design had each status.
    base : int
        Rows of the design, over all scrambles.
    scrambles : int
        Independent repeats.
    random_number : int
    """

    study: Study | None
    target: str
    unit: str
    rows: tuple[RankedRow, ...]
    shares: Shares
    learning: Learning
    instruments: pd.DataFrame
    guesses: Guesses | None
    chance_met: Estimate | None
    distribution: Distribution
    tail: Tail
    events: Events | None
    picture: pd.DataFrame
    against: Study | None
    points: Mapping[str, int]
    base: int
    scrambles: int
    random_number: int

    @property
    def inputs(self) -> pd.DataFrame:
        """What every row carries, most important first.

        Indexed by address and part (unknown, scatter, model, group): first, total [-] with first_standard_error,
        first_low, first_high and so on (total NaN where there are no totals), standard_uncertainty [SI of the input],
        left_if_known, left_if_known_standard_error [SI of the target] (NaN where a test can't teach it).
        """
        index = pd.MultiIndex.from_tuples(
            [(row.address, row.part) for row in self.rows], names=["address", "part"]
        )
        return pd.DataFrame([_frame_row(row) for row in self.rows], index=index)

    @property
    def measurements(self) -> pd.DataFrame | None:
        """What each measurement would leave, least first; None without measurements.

        Indexed by name: hours (with its set-up), left (at most), left_standard_error, left_at_least,
        left_at_least_standard_error, left_range_low, left_range_high [SI], fall_per_hour [SI/h]; for a verdict also
        value, value_standard_error, change, and with pay-offs net_value, what it is worth less what its hours cost.
        """
        found = self.learning.measurements
        if found is None:
            return None
        rows = []
        for own in found.each:
            row = {"name": own.name, "hours": own.hours, **_figure("left", own.left)}
            row |= _figure("left_at_least", own.at_least)
            row |= {"left_range_low": own.left_range[0], "left_range_high": own.left_range[1]}
            row |= {"fall_per_hour": own.fall_per_hour}
            if own.worth is not None:
                row |= {**_figure("value", own.worth.value), "change": float(own.worth.change)}
                if self.decision is not None:
                    row |= {"net_value": row["value"] - self.decision.cost_per_hour * own.hours}
            rows.append(row)
        return pd.DataFrame(rows).set_index("name")

    @property
    def best_set(self) -> pd.DataFrame | None:
        """The best set of measurements in the order in which to make them; None without measurements.

        Columns: name, left, left_standard_error [SI], hours (all so far).
        """
        found = self.learning.measurements
        if found is None:
            return None
        steps = [{"name": s.names[-1], **_figure("left", s.left), "hours": s.hours} for s in found.best]
        return pd.DataFrame(steps, columns=["name", "left", "left_standard_error", "hours"])

    @property
    def decision(self) -> Decision | None:
        """The pay-offs and hours that the study gives."""
        return None if self.study is None else self.study.decision

    @property
    def name(self) -> str:
        """What was ranked: an output, or the difference of one between two studies."""
        return difference_name(self.target, self.study, self.against)

    @property
    def has_totals(self) -> bool:
        """Whether it is known what rows carry together with others."""
        return self.shares.indices.total is not None

    @property
    def lost(self) -> float:
        """Share of the design's rows left out because a point had no number [-]."""
        return self.shares.lost

    @property
    def mean(self) -> Estimate:
        """Mean of the target [SI]."""
        return self.shares.indices.mean

    @property
    def standard_uncertainty(self) -> Estimate:
        """Standard uncertainty of the target in one firing [SI]."""
        return root(self.shares.indices.variance)

    def _summary(self) -> Summary:
        scale = scale_of(self.target)
        rows = [
            (
                row.address,
                row.part,
                f"{float(row.first):.1%}",
                "" if row.total is None else f"{float(row.total):.1%}",
                "" if row.left is None else str(scale.difference(float(row.left))),
            )
            for row in self.rows[:_ROWS_SHOWN]
        ]
        spread = scale.difference(float(self.standard_uncertainty))
        title = f"What makes {self.name} uncertain: {scale.text(float(self.mean))} ± {spread} in one firing"
        return Summary(title, ("", "", "alone", "in all", "left if known"), tuple(rows))


def _frame_row(row: RankedRow) -> dict[str, float]:
    return {
        **_figure("first", row.first, interval=True),
        **_figure("total", row.total, interval=True),
        "standard_uncertainty": row.standard_uncertainty,
        **_figure("left_if_known", row.left),
    }


def _figure(name: str, figure: Estimate | None, *, interval: bool = False) -> dict[str, Any]:
    """A figure's cells by their columns' names; NaN where there is none."""
    found = {name: np.nan if figure is None else float(figure)}
    found |= {f"{name}_standard_error": np.nan if figure is None else figure.error}
    if interval:
        low, high = (np.nan, np.nan) if figure is None else figure.interval
        found |= {f"{name}_low": low, f"{name}_high": high}
    return found
