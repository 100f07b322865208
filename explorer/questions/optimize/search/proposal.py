"""What a search for a design gives: the best one judged on fresh points, those nearly as good, and what stands in
the way.
"""

from __future__ import annotations  # so that help() shows them as they are written

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.analysis.search.chance_limits import ExactChance
from explorer.analysis.search.design_space import Assessed
from explorer.questions.optimize.search.candidates import Setting
from explorer.registry import CHANCE
from explorer.study.limits import MET, NOT_DECIDED, NOT_MET, Contacts, Verdict, stated_level, verdict
from explorer.study.shown import Shown, Summary, scale_of
from explorer.studyfile import Limit, Study, Varied, Wish

FloatArray = NDArray[np.float64]

#: Width of a normal quantity's 95 % interval in standard uncertainties.
_WIDTH: Final = 3.92

#: Standard errors, and share of a wish, within which two designs are equally good [-]: four digits move it as much.
_SURE: Final = 2.0
_ALIKE: Final = 1e-3


@dataclass(frozen=True)
class JudgedLimit:
    """One limit at one design, judged on fresh points."""

    limit: Limit  #: As stated, or implied ("chance.with_number")
    inner_level: float  #: Chance to which the search was held so that the stated one is reached [-]
    holds: ExactChance  #: That what it asks holds
    quantile: float  #: Value that the quantity keeps with the stated chance [SI]; NaN for a "chance.…" limit
    active: bool  #: Whether it holds the design back

    @property
    def forbids(self) -> bool:
        """Whether what it asks is that a status or a warning be absent."""
        return self.limit.event is not None and self.limit.at_least is None

    @property
    def chance(self) -> ExactChance:
        """With which it holds; of a "chance.…" limit the share of the event itself."""
        return self.holds.opposite if self.forbids else self.holds

    @property
    def verdict(self) -> Verdict:
        """Whether it is met: "not decided" where the interval of the chance holds the stated one."""
        if self.holds.points == 1:  # at central values
            return MET if self.holds.share else NOT_MET
        return verdict((self.holds.low, self.holds.high), stated_level(self.limit))


@dataclass(frozen=True)
class JudgedWish:
    """A wanted result at one design, on fresh points."""

    wish: Wish
    expected: Estimate  #: Over firings [SI]
    low: float  #: Ends of the 95 % interval of one firing [SI]
    high: float
    by_search: float  #: What the search itself saw, which is too good on average [SI]

    @property
    def is_chance(self) -> bool:
        """Whether it is the share of firings in which something happens, of which no single firing shows any."""
        return self.wish.quantity.startswith(CHANCE)

    @property
    def spread(self) -> float:
        """Standard uncertainty of one firing, as its interval tells it [SI]; 0 at central values."""
        return (self.high - self.low) / _WIDTH


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
    contacts: Contacts = field(
        default_factory=dict
    )  #: In which form its pairs conduct, where that is worked out
    target: JudgedLimit | None = None  #: What the study requires, where it isn't among the limits

    @property
    def verdict(self) -> Verdict:
        """Of all limits together, each by itself: the worst of theirs."""
        found = {judged.verdict for judged in self.limits}
        return NOT_MET if NOT_MET in found else NOT_DECIDED if NOT_DECIDED in found else MET


@dataclass(frozen=True)
class Present:
    """The study as it stands, judged on the same fresh points as the design that is told of."""

    design: JudgedDesign  #: At the study's own values, whatever the ranges; what the search saw of it is NaN
    #: Of each wish the design told of less this one [SI], point by point, so that what both meet drops out.
    differences: tuple[Estimate, ...]
    outside: tuple[str, ...]  #: Varied addresses whose value is neither within the range nor in stock

    @property
    def as_good(self) -> bool:
        """Whether it gives as much of every result wanted, within sampling and the four digits of a proposal."""
        return not any(
            np.isnan(gain) or gain > max(_SURE * error, _ALIKE * size) for gain, error, size in self._gains()
        )

    @property
    def better(self) -> bool:
        """Whether it is as good in every result wanted and better in one."""
        return self.as_good and any(
            -gain > max(_SURE * error, _ALIKE * size) for gain, error, size in self._gains()
        )

    def _gains(self) -> Iterator[tuple[float, float, float]]:
        """How much more of each result the design told of gives, its sampling error, and what this one gives [SI]."""
        for judged, difference in zip(self.design.wishes, self.differences, strict=True):
            sign = 1.0 if judged.wish.make == "largest" else -1.0
            yield sign * float(difference), difference.error, abs(float(judged.expected))


@dataclass(frozen=True)
class Relaxation:
    """What it would gain to relax one active limit by a tenth."""

    limit: Limit  #: As stated
    relaxed: float  #: Bound after relaxing [SI]
    #: How much better the wish becomes, re-optimised on the same scenarios [SI], positive for better; its sampling
    #: error from independent sets of scenarios.
    gain: Estimate


@dataclass(frozen=True)
class Change:
    """One change that would help a search that found nothing."""

    #: A limit relaxed alone, all others met as stated; or what is varied, with a range wider by a tenth.
    of: Limit | Varied
    to: float  #: The bound that would have to do, or the new end of the range [SI]
    #: What would still be missing of the worst limit, over its bound [-]; 0 or less where all would be met.
    shortfall: float


@dataclass(frozen=True)
class NearestMiss:
    """Where no design meets all limits: the one that misses least."""

    design: JudgedDesign
    shortfall: float  #: Of the worst limit, over its bound [-]
    conflict: tuple[Limit, ...]  #: Limits that can't hold together
    changes: tuple[Change, ...]  #: Most helpful first


