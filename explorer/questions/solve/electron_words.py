"""Electrons behind equilibrium in words: whether they freeze in the nozzle, how far a pre-ioniser's live."""

import math
from collections.abc import Iterator
from typing import Final

from explorer import registry
from explorer.questions.solve.point import Point

#: Ratio of electrons with and without from which on a pre-ioniser is felt, and from which on it is felt much.
_FELT: Final = 1.1
_MUCH: Final = 2.0

#: Ratio to equilibrium at the channel's inlet from which on ionisation lags, and from which on it freezes.
_LAGS: Final = 1.05
_FREEZES: Final = 2.0


def electron_words(point: Point, *, brief: bool = False) -> Iterator[str]:
    """Yield what becomes of electrons in the nozzle and behind a pre-ioniser, where they are followed.

    In brief a nozzle in which nothing happens is left out.
    """
    freezing = point.quantities["freezing"]
    if freezing >= _LAGS or (math.isfinite(freezing) and not brief):
        how = "follows equilibrium"
        if freezing >= _FREEZES:
            how = "freezes"
        elif freezing >= _LAGS:
            how = "lags behind"
        yield f"In the nozzle ionisation {how}: {freezing:.3g} × the electrons of equilibrium enter the channel."
    if math.isfinite(point.quantities["decay_length"]):
        yield f"{_at_exit(point)} {_at_electrodes(point)}"
        if not brief:
            yield _ACCOUNT


_ACCOUNT: Final = (
    "The pre-ioniser's power heats the gas whether the pairs run or not, so that the thrust gain is theirs alone and"
    " their power does not hold it."
)


def _at_exit(point: Point) -> str:
    found = point.quantities
    if not point.study.central()["preionizer.power"] > 0.0:
        return "The pre-ioniser is off."
    return (
        f"At the pre-ioniser's exit there are {found['preionizer_electron_density']:.3g} electrons per m³, without it"
        f" {found['preionizer_unaided_density']:.3g}: {_shown(point, 'preionizer_conductivity')} in place of"
        f" {_shown(point, 'preionizer_unaided_conductivity')}."
    )


def _at_electrodes(point: Point) -> str:
    """How far the excess lives, and how much of it the next electrodes feel."""
    values, found = point.study.central(), point.quantities
    begin, exit_ = values["preionizer.start"], values["preionizer.start"] + values["preionizer.length"]
    heads = [f"electrodes.{pair}" for pair in point.study.pairs]
    head = next(own for own in heads if values[f"{own}.start"] + values[f"{own}.length"] > begin)
    electrodes = "the electrodes" if len(heads) == 1 else f"the {head.removeprefix('electrodes.')} pair"
    far = values[f"{head}.start"] - exit_
    decay = found["decay_length"]
    away = f"{electrodes} begin {_mm(far)} on" if far > 0.0 else f"{electrodes} begin before its end"
    ratio = found[f"{head}.start_electron_density"] / found[f"{head}.start_unaided_density"]
    verdict = f"it does not reach {electrodes}"
    if ratio >= _MUCH:
        verdict = f"it reaches {electrodes}"
    elif ratio >= _FELT:
        verdict = f"little of it reaches {electrodes}"
    return (
        f"The excess falls by e in the first {_mm(decay)}; {away}, and where their current begins there are"
        f" {ratio:.3g} × the electrons that there would be without: {verdict}."
    )


def _mm(length: float) -> str:
    return registry.quantity("decay_length").spoken(length)


def _shown(point: Point, address: str) -> str:
    return registry.quantity(address).spoken(point.quantities[address])
