"""Proposals with made-up figures, to test what is said of them; their study is the bench with something to vary."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from explorer.analysis.scrambles import figure
from explorer.analysis.search.chance_limits import ExactChance, exact_chance
from explorer.questions.optimize.search.candidates import Setting
from explorer.questions.optimize.search.proposal import (
    Change,
    DesignsTried,
    JudgedDesign,
    JudgedLimit,
    JudgedWish,
    NearestMiss,
    Proposal,
    Relaxation,
    Search,
)
from explorer.study.limits import WITH_NUMBER
from explorer.studyfile import Limit, Study, Wish, parse_study

BENCH = Path(__file__).parents[2] / "studies/bench.toml"

SEARCHED = """
[vary]
"magnet.field" = "0.3 .. 0.8 T"
"channel.gap_in" = "9 .. 14 mm"
"channel.gap_out" = "11 .. 18 mm"
"electrodes.main.source.voltage" = ["120 V", "150 V", "200 V", "240 V"]
"electrodes.main.layout" = ["continuous", "segmented"]
"""

ONE_WISH = """
[wanted]
quantity = "thrust_gain"
make = "largest"
"""

TWO_WISHES = (
    f"[{ONE_WISH.strip().replace('[wanted]', '[wanted]]')}"
    + """

[[wanted]]
quantity = "electrical_power"
make = "smallest"
"""
)

LIMITS = """
[[limit]]
quantity = "current"
at_most = "50 A"
chance = 0.9

[[limit]]
quantity = "exit_pressure_change"
at_least = "2 mbar"

[[limit]]
quantity = "chance.constricted"
at_most = 0.1
"""

#: [SI]
BEST: Setting = {
    "channel.gap_in": 0.0124,
    "channel.gap_out": 0.018,
    "magnet.field": 0.62,
    "electrodes.main.source.voltage": 240.0,
    "electrodes.main.layout": "segmented",
}

FRESH = 16_384


def searched(wanted: str = ONE_WISH, limits: str = LIMITS) -> Study:
    """The bench study with a search of this module's own, whatever stands in it of one."""
    bench = BENCH.read_text(encoding="utf-8").partition("[vary]")[0]
    return parse_study(f"{bench}{SEARCHED}{wanted}{limits}")


def chance(share: float, points: int = FRESH) -> ExactChance:
    return exact_chance(np.arange(points) < round(share * points))


def judged_limit(
    limit: Limit,
    holds: float,
    *,
    inner: float,
    quantile: float = np.nan,
    active: bool = False,
    points: int = FRESH,
) -> JudgedLimit:
    return JudgedLimit(limit, inner, chance(holds, points), quantile, active)


def limits_of(study: Study, *, pressure: float = 0.9041) -> tuple[JudgedLimit, ...]:
    """The second one is not decided: fresh points hold it about as often as the 90 % asked."""
    first, second, third = study.limits
    return (
        judged_limit(first, 0.9312, inner=0.915, quantile=48.6, active=True),
        judged_limit(second, pressure, inner=0.91, quantile=203.0),
        judged_limit(third, 1 - 0.0421, inner=0.92),
        judged_limit(WITH_NUMBER, 0.9998, inner=0.95),
    )


def gain(wish: Wish, expected: float = 0.0912, by_search: float = 0.0921) -> JudgedWish:
    return JudgedWish(wish, figure(expected, 0.0003), 0.043, 0.171, by_search)


def power(wish: Wish, expected: float) -> JudgedWish:
    return JudgedWish(wish, figure(expected, 22.0), 0.6 * expected, 1.5 * expected, 0.99 * expected)


def moved(**changes: float | str) -> Setting:
    """The best design with other values, an address's dots written as two underscores."""
    return {**BEST, **{address.replace("__", "."): value for address, value in changes.items()}}


def design(study: Study, setting: Setting, *wishes: JudgedWish, **others: Any) -> JudgedDesign:
    units = {"electrodes.main.layout": "", "magnet.field": " T", "electrodes.main.source.voltage": " V"}
    made = JudgedDesign(
        setting=setting,
        study=study.replaced({address: f"{x}{units.get(address, ' m')}" for address, x in setting.items()}),
        wishes=wishes,
        limits=limits_of(study),
        together=chance(0.871),
        status_shares={"ok": 0.9985, "no_contact": 0.0013, "choked": 0.0002},
    )
    return replace(made, **others)