@dataclass(frozen=True)
class DesignsTried:
    """Every design of a search, in its order, as the search saw it."""

    settings: tuple[Setting, ...]
    wishes: FloatArray  #: [SI] shape (designs, wishes), NaN where a design carries no number
    margins: FloatArray  #: over each limit's own scale [-], shape (designs, limits)

    def __len__(self) -> int:
        """How many were tried."""
        return len(self.settings)

    @cached_property
    def met(self) -> NDArray[np.bool_]:
        """Which designs met all limits."""
        return Assessed(self.wishes, self.margins).met


@dataclass(frozen=True)
class Search:
    """How the search was done."""

    robust: bool  #: Whether over scenarios, or at central values
    scenarios: int  #: [-] points a design in the search, in the refinement, and in each judgement
    fine_scenarios: int
    fresh_points: int
    rounds: int  #: [-] how often the inner levels were raised
    budget: int  #: [-] designs allowed in the search itself
    searched: int  #: [-] designs tried in it
    tried: int  #: [-] different designs tried in all: refinement, near-equal designs and what would help included
    resumed: int  #: [-] designs taken from a search that was broken off
    random_number: int


@dataclass(frozen=True, repr=False)
class Proposal(Shown):
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
        With two results wanted the knee of the curve. None where no design meets the limits.
    near_equal : tuple of JudgedDesign
        Nearly as good as the best, and elsewhere in the ranges.
    relaxations : tuple of Relaxation
        What each limit that holds the best back costs.
    trade_off : tuple of JudgedDesign
        Along the curve, by rising first result; empty with one.
    miss : NearestMiss or None
        Where `best` is None.
    designs : DesignsTried
        As a table: `tried`.
    search : Search
    present : Present or None
        The study as it stands, beside the proposal; None for a plain callable.
    """

    study: Study | None
    varied: tuple[Varied, ...]
    wishes: tuple[Wish, ...]
    limits: tuple[Limit, ...]
    best: JudgedDesign | None
    near_equal: tuple[JudgedDesign, ...]
    relaxations: tuple[Relaxation, ...]
    trade_off: tuple[JudgedDesign, ...]
    miss: NearestMiss | None
    designs: DesignsTried
    search: Search
    present: Present | None = None

    @property
    def keep(self) -> bool:
        """Whether nothing needs to change: the study meets all that is asked, and no proposal is better."""
        if self.present is None or self.present.design.verdict != MET:
            return False
        target = self.present.design.target
        if target is not None and target.verdict != MET:
            return False
        return self.best is None or self.best.verdict == NOT_MET or self.present.as_good

    @property
    def told(self) -> JudgedDesign:
        """The proposal, or where there is none the design that misses least."""
        if self.best is not None:
            return self.best
        if self.miss is None:
            raise ValueError("a search without a proposal has a nearest miss")
        return self.miss.design

    @property
    def called(self) -> str:
        """What the design that is told of is called."""
        return "nearest miss" if self.best is None else "proposal"

    @property
    def knee(self) -> int | None:
        """Which design of the trade-off curve is proposed; None where none is."""
        settings = [dict(design.setting) for design in self.trade_off]
        return None if self.best is None or not settings else settings.index(dict(self.best.setting))

    @property
    def tried(self) -> pd.DataFrame:
        """A row for each design of the search.

        The varied addresses [SI] (words as they are), the wishes [SI], each limit's margin over its own scale [-], and
        whether all limits are ``met``.
        """
        frame = pd.DataFrame(list(self.designs.settings))
        for wish, values in zip(self.wishes, self.designs.wishes.T, strict=True):
            frame[wish.quantity] = values
        for number, (limit, margins) in enumerate(
            zip(self.limits, self.designs.margins.T, strict=True), start=1
        ):
            frame[f"margin {number}: {limit.quantity}"] = margins
        return frame.assign(met=self.designs.met)

    @property
    def units(self) -> dict[str, str]:
        """SI unit of what is varied and wanted, by address; empty for words and for what a callable names."""
        names = [*(item.address for item in self.varied), *(wish.quantity for wish in self.wishes)]
        return {name: unit_of(name) or "" for name in names}

    @property
    def beside(self) -> dict[str, JudgedDesign]:
        """The designs to choose from, by what they are called: along the curve, or the proposal and those like it."""
        numbered = {str(k): design for k, design in enumerate(self.trade_off or self.near_equal, start=1)}
        return numbered if self.trade_off else {self.called: self.told, **numbered}

    def _summary(self) -> Summary:
        """The designs to choose from: what is varied, what is wanted, whether the limits are met."""
        designs = self.beside.values()
        rows = [
            *((x.address, *(_text(x.address, d.setting[x.address]) for d in designs)) for x in self.varied),
            *(
                (wish.quantity, *(_text(wish.quantity, float(d.wishes[k].expected)) for d in designs))
                for k, wish in enumerate(self.wishes)
            ),
            ("limits", *(design.verdict for design in designs)),
        ]
        wished = " and ".join(f"{wish.quantity} {wish.make}" for wish in self.wishes)
        proposed = "" if self.knee is None else f", number {self.knee + 1} proposed"
        return Summary(f"Design with {wished}{proposed}", ("", *self.beside), tuple(rows))


def unit_of(address: str) -> str | None:
    """SI unit of an input or output, "1" for a plain number and a chance; None for a word."""
    if address.startswith(CHANCE):
        return "1"
    try:
        return registry.quantity(address).unit
    except registry.UnknownAddressError:
        return None


def _text(name: str, value: float | str) -> str:
    return value if isinstance(value, str) else scale_of(name).text(value)
