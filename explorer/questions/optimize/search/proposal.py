"""What a search for a design gives: the best one judged on fresh points, those nearly as good, and what stands in
the way.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import pandas as pd

from explorer.questions.optimize.search.candidates import Setting
from explorer.study.verdicts import Verdict
from explorer.studyfile import Limit, Study, Varied, Wish


@dataclass(frozen=True)
class ExactChance:
    """A share of fresh independent points, with its exact binomial 95 % interval."""

    share: float  #: [-]
    low: float  #: [-]
    high: float  #: [-]
    points: int  #: [-] fresh points


@dataclass(frozen=True)
class JudgedLimit:
    """One limit at one design, judged on fresh points."""

    limit: Limit  #: As stated, or implied ("chance.with_number")
    inner_level: float  #: Chance to which the search was held so that the stated one is reached [-]
    chance: ExactChance  #: With which it holds; of a "chance.…" limit the share of the event itself
    quantile: float  #: Value that the quantity keeps with the stated chance [SI]; NaN for a "chance.…" limit
    verdict: Verdict  #: "met", "not met" or "not decided" (the interval of the chance holds the stated one)
    active: bool  #: Whether it holds the design back


@dataclass(frozen=True)
class JudgedWish:
    """A wished quantity at one design, on fresh points."""

    wish: Wish
    expected: float  #: Expectation over firings and its sampling error [SI]
    standard_error: float  #: Expectation over firings and its sampling error [SI]
    low: float  #: Ends of the quantity's 95 % interval [SI]
    high: float  #: Ends of the quantity's 95 % interval [SI]
    by_search: float  #: What the search itself saw, which is too good on average [SI]


@dataclass(frozen=True)
class JudgedDesign:
    """A design, judged on points that had no part in choosing it (or at central values)."""

    setting: Setting  #: SI or a word by varied address, rounded to what a workshop or a dial can be told
    study: Study | None  #: The study with the design put in; None for a plain callable
    wishes: tuple[JudgedWish, ...]
    limits: tuple[JudgedLimit, ...]
    together: ExactChance  #: Chance that all limits on quantities hold at once
    status_shares: Mapping[str, float]  #: Share of points by status [-]
    #: Addresses in which it differs most from the best, for near-equal designs.
    differs_in: tuple[str, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """Of all limits together, each by itself: the worst of theirs."""
        found = {judged.verdict for judged in self.limits}
        return "not met" if "not met" in found else "not decided" if "not decided" in found else "met"


@dataclass(frozen=True)
class Relaxation:
    """What it would gain to relax one active limit by a tenth."""

    limit: Limit  #: As stated
    relaxed: float  #: Bound after relaxing [SI]
    #: How much better the wish becomes, re-optimised on the same scenarios [SI], positive for better.
    gain: float
    standard_error: float  #: Its sampling error, from independent sets of scenarios [SI]; 0 at central values


@dataclass(frozen=True)
class Change:
    """One change that would help a search that found nothing."""

    #: "limit": that one alone, all others met as stated; "range": a varied one made wider by a tenth.
    what: Literal["limit", "range"]
    address: str  #: The limit's quantity or the varied address
    to: float  #: The bound that would have to do, or the new end of the range [SI]
    #: What would still be missing of the worst limit, over its bound [-]; 0 or less where all would be
    #: met.
    shortfall: float


@dataclass(frozen=True)
class NearestMiss:
    """Where no design meets all limits: the one that misses least."""

    design: JudgedDesign
    shortfall: float  #: Of the worst limit, over its bound [-]
    conflict: tuple[Limit, ...]  #: Limits that can't hold together
    changes: tuple[Change, ...]  #: Most helpful first


@dataclass(frozen=True)
class Search:
    """How the search was done."""

    robust: bool  #: Whether over scenarios, or at central values
    designs: int  #: [-] designs tried in the search
    met: int  #: [-] of these, how many met all limits on the search's own scenarios
    scenarios: int  #: [-] points a design in the search, in the refinement, and in each judgement
    fine_scenarios: int  #: [-] points a design in the search, in the refinement, and in each judgement
    fresh_points: int  #: [-] points a design in the search, in the refinement, and in each judgement
    rounds: int  #: [-] how often the inner levels were raised
    budget: int  #: [-] designs allowed
    resumed: int  #: [-] designs taken from a search that was broken off
    random_number: int


@dataclass(frozen=True)
class Proposal:
    """What a search for a design found.

    Attributes
    ----------
    study : Study or None
        None for a plain callable.
    varied : tuple of Varied
    wishes : tuple of Wish
        One, or two for a trade-off curve.
    limits : tuple of Limit
        As stated; an implied one on points with numbers stands last.
    best : JudgedDesign or None
        With two wishes the knee of the curve. None where no design meets the limits.
    near_equal : tuple of JudgedDesign
    relaxations : tuple of Relaxation
    trade_off : tuple of JudgedDesign
        Along the curve, by rising first wish; empty with one wish.
    tried : DataFrame
        A row for each design of the search: the varied addresses [SI] (words as they are), the wishes [SI], each
        limit's margin over its own scale [-], ``met``.
    miss : NearestMiss or None
        Where `best` is None.
    search : Search
    units : Mapping
        Unit by address of what is varied and wished.
    """

    study: Study | None
    varied: tuple[Varied, ...]
    wishes: tuple[Wish, ...]
    limits: tuple[Limit, ...]
    best: JudgedDesign | None
    near_equal: tuple[JudgedDesign, ...]
    relaxations: tuple[Relaxation, ...]
    trade_off: tuple[JudgedDesign, ...]
    tried: pd.DataFrame
    miss: NearestMiss | None
    search: Search
    units: Mapping[str, str]
