"""What a proposal is worth: whether an instrument could see it, and whether anything hangs on the choice."""

from collections.abc import Iterator
from typing import Any, Final

import numpy as np

from explorer import registry, units
from explorer.questions.optimize.names import spread_of
from explorer.questions.optimize.search.proposal import JudgedDesign, JudgedWish, Proposal
from explorer.study.visibility import change_quantity, visibility
from explorer.studyfile import Study

#: Share of a wish that counts as next to nothing [-].
_LITTLE: Final = 0.02

#: Fewest designs that met the limits from which it is told that hardly anything hangs on the choice.
_FEWEST: Final = 20


def worth_words(found: Proposal, best: JudgedDesign, study: Study) -> Iterator[str]:
    """Yield what must be said where the proposal gains next to nothing."""
    judged = best.wishes[0]
    for row in _unseen(judged, best.study or study):
        yield _cannot_see(judged, row)
    if judged.low < 0.0 < judged.high:
        yield f"One firing may show nothing of it: the interval of {judged.wish.quantity} holds zero."
    if (share := _width(found, judged)) is not None:
        yield (
            f"Hardly anything hangs on the choice: whatever was tried and met the limits comes within"
            f" {units.number_text(100 * share, 2)} % of the best {judged.wish.quantity}."
        )


def _unseen(judged: JudgedWish, study: Study) -> Iterator[dict[str, Any]]:
    """Instruments that read what is wished and can't see it in one on/off pair."""
    name, size = judged.wish.quantity, (judged.expected, spread_of(judged))
    if judged.wish.make != "largest" or not judged.expected > 0.0:
        return
    table = visibility(study, {name: size}, {name: judged.expected})
    for instrument, row in table.iterrows():
        reads = str(row["reads"])
        if change_quantity(reads, study.mode) == name and row["pairs"] > 1.0:
            yield {"name": str(instrument), **{str(key): value for key, value in row.items()}}


def _cannot_see(judged: JudgedWish, row: dict[str, Any]) -> str:
    quantity = registry.quantity(judged.wish.quantity)
    size, noise = quantity.shown(judged.expected, 2), quantity.scale.difference(row["random"], 2)
    head = f"The gain is small: {row['name']}, with {noise} in one on/off pair, cannot see {size} of {row['reads']}"
    if np.isinf(row["pairs"]):
        return f"{head} in any number of pairs."
    return f"{head} in fewer than {row['pairs']:.0f} pairs."


def _width(found: Proposal, judged: JudgedWish) -> float | None:
    """How far apart the designs that met the limits are, over the best of them [-]; None where that is not little."""
    tried = found.tried
    wishes = tried.loc[tried["met"].astype(bool), judged.wish.quantity].to_numpy(dtype=float)
    wishes = wishes[np.isfinite(wishes)]
    if len(wishes) < _FEWEST or len(found.wishes) > 1:
        return None
    best = wishes.min() if judged.wish.make == "smallest" else wishes.max()
    share = float(np.ptp(wishes) / max(abs(best), np.finfo(float).tiny))
    return share if share < _LITTLE else None
