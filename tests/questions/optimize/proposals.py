"""Proposals with made-up figures, to test what is said of them; their study is the bench with something to vary."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import binomtest

from explorer.questions.optimize.search.proposal import (
    Change,
    ExactChance,
    JudgedDesign,
    JudgedLimit,
    JudgedWish,
    NearestMiss,
    Proposal,
    Relaxation,
    Search,
    Setting,
    Verdict,
)
from explorer.study.limits import WITH_NUMBER
from explorer.studyfile import Limit, Study, Wish, parse_study

BENCH = Path(__file__).parents[3] / "studies/bench.toml"

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


def searched_text(wanted: str = ONE_WISH, limits: str = LIMITS) -> str:
    """The bench study's file with a search of this module's own, whatever stands in it of one."""
    bench = BENCH.read_text(encoding="utf-8").partition("[vary]")[0]
    return f"{bench}{SEARCHED}{wanted}{limits}"


def searched(wanted: str = ONE_WISH) -> Study:
    """The bench study with something to vary, a wish or two, and three limits."""
    return parse_study(searched_text(wanted))


def chance(share: float, points: int = FRESH) -> ExactChance:
    held = round(share * points)
    interval = binomtest(held, points).proportion_ci(0.95, "exact")
    return ExactChance(held / points, interval.low, interval.high, points)


def judged_limit(
    limit: Limit,
    share: float,
    *,
    inner: float,
    quantile: float = np.nan,
    verdict: Verdict = "met",
    active: bool = False,
    points: int = FRESH,
) -> JudgedLimit:
    return JudgedLimit(limit, inner, chance(share, points), quantile, verdict, active)


def limits_of(study: Study) -> tuple[JudgedLimit, ...]:
    current, pressure, constricted = study.limits
    return (
        judged_limit(current, 0.9312, inner=0.915, quantile=48.6, active=True),
        judged_limit(pressure, 0.9041, inner=0.91, quantile=203.0, verdict="not decided"),
        judged_limit(constricted, 0.0421, inner=0.92),
        judged_limit(WITH_NUMBER, 0.9998, inner=0.95),
    )


def gain(wish: Wish, expected: float = 0.0912, by_search: float = 0.0921) -> JudgedWish:
    return JudgedWish(wish, expected, 0.0003, 0.043, 0.171, by_search)


def power(wish: Wish, expected: float) -> JudgedWish:
    return JudgedWish(wish, expected, 22.0, 0.6 * expected, 1.5 * expected, 0.99 * expected)


def moved(study: Study, **changes: float | str) -> Setting:
    """The best design with other values, an address's dots written as two underscores."""
    named = {address.replace("__", "."): value for address, value in changes.items()}
    return {**BEST, **named}


def design(
    study: Study, setting: Setting, *wishes: JudgedWish, differs_in: tuple[str, ...] = ()
) -> JudgedDesign:
    words = {"electrodes.main.layout": "", "magnet.field": " T", "electrodes.main.source.voltage": " V"}
    written = {a: f"{v}{words.get(a, ' m')}" for a, v in setting.items()}
    return JudgedDesign(
        setting=setting,
        study=study.replaced(written),
        wishes=wishes,
        limits=limits_of(study),
        together=chance(0.871),
        status_shares={"ok": 0.9985, "no_contact": 0.0013, "choked": 0.0002},
        differs_in=differs_in,
    )


def tried(study: Study, designs: int = 500) -> pd.DataFrame:
    """What a search might have tried: wishes that rise, a share of designs without a number."""
    rng = np.random.default_rng(5)
    x = rng.random((designs, 3)) * np.linspace(1.0, 0.35, designs)[:, None]
    current, pressure = 0.5 - x[:, 0] - 0.2 * rng.random(designs), 0.6 - x[:, 1]
    table = pd.DataFrame(
        {
            "channel.gap_in": 0.009 + 0.005 * x[:, 0],
            "channel.gap_out": 0.011 + 0.007 * x[:, 1],
            "magnet.field": 0.8 - 0.5 * x[:, 2],
            "electrodes.main.source.voltage": rng.choice([120.0, 150.0, 200.0, 240.0], designs),
            "electrodes.main.layout": rng.choice(["continuous", "segmented"], designs),
            "thrust_gain": 0.092 - 0.05 * x[:, 1] - 0.04 * x[:, 2],
            "electrical_power": 7000.0 - 4000.0 * x[:, 1] + 900 * rng.random(designs),
            "margin 1": current,
            "margin 2": pressure,
            "margin 3": 0.3 - 0.5 * x[:, 2],
        }
    )
    wishes = [wish.quantity for wish in study.wishes]
    gone = x[:, 0] > 0.9
    table.loc[gone, wishes] = np.nan
    table.loc[gone, "margin 1"] = -10.0
    table["met"] = table[["margin 1", "margin 2", "margin 3"]].min(axis=1) >= 0.0
    others = {"thrust_gain", "electrical_power"} - set(wishes)
    return table.drop(columns=list(others))


