"""The pictures of a search for a design, by name."""

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from explorer import registry
from explorer.questions.optimize.design_pictures import LimitHeld, WishTried, limits_figure, search_figure
from explorer.questions.optimize.names import limit_words, setting_text
from explorer.questions.optimize.near_equal_picture import Placed, near_equal_figure
from explorer.questions.optimize.search.proposal import ExactChance, JudgedDesign, JudgedLimit, Proposal
from explorer.questions.optimize.tables import PROPOSAL, is_proposal
from explorer.questions.optimize.trade_off_picture import Wished, trade_off_figure
from explorer.study.limits import stated_level
from explorer.studyfile import Varied

FloatArray = NDArray[np.float64]


def optimisation_pictures(found: Proposal) -> dict[str, Figure]:
    """Return the pictures: search, and where they tell something limits, near_equal, trade_off."""
    figures = {"search": _search(found)}
    design = found.best if found.best is not None else found.miss.design if found.miss is not None else None
    if design is not None and design.limits and found.search.robust:
        name = PROPOSAL if found.best is not None else "nearest miss"
        figures["limits"] = limits_figure(limits_held(design), name)
    if found.best is not None and found.near_equal:
        names = [PROPOSAL, *(str(number) for number in range(1, len(found.near_equal) + 1))]
        designs = (found.best, *found.near_equal)
        figures["near_equal"] = near_equal_figure([_placed(item, designs) for item in found.varied], names)
    if found.trade_off:
        figures["trade_off"] = _trade_off(found)
    return figures


def worst_margin(found: Proposal) -> FloatArray:
    """Return the worst margin of each design tried over its limit's scale [-]; NaN where nothing is limited."""
    others = {*(item.address for item in found.varied), *(wish.quantity for wish in found.wishes), "met"}
    margins = [column for column in found.tried.columns if column not in others]
    if not margins:
        return np.full(len(found.tried), np.nan)
    return np.asarray(found.tried[margins].to_numpy(dtype=np.float64).min(axis=1))


def _search(found: Proposal) -> Figure:
    judged = {} if found.best is None else {wish.wish.quantity: wish.expected for wish in found.best.wishes}
    wishes = [
        WishTried(
            wish.quantity,
            registry.quantity(wish.quantity).scale,
            found.tried[wish.quantity].to_numpy(dtype=np.float64),
            judged.get(wish.quantity),
        )
        for wish in found.wishes
    ]
    return search_figure(wishes, worst_margin(found), found.tried["met"].to_numpy(dtype=bool))


def limits_held(design: JudgedDesign) -> list[LimitHeld]:
    """Return each limit as a chance that it holds, those on a status or a warning too."""
    return [_held(judged) for judged in design.limits]


def _held(judged: JudgedLimit) -> LimitHeld:
    limit, chance = judged.limit, judged.chance
    asked = "" if limit.event is not None else f", asked {100 * stated_level(limit):g} %"
    if limit.event is not None and limit.at_most is not None:  # of the event's absence
        chance = ExactChance(1 - chance.share, 1 - chance.high, 1 - chance.low, chance.points)
    return LimitHeld(
        f"{limit_words(limit)}{asked}",
        stated_level(limit),
        chance.share,
        chance.low,
        chance.high,
        judged.verdict,
    )


def _placed(item: Varied, designs: tuple[JudgedDesign, ...]) -> Placed:
    values = [design.setting[item.address] for design in designs]
    if item.low is not None and item.high is not None:
        low, high = item.low, item.high
        places = [(float(value) - low) / (high - low) for value in values]
        texts = [setting_text(item.address, end) for end in (low, high)]
    else:
        entries: list[float | str] = list(item.values if item.is_word else sorted(map(float, item.values)))
        places = [entries.index(value) / max(len(entries) - 1, 1) for value in values]
        texts = [setting_text(item.address, entry) for entry in entries]
    between = tuple(texts[1:-1])
    return Placed(item.address, texts[0], texts[-1] if len(texts) > 1 else "", tuple(places), between)


def _trade_off(found: Proposal) -> Figure:
    tried = found.tried[found.tried["met"].astype(bool)]
    first, second = (
        Wished(
            wish.quantity,
            registry.quantity(wish.quantity).scale,
            wish.make,
            np.array([design.wishes[place].expected for design in found.trade_off]),
            np.array([design.wishes[place].standard_error for design in found.trade_off]),
            tried[wish.quantity].to_numpy(dtype=np.float64),
        )
        for place, wish in enumerate(found.wishes)
    )
    met = [design.verdict == "met" for design in found.trade_off]
    knee = next((i for i, design in enumerate(found.trade_off) if is_proposal(found, design)), None)
    return trade_off_figure(first, second, met, knee)