def tried(study: Study, designs: int = 500, *, further: float = 0.0) -> DesignsTried:
    """What a search might have tried: wishes that rise, a share of designs without a number, the first limit's margin
    further from being met.
    """
    rng = np.random.default_rng(5)
    x, y, z = (rng.random((designs, 3)) * np.linspace(1.0, 0.35, designs)[:, None]).T
    margins = np.column_stack(
        [0.5 - x - 0.2 * rng.random(designs), 0.6 - y, 0.3 - 0.5 * z, np.full(designs, 0.05)]
    )
    volts = rng.choice([120.0, 150.0, 200.0, 240.0], designs)
    layouts = rng.choice(["continuous", "segmented"], designs)
    settings = tuple(
        {
            "channel.gap_in": 0.009 + 0.005 * x[i],
            "channel.gap_out": 0.011 + 0.007 * y[i],
            "magnet.field": 0.8 - 0.5 * z[i],
            "electrodes.main.source.voltage": float(volts[i]),
            "electrodes.main.layout": str(layouts[i]),
        }
        for i in range(designs)
    )
    of_wish = {
        "thrust_gain": 0.092 - 0.05 * y - 0.04 * z,
        "electrical_power": 7000.0 - 4000.0 * y + 900 * rng.random(designs),
    }
    wishes = np.column_stack([of_wish[wish.quantity] for wish in study.wishes])
    wishes[x > 0.9] = np.nan
    margins[x > 0.9, 0] = -10.0
    margins[:, 0] -= further
    return DesignsTried(settings, wishes, margins)


def search_of(*, robust: bool = True) -> Search:
    return Search(
        robust=robust,
        scenarios=512 if robust else 1,
        fine_scenarios=4096 if robust else 1,
        fresh_points=FRESH if robust else 1,
        rounds=2 if robust else 0,
        budget=500,
        searched=500,
        tried=812,
        resumed=0,
        random_number=1,
    )


def proposal(study: Study, **parts: Any) -> Proposal:
    given: dict[str, Any] = {
        "study": study,
        "varied": study.vary,
        "wishes": study.wishes,
        "limits": (*study.limits, WITH_NUMBER),
        "best": None,
        "near_equal": (),
        "relaxations": (),
        "trade_off": (),
        "miss": None,
        "designs": tried(study),
        "search": search_of(),
    }
    return Proposal(**given | parts)


@cache
def robust() -> Proposal:
    """A best design, three nearly as good, one active limit."""
    study = searched()
    (wish,) = study.wishes
    others = (
        (moved(channel__gap_in=0.0106), 0.0905, ("channel.gap_in",)),
        (moved(magnet__field=0.71, channel__gap_out=0.0161), 0.0899, ("magnet.field", "channel.gap_out")),
        (moved(electrodes__main__layout="continuous"), 0.0896, ("electrodes.main.layout",)),
    )
    return proposal(
        study,
        best=design(study, BEST, gain(wish)),
        near_equal=tuple(design(study, s, gain(wish, e), differs_in=d) for s, e, d in others),
        relaxations=(Relaxation(study.limits[0], 55.0, figure(0.0061, 0.0004)),),
    )


@cache
def central() -> Proposal:
    """The same at central values: every limit holds or it doesn't."""
    study = searched()
    (wish,) = study.wishes
    current, pressure, constricted = study.limits
    limits = (
        judged_limit(current, 1.0, inner=0.5, quantile=49.9, active=True, points=1),
        judged_limit(pressure, 0.0, inner=0.5, quantile=188.0, points=1),
        judged_limit(constricted, 1.0, inner=0.5, points=1),
        judged_limit(WITH_NUMBER, 1.0, inner=0.5, points=1),
    )
    seen = JudgedWish(wish, figure(0.0875), 0.0875, 0.0875, 0.0875)
    at_centre = {"limits": limits, "together": chance(0.0, 1), "status_shares": {"ok": 1.0}}
    return proposal(
        study,
        best=design(study, BEST, seen, **at_centre),
        relaxations=(Relaxation(current, 55.0, figure(0.0073)),),
        search=search_of(robust=False),
    )


@cache
def curve() -> Proposal:
    """Two wishes: eight designs along the trade-off curve, the fifth its knee, in the last two a limit not decided."""
    study = searched(TWO_WISHES)
    first, second = study.wishes
    designs = []
    for place, share in enumerate(np.linspace(0.0, 1.0, 8)):
        judged = (gain(first, 0.03 + 0.0612 * share), power(second, 1900.0 + 5400.0 * share**3))
        setting = moved(magnet__field=0.35 + 0.05 * place, channel__gap_in=0.0100 + 0.0004 * place)
        limits = limits_of(study, pressure=0.95 if place < 6 else 0.9041)
        designs.append(design(study, setting, *judged, limits=limits))
    return proposal(study, best=designs[4], trade_off=tuple(designs))


@cache
def nothing() -> Proposal:
    """No design meets all limits."""
    study = searched()
    (wish,) = study.wishes
    current, pressure, constricted = study.limits
    limits = (
        judged_limit(current, 0.613, inner=0.9, quantile=58.2),
        judged_limit(pressure, 0.711, inner=0.9, quantile=160.0),
        judged_limit(constricted, 1 - 0.0421, inner=0.9),
        judged_limit(WITH_NUMBER, 0.9998, inner=0.95),
    )
    gap_out = next(item for item in study.vary if item.address == "channel.gap_out")
    changes = (Change(current, 62.0, 0.0), Change(gap_out, 0.024, 0.031), Change(pressure, 160.0, 0.052))
    miss = design(study, BEST, gain(wish), limits=limits, together=chance(0.402))
    return proposal(
        study, miss=NearestMiss(miss, 0.164, (current, pressure), changes), designs=tried(study, further=0.55)
    )