def search_of(table: pd.DataFrame, *, robust: bool = True) -> Search:
    return Search(
        robust=robust,
        designs=len(table),
        met=int(table["met"].sum()),
        scenarios=512 if robust else 1,
        fine_scenarios=4096 if robust else 1,
        fresh_points=FRESH if robust else 1,
        rounds=2 if robust else 0,
        budget=500,
        resumed=0,
        random_number=1,
    )


def proposal(study: Study, **parts: object) -> Proposal:
    table = tried(study)
    units: Mapping[str, str] = {"magnet.field": "T"}
    empty: dict[str, object] = {
        "best": None,
        "near_equal": (),
        "relaxations": (),
        "trade_off": (),
        "miss": None,
    }
    common: dict[str, object] = {"tried": table, "search": search_of(table), "units": units}
    fixed = {
        "study": study,
        "varied": study.vary,
        "wishes": study.wishes,
        "limits": (*study.limits, WITH_NUMBER),
    }
    return Proposal(**{**fixed, **empty, **common, **parts})  # type: ignore[arg-type]


def robust() -> Proposal:
    """A best design, three nearly as good, one active limit."""
    study = searched()
    (wish,) = study.wishes
    others = (
        (moved(study, channel__gap_in=0.0106), 0.0905, ("channel.gap_in",)),
        (
            moved(study, magnet__field=0.71, channel__gap_out=0.0161),
            0.0899,
            ("magnet.field", "channel.gap_out"),
        ),
        (moved(study, electrodes__main__layout="continuous"), 0.0896, ("electrodes.main.layout",)),
    )
    return proposal(
        study,
        best=design(study, BEST, gain(wish)),
        near_equal=tuple(design(study, s, gain(wish, e), differs_in=d) for s, e, d in others),
        relaxations=(Relaxation(study.limits[0], 55.0, 0.0061, 0.0004),),
    )


def central() -> Proposal:
    """The same at central values: every limit holds or it doesn't."""
    study = searched()
    (wish,) = study.wishes
    current, pressure, constricted = study.limits
    limits = (
        judged_limit(current, 1.0, inner=0.5, quantile=49.9, active=True, points=1),
        judged_limit(pressure, 0.0, inner=0.5, quantile=188.0, verdict="not met", points=1),
        judged_limit(constricted, 0.0, inner=0.5, points=1),
        judged_limit(WITH_NUMBER, 1.0, inner=0.5, points=1),
    )
    best = design(study, BEST, JudgedWish(wish, 0.0875, 0.0, 0.0875, 0.0875, 0.0875))
    table = tried(study)
    return proposal(
        study,
        best=replace(best, limits=limits, together=chance(0.0, 1), status_shares={"ok": 1.0}),
        relaxations=(Relaxation(current, 55.0, 0.0073, 0.0),),
        search=search_of(table, robust=False),
    )


def curve() -> Proposal:
    """Two wishes: eight designs along the trade-off curve, the fifth its knee."""
    study = searched(TWO_WISHES)
    first, second = study.wishes
    designs = []
    for place, share in enumerate(np.linspace(0.0, 1.0, 8)):
        expected = 0.03 + 0.0612 * share
        judged = (gain(first, expected), power(second, 1900.0 + 5400.0 * share**3))
        setting = moved(study, magnet__field=0.35 + 0.05 * place, channel__gap_in=0.0100 + 0.0004 * place)
        made = design(study, setting, *judged)
        if place < 6:
            made = replace(made, limits=tuple(replace(limit, verdict="met") for limit in made.limits))
        designs.append(made)
    return proposal(study, best=designs[4], trade_off=tuple(designs))


def nothing() -> Proposal:
    """No design meets all limits."""
    study = searched()
    (wish,) = study.wishes
    current, pressure, constricted = study.limits
    miss = replace(
        design(study, BEST, gain(wish)),
        limits=(
            judged_limit(current, 0.613, inner=0.9, quantile=58.2, verdict="not met"),
            judged_limit(pressure, 0.711, inner=0.9, quantile=160.0, verdict="not met"),
            judged_limit(constricted, 0.0421, inner=0.9),
            judged_limit(WITH_NUMBER, 0.9998, inner=0.95),
        ),
        together=chance(0.402),
    )
    changes = (
        Change("limit", "current", 62.0, 0.0),
        Change("range", "channel.gap_out", 0.024, 0.031),
        Change("limit", "exit_pressure_change", np.nan, 0.0),
    )
    table = tried(study).assign(met=False)
    table["margin 1"] -= 0.55
    return proposal(
        study,
        miss=NearestMiss(miss, 0.164, (current, pressure), changes),
        tried=table,
        search=search_of(table),
    )
